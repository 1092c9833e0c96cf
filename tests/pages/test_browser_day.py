"""One whole day of the shop in a real browser: from the order to the foam that balances."""

from decimal import Decimal

import pytest

from orders.demo import small_shop
from shop.models import ShopRules
from tests.pages import day_floor as floor
from tests.pages import day_manager as manager
from tests.pages import day_office as office
from tests.pages.day_browser import Hands

INCH = Decimal("25.4")
pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def shop(db):
    shop = small_shop(passwords=True)
    ShopRules.objects.update(remnant_l=INCH * 48, remnant_w=INCH * 24)
    return shop


@pytest.fixture
def hands(browser, live_server, screenshot):
    return Hands(browser, live_server.url, screenshot)


def test_the_whole_day(hands, shop):
    expected = office.cut(office.JOB, shop)
    hands.sign_in("mina")
    hands.look("signed-in")
    order = office.take_down(hands, office.JOB["job"])
    hands.look("taken-down")
    office.type_line(hands, office.LINES[0])
    office.wait_for_figures(hands, expected[0])
    hands.look("line-a")
    hands.press("Save, then the next line")
    hands.sees("New line", where="#main")
    office.type_line(hands, office.LINES[1])
    office.wait_for_figures(hands, expected[1])
    hands.look("line-b")
