"""One believable small shop: Tern Point Foam Works, invented, with invented customers.

`small_shop` makes the bare shop in a moment and serves the tests; `load` makes the shop in the middle of its week,
through the same import and the same services that its people use, so the demo cannot hold what they could not do.
"""

from django.db import transaction

from orders.models import Order
from shop.acts import Act
from shop.models import Grade, Person

from .shop import JOBS, PEOPLE, PINS, SHOP, Shop, add_finishing, small_shop

__all__ = ["JOBS", "PEOPLE", "PINS", "SHOP", "Shop", "is_loaded", "load", "small_shop"]


def is_loaded() -> bool:
    """Return whether the people of the demo are in this database."""
    return Person.objects.filter(username__in=[row[0] for row in PEOPLE]).count() == len(PEOPLE)


@transaction.atomic
def load(*, passwords: bool = True) -> bool:
    """Fill an empty database with the shop in the middle of its week, whole or not at all.

    Returns False, and changes nothing, where the database holds people, grades or orders already.
    """
    if any(model.objects.exists() for model in (Person, Grade, Order)):
        return False
    from .library import fill_library, redraw  # bring readers of drawings and fonts, and the planner:
    from .week import live  # tests that want the bare shop do without

    shop = small_shop(passwords=passwords)
    add_finishing(shop)
    mina = Act(shop.people["mina"])
    fill_library(shop, mina)
    live(shop)
    redraw(shop, mina)
    return True
