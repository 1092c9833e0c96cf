"""A change that alters a size, a quantity or a grade makes a new sheet; counts already made are never lost by it."""

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from orders import entry, moves
from orders.standing import standing
from shop import account


def change(order, act, **data):
    order.refresh_from_db()
    entry.save_line(order, data, act, version=order.version, line=order.lines.first())
    order.refresh_from_db()
    return order.lines.first()


def pieces(count, length=40):
    def spec(order):
        return order.lines.first().spec | {"pieces": [{"length": length, "qty": count}]}

    return spec


def test_a_draft_has_no_sheet_however_often_it_is_saved(draft, mina):
    change(draft, mina, qty=3)
    assert (draft.revision, draft.revisions.count()) == (0, 0)


def test_a_note_or_a_title_makes_no_new_sheet(order, mina):
    change(order, mina, title="Cornice, front run", note="street side")
    entry.save_order(order, {"note": "Call Dale first."}, mina, version=order.version)
    order.refresh_from_db()
    assert order.revision == 1


def test_saving_a_line_unchanged_makes_no_new_sheet(order, mina):
    change(order, mina, spec=order.lines.get().spec, qty=1)
    assert order.revision == 1


def test_a_larger_quantity_makes_sheet_b_and_keeps_the_counts(order, sawn, mina):
    line = change(order, mina, spec=pieces(11)(order))
    blank = line.blanks.get()
    assert (blank.qty, blank.sawn, blank.to_saw) == (11, 8, 3)
    assert order.revisions.get(number=2).changes == [
        {"what": "A blank 1, count", "old": "8", "new": "11"}, {"what": "A1, count", "old": "8", "new": "11"},
    ]  # fmt: skip


def test_another_size_replaces_the_blanks_and_keeps_what_was_sawn_on_the_books(order, blank, sawn, mina, bo, refused):
    line = change(order, mina, spec=pieces(8, 50)(order))
    assert [(row.l_um, row.live, row.sawn) for row in line.blanks.order_by("pk")] == [
        (1_041_400, False, 8), (1_295_400, True, 0),
    ]  # fmt: skip
    assert standing(order).word == "released"
    refused("replaced", moves.count_sawn, blank, 1, bo)


def test_a_blank_that_nobody_touched_is_replaced_without_a_trace(order, mina):
    line = change(order, mina, spec=pieces(8, 50)(order))
    assert [row.l_um for row in line.blanks.all()] == [1_295_400]


def test_a_planned_blank_is_kept_for_its_plan(order, opened, mina):
    line = change(order, mina, spec=pieces(8, 50)(order))
    assert line.blanks.filter(live=False, planned__source=opened).count() == 1


def test_another_grade_makes_a_new_sheet_and_says_both_names(order, shop, mina):
    change(order, mina, grade=shop.grades["Dense 2.0"])
    assert {"what": "A foam", "old": "Firm 1.5", "new": "Dense 2.0"} in order.revisions.get(number=2).changes


def test_blanks_sawn_of_another_grade_do_not_serve_the_new_one(order, sawn, shop, mina):
    line = change(order, mina, grade=shop.grades["Dense 2.0"])
    assert [(row.live, row.sawn) for row in line.blanks.order_by("pk")] == [(False, 8), (True, 0)]


def test_a_thicker_coat_changes_the_foam_and_says_so(order, mina):
    change(order, mina, coat="1/4")
    assert {"what": "A foam size", "old": "5 × 7", "new": "4-3/4 × 6-1/2"} in order.revisions.get(number=2).changes


def test_the_same_outer_size_of_another_shape_is_a_change_too(order, mina):
    spec = order.lines.get().spec | {"section": [[0, 0], [5, 0], [5, 2], [4, 2], [4, 7], [0, 7]]}
    change(order, mina, spec=spec)
    assert [row["what"] for row in order.revisions.get(number=2).changes] == ["A section"]


def test_a_quantity_below_what_is_sawn_is_refused_and_nothing_is_written(order, sawn, mina, refused):
    spec = pieces(7)(order)
    assert refused("below-sawn", change, order, mina, spec=spec).details["sawn"] == 8
    order.refresh_from_db()
    assert (order.revision, order.lines.get().spec["pieces"][0]["qty"]) == (1, 8)


def test_pieces_of_an_older_shape_are_set_aside_with_the_blanks_they_used(order, piece, sawn, cutter, mina):
    moves.count_cut(piece, 3, cutter)
    spec = order.lines.get().spec | {"section": [[0, 0], [5, 0], [5, 2], [4, 2], [4, 7], [0, 7]]}
    line = change(order, mina, spec=spec)
    blank = line.blanks.get(live=True)
    assert (blank.qty, blank.sawn, blank.cut, blank.ready, blank.to_saw) == (8, 5, 0, 5, 3)
    assert [(row.live, row.cut) for row in line.pieces.order_by("pk")] == [(False, 3), (True, 0)]


def test_pieces_already_cut_serve_on_when_only_more_are_ordered(order, piece, sawn, cutter, mina):
    moves.count_cut(piece, 3, cutter)
    line = change(order, mina, spec=pieces(10)(order))
    assert [(row.live, row.qty, row.cut) for row in line.pieces.all()] == [(True, 10, 3)]


def test_a_line_added_to_a_released_order_is_laid_out_at_once(order, line_data, mina):
    line = entry.save_line(order, line_data, mina, version=order.version)
    assert (line.blanks.get().qty, line.order.revision) == (8, 2)
    assert line.order.revisions.get(number=2).changes[0]["what"] == "line B"


def test_an_order_that_was_done_is_in_work_again_when_more_is_ordered(order, piece, sawn, cutter, mina):
    moves.count_cut(piece, 8, cutter)
    change(order, mina, spec=pieces(9)(order))
    assert (standing(order).word, order.done_at) == ("in work", None)


def test_a_line_is_taken_off_while_nothing_is_sawn_for_it(order, line_data, mina, refused):
    refused("last-line", entry.delete_line, order, order.lines.get(), mina, version=order.version)
    line = entry.save_line(order, line_data, mina, version=order.version)
    entry.delete_line(line.order, line, mina, version=line.order.version)
    order.refresh_from_db()
    assert (order.revision, order.lines.count()) == (3, 1)


def test_a_line_with_foam_sawn_or_planned_for_it_stays(order, line_data, blank, opened, bo, mina, refused):
    entry.save_line(order, line_data, mina, version=order.version)
    order.refresh_from_db()
    first = order.lines.first()
    refused("line-planned", entry.delete_line, order, first, mina, version=order.version)
    moves.count_sawn(blank, 1, bo)
    refused("line-in-work", entry.delete_line, order, first, mina, version=order.version)


def test_the_mark_of_sawn_foam_stays(order, sawn, mina, refused):
    refused("mark-in-use", change, order, mina, mark="C")


def test_a_blank_too_large_is_refused_in_a_released_order_too(order, mina, refused):
    spec = order.lines.get().spec | {"section": [[0, 0], [50, 0], [50, 50], [0, 50]]}
    refused("blank-too-big", change, order, mina, spec=spec)


@given(st.lists(st.tuples(st.integers(1, 12), st.sampled_from([40, 50])), min_size=1, max_size=4))
@settings(max_examples=8, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_whatever_changes_the_rows_add_up_to_the_newest_sheet(order, mina, wanted):
    for count, length in wanted:
        change(order, mina, spec=pieces(count, length)(order))
    line = order.lines.get()
    assert sum(row.qty for row in line.blanks.filter(live=True)) == wanted[-1][0]
    assert sum(row.qty for row in line.pieces.filter(live=True)) == wanted[-1][0]
    assert order.revision == order.revisions.count()


def test_the_foam_sawn_for_an_older_sheet_stays_in_the_account(order, sawn, opened, mina):
    left = account.left_on_saw(opened.piece)
    change(order, mina, spec=pieces(8, 50)(order))
    assert account.left_on_saw(opened.piece) == left
