"""A whole shift in a real browser, worked from printed paper alone: every station, trouble, refusals, a network cut.

Every code that is scanned was read off the picture of a sheet, a tag or a label that the pages printed. At night office
and manager see what was done, and the foam of the day balances to the last cubic micrometre.
"""

from decimal import Decimal

import pytest
from django.test import Client
from django.utils import timezone
from floor_shop import BLOCK
from selenium.webdriver.common.by import By

from orders.demo import add_finishing, small_shop
from orders.models import Clash, Piece
from orders.standing import standing
from shop import account
from shop.acts import Act
from shop.models import DayClose, Grade, ShopRules
from tests.pages import day_manager as manager
from tests.pages import day_office as office
from tests.pages import shift_floor as floor
from tests.pages import shift_paper as paper
from tests.pages.day_browser import Hands

INCH = Decimal("25.4")
pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def shop(db):
    """The bare shop with all its stations; few remnants are worth keeping, and no grade is to be ordered."""
    shop = small_shop()
    add_finishing(shop)
    ShopRules.objects.update(remnant_l=INCH * 48, remnant_w=INCH * 24)
    Grade.objects.update(order_at=0)
    return shop


class Shift(Hands):
    """The one browser of the shop, that people hand to each other; each is signed in all day."""

    def __init__(self, browser, origin, screenshot, people):
        super().__init__(browser, origin, screenshot)
        self.open("/")  # a cookie can only be set on a page of the server
        self._sessions = {name: self._session(person) for name, person in people.items()}

    def _session(self, person):
        client = Client()
        client.force_login(person, backend="django.contrib.auth.backends.ModelBackend")
        return client.cookies["sessionid"].value

    def become(self, name):
        self.browser.add_cookie({"name": "sessionid", "value": self._sessions[name], "httpOnly": True})
        self.name = name


@pytest.fixture
def hands(browser, live_server, screenshot, shop):
    return Shift(browser, live_server.url, lambda name: screenshot(name.replace("day-", "shift-")), shop.people)


def test_a_day_is_worked_from_paper_through_every_station(hands, shop):
    hands.become("mina")
    order = paper.take_down(hands)
    old = paper.traveller(hands, order)
    paper.one_panel_more(hands, order)
    sheets = paper.of_order(hands, order)
    dense, block = prepare_foam(hands, shop)
    hands.become("bo")
    floor.refuse_at_saw(hands, order, old)
    floor.refuse_too_early(hands, sheets.traveller)
    hold_and_let_go(hands, order, sheets)
    remnants = saw(hands, sheets, dense, block)
    cut(hands, sheets)
    hands.become("raf")
    remnant = plan_again(hands, remnants)
    hands.become("bo")
    make_good(hands, sheets, remnant)
    finish(hands, order, sheets)
    see_in_the_office(hands, order)
    close_the_day(hands)


def prepare_foam(hands, shop):
    """Receive blocks of two grades, plan what waits, print tags: of the wrong foam, and of the block that is opened."""
    hands.become("raf")
    manager.receive(hands, 1, "L-2231")
    account.receive("K-0009", shop.grades["Dense 2.0"], BLOCK, Act(shop.people["raf"]), place="bay 3")
    run = manager.plan(hands)
    manager.accept(hands, run)
    [reserved] = [tag for tag, state in manager.states(hands).items() if state == f"reserved for plan {run.number}"]
    return paper.tag(hands, "K-0009"), paper.tag(hands, reserved)


def hold_and_let_go(hands, order, sheets):
    hands.become("mina")
    office.hold(hands, order, "The colour is asked again.")
    hands.become("bo")
    floor.refuse_held(hands, order, sheets.traveller)
    hands.become("mina")
    hands.open(f"/orders/{order.number}/")
    hands.press("Let it go on")
    hands.sees("released", where="#order-head")
    hands.become("bo")


def saw(hands, sheets, dense, block):
    """Saw the block, with a blank spoiled at the customer's cost and a pause; return what is back on the rack."""
    tag = floor.open_by_tag(hands, sheets.traveller, block, wrong=dense)
    floor.spoil_a_blank(hands, "customer")
    floor.pause_and_go_on(hands, sheets.traveller)
    floor.saw_the_rest(hands)
    return floor.settle(hands, tag)


def cut(hands, sheets):
    floor.cut(hands, sheets.traveller)
    floor.spoil_a_piece(hands)
    assert not Clash.objects.exists()


def plan_again(hands, remnants):
    """Plan the two blanks that are due again: out of a remnant of this morning, whose tag is printed."""
    run = manager.plan(hands)
    manager.accept(hands, run)
    [tag] = run.sources.values_list("piece__tag", flat=True)
    assert tag in remnants
    return paper.tag(hands, tag)


def make_good(hands, sheets, remnant):
    """Saw and cut what was spoiled."""
    tag = floor.open_by_tag(hands, sheets.traveller, remnant)
    floor.saw_the_rest(hands)
    floor.settle(hands, tag)
    floor.cut_the_rest(hands, sheets.traveller)


def finish(hands, order, sheets):
    """Turn, coat, wait for the cure, pack."""
    floor.turn(hands, sheets.traveller)
    floor.coat(hands, sheets.coat)
    labels = floor.refuse_what_cures(hands, order, sheets.traveller)
    floor.let_it_cure()
    floor.pack(hands, labels)
    order.refresh_from_db()
    assert standing(order).word == "done"


def see_in_the_office(hands, order):
    """The office sees every count where the stations left it, and no quantity that was touched."""
    hands.become("mina")
    said = paper.stands(hands, order)
    hands.sees("done", where="#order-head")
    hands.look("office")
    for piece in Piece.objects.filter(line__order=order, live=True):
        assert f"{piece.qty} packed" in said[piece.line.mark]
    assert "1 at the saw, 1 after the saw" in said["A"]


def close_the_day(hands):
    """The manager's page: nothing missing, nothing to look at but what was spoiled; the day can be closed."""
    hands.become("raf")
    hands.open("/day/?exact")
    hands.sees("nothing missing")
    [day] = [row for row in account.day_figures(timezone.localdate()) if row.issued]
    shown = manager.figures(hands)
    assert all(abs(shown[name] - exact) <= manager.SHOWN / 2 for name, exact in manager.exact(day).items())
    assert day.issued == day.good + day.miscut + day.back + day.waste
    assert (day.unaccounted, day.on_saw_end) == (0, 0)
    look_at = [row.text for row in hands.browser.find_elements(By.CSS_SELECTOR, ".to-look li")]
    assert [row.split(",")[1].split(":")[0].strip() for row in look_at if "miscut" in row] == ["Broken", "Wire"]
    assert len(look_at) == 2
    manager.close(hands)
    assert DayClose.objects.get().day == timezone.localdate()
    hands.look("closed")
