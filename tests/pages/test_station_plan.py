"""The saw follows a plan from block to block and from order to order, and never loses what lies on it."""

import pytest
from django.utils import timezone
from floor_shop import BLOCK, plan_for, theatre

from cutsheets.codes import make_plan_code, make_sheet_code
from orders import moves, planning, sawing
from orders.models import Blank, CuttingRun, RunBlank, RunSource
from orders.tag_scans import first_blank
from shop import account
from shop.acts import Act

BAND = {"pieces": [{"length": 40, "qty": 2}]}


@pytest.fixture
def first(shop):
    return theatre(shop, lines=(("TP-22", BAND),))


@pytest.fixture
def second(shop):
    return theatre(shop, job="Second house", lines=(("TP-22", BAND),))


def blank_of(order):
    return Blank.objects.get(line__order=order)


def count_last(floor, blank, qty):
    order = blank.line.order.number
    return floor.post("/station/saw-1/count/", {"order": order, "blank": blank.pk, "qty": qty}, follow=True)


def test_after_the_last_blank_of_one_order_the_block_on_the_saw_goes_on_with_the_next(
    floor, shop, first, second, bo, words
):
    run = plan_for(shop, first, remnant="")
    source = run.sources.get()
    RunBlank.objects.create(source=source, blank=blank_of(second), qty=2)
    sawing.open_source(source, bo)
    answer = count_last(floor, blank_of(first), 2)
    assert f"All sawn. K-0001: go on with {second.number}" in words(answer)


@pytest.fixture
def two_grades(shop, raf):
    """An order of two grades, the first one sawn and its block finished, the second one open on the saw."""
    order = theatre(shop, lines=(("TP-22", BAND), ("TP-22", BAND)))
    dense = order.lines.last()
    dense.grade = shop.grades["Light 1.0"]
    dense.save()
    return order


def open_for(shop, order, tag, blanks, bo, more=()):
    run = plan_for(shop, order, tags=(tag,), remnant="")
    source = run.sources.get()
    source.blanks.exclude(blank__in=blanks).delete()
    for blank in more:
        RunBlank.objects.create(source=source, blank=blank, qty=blank.to_saw)
    return sawing.open_source(source, bo)


def test_a_done_size_of_another_grade_does_not_hide_the_open_block(floor, shop, two_grades, second, bo, words):
    done, last = Blank.objects.filter(line__order=two_grades).order_by("line__position")
    finished = open_for(shop, two_grades, "K-0001", [done], bo)
    moves.count_sawn(done, 2, bo)
    sawing.finish_source(finished, bo)
    open_for(shop, two_grades, "K-0002", [last], bo, more=[blank_of(second)])
    said = words(count_last(floor, last, 2))
    assert f"All sawn. K-0002: go on with {second.number}" in said
    assert "Blanks to" not in said


def test_a_scanned_plan_shows_its_own_block_and_not_one_of_another_plan(floor, shop, two_grades, bo, words):
    one, two = Blank.objects.filter(line__order=two_grades).order_by("line__position")
    open_for(shop, two_grades, "K-0001", [one], bo)
    waiting = open_for(shop, two_grades, "K-0002", [two], bo)
    answer = floor.post("/station/saw-1/scan/", {"raw": make_plan_code(waiting.run.number)}, follow=True)
    assert "On the saw, plan 119" in words(answer)


def test_other_sizes_of_an_order_stand_under_their_grade(floor, shop, two_grades, bo, words):
    plan_for(shop, two_grades)
    answer = floor.post("/station/saw-1/scan/", {"raw": make_sheet_code(two_grades.number, "A")}, follow=True)
    assert f"Other sizes of {two_grades.number}, Light 1.0" in words(answer)


@pytest.fixture
def two_blocks(shop, first, second, raf, bo):
    """A plan of two blocks: the first for one order, on the saw, the second one for another order."""
    run = plan_for(shop, first, remnant="")
    piece = account.reserve(
        account.receive("K-0002", shop.grades["Firm 1.5"], BLOCK, raf, place="bay 3"), raf, held_for=str(run)
    )
    later = RunSource.objects.create(run=run, position=2, piece=piece)
    RunBlank.objects.create(source=later, blank=blank_of(second), qty=2)
    return sawing.open_source(run.sources.first(), bo)


def test_all_sawn_is_said_of_the_order_while_its_plan_has_another_block(floor, first, second, two_blocks, words):
    count_last(floor, blank_of(first), 2)
    sent = {"order": first.number, "pick": blank_of(first).pk, "source": two_blocks.pk}
    answer = floor.post("/station/saw-1/finish/", sent, follow=True)
    assert f"All sawn. Plan 118: K-0002 is next, for {second.number}" in words(answer)
    assert f"order={second.number}&amp;pick={blank_of(second).pk}" in answer.content.decode()


def test_with_the_other_order_on_hold_the_blanks_go_to_the_wire(floor, shop, first, second, two_blocks, words):
    moves.hold(second, "colour not chosen", Act(shop.people["mina"]))
    count_last(floor, blank_of(first), 2)
    sent = {"order": first.number, "pick": blank_of(first).pk, "source": two_blocks.pk}
    assert "All sawn. Blanks to Cutter 1 or Cutter 2." in words(floor.post("/station/saw-1/finish/", sent, follow=True))


def test_an_open_block_is_gone_on_with_before_the_next_one_is_opened(floor, shop, first, second, bo, raf, words):
    """Half of an order comes out of the open block, half of a waiting one; the open one has another order's blanks."""
    run = plan_for(shop, first, remnant="")
    source = run.sources.get()
    RunBlank.objects.filter(source=source).update(qty=1)
    RunBlank.objects.create(source=source, blank=blank_of(second), qty=2)
    piece = account.reserve(account.receive("K-0002", shop.grades["Firm 1.5"], BLOCK, raf), raf, held_for=str(run))
    later = RunSource.objects.create(run=run, position=2, piece=piece)
    RunBlank.objects.create(source=later, blank=blank_of(first), qty=1)
    sawing.open_source(source, bo)
    said = words(count_last(floor, blank_of(first), 1))
    assert f"K-0001: go on with {second.number}" in said
    assert "Take K-0002" not in said


def test_after_a_finished_block_the_station_goes_on_with_the_sizes_that_are_left(floor, shop, bo, raf, words):
    order = theatre(shop, lines=(("TP-22", BAND), ("TP-22", {"pieces": [{"length": 50, "qty": 2}]})))
    one, two = Blank.objects.filter(line__order=order).order_by("line__position")
    finished = open_for(shop, order, "K-0001", [one], bo)
    waiting = plan_for(shop, order, tags=("K-0002",), remnant="").sources.get()
    waiting.blanks.exclude(blank=two).delete()
    count_last(floor, one, 2)
    sent = {"order": order.number, "pick": one.pk, "source": finished.pk}
    assert "Take K-0002, open it" in words(floor.post("/station/saw-1/finish/", sent, follow=True))


def test_the_sheet_of_a_replaced_plan_says_what_is_opened_now(floor, shop, words):
    run = plan_for(shop, theatre(shop), tags=("K-0001", "K-0002"), remnant="")
    CuttingRun.objects.filter(pk=run.pk).update(state="void")
    new = CuttingRun.objects.create(
        number=run.number + 1, grade=run.grade, state="accepted", asked={"instead_of": run.number},
        accepted_at=timezone.now(),
    )  # fmt: skip
    block = account.receive("K-0003", run.grade, BLOCK, Act(shop.people["raf"]))
    RunSource.objects.create(run=new, position=1, piece=block)
    page = words(floor.post("/station/saw-1/scan/", {"raw": make_plan_code(run.number, 1), "scan_id": "s1"}))
    assert f"Plan {new.number} has replaced plan {run.number}." in page
    assert "to open K-0001, K-0002 K-0003" in page


def test_of_two_sizes_the_one_whose_block_comes_first_in_the_plan_is_first(shop, floor, firm, raf):
    order = theatre(shop, lines=(("TP-22", BAND), ("TP-14", BAND)))
    late, early = Blank.objects.filter(line__order=order).order_by("line__position")
    run = CuttingRun.objects.create(number=7, grade=firm, state="accepted", instance={}, plan={}, figures={})
    for position, (tag, blank) in enumerate((("K-0001", early), ("K-0002", late)), 1):
        piece = account.reserve(account.receive(tag, firm, BLOCK, raf), raf, held_for=str(run))
        source = RunSource.objects.create(run=run, position=position, piece=piece)
        RunBlank.objects.create(source=source, blank=blank, qty=blank.qty)
    page = floor.get("/station/saw-1/", {"order": order.number}).content.decode()
    assert "Take K-0001" in page


def test_out_of_one_block_the_size_that_is_cut_first_is_first(shop, floor, firm, raf, words):
    order = theatre(shop, lines=(("TP-22", BAND), ("TP-14", BAND)))
    account.receive("K-0001", firm, BLOCK, raf)
    run = planning.accept(planning.make_plan(firm, raf, iterations=1), raf)
    source = sawing.open_source(run.sources.get(), raf)
    [opened] = planning.opened_pieces(run)
    freed = next(step.off for step in opened.steps if step.off in run.figures["blanks"])
    first = Blank.objects.get(pk=run.figures["blanks"][freed])
    assert first.line.mark == "B"  # the cuts do not follow the lines of the order
    page = floor.get("/station/saw-1/", {"order": order.number}).content.decode()
    assert f'data-pick="{first.pk}"' in page
    assert first_blank(source) == first
