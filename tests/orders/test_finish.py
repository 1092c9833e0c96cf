"""Pieces coated, cured and packed: what is counted, what is refused, what is ruined, what can be taken back."""

from dataclasses import replace
from datetime import datetime

import pytest
from django.utils import timezone

from orders import entry, moves
from orders.curing import curing
from orders.models import Blank, Move, Order, Piece
from orders.standing import standing
from shop import account
from shop.models import CoatSystem, StockMove
from tests.orders.finishing import HOURS, add_stations, bench, coated_order, counts, enter, sawn_and_cut


@pytest.fixture
def at(shop):
    add_stations(shop)
    return bench(shop)


@pytest.fixture
def order(at, draft, line_data, mina):
    return coated_order(draft, line_data, mina)


@pytest.fixture
def piece(order, at, open_block):
    """Eight pieces, cut and bare."""
    return sawn_and_cut(order, at, open_block)


@pytest.fixture
def panels(at, draft, mina, open_block):
    """Two panels, sawn: their blanks are their pieces."""
    draft.lines.update(kind="panel", spec={"size": [36, 18, 12]}, qty=2)
    moves.release(draft, mina)
    return sawn_and_cut(draft, at, open_block)


def word(of):
    return standing(Order.objects.get(pk=of.line.order_id if isinstance(of, Piece) else of.pk)).word


# Counts


def test_an_order_is_done_when_all_is_packed_and_not_before(order, piece, at):
    assert word(order) == "in work"
    moves.count_coated(piece, 8, at.coat)
    later = at.after(hours=HOURS)
    moves.count_packed(piece, 7, later.pack)
    assert word(order) == "in work"
    moves.count_packed(piece, 1, later.pack)
    order.refresh_from_db()
    assert (word(order), order.done_at) == ("done", later.pack.at)


def test_no_more_are_coated_than_are_cut(order, at, open_block, refused):
    piece = sawn_and_cut(order, at, open_block, cut=5)
    moves.count_coated(piece, 3, at.coat)
    refusal = refused("over-count", moves.count_coated, piece, 3, at.coat)
    assert refusal.details["left"] == 2
    assert refusal.sentence == "2 of A1 are cut and without coat, not 3."
    assert counts(piece) == (5, 3, 0)


def test_no_more_are_packed_than_are_coated_or_ordered(piece, at, refused):
    moves.count_coated(piece, 3, at.coat)
    later = at.after(hours=HOURS)
    assert refused("not-made", moves.count_packed, piece, 4, later.pack).details["left"] == 3
    assert refused("over-count", moves.count_packed, piece, 9, later.pack).details["left"] == 8


def test_a_bare_line_is_packed_as_it_is_cut(at, draft, mina, open_block, refused):
    moves.release(draft, mina)
    piece = sawn_and_cut(draft, at, open_block, cut=6)
    refused("over-count", moves.count_coated, piece, 1, at.coat)
    moves.count_packed(piece, 6, at.pack)
    refused("not-made", moves.count_packed, piece, 1, at.pack)
    assert counts(piece) == (6, 0, 6)


@pytest.mark.parametrize("qty", [0, -1])
def test_a_count_of_nothing_is_no_count(piece, at, refused, qty):
    for do, act in ((moves.count_coated, at.coat), (moves.count_packed, at.pack)):
        refused("count", do, piece, qty, act)


def test_a_panel_is_packed_as_it_is_sawn(panels, at, refused):
    moves.count_packed(panels, 1, at.pack)
    assert word(panels) == "in work"
    refused("over-count", moves.count_packed, panels, 2, at.pack)
    moves.count_packed(panels, 1, at.pack)
    assert word(panels) == "done"


def test_a_repeat_of_the_same_act_counts_once(piece, at):
    once = replace(at.coat, scan_id="page-1")
    assert moves.count_coated(piece, 5, once) == moves.count_coated(piece, 5, once)
    assert counts(piece) == (8, 5, 0)


@pytest.mark.parametrize("stop", ["hold", "cancel"])
def test_a_stopped_order_is_neither_coated_nor_packed_nor_ruined(order, piece, at, mina, refused, stop):
    getattr(moves, stop)(order, "deposit not in.", mina)
    code = {"hold": "held", "cancel": "cancelled"}[stop]
    refused(code, moves.count_coated, piece, 1, at.coat)
    refused(code, moves.count_packed, piece, 1, at.pack)
    refused(code, moves.ruin_before_coat, piece, 1, "dropped", at.coat)


# Cure


def test_a_piece_is_not_packed_before_the_hours_of_its_coat_are_over(piece, at, refused):
    moves.count_coated(piece, 8, at.coat)
    refusal = refused("curing", moves.count_packed, piece, 1, at.after(hours=HOURS, minutes=-1).pack)
    ready = at.after(hours=HOURS).coat.at
    assert refusal.details["ready"] == ready
    assert f"{timezone.localtime(ready):%H:%M}" in refusal.sentence
    assert moves.count_packed(piece, 8, at.after(hours=HOURS).pack).qty == 8


def test_each_count_cures_by_itself(piece, at, refused):
    moves.count_coated(piece, 3, at.coat)
    moves.count_coated(piece, 4, at.after(hours=10).coat)
    later = at.after(hours=HOURS)
    cure = curing([piece_now(piece)], later.pack.at)[piece.pk]
    assert [(batch.qty, batch.ready_at) for batch in cure.batches] == [(4, at.after(hours=HOURS + 10).coat.at)]
    moves.count_packed(piece, 3, later.pack)
    refused("curing", moves.count_packed, piece, 1, later.pack)
    moves.count_packed(piece, 4, at.after(hours=HOURS + 10).pack)


def piece_now(piece):
    return Piece.objects.select_related("line__coat_system", "blank").get(pk=piece.pk)


def test_a_coat_that_was_taken_back_cures_nothing(piece, at):
    moves.undo(moves.count_coated(piece, 5, at.coat), at.coat)
    assert curing([piece_now(piece)], at.coat.at)[piece.pk].batches == ()
    moves.count_coated(piece, 2, at.coat)
    assert curing([piece_now(piece)], at.coat.at)[piece.pk].waiting == 2


def test_pieces_spoiled_since_are_taken_off_those_that_are_ready_first(piece, at):
    moves.count_coated(piece, 3, at.coat)
    moves.count_coated(piece, 4, at.after(hours=1).coat)
    moves.ruin_before_packing(piece, 5, "the rack fell", at.pack)
    cure = curing([piece_now(piece)], at.after(hours=2).pack.at)[piece.pk]
    assert [(batch.qty, batch.ready_at) for batch in cure.batches] == [(2, at.after(hours=HOURS + 1).coat.at)]


def test_a_coat_without_a_system_has_no_hours_and_is_packed_at_once(at, draft, line_data, mina, open_block):
    moves.release(enter(draft, line_data, mina, coat="1/8"), mina)
    piece = sawn_and_cut(draft, at, open_block)
    moves.count_coated(piece, 8, at.coat)
    assert moves.count_packed(piece, 8, at.pack).qty == 8


def test_hours_are_those_that_the_shop_gives_its_coat_now(piece, at):
    moves.count_coated(piece, 8, at.coat)
    CoatSystem.objects.update(cure_hours=12)  # a warm week
    assert moves.count_packed(piece, 8, at.after(hours=12).pack).qty == 8


def test_a_cure_crosses_the_night_that_the_clocks_go_back(piece, at, monkeypatch, settings):
    """48 hours pass, whatever the clock on the wall says: 25 Oct 2026 has 25 hours in Paris (EU Directive 2000/84)."""
    settings.TIME_ZONE = "Europe/Paris"
    timezone.deactivate()
    saturday = timezone.make_aware(datetime(2026, 10, 24, 14, 0), timezone.get_default_timezone())
    piece.coated = 2
    Move.objects.create(order=piece.line.order, piece=piece, action="coat", qty=2, happened_at=saturday)
    monday = timezone.make_aware(datetime(2026, 10, 26, 12, 59), timezone.get_default_timezone())
    assert curing([piece], monday)[piece.pk].waiting == 2
    assert curing([piece], monday.replace(hour=13, minute=0))[piece.pk].waiting == 0


# Ruined


def miscut_foam():
    rows = StockMove.objects.values_list("kind", "volume")
    return {kind: sum(volume for its, volume in rows if its == kind) for kind in ("good", "miscut")}


@pytest.mark.parametrize("at_packing", [False, True])
def test_a_ruined_piece_is_booked_as_miscut_and_its_exact_blank_is_due_again(order, piece, at, at_packing):
    moves.count_coated(piece, 4, at.coat)
    ruin, act = (moves.ruin_before_packing, at.pack) if at_packing else (moves.ruin_before_coat, at.coat)
    ruin(piece, 2, "fell off the rack", act)
    blank = Blank.objects.get(pk=piece.blank_id)
    assert (blank.qty, blank.to_saw, blank.ready) == (8, 2, 0)
    assert counts(piece) == (6, 2 if at_packing else 4, 0)
    assert standing(order).counts.pack.due == 8
    assert miscut_foam() == {"good": 6 * blank.volume, "miscut": 2 * blank.volume}
    assert StockMove.objects.get(kind="miscut").reason == "fell off the rack"


def test_ruined_pieces_are_made_again_and_the_order_gets_done(order, piece, at, open_block):
    moves.ruin_before_coat(piece, 1, "fell", at.coat)
    moves.count_coated(piece, 7, at.coat)
    open_block(order, at.saw, "K-0002")
    moves.count_sawn(piece.blank, 1, at.saw)
    moves.count_cut(piece, 1, at.wire)
    moves.count_coated(piece, 1, at.coat)
    moves.count_packed(piece, 8, at.after(hours=HOURS).pack)
    assert word(order) == "done"
    assert all(row.unaccounted == 0 for row in account.day_figures(at.saw.day))


def test_no_more_are_ruined_than_stand_before_the_station(piece, at, refused):
    moves.count_coated(piece, 5, at.coat)
    assert refused("over-count", moves.ruin_before_coat, piece, 4, "fell", at.coat).details["left"] == 3
    moves.count_packed(piece, 4, at.after(hours=HOURS).pack)
    assert refused("over-count", moves.ruin_before_packing, piece, 2, "fell", at.pack).details["left"] == 1
    refused("no-reason", moves.ruin_before_packing, piece, 1, " ", at.pack)


def test_a_ruined_panel_is_due_again_and_packed_ones_are_safe(panels, at, refused):
    moves.count_packed(panels, 1, at.pack)
    refused("over-count", moves.ruin_before_packing, panels, 2, "corner broke", at.pack)
    moves.ruin_before_packing(panels, 1, "corner broke", at.pack)
    blank = Blank.objects.get(pk=panels.blank_id)
    assert (blank.to_saw, blank.ready) == (1, 1)
    refused("not-made", moves.count_packed, panels, 1, at.pack)


def test_a_panel_is_not_ruined_at_the_coat(panels, at, refused):
    refused("over-count", moves.ruin_before_coat, panels, 1, "fell", at.coat)


def test_a_coated_piece_out_of_a_face_of_many_gets_a_single_blank_without_counts(at, faces):
    piece = faces[0].pieces.get()
    moves.count_cut(piece, 4, at.wire)
    moves.count_coated(piece, 3, at.coat)
    ruined = moves.ruin_before_packing(piece, 1, "fell", at.pack)
    single = Blank.objects.get(replaces=faces[0], live=True)
    assert counts(single.pieces.get()) == (0, 0, 0)
    assert (single.to_saw, counts(piece)) == (1, (3, 2, 0))
    moves.undo(ruined, at.pack)
    assert (counts(piece), Blank.objects.filter(replaces=faces[0]).exists()) == ((4, 3, 0), False)


# Undo


def test_every_count_is_taken_back_in_turn(piece, at):
    good = miscut_foam()
    done = [moves.count_coated(piece, 6, at.coat), moves.ruin_before_coat(piece, 1, "fell", at.coat)]
    CoatSystem.objects.update(cure_hours=0)
    done += [moves.count_packed(piece, 2, at.pack), moves.ruin_before_packing(piece, 3, "fell", at.pack)]
    assert counts(piece) == (4, 3, 2)
    for move in reversed(done):
        moves.undo(move, at.pack)
    assert counts(piece) == (8, 0, 0)
    assert miscut_foam() == good


def test_what_a_later_count_used_is_taken_back_after_that_one(piece, at, refused):
    CoatSystem.objects.update(cure_hours=0)
    cut = Move.objects.get(action="cut")
    coated = moves.count_coated(piece, 8, at.coat)
    packed = moves.count_packed(piece, 8, at.pack)
    refused("already-used", moves.undo, coated, at.coat)
    refused("already-used", moves.undo, cut, at.wire)
    moves.undo(packed, at.pack)
    refused("already-used", moves.undo, cut, at.wire)
    moves.undo(coated, at.coat)
    moves.undo(cut, at.wire)
    assert counts(piece) == (0, 0, 0)


def test_pieces_that_were_cut_again_since_stay_ruined(order, piece, at, open_block, refused):
    ruined = moves.ruin_before_coat(piece, 1, "fell", at.coat)
    open_block(order, at.saw, "K-0002")
    moves.count_sawn(piece.blank, 1, at.saw)
    refused("sawn-again", moves.undo, ruined, at.coat)
    moves.count_cut(piece, 1, at.wire)
    refused("sawn-again", moves.undo, ruined, at.coat)


def test_panels_that_are_packed_stay_sawn(panels, at, refused):
    sawn = Move.objects.get(action="saw")
    packed = moves.count_packed(panels, 1, at.pack)
    refused("already-cut", moves.undo, sawn, at.saw)
    moves.undo(packed, at.pack)
    assert moves.undo(sawn, at.saw).undoes == sawn


def test_a_done_order_goes_on_when_its_last_pack_is_taken_back(order, piece, at):
    CoatSystem.objects.update(cure_hours=0)
    moves.count_coated(piece, 8, at.coat)
    last = moves.count_packed(piece, 8, at.pack)
    assert word(order) == "done"
    moves.undo(last, at.pack)
    assert word(order) == "in work"


# New sheets


def test_another_coat_sets_the_pieces_aside_with_what_was_coated(order, piece, at, line_data, mina, refused):
    coated = moves.count_coated(piece, 3, at.coat)
    enter(order, line_data, mina, coat="3/16", coat_system=CoatSystem.objects.get(name__startswith="Hard"))
    fresh = Piece.objects.get(line__order=order, live=True)
    assert (counts(fresh), counts(piece)) == ((0, 0, 0), (8, 3, 0))
    refused("replaced", moves.count_coated, piece, 1, at.coat)
    refused("replaced", moves.undo, Move.objects.get(pk=coated.pk), at.coat)
    assert standing(order).counts.coat.done == 0


def test_the_coat_taken_off_a_line_takes_the_coating_off_its_pieces(order, piece, line_data, mina):
    enter(order, line_data, mina, coat="0", coat_system=None)
    fresh = Piece.objects.get(line__order=order, live=True)
    assert (fresh.wants_coat, fresh.wants_pack) == (False, True)
    assert standing(order).counts.coat.due == 0


def test_a_quantity_below_what_is_packed_is_refused(order, piece, at, line_data, mina, refused):
    CoatSystem.objects.update(cure_hours=0)
    moves.count_coated(piece, 8, at.coat)
    moves.count_packed(piece, 5, at.pack)
    fewer = {"section": line_data["spec"]["section"], "pieces": [{"length": 40, "qty": 4}]}
    assert refused("below-sawn", enter, order, line_data, mina, spec=fewer).sentence
    assert counts(piece) == (8, 8, 5)


def test_ruined_pieces_that_a_new_sheet_made_others_are_not_given_back(order, piece, at, line_data, mina, refused):
    ruined = moves.ruin_before_coat(piece, 8, "the rack fell", at.coat)
    other = {"section": line_data["spec"]["section"], "pieces": [{"length": 39.95, "qty": 8}]}  # out of the same blank
    enter(order, line_data, mina, coat="1/8", coat_system=CoatSystem.objects.first(), spec=other)
    refused("replaced", moves.undo, Move.objects.get(pk=ruined.pk), at.coat)


def test_an_order_from_before_the_packing_station_is_done_when_it_is_cut(shop, draft, line_data, mina, open_block):
    order = coated_order(draft, line_data, mina)
    add_stations(shop)
    piece = sawn_and_cut(order, bench(shop), open_block)
    assert word(order) == "done"
    assert (piece.wants_coat, piece.wants_pack) == (False, False)


def test_a_new_line_of_an_older_order_goes_the_way_that_the_shop_goes_now(shop, draft, line_data, mina):
    order = coated_order(draft, line_data, mina)
    add_stations(shop)
    entry.save_line(order, line_data | {"mark": "B"}, mina, version=order.version)
    assert [row.wants_pack for row in Piece.objects.order_by("line__position")] == [False, True]
