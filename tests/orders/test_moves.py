"""Words and counts of an order: what is allowed, what is written, what is refused, and what can be taken back."""

from collections import Counter
from contextlib import suppress
from dataclasses import replace
from datetime import timedelta

import pytest
from django.db import transaction
from django.utils import timezone
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from orders import moves
from orders.models import Move, RunSource
from orders.standing import standing
from shop import account
from shop.models import StockMove
from shop.refusals import Refused


def word(order):
    order.refresh_from_db()
    return standing(order).word


# Words


def test_a_release_writes_blanks_pieces_and_sheet_a(order):
    line = order.lines.get()
    assert word(order) == "released"
    assert [blank.qty for blank in line.blanks.all()] == [8]
    assert [(piece.label, piece.qty, piece.blank) for piece in line.pieces.all()] == [("A1", 8, line.blanks.get())]
    assert [revision.number for revision in order.revisions.all()] == [1]


def test_an_order_without_lines_is_not_released(draft, mina, refused):
    draft.lines.all().delete()
    refused("no-lines", moves.release, draft, mina)
    assert word(draft) == "draft"


def test_a_second_release_is_refused(order, mina, refused):
    refused("released", moves.release, order, mina)


def test_a_release_of_an_order_that_somebody_changed_meanwhile_is_refused(draft, mina, refused):
    type(draft).objects.filter(pk=draft.pk).update(version=draft.version + 1)
    refused("changed-meanwhile", moves.release, draft, mina)


def test_foam_that_is_not_flame_retardant_is_not_released_for_a_building(draft, shop, mina, refused):
    draft.lines.update(grade=shop.grades["Mould 1.25"])
    refused("not-for-buildings", moves.release, draft, mina)
    assert not draft.lines.get().blanks.exists()


def test_a_blank_that_no_block_holds_is_refused_with_the_largest_block_named(draft, mina, refused):
    draft.lines.update(spec={"section": [[0, 0], [50, 0], [50, 50], [0, 50]], "pieces": [{"length": 40}]})
    refusal = refused("blank-too-big", moves.release, draft, mina)
    assert "97 × 49 × 37" in refusal.sentence


def test_a_blank_that_no_wire_cutter_takes_is_refused(draft, shop, mina, refused):
    for code in ("cutter-1", "cutter-2"):
        shop.stations[code].travel = 100
        shop.stations[code].save()
    refused("machine-too-small", moves.release, draft, mina)


def test_a_hold_names_its_reason_to_whoever_counts(order, blank, opened, mina, bo, refused):
    moves.hold(order, "deposit not in", mina)
    refusal = refused("held", moves.count_sawn, blank, 1, bo)
    assert "is on hold: deposit not in. Ask Mina O." in refusal.sentence
    assert refusal.details["who"] == "Mina O."
    moves.resume(order, mina)
    assert moves.count_sawn(blank, 1, bo).qty == 1


def test_a_hold_needs_a_reason(order, mina, refused):
    refused("no-reason", moves.hold, order, "  ", mina)


def test_nothing_is_counted_for_a_cancelled_order(order, blank, opened, mina, bo, refused):
    moves.cancel(order, "customer gave up", mina)
    refused("cancelled", moves.count_sawn, blank, 1, bo)
    refused("cancelled", moves.cancel, order, "again", mina)


def test_only_a_held_order_goes_on(order, mina, refused):
    refused("released", moves.resume, order, mina)


def test_a_draft_takes_no_hold(draft, mina, refused):
    refused("not-released", moves.hold, draft, "wait", mina)


# Counts


def test_good_blanks_are_booked_out_of_the_opened_block(blank, opened, bo):
    moves.count_sawn(blank, 3, bo)
    blank.refresh_from_db()
    assert (blank.sawn, blank.to_saw) == (3, 5)
    assert account.left_on_saw(opened.piece) == opened.piece.volume - 3 * blank.volume


def test_a_count_without_an_opened_block_is_refused(blank, bo, refused):
    refused("nothing-open", moves.count_sawn, blank, 1, bo)


def test_more_than_left_is_refused_and_says_how_many_are_left(blank, opened, bo, refused):
    moves.count_sawn(blank, 6, bo)
    assert refused("over-count", moves.count_sawn, blank, 3, bo).details["left"] == 2
    blank.refresh_from_db()
    assert blank.sawn == 6


def test_more_than_the_opened_block_was_planned_for_is_refused(order, blank, bo, refused, open_block):
    open_block(order, bo, qty=2)
    assert refused("over-count", moves.count_sawn, blank, 3, bo).details["left"] == 2


def test_a_count_of_nothing_is_refused(blank, piece, opened, bo, refused):
    refused("count", moves.count_sawn, blank, 0, bo)
    refused("count", moves.count_cut, piece, -1, bo)


def test_with_two_saws_a_count_goes_to_the_block_opened_at_its_own(order, shop, blank, bo, open_block):
    here = open_block(order, bo)
    there = open_block(order, replace(bo, station=shop.stations["cutter-1"]), "K-0002")
    assert moves.count_sawn(blank, 1, bo).run_blank.source == here
    assert moves.count_sawn(blank, 1, replace(bo, station=shop.stations["cutter-1"])).run_blank.source == there


def test_a_repeat_of_the_same_scan_counts_once(blank, opened, bo):
    scan = replace(bo, scan_id="page-1")
    assert moves.count_sawn(blank, 2, scan) == moves.count_sawn(blank, 2, scan)
    blank.refresh_from_db()
    assert blank.sawn == 2


def test_a_repeat_of_the_scan_that_counted_the_last_blanks_is_not_called_too_many(blank, opened, bo):
    scan = replace(bo, scan_id="page-1")
    assert moves.count_sawn(blank, 8, scan) == moves.count_sawn(blank, 8, scan)


def test_a_piece_needs_a_blank_that_is_sawn(piece, blank, opened, bo, cutter, refused):
    moves.count_sawn(blank, 2, bo)
    assert refused("no-blank", moves.count_cut, piece, 3, cutter).details["ready"] == 2
    moves.count_cut(piece, 2, cutter)
    refused("no-blank", moves.count_cut, piece, 1, cutter)


def test_no_piece_is_cut_above_what_was_ordered(piece, sawn, cutter, refused):
    moves.count_cut(piece, 7, cutter)
    assert refused("over-count", moves.count_cut, piece, 2, cutter).details["left"] == 1


def test_the_last_piece_makes_the_order_done_and_its_undo_takes_that_back(order, piece, sawn, cutter):
    last = moves.count_cut(piece, 8, cutter)
    assert word(order) == "done"
    assert order.done_at == cutter.at
    moves.undo(last, cutter)
    assert word(order) == "in work"
    assert order.done_at is None


def test_panels_are_done_when_sawn(draft, shop, mina, bo, open_block):
    draft.lines.update(kind="panel", spec={"size": [36, 18, 12]}, qty=2)
    moves.release(draft, mina)
    open_block(draft, bo)
    moves.count_sawn(draft.lines.get().blanks.get(), 2, bo)
    assert word(draft) == "done"


# Miscuts


def test_a_blank_ruined_at_the_saw_is_booked_with_its_reason_and_still_due(blank, opened, bo):
    moves.miscut_at_saw(blank, 1, "fence slipped", bo)
    blank.refresh_from_db()
    assert (blank.sawn, blank.to_saw, blank.saw_miscut) == (0, 8, 1)
    row = StockMove.objects.get(kind=StockMove.Kind.MISCUT)
    assert (row.volume, row.reason, row.order_ref) == (blank.volume, "fence slipped", "4101")


def test_a_block_gives_no_more_than_planned_good_and_ruined_together(blank, opened, bo, refused):
    moves.miscut_at_saw(blank, 2, "fence slipped", bo)
    assert refused("over-count", moves.count_sawn, blank, 7, bo).details["left"] == 6


def test_a_piece_ruined_at_the_wire_makes_its_exact_blank_due_again(order, piece, blank, sawn, cutter):
    moves.miscut_at_wire(piece, 1, "wire broke", cutter)
    blank.refresh_from_db()
    assert (blank.qty, blank.to_saw, blank.ready) == (8, 1, 7)
    assert standing(order).counts.cut.due == 8
    rows = StockMove.objects.filter(order_ref=str(order))
    assert sum(row.volume for row in rows if row.kind == StockMove.Kind.GOOD) == 7 * blank.volume


def test_a_miscut_needs_a_reason_and_a_blank(piece, blank, opened, bo, cutter, refused):
    refused("no-blank", moves.miscut_at_wire, piece, 1, "wire broke", cutter)
    refused("no-reason", moves.miscut_at_wire, piece, 1, "", cutter)
    refused("no-reason", moves.miscut_at_saw, blank, 1, "", bo)


def test_the_order_is_done_only_after_the_ruined_piece_is_cut_again(order, piece, blank, sawn, bo, cutter, open_block):
    moves.miscut_at_wire(piece, 1, "wire broke", cutter)
    moves.count_cut(piece, 7, cutter)
    assert word(order) == "in work"
    open_block(order, bo, "K-0002")
    moves.count_sawn(blank, 1, bo)
    moves.count_cut(piece, 1, cutter)
    assert word(order) == "done"


# Undo


def test_every_count_can_be_taken_back_and_leaves_its_own_row(blank, piece, opened, bo, cutter):
    before = account.left_on_saw(opened.piece)
    done = [
        moves.count_sawn(blank, 4, bo),
        moves.miscut_at_saw(blank, 1, "fence slipped", bo),
        moves.count_cut(piece, 2, cutter),
        moves.miscut_at_wire(piece, 1, "wire broke", cutter),
    ]
    for move in reversed(done):
        assert moves.undo(move, bo).undoes == move
    blank.refresh_from_db()
    piece.refresh_from_db()
    assert (blank.sawn, blank.saw_miscut, blank.wire_miscut, blank.cut, piece.cut) == (0, 0, 0, 0, 0)
    assert account.left_on_saw(opened.piece) == before
    assert Move.objects.filter(action="undo").count() == 4


def test_an_undo_is_not_undone_twice_nor_itself(blank, opened, bo, refused):
    move = moves.count_sawn(blank, 1, bo)
    undone = moves.undo(move, bo)
    refused("undone", moves.undo, move, bo)
    refused("not-a-count", moves.undo, undone, bo)


def test_a_count_of_an_earlier_shift_stays(blank, opened, bo, refused):
    move = moves.count_sawn(blank, 1, bo)
    refused("too-late", moves.undo, move, replace(bo, at=bo.at + timedelta(hours=13)))


def test_a_night_shift_takes_back_what_it_counted_before_midnight(blank, opened, bo):
    day = timezone.localtime(bo.at).replace(hour=23, minute=30) - timedelta(days=1)
    before, after = replace(bo, at=day), replace(bo, at=day + timedelta(hours=1))
    moves.count_sawn(blank, 1, before)
    assert moves.undo(moves.last_count(after), after).qty == -1
    blank.refresh_from_db()
    assert blank.sawn == 0
    assert not any(row.unaccounted for act in (before, after) for row in account.day_figures(act.day))


def test_blanks_that_became_pieces_stay_counted(piece, sawn, bo, cutter, refused):
    moves.count_cut(piece, 1, cutter)
    refused("already-cut", moves.undo, sawn, bo)


def test_a_count_out_of_a_finished_block_stays(sawn, opened, bo, refused):
    RunSource.objects.filter(pk=opened.pk).update(state=RunSource.State.DONE)
    refused("source-finished", moves.undo, sawn, bo)


def test_a_miscut_that_was_sawn_again_stays(order, piece, blank, sawn, bo, cutter, refused, open_block):
    ruined = moves.miscut_at_wire(piece, 1, "wire broke", cutter)
    open_block(order, bo, "K-0002")
    moves.count_sawn(blank, 1, bo)
    refused("sawn-again", moves.undo, ruined, cutter)


def test_the_newest_count_of_the_station_is_the_one_to_undo(blank, piece, opened, bo, cutter):
    moves.count_sawn(blank, 1, bo)
    newest = moves.count_sawn(blank, 2, bo)
    moves.count_cut(piece, 1, cutter)
    assert moves.last_count(bo) == newest
    moves.undo(newest, bo)
    assert moves.last_count(bo).qty == 1


@pytest.mark.parametrize("state", ["draft", "cancelled"])
def test_counts_wait_for_a_release(order, blank, opened, bo, refused, state):
    type(order).objects.filter(pk=order.pk).update(state=state)
    refused({"draft": "not-released"}.get(state, state), moves.count_sawn, blank, 1, bo)


# Whatever happens

MOVES = st.sampled_from(["saw", "saw-miscut", "cut", "cut-miscut", "undo"])


def try_move(kind, qty, *, blank, piece, bo):
    do = {
        "saw": lambda: moves.count_sawn(blank, qty, bo),
        "saw-miscut": lambda: moves.miscut_at_saw(blank, qty, "fence slipped", bo),
        "cut": lambda: moves.count_cut(piece, qty, bo),
        "cut-miscut": lambda: moves.miscut_at_wire(piece, qty, "wire broke", bo),
        "undo": lambda: (newest := moves.last_count(bo)) and moves.undo(newest, bo),
    }[kind]
    with suppress(Refused):
        do()
    blank.refresh_from_db()
    piece.refresh_from_db()


@given(st.lists(st.tuples(MOVES, st.integers(1, 5)), max_size=14))
@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_whatever_is_counted_ruined_and_undone_the_foam_adds_up(order, blank, piece, opened, bo, done):
    with transaction.atomic():
        for kind, qty in done:
            try_move(kind, qty, blank=blank, piece=piece, bo=bo)
        booked = Counter()
        for kind, volume in StockMove.objects.values_list("kind", "volume"):
            booked[kind] += volume
        assert booked["good"] == (blank.sawn - blank.wire_miscut) * blank.volume
        assert booked["miscut"] == (blank.saw_miscut + blank.wire_miscut) * blank.volume
        assert account.left_on_saw(opened.piece) == opened.piece.volume - booked["good"] - booked["miscut"]
        assert blank.cut == piece.cut
        assert (blank.qty, piece.qty) == (8, 8)
        transaction.set_rollback(True)
    blank.refresh_from_db()
    piece.refresh_from_db()
