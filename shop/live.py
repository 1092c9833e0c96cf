"""The newest of everything that happened: pages ask for it every second or two, and load anew what has changed."""

from collections.abc import Callable
from functools import wraps

from django.apps import apps
from django.db import connection
from django.http import HttpRequest
from django.urls import reverse

# By name: the shop does not know the orders. Rows of these are only ever added, so the newest key says it all.
TABLES = ("shop.StockMove", "orders.Move", "orders.Clash")


def newest(order: int = 0) -> str:
    """Return a text that changes with every row that is added, or with every one of the order of this number.

    One query, which looks at the ends of indexes.
    """
    models = [apps.get_model(name) for name in TABLES]
    of = ""
    if order:
        models = [model for model in models if any(column.name == "order" for column in model._meta.fields)]
        of = f" WHERE order_id = (SELECT id FROM {apps.get_model('orders.Order')._meta.db_table} WHERE number = %s)"  # noqa: S608
    columns = ", ".join(f"(SELECT MAX(id) FROM {model._meta.db_table}{of})" for model in models)  # noqa: S608
    with connection.cursor() as cursor:
        cursor.execute(f"SELECT {columns}", [order] * len(models) if order else [])
        return ".".join(str(key or 0) for key in cursor.fetchone())


def follow(request: HttpRequest, order: int = 0, address: str = "live") -> None:
    """Let the page of this request follow what happens, to one order or to all; call it before anything is read."""
    request.live = newest(order)
    request.live_at = reverse(address, query={"order": order} if order else None)


def live(view: Callable) -> Callable:
    """Wear this on a view whose page follows what others do; with the number of an order in its address only that."""

    @wraps(view)
    def inner(request, *args, **kwargs):
        follow(request, kwargs.get("number", 0))
        return view(request, *args, **kwargs)

    return inner
