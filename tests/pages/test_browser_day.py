"""One whole day of the shop in a real browser: from the order to the foam that balances."""

from decimal import Decimal

import pytest
from django.utils import timezone

from orders.demo import small_shop
from shop.models import DayClose, ShopRules
from tests.pages import day_floor as floor
from tests.pages import day_manager as manager
from tests.pages import day_office as office
from tests.pages.day_browser import Hands

INCH = Decimal("25.4")
pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def shop(db):
    """The bare shop; remnants are kept from 48 × 24 × 4 in, so that a day makes few of them."""
    shop = small_shop(passwords=True)
    ShopRules.objects.update(remnant_l=INCH * 48, remnant_w=INCH * 24)
    return shop


@pytest.fixture
def hands(browser, live_server, screenshot):
    return Hands(browser, live_server.url, screenshot)


def test_the_whole_day(hands, shop):
    expected = office.cut(office.JOB, shop)
    hands.sign_in("mina")
    order = office.take_down(hands, office.JOB["job"])
    type_both_lines(hands, order, expected)
    hands.sign_in("raf")
    manager.receive(hands, 2, "L-2231")
    hands.look("stock")
    run = manager.plan(hands)
    hands.look("plan")
    manager.check_plan_page(hands, run)
    manager.accept(hands, run)
    hands.look("accepted")
    print(manager.states(hands))
    hands.look("reserved")
    hands.sign_in("mina")
    pdf = office.print_traveller(hands, order)
    open("/tmp/trav.pdf", "wb").write(pdf)
    code = office.decoded(pdf)
    saw = office.print_saw_sheet(hands, run.number)
    open("/tmp/saw.pdf", "wb").write(saw)
    print(code, office.all_codes(saw))
    print(office.printed_blanks(pdf))
    print([office.as_printed(b) for line in expected for b in line["blanks"]])
    hands.sign_in("bo")
    hands.look("stations")
    hands.press("Saw 1")
    floor.scan(hands, code, "open it")
    hands.look("scanned")
    tag = floor.open_block(hands)
    hands.look("opened")
    print(floor.saw_all(hands))
    hands.look("sawn")
    print(floor.put_back_all(hands, "47 1/2"))
    hands.look("put-back")
    floor.finish_block(hands, tag)
    hands.look("all-sawn")
    floor.at(hands, "cutter-1")
    floor.scan(hands, code, "Piece cut")
    hands.look("cutter")
    print(floor.cut_all(hands, spoil="A1"))
    hands.look("cut")


def type_both_lines(hands, order, expected):
    for line, figures, save in zip(office.LINES, expected, ("Save, then the next line", "Save line B"), strict=True):
        office.type_line(hands, line)
        office.wait_for_figures(hands, figures)
        assert order.lines.count() == (line["mark"] == "B"), "live figures save nothing"
        hands.look(f"line-{line['mark']}")
        hands.press(save)
        hands.sees(f"Line {line['mark']} is saved")
    office.check_order_page(hands, order, expected)
    hands.look("order")
    office.release(hands, order)
    hands.look("released")
