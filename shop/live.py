"""The newest of everything that happened: pages ask for it every second or two, and load anew what has changed."""

from collections.abc import Callable
from functools import wraps

from django.apps import apps
from django.db import connection
from django.http import HttpRequest
from django.urls import reverse

# By name: the shop does not know the orders. Rows of these are only ever added, so the newest key says it all; but an
# outage and a clash end by a change of their row, so those that are open are counted too.
# PostgreSQL gives keys out before the commit, so a lower key may be seen after a higher one: how many of the last keys
# are there is counted too.
OF_ORDERS = ("orders.Move", "orders.Clash")
FOAM, OUTAGE = "shop.StockMove", "shop.Outage"
ENDS = {OUTAGE: "until", "orders.Clash": "settled_at"}
LAST = 50  # keys that are counted: more are not given out while one act is under way


def newest(order: int = 0, *, foam: bool = False) -> str:
    """Return a text that changes with every row that is added; of one order, with that order's rows only.

    With `foam` an order's text changes with every move of foam too: blocks belong to no order. Of all orders it changes
    with a station that is down or runs again, and with a clash that is settled, too. One query, which looks at the ends
    of indexes and at what is open.
    """
    of = f"order_id = (SELECT id FROM {_table('orders.Order')} WHERE number = %s)" if order else "TRUE"  # noqa: S608
    keys = [key for name in OF_ORDERS for key in _last(name, of)]
    if foam or not order:
        keys += _last(FOAM)
    if not order:
        keys += _last(OUTAGE)
        keys += [f'(SELECT COUNT(*) FROM {_table(name)} WHERE "{end}" IS NULL)' for name, end in ENDS.items()]  # noqa: S608
    columns = ", ".join(keys)
    with connection.cursor() as cursor:
        cursor.execute(f"SELECT {columns}", [order] * columns.count("%s"))
        return ".".join(str(key or 0) for key in cursor.fetchone())


def _last(name: str, of: str = "TRUE") -> tuple[str, str]:
    """Return the newest key of a table's rows, and how many of the last keys are there, as SQL."""
    table = _table(name)
    newest = f"(SELECT MAX(id) FROM {table} WHERE {of})"  # noqa: S608
    return newest, f"(SELECT COUNT(*) FROM {table} WHERE {of} AND id > {newest} - {LAST})"  # noqa: S608


def _table(name: str) -> str:
    return apps.get_model(name)._meta.db_table


def follow(request: HttpRequest, order: int = 0, *, foam: bool = False, address: str = "live") -> None:
    """Let the page of this request follow what happens, to one order or to all; call it before anything is read."""
    request.live = newest(order, foam=foam)
    query = {name: int(value) for name, value in (("order", order), ("foam", foam)) if value}
    request.live_at = reverse(address, query=query or None)


def live(view: Callable) -> Callable:
    """Wear this on a view whose page follows what others do; with the number of an order in its address only that."""

    @wraps(view)
    def inner(request, *args, **kwargs):
        follow(request, kwargs.get("number", 0))
        return view(request, *args, **kwargs)

    return inner
