"""Blanks that give many pieces: counted as blanks at the saw and as pieces at the wire, foam exact to the last bit."""

from dataclasses import asdict
from itertools import accumulate

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from orders import entry, moves
from orders.standing import standing
from shop import account
from shop.refusals import Refused
from tests.orders.gang_faces import choose_gang, nest_for


def test_a_chosen_nest_makes_big_blanks_and_a_new_sheet(order, mina):
    choose_gang(order, mina)
    line = order.lines.get()
    assert [(row.qty, row.gives) for row in line.blanks.order_by("-gives")] == [(2, 3), (1, 2)]
    assert sorted((piece.qty, piece.blank.gives) for piece in line.pieces.all()) == [(2, 2), (6, 3)]
    order.refresh_from_db()
    assert order.revision == 2
    assert any("3 pieces out of each" in change["new"] for change in order.revisions.last().changes)


def test_the_saw_counts_blanks_and_the_wire_counts_pieces(order, faces, cutter, refused):
    counts = standing(order).counts
    assert (counts.saw.due, counts.saw.done, counts.cut.due) == (3, 3, 8)
    piece = faces[0].pieces.get()
    moves.count_cut(piece, 4, cutter)
    faces[0].refresh_from_db()
    assert faces[0].ready == 2
    moves.count_cut(piece, 2, cutter)
    refused("over-count", moves.count_cut, piece, 1, cutter)
    moves.count_cut(faces[1].pieces.get(), 2, cutter)
    assert standing(order).word == "done"


def test_more_pieces_than_the_sawn_blanks_give_are_refused(order, mina, bo, cutter, open_block, refused):
    choose_gang(order, mina)
    order.refresh_from_db()
    open_block(order, bo)
    blank = order.lines.get().blanks.get(gives=3)
    moves.count_sawn(blank, 1, bo)
    refusal = refused("no-blank", moves.count_cut, blank.pieces.get(), 4, cutter)
    assert "3 pieces" in refusal.sentence


def test_ruined_pieces_take_shares_of_the_blank_that_add_up_to_it(order, faces, cutter):
    blank, piece = faces[0], faces[0].pieces.get()
    shares = [blank.foam_of(n + 1) - blank.foam_of(n) for n in range(3)]
    assert list(accumulate(shares))[-1] == blank.volume
    for done in range(1, 4):
        moves.miscut_at_wire(piece, 1, "wire broke", cutter)
        [row] = [row for row in account.day_figures(cutter.day) if row.miscut]
        assert row.miscut == sum(shares[:done])
        assert row.unaccounted == 0
        assert standing(order).counts.saw.left == done  # each gets a blank of its own


def test_a_ruined_piece_is_taken_back_with_its_exact_foam(faces, cutter, refused):
    move = moves.miscut_at_wire(faces[0].pieces.get(), 2, "wire broke", cutter)
    moves.undo(move, cutter)
    faces[0].refresh_from_db()
    assert (faces[0].wire_miscut, faces[0].to_saw) == (0, 0)
    assert all(row.miscut == 0 for row in account.day_figures(cutter.day))


def test_a_sawn_blank_that_is_cut_into_cannot_be_taken_back(faces, bo, cutter, refused):
    moves.count_cut(faces[1].pieces.get(), 1, cutter)
    refused("already-cut", moves.undo, moves.last_count(bo), bo)


@settings(max_examples=10, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(st.tuples(st.sampled_from(["cut", "ruin", "undo"]), st.integers(0, 1), st.integers(1, 3)), max_size=8))
def test_whatever_is_counted_the_account_balances(faces, cutter, acts):
    pieces = [face.pieces.get() for face in faces]
    for what, which, qty in acts:
        try:
            if what == "cut":
                moves.count_cut(pieces[which], qty, cutter)
            elif what == "ruin":
                moves.miscut_at_wire(pieces[which], qty, "wire broke", cutter)
            elif last := moves.last_count(cutter):
                moves.undo(last, cutter)
        except Refused:
            pass
    ruined = 0
    for face in faces:
        face.refresh_from_db()
        assert face.ready >= 0
        assert face.cut == sum(face.pieces.values_list("cut", flat=True))
        ruined += face.foam_of(face.wire_miscut)
    figures = account.day_figures(cutter.day)
    assert sum(row.miscut for row in figures) == ruined
    assert all(row.unaccounted == 0 for row in figures)


def test_a_changed_quantity_keeps_the_faces_and_what_is_cut(order, faces, cutter, mina):
    moves.count_cut(faces[0].pieces.get(), 5, cutter)
    order.refresh_from_db()
    line = order.lines.get()
    more = {"spec": {**line.spec, "pieces": [{"length": 40, "qty": 9}]}}
    saved = entry.save_line(order, more, mina, version=order.version, line=line)
    assert saved.way == "gang"
    rows = [(row.qty, row.gives, row.cut) for row in line.blanks.filter(live=True).order_by("-gives")]
    assert rows == [(2, 3, 5), (1, 2, 0), (1, 1, 0)]


def test_another_section_drops_the_nest_and_every_piece_has_its_own_blank(order, mina):
    choose_gang(order, mina)
    order.refresh_from_db()
    line = order.lines.get()
    other = {"spec": {**line.spec, "section": [[0, 0], [6, 0], [6, 6], [0, 6]]}}
    saved = entry.save_line(order, other, mina, version=order.version, line=line)
    assert saved.way == "each"
    assert [(row.qty, row.gives) for row in line.blanks.filter(live=True)] == [(8, 1)]


def test_the_faces_keep_the_keys_of_a_job_file_as_they_are(order, mina):
    line = choose_gang(order, mina)
    assert not {"way", "lie", "gang"} & entry.line_dict(line).keys()
    assert asdict(nest_for(line))["basis"] == line.gang["chosen"]["basis"]


def test_a_change_of_way_lists_other_blanks_and_no_piece_that_stays(order, mina):
    choose_gang(order, mina)
    changes = order.revisions.last().changes
    assert {change["what"].split(",")[0] for change in changes} == {"A blank 1", "A blank 2"}
