"""One whole day of the shop in a real browser: from the order to the foam that balances.

Every figure that a page or a sheet shows is compared with what the core or the account says, never with a constant.
"""

from decimal import Decimal

import pytest
from django.utils import timezone

from orders.demo import small_shop
from orders.models import CuttingRun
from shop import account
from shop.models import DayClose, ShopRules, StockPiece
from tests.pages import day_floor as floor
from tests.pages import day_manager as manager
from tests.pages import day_office as office
from tests.pages.day_browser import Hands

INCH = Decimal("25.4")
SPOILED = "A1"
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


def test_an_order_becomes_parts_and_every_cubic_inch_is_found(hands, shop):
    expected = office.cut(office.JOB, shop)
    hands.sign_in("mina")
    order = take_down(hands, expected)
    hands.sign_in("raf")
    run = receive_and_plan(hands)
    hands.sign_in("mina")
    code = print_sheets(hands, order, run, expected)
    hands.sign_in("bo")
    saw(hands, code, expected)
    spoil_one(hands, code, expected)
    hands.sign_in("raf")
    again = plan_again(hands, order)
    hands.sign_in("bo")
    finish(hands, code, again)
    order.refresh_from_db()
    assert order.done_at, "the last piece is cut"
    assert {piece.qty for piece in order.lines.first().pieces.all()} == {6}, "what was ordered stays as it was"
    hands.sign_in("raf")
    balance(hands, expected)


def test_paper_that_is_not_in_force_is_stopped_at_the_saw(hands, shop):
    hands.sign_in("mina")
    order = office.read_job_file(hands, office.BANDSTAND)
    office.release(hands, order)
    old = office.decoded(office.print_traveller(hands, order))
    office.double(hands, order)
    hands.sees("sheet B")
    hands.look("sheet-b")
    new = office.decoded(office.print_traveller(hands, order))
    hands.sign_in("bo")
    hands.press("Saw 1")
    scan_old_sheet(hands, order, old)
    floor.scan(hands, "4006381333931", "Unknown code", "Nothing was counted", "looks like the code of bought goods")
    hands.look("rubbish")
    scan_twice(hands, order, new)
    hands.sign_in("mina")
    office.hold(hands, order, "Sill height is measured again.")
    hands.look("held-order")
    hands.sign_in("bo")
    floor.at(hands, "saw-1")
    floor.scan(hands, new, "On hold", "Do not cut.", "Sill height is measured again.", "Held by Mina O.")
    hands.look("held")
    assert [scan.answer for scan in order.scans.all()] == ["old-sheet", "ok", "held"]
    assert not order.moves.filter(station__isnull=False).exists()


# Office ---------------------------------------------------------------------------------------------------------------


def take_down(hands, expected):
    """Type an order with two lines, watch their figures before they are saved, release it."""
    order = office.take_down(hands, office.JOB["job"])
    for line, figures, save in zip(office.LINES, expected, ("Save, then the next line", "Save line B"), strict=True):
        office.type_line(hands, line)
        office.wait_for_figures(hands, figures)
        assert order.lines.count() == (line["mark"] == "B"), "live figures save nothing"
        hands.look(f"line-{line['mark']}")
        hands.press(save)
        hands.sees(f"Line {line['mark']} is saved")
    office.check_order_page(hands, order, expected)
    office.release(hands, order)
    hands.look("released")
    return order


def print_sheets(hands, order, run, expected):
    """Print the traveller and the saw sheet, and return the text that stands in the traveller's bars."""
    traveller = office.print_traveller(hands, order)
    pages = office.printed_blanks(traveller)
    for page, line in zip(pages, expected, strict=True):
        assert all(office.as_printed(blank) in page for blank in line["blanks"]), page
    order.refresh_from_db()
    code = office.decoded(traveller)
    assert code.startswith(f"BY{order.number}A")
    saw_sheet = office.print_saw_sheet(hands, run.number)
    pages = {text[:5] for text in office.all_codes(saw_sheet)}
    assert pages == {f"BS{run.number}P{page + 1}" for page in range(len(pages))} != set()
    hands.open("/prints/")
    hands.sees("traveller", "saw sheet")
    hands.look("prints")
    return code


# Manager --------------------------------------------------------------------------------------------------------------


def receive_and_plan(hands):
    """Put two blocks on the rack, plan what waits, and reserve the foam."""
    manager.receive(hands, 2, "L-2231")
    run = manager.plan(hands)
    hands.look("plan")
    manager.check_plan_page(hands, run)
    manager.accept(hands, run)
    hands.look("accepted")
    assert manager.states(hands) == {"K-0001": f"reserved for plan {run.number}", "K-0002": "on the rack"}
    hands.look("stock")
    return run


def plan_again(hands, order):
    """Plan the spoiled blank: it comes out of a remnant that was put back today."""
    run = manager.plan(hands)
    hands.look("plan-again")
    manager.check_plan_page(hands, run)
    assert (run.figures["stats"]["new_blocks"], run.figures["stats"]["remnants_used"]) == (0, 1)
    manager.accept(hands, run)
    reserved = [tag for tag, state in manager.states(hands).items() if state == f"reserved for plan {run.number}"]
    assert [tag[:2] for tag in reserved] == ["R-"]
    return run


def balance(hands, expected):
    """Add up the day's foam: the page, the account and the cut list say the same, to the last cubic inch."""
    hands.press("Day")
    hands.press("with cubic inches")
    hands.sees("in³")
    hands.look("day")
    shown, (day,) = manager.figures(hands), account.day_figures(timezone.localdate())
    exact = manager.exact(day)
    assert all(abs(shown[name] - exact[name]) <= manager.SHOWN / 2 for name in shown)
    assert day.issued == day.good + day.miscut + day.back + day.waste + day.on_saw_end
    assert (day.unaccounted, day.on_saw_end) == (0, 0)
    blanks = [blank for line in expected for blank in line["blanks"]]
    assert round(exact["good"]) == round(sum(manager.volume(blank) * blank["qty"] for blank in blanks))
    assert round(exact["miscut"]) == round(manager.volume(blanks[1]))
    manager.close(hands)
    hands.look("closed")
    assert DayClose.objects.get().day == timezone.localdate()


# Floor ----------------------------------------------------------------------------------------------------------------


def saw(hands, code, expected):
    """Saw all blanks of the order out of its block, put the remnants back, finish the block."""
    hands.press("Saw 1")
    floor.scan(hands, code, "open it")
    hands.look("scanned")
    tag = floor.open_block(hands)
    assert floor.saw_all(hands) == {office.box(blank): blank["qty"] for line in expected for blank in line["blanks"]}
    hands.look("sawn")
    back = floor.put_back_all(hands)
    assert [short for short in back.values() if short] == [12_700], "half an inch shorter than planned"
    hands.look("put-back")
    floor.finish_block(hands, tag)
    assert StockPiece.objects.get(tag=tag).state == "used"


def spoil_one(hands, code, expected):
    """Cut every piece and spoil one: its blank is due again."""
    floor.at(hands, "cutter-1")
    floor.scan(hands, code, "Piece cut")
    hands.look("cutter")
    assert floor.cut_all(hands, spoil=SPOILED) == {
        stick["mark"]: (office.sixteenths(stick["front"]), office.sixteenths(stick["wall"]))
        for line in expected for stick in line["sticks"]
    }  # fmt: skip
    hands.look("cut")
    hands.sees("No blank here yet. Saw 1 saws it.", where=floor.SCREEN)


def finish(hands, code, run):
    """Saw the blank that is due again, cut the last piece."""
    floor.at(hands, "saw-1")
    floor.scan(hands, code, "cut again", "open it")
    hands.look("again")
    tag = floor.open_block(hands)
    assert list(floor.saw_all(hands).values()) == [1]
    floor.put_back_all(hands)
    floor.finish_block(hands, tag)
    assert CuttingRun.objects.get(pk=run.pk).state == "done"
    floor.at(hands, "cutter-1")
    floor.scan(hands, code, "Piece cut")
    assert list(floor.cut_all(hands)) == [SPOILED]
    hands.look("all-cut")


def scan_old_sheet(hands, order, code):
    """Scan the sheet that was printed before the change: it says what changed."""
    floor.scan(hands, code, "Old sheet", "Tear it up. Sheet B is in force.", "Nothing was counted")
    hands.look("old-sheet")
    order.refresh_from_db()
    change = order.revisions.get(number=2).changes[0]
    hands.sees(change["what"], where=".st-changes")
    assert hands.words(".st-changes del") != hands.words(".st-changes ins")


def scan_twice(hands, order, code):
    """Scan the same sheet twice, as a hand that trembles does: the second scan changes nothing."""
    floor.scan(hands, code, "No plan yet for")
    before = hands.words(floor.SCREEN)
    hands.scan(code)
    hands.key("x")  # a key without an act: by now the second scan would have been sent
    assert hands.words(floor.SCREEN) == before
    hands.look("scanned-twice")
