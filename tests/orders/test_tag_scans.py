"""Tags of blocks and remnants at a station: what may be opened, and what to do where it may not."""

import pytest
from floor_shop import BLOCK, REST, plan_for, theatre

from cutsheets.codes import make_stock_code
from orders import moves, sawing
from orders.models import Blank, CuttingRun, Scan
from orders.scanning import scan
from orders.tag_scans import waited_for
from shop import account
from shop.acts import Act
from shop.models import Station, StockPiece

BAND = {"pieces": [{"length": 40, "qty": 3}]}


@pytest.fixture
def bo(shop):
    return Act(shop.people["bo"], shop.stations["saw-1"])


@pytest.fixture
def raf(shop):
    return Act(shop.people["raf"])


@pytest.fixture
def order(shop):
    return theatre(shop, lines=(("TP-22", BAND),))


@pytest.fixture
def run(shop, order):
    """Two blocks; all blanks come out of the first, K-0001."""
    return plan_for(shop, order, tags=("K-0001", "K-0002"))


@pytest.fixture
def waits(run, order):
    """What the screen of the order waits for: K-0001."""
    return waited_for(order.number, Blank.objects.get().pk)


def tag(number, kind="block"):
    return make_stock_code(kind, number)


def answered(act, code, **seen):
    """Scan a tag, and return the answer after checking that it left its row, said a sentence and moved no foam."""
    before = list(StockPiece.objects.values_list("tag", "state"))
    answer = scan(code, act, **seen)
    assert Scan.objects.latest("pk").answer == answer.code
    assert answer.sentence.endswith(".")
    assert list(StockPiece.objects.values_list("tag", "state")) == before
    return answer


def test_the_piece_that_the_screen_waits_for_may_be_opened(bo, run, waits):
    answer = answered(bo, tag(1), wanted=waits)
    assert (answer.accepted, answer.details["tag"], answer.run) == (True, "K-0001", run)


def test_without_a_screen_that_waits_a_piece_of_any_accepted_plan_may_be_opened(bo, order, run):
    assert answered(bo, tag(1)).accepted


def test_another_grade_is_refused_with_both_names(bo, shop, raf, waits):
    account.receive("K-0009", shop.grades["Dense 2.0"], BLOCK, raf)
    answer = answered(bo, tag(9), wanted=waits)
    assert answer.code == "wrong-foam"
    assert answer.sentence == "K-0009 is Dense 2.0. K-0001 is wanted: Firm 1.5."


def test_a_later_piece_of_the_plan_comes_after_the_first(bo, shop, order, run, waits):
    source = run.sources.get(position=2)
    source.blanks.create(blank=Blank.objects.get(), qty=0)
    answer = answered(bo, tag(2), wanted=waits)
    assert (answer.code, answer.details["tag"]) == ("tag-not-next", "K-0002")
    assert answer.sentence.startswith("Take K-0001 from bay 2 first.")


def test_a_piece_in_no_plan_goes_back_to_its_place(bo, shop, raf, waits):
    account.receive("K-0009", shop.grades["Firm 1.5"], BLOCK, raf, place="bay 7")
    answer = answered(bo, tag(9), wanted=waits)
    assert (answer.code, answer.details) == ("tag-free", {})
    assert "Put K-0009 back at bay 7" in answer.sentence
    assert "Take K-0001 from bay 2." in answer.sentence


def test_a_piece_kept_for_a_plan_that_is_not_accepted_stays(bo, run):
    CuttingRun.objects.update(state="draft")
    answer = answered(bo, tag(1))
    assert answer.code == "tag-reserved"
    assert f"kept for plan {run.number}" in answer.sentence


def test_an_open_piece_shows_its_work_here_and_who_has_it_elsewhere(bo, shop, order, run):
    sawing.open_source(run.sources.get(position=1), bo)
    here = answered(bo, tag(1))
    assert (here.accepted, here.order, here.details["blank"]) == (True, order, Blank.objects.get().pk)
    other = Act(shop.people["bo"], Station.objects.create(code="saw-2", name="Saw 2", kind="saw"))
    answer = answered(other, tag(1))
    assert answer.code == "tag-on-saw"
    assert "opened by Bo L. at Saw 1" in answer.sentence


def test_used_up_and_scrapped_pieces_say_who_and_why(bo, shop, order, run, raf):
    source = run.sources.get(position=1)
    run.sources.get(position=1).remnants.all().delete()
    sawing.open_source(source, bo)
    moves.count_sawn(Blank.objects.get(), 3, bo)
    sawing.finish_source(source, bo)
    used = answered(bo, tag(1))
    assert (used.code, "opened by Bo L. at Saw 1" in used.sentence) == ("tag-used", True)
    piece = account.receive("K-0009", shop.grades["Firm 1.5"], BLOCK, raf)
    account.scrap(piece, raf, reason="rain got in")
    scrapped = answered(bo, tag(9))
    assert (scrapped.code, "(rain got in)" in scrapped.sentence) == ("tag-scrapped", True)


def test_a_remnant_answers_like_a_block(bo, shop, raf, run, waits):
    account.receive("R-0009", shop.grades["Dense 2.0"], REST, raf)
    assert answered(bo, tag(9, "remnant"), wanted=waits).code == "wrong-foam"


@pytest.mark.parametrize(("stop", "code"), [(moves.hold, "held"), (moves.cancel, "cancelled")])
def test_nothing_is_opened_for_an_order_that_is_stopped(bo, shop, order, run, stop, code):
    stop(order, "The town asks.", Act(shop.people["raf"]))
    assert answered(bo, tag(1)).code == code


def test_blanks_of_an_older_sheet_open_nothing(bo, run):
    Blank.objects.update(live=False)
    assert answered(bo, tag(1)).code == "tag-idle"


def test_a_tag_that_is_not_on_the_books_is_unknown(bo, run):
    assert answered(bo, tag(77)).code == "unknown"


@pytest.mark.parametrize("station", ["cutter-1"])
def test_away_from_the_saw_a_tag_only_says_what_it_is(shop, run, station):
    answer = answered(Act(shop.people["bo"], shop.stations[station]), tag(1))
    assert (answer.code, answer.piece.tag, answer.accepted) == ("tag", "K-0001", False)


def test_a_screen_on_which_a_piece_lies_open_waits_for_none(bo, order, run, waits):
    assert waits.piece.tag == "K-0001"
    sawing.open_source(run.sources.get(position=1), bo)
    assert waited_for(order.number, Blank.objects.get().pk) is None
    assert waited_for(order.number, 0) is None


def test_a_tag_is_answered_within_eight_queries(bo, order, run, django_assert_max_num_queries):
    blank = Blank.objects.get()
    with django_assert_max_num_queries(8):  # the savepoint around the row of the scan is two of them
        scan(tag(1), bo, wanted=waited_for(order.number, blank.pk))
