"""A piece ruined out of a face of many gets a single blank, where that is less foam than another whole face."""

import pytest

from orders import entry, moves, planning
from orders.models import Blank, Piece
from orders.moves import singles
from orders.planning.rack import blank_id
from orders.standing import standing
from orders.travellers import print_traveller
from shop import account


@pytest.fixture
def ruined(faces, cutter):
    """One piece of the first face ruined at the wire."""
    return moves.miscut_at_wire(faces[0].pieces.get(), 1, "wire broke", cutter)


def single_of(big):
    return Blank.objects.get(replaces=big, live=True)


def test_one_ruined_section_orders_one_single_blank_and_no_face(order, faces, ruined):
    faces[0].refresh_from_db()
    single = single_of(faces[0])
    assert (faces[0].to_saw, single.to_saw, single.gives) == (0, 1, 1)
    assert single.volume < faces[0].volume / 3
    [(blank, qty)] = planning.demand(order.lines.get().grade)
    assert (blank, qty) == (single, 1)
    assert blank_id(blank).endswith("again")
    assert standing(order).counts.cut.due == 8


def test_the_single_blank_is_sawn_and_cut_and_the_order_is_done(order, faces, ruined, bo, cutter, open_block):
    moves.count_cut(faces[0].pieces.get(), 5, cutter)
    moves.count_cut(faces[1].pieces.get(), 2, cutter)
    assert standing(order).word == "in work"
    open_block(order, bo, "K-0002")
    single = single_of(faces[0])
    moves.count_sawn(single, 1, bo)
    moves.count_cut(single.pieces.get(), 1, cutter)
    assert standing(order).word == "done"
    assert all(row.unaccounted == 0 for row in account.day_figures(bo.day))


def test_a_whole_face_of_ruined_sections_orders_the_face_again(faces, cutter):
    moves.miscut_at_wire(faces[0].pieces.get(), 3, "feed too fast", cutter)
    faces[0].refresh_from_db()
    assert (faces[0].to_saw, faces[0].singles.count()) == (1, 0)


def test_sections_of_a_face_that_is_due_again_are_used_before_single_blanks(faces, cutter, monkeypatch):
    monkeypatch.setattr(singles, "single_size", lambda blank: blank.size_um)  # single blanks are no less foam
    moves.miscut_at_wire(faces[0].pieces.get(), 1, "wire broke", cutter)
    monkeypatch.undo()
    moves.miscut_at_wire(faces[0].pieces.get(), 2, "wire broke", cutter)
    faces[0].refresh_from_db()
    assert (faces[0].to_saw, faces[0].singles.count()) == (1, 0)


def test_a_miscut_taken_back_takes_its_single_blank_away(order, faces, ruined, cutter):
    moves.undo(ruined, cutter)
    faces[0].refresh_from_db()
    assert (faces[0].single, faces[0].wire_miscut, faces[0].to_saw) == (0, 0, 0)
    assert not Blank.objects.filter(replaces=faces[0]).exists()
    assert sorted(Piece.objects.filter(live=True).values_list("qty", flat=True)) == [2, 6]


def test_a_miscut_whose_single_blank_is_sawn_stays(order, faces, ruined, bo, cutter, open_block, refused):
    open_block(order, bo, "K-0002")
    moves.count_sawn(single_of(faces[0]), 1, bo)
    refused("sawn-again", moves.undo, ruined, cutter)


def test_a_new_sheet_keeps_the_single_blank_and_what_it_replaces(order, faces, ruined, mina):
    order.refresh_from_db()
    entry.save_line(order, {"qty": "2"}, mina, version=order.version, line=order.lines.get())
    faces[0].refresh_from_db()
    assert single_of(faces[0]).to_saw == 1
    assert standing(order).counts.cut.due == 16


def test_another_section_takes_the_single_blank_away(order, faces, ruined, mina):
    order.refresh_from_db()
    line = order.lines.get()
    wider = line.spec | {"section": [[0, 0], [6, 0], [6, 2], [3, 2], [3, 7], [0, 7]]}
    entry.save_line(order, {"spec": wider}, mina, version=order.version, line=line)
    assert not Blank.objects.filter(replaces__isnull=False, live=True).exists()
    assert standing(order).counts.cut.due == 8


def test_a_traveller_is_printed_while_a_single_blank_is_due(order, faces, ruined, mina):
    assert print_traveller(order, mina).startswith(b"%PDF")


def test_back_to_a_blank_each_nothing_of_the_single_blank_is_left(order, faces, ruined, mina):
    order.refresh_from_db()
    entry.save_line(order, {"way": "each"}, mina, version=order.version, line=order.lines.get())
    assert not Blank.objects.filter(replaces__isnull=False, live=True).exists()
    counts = standing(order).counts
    assert (counts.saw.left, counts.cut.due) == (8, 8)
