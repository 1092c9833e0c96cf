import dataclasses

import pytest

from cutsheets.codes import make_plan_code, make_profile_code, make_sheet_code, make_stock_code
from orders import entry, moves, sawing
from orders.answers import stopped
from orders.models import CuttingRun, Order, Profile, Scan
from orders.scanning import scan
from shop.acts import Act
from shop.models import Station


def scanned(act, raw, code):
    """Scan, and return the answer after checking that it has this code and left its row."""
    answer = scan(raw, act)
    assert (answer.code, Scan.objects.get().answer) == (code, code)
    assert answer.accepted == (code == "ok")
    assert answer.sentence.endswith(".")
    return answer


@pytest.fixture
def sheet(order):
    """The text of the order's sheet A."""
    return make_sheet_code(order.number, "A")


def test_a_sheet_in_force_is_answered_with_its_order_and_counts(order, sheet, bo):
    answer = scanned(bo, sheet, "ok")
    assert (answer.order, answer.details["sawn"], answer.details["due"]) == (order, 0, 8)
    row = Scan.objects.get()
    assert (row.raw, row.order, row.by, row.station, row.happened_at) == (sheet, order, bo.by, bo.station, bo.at)


def test_the_scan_of_a_sheet_counts_nothing(order, sheet, bo):
    scan(sheet, bo)
    assert not order.moves.exclude(action="release").exists()


@pytest.mark.parametrize(
    ("raw", "code"),
    [
        ("", "unknown"),
        ("0012345678905", "unknown"),
        ("BY4182CX", "code-damaged"),
        ("x" * 5000, "unknown"),
        (make_sheet_code(4182, "C"), "unknown"),
        (make_plan_code(118), "unknown"),
        (make_stock_code("block", 7), "unknown"),
        (make_profile_code(987_654, "A"), "unknown"),
    ],
)
def test_what_is_no_sheet_of_ours_is_refused_and_kept(raw, code, order, bo):
    assert scanned(bo, raw, code).order is None
    assert Scan.objects.get().raw == raw[:200]


def test_a_repeat_sheet_belongs_to_the_office(order, bo):
    profile = Profile.objects.create(code="TP-77", name="cornice")
    answer = scanned(bo, make_profile_code(profile.pk, "A"), "repeat-sheet")
    assert "TP-77" in answer.sentence
    assert "for the office" in answer.sentence


def test_an_unknown_number_never_falls_back_to_a_near_one(order, bo):
    near = make_sheet_code(order.number + 1, "A")
    assert scanned(bo, near, "unknown").order is None


def test_a_draft_has_no_sheet_to_scan(draft, bo):
    scanned(bo, make_sheet_code(draft.number, "A"), "not-released")


def test_old_paper_is_told_what_changed_since(order, sheet, line_data, mina, bo):
    order.refresh_from_db()
    data = line_data | {"qty": 2}
    entry.save_line(order, data, mina, version=order.version, line=order.lines.get())
    order.refresh_from_db()
    entry.save_line(order, data | {"qty": 3}, mina, version=order.version, line=order.lines.get())
    answer = scanned(bo, sheet, "old-sheet")
    assert (answer.details["letter"], answer.details["letter_now"]) == ("A", "C")
    assert answer.details["changes"] == [
        {"what": "A blank 1, count", "old": "8", "new": "24"}, {"what": "A1, count", "old": "8", "new": "24"},
    ]  # fmt: skip


def test_what_was_changed_back_is_no_change_to_the_floor(order, sheet, line_data, mina, bo):
    for qty in (2, 1):
        order.refresh_from_db()
        entry.save_line(order, line_data | {"qty": qty}, mina, version=order.version, line=order.lines.get())
    assert scanned(bo, sheet, "old-sheet").details["changes"] == []


def test_a_letter_that_was_never_printed_is_unknown(order, bo):
    scanned(bo, make_sheet_code(order.number, "D"), "unknown")


def test_an_order_on_hold_says_who_holds_it_and_why(order, sheet, mina, bo):
    moves.hold(order, "deposit not in.", mina)
    answer = scanned(bo, sheet, "held")
    assert (answer.details["who"], answer.details["reason"]) == ("Mina O.", "deposit not in.")


def test_a_cancelled_order_is_cut_no_more_whatever_the_letter(order, mina, bo):
    moves.cancel(order, "job given up", mina)
    scanned(bo, make_sheet_code(order.number, "D"), "cancelled")
    assert stopped(Order.objects.get()).code == "cancelled"


def test_at_the_cutter_a_sheet_without_a_sawn_blank_belongs_to_the_saw(order, sheet, cutter):
    scanned(cutter, sheet, "not-here")


def test_at_the_cutter_a_sheet_with_sawn_blanks_is_work(sawn, sheet, cutter):
    scanned(cutter, sheet, "ok")


def test_at_the_saw_an_order_stays_while_its_block_lies_open_and_is_done_after(sawn, opened, sheet, bo):
    assert scan(sheet, bo).code == "ok"
    sawing.finish_source(opened, bo)
    answer = scan(sheet, bo)
    assert (answer.code, answer.details["sawn"]) == ("done", 8)
    assert "wire cutter" in answer.sentence


def test_at_the_cutter_a_cut_order_is_done(sawn, piece, sheet, cutter):
    moves.count_cut(piece, 8, cutter)
    scanned(cutter, sheet, "done")


def test_a_scan_sent_twice_leaves_one_row_and_the_same_answer(order, sheet, bo):
    act = dataclasses.replace(bo, scan_id="tablet-1-77")
    assert scan(sheet, act) == scan(sheet, act)
    assert Scan.objects.count() == 1


def test_a_saw_sheet_leads_to_the_order_of_the_next_block(opened, order, bo):
    answer = scanned(bo, make_plan_code(opened.run.number), "ok")
    assert (answer.order, answer.run, answer.details["source"]) == (order, opened.run, opened.pk)


def test_a_saw_sheet_is_refused_at_the_cutter(opened, cutter):
    scanned(cutter, make_plan_code(opened.run.number), "saw-sheet")


def test_a_saw_sheet_that_is_sawn_is_done(sawn, opened, bo):
    sawing.finish_source(opened, bo)
    scanned(bo, make_plan_code(opened.run.number), "plan-done")


def test_a_saw_sheet_of_a_plan_thrown_away_is_torn_up(opened, bo):
    CuttingRun.objects.update(state="void")
    scanned(bo, make_plan_code(opened.run.number), "plan-void")


def test_a_saw_sheet_of_a_replaced_plan_leads_to_what_lies_open_and_then_names_the_new_plan(sawn, opened, bo):
    sheet = make_plan_code(opened.run.number)
    CuttingRun.objects.update(state="done")
    asked = {"instead_of": opened.run.number}
    CuttingRun.objects.create(
        number=7, grade=opened.run.grade, state="accepted", asked=asked, accepted_at=bo.at, follows=opened.run,
    )  # fmt: skip
    assert scan(sheet, bo).details["source"] == opened.pk
    sawing.finish_source(opened, bo)
    answer = scan(sheet, bo)
    assert answer.code == "plan-replaced"
    assert f"Plan 7 has replaced plan {opened.run.number}." in answer.sentence


def test_an_open_block_whose_order_may_not_be_sawn_waits_to_be_settled(opened, order, mina, bo):
    moves.hold(order, "deposit not in.", mina)
    assert scanned(bo, make_plan_code(opened.run.number), "ok").details["settle"]


def test_a_scan_is_answered_with_eight_queries_at_most(opened, sheet, bo, cutter, django_assert_max_num_queries):
    for raw in (sheet, make_plan_code(opened.run.number), "BY4182CX"):
        with django_assert_max_num_queries(8):
            scan(raw, bo)
        with django_assert_max_num_queries(8):
            scan(raw, cutter)


MOST_QUERIES = 8  # of one scan, its row among them


@pytest.mark.parametrize("kind", Station.Kind.values)
def test_a_scan_asks_the_database_no_more_than_eight_times(
    order, opened, blank, bo, sheet, kind, django_assert_max_num_queries
):
    moves.count_sawn(blank, 2, bo)
    here = Act(bo.by, Station.objects.create(code="new", name="New", kind=kind))
    with django_assert_max_num_queries(MOST_QUERIES):
        scan(sheet, here)
