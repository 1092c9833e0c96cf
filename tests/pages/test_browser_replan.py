"""A plan that is half sawn when a blank is spoiled and a block turns out short: planned again, sawn, cut, balanced."""

import re

import pytest
from django.utils import timezone
from floor_shop import theatre
from planning_queue import work_the_queue

from cutsheets.codes import make_plan_code, make_sheet_code
from orders import planning
from orders.demo import small_shop
from orders.models import Blank, CuttingRun, Piece
from orders.planning.wanted import coming
from shop import account
from shop.acts import Act
from shop.models import StockPiece
from tests.pages import day_floor as floor
from tests.pages import day_manager as manager
from tests.pages.day_browser import Hands

BAND = {"pieces": [{"length": 40, "qty": 8}]}  # blanks 41 × 2-7/8 × 5-1/4
SLAB = (1_100_000, 160_000, 280_000)  # gives four of them
pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def shop(db):
    return small_shop(passwords=True)


@pytest.fixture
def order(shop):
    raf = Act(shop.people["raf"])
    for number in range(1, 5):
        account.receive(f"K-000{number}", shop.grades["Firm 1.5"], SLAB, raf)
    return theatre(shop, lines=(("TP-22", BAND),))


@pytest.fixture
def hands(browser, live_server, screenshot, order):
    return Hands(browser, live_server.url, screenshot)


def test_a_plan_survives_a_miscut_and_a_short_block_with_every_cubic_inch_found(hands, order):
    hands.sign_in("raf")
    first = planned(hands, manager.plan(hands))
    hands.sign_in("bo")
    saw_half(hands, first)
    keep_a_rest(hands)
    measure_short(hands)
    hands.sign_in("raf")
    second = planned(hands, plan_the_rest(hands, first))
    hands.sign_in("bo")
    floor.at(hands, "saw-1")
    floor.scan(
        hands, make_plan_code(first.number), "Old sheet", f"Plan {second.number} has replaced plan {first.number}"
    )
    hands.look("replan-old-sheet")
    saw_rest(hands, second)
    cut(hands, order)
    hands.sign_in("raf")
    close(hands)


def planned(hands, run):
    """Accept a draft, and check what its blanks and its foam come to."""
    manager.accept(hands, run)
    add_up()
    return run


def add_up():
    """Every cubic micrometre of the day is found, and every blank that is due is sawn, coming or wanted."""
    assert [day.unaccounted for day in account.day_figures(timezone.localdate())] == [0]
    blank = Blank.objects.get()
    wanted = sum(qty for _, qty in planning.demand(blank.line.grade))
    assert wanted + coming().get(blank.pk, 0) + blank.sawn == blank.qty + blank.wire_miscut


def saw_half(hands, run):
    """Open the first block of the saw sheet: two blanks are good, one is spoiled, one more is good."""
    floor.at(hands, "saw-1")
    floor.scan(hands, make_plan_code(run.number), "open it")
    assert floor.open_block(hands) == "K-0001"
    floor.count_many(hands, 2, "6 left")
    floor.miscut(hands, "1")
    hands.sees("6 left", "cut again", f"Since plan {run.number} was accepted:", "(1 ruined at the saw)")
    hands.look("replan-spoiled")
    floor.count_one(hands)
    add_up()


def keep_a_rest(hands):
    """Keep a rest of the block that no plan knew of, under the tag that the screen says; then finish it."""
    hands.sees("K-0001 is finished", where=floor.SCREEN)
    hands.key("k")
    hands.sees("Keep a rest: R-0001", "Write R-0001 on it.", where=floor.SCREEN)
    hands.fill(long="50", wide="4", high="3", place="rack 2")
    hands.press("Tag R-0001")
    hands.sees("cannot be larger than K-0001", where=floor.SCREEN)
    hands.look("replan-rest")
    hands.fill(long="20")
    hands.press("Tag R-0001")
    hands.sees("K-0001 is finished", where=floor.SCREEN)
    assert StockPiece.objects.get(tag="R-0001").size_um == (508_000, 101_600, 76_200)
    hands.act()
    hands.sees("Take K-0002, open it", where=floor.SCREEN)
    add_up()


def measure_short(hands):
    """Measure the next block before it is opened: it is too narrow, and goes back to the rack."""
    hands.key("t")
    hands.sees("K-0002 is not as planned?", "No good at all?", where=floor.SCREEN)
    hands.press("K-0002 measures this")
    hands.fill(wide="4", reason="edge broken off")
    hands.look("replan-measure")
    hands.press("K-0002 measures this")
    hands.sees("No plan yet for 5. Ask the manager.", where=floor.SCREEN)
    piece = StockPiece.objects.get(tag="K-0002")
    assert (piece.state, piece.w_um) == ("rack", 101_600)
    add_up()


def plan_the_rest(hands, run):
    """See on the plan's page what became of it, and plan the rest of it again."""
    hands.open(f"/plans/{run.number}/")
    hands.sees(f"Plan {run.number} left blanks unsawn.", "K-0002 is not as planned: edge broken off.")
    hands.sees(f"5 more of {Blank.objects.get().line.order} A1", "(1 ruined at the saw)")
    hands.look("replan-changes")
    hands.press("Plan the rest again")
    hands.sees("being planned")
    work_the_queue()
    hands.sees(f"takes over what waits of plan {run.number}", "Accept, reserve the foam")
    hands.look("replan-draft")
    return CuttingRun.objects.first()


def saw_rest(hands, run):
    """Saw every block of the new plan to its end."""
    floor.at(hands, "saw-1")
    floor.scan(hands, make_plan_code(run.number), "open it")
    while "All sawn" not in hands.words(floor.SCREEN):
        tag = floor.open_block(hands)
        while re.search("Blank sawn|Put back", hands.words(floor.SCREEN)):
            floor.count_one(hands) if "Blank sawn" in hands.words(floor.SCREEN) else floor.put_back_all(hands)
            add_up()
        hands.sees(f"{tag} is finished", where=floor.SCREEN)
        hands.act()
        hands.until(lambda tag=tag: f"{tag} is finished" not in hands.words(floor.SCREEN), "the next block")
        add_up()
    run.refresh_from_db()
    assert (run.state, Blank.objects.get().sawn) == ("done", 8)


def cut(hands, order):
    floor.at(hands, "cutter-1")
    floor.scan(hands, make_sheet_code(order.number, "A"), "Piece cut")
    floor.cut_all(hands)
    order.refresh_from_db()
    assert (Piece.objects.get().cut, order.done_at is not None) == (8, True)


def close(hands):
    """Close the day: what was issued is good, miscut, back on the rack or waste, and nothing else."""
    hands.press("Day")
    [day] = account.day_figures(timezone.localdate())
    assert day.issued == day.good + day.miscut + day.back + day.waste
    assert (day.good, day.miscut) == tuple(Blank.objects.get().volume * count for count in (8, 1))
    assert (day.unaccounted, day.on_saw_end) == (0, 0)
    manager.close(hands)
    hands.look("replan-closed")
