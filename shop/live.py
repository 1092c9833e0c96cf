"""The newest of everything that happened: pages ask for it every second or two, and load anew what has changed."""

from collections.abc import Callable
from functools import wraps

from django.apps import apps
from django.db import connection
from django.http import HttpRequest
from django.urls import reverse

# By name: the shop does not know the orders. Rows of these are only ever added, so the newest key says it all; but an
# outage and a clash end by a change of their row, so those that are open are counted too.
OF_ORDERS = ("orders.Move", "orders.Clash")
FOAM, OUTAGE = "shop.StockMove", "shop.Outage"
ENDS = {OUTAGE: "until", "orders.Clash": "settled_at"}


def newest(order: int = 0, *, foam: bool = False) -> str:
    """Return a text that changes with every row that is added; of one order, with that order's rows only.

    With `foam` an order's text changes with every move of foam too: blocks belong to no order. Of all orders it changes
    with a station that is down or runs again, and with a clash that is settled, too. One query, which looks at the ends
    of indexes and at what is open.
    """
    of = f" WHERE order_id = (SELECT id FROM {_table('orders.Order')} WHERE number = %s)" if order else ""  # noqa: S608
    tables = [_table(name) + of for name in OF_ORDERS]
    if foam or not order:
        tables.append(_table(FOAM))
    keys = [f"(SELECT MAX(id) FROM {table})" for table in tables]  # noqa: S608
    if not order:
        keys.append(f"(SELECT MAX(id) FROM {_table(OUTAGE)})")  # noqa: S608
        keys += [f'(SELECT COUNT(*) FROM {_table(name)} WHERE "{end}" IS NULL)' for name, end in ENDS.items()]  # noqa: S608
    columns = ", ".join(keys)
    with connection.cursor() as cursor:
        cursor.execute(f"SELECT {columns}", [order] * columns.count("%s"))
        return ".".join(str(key or 0) for key in cursor.fetchone())


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
