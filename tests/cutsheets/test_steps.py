"""Saw steps: what the saw hand reads must be the plan, cut by cut."""

from hypothesis import given, settings
from hypothesis import strategies as st

from cutsheets.planning import plan
from cutsheets.planning.check import leaves
from cutsheets.steps import next_cuts, opened_piece
from tests.cutsheets.sawn_days import FT, KERF, day


def first_piece(instance, labels=None):
    return opened_piece(instance, plan(instance, iterations=20).plan["pieces"][0], labels)


def test_cuts_are_numbered_in_the_order_they_are_made():
    piece = first_piece(day(("A", (7 * FT, FT, FT // 2), 6)))
    assert [step.number for step in piece.steps] == list(range(1, len(piece.steps) + 1))


def test_the_first_cut_goes_through_the_whole_block():
    piece = first_piece(day(("A", (7 * FT, FT, FT // 2), 6)))
    assert (piece.steps[0].pos, piece.steps[0].size) == ((0, 0, 0), piece.size)
    assert piece.steps[0].datum.endswith(", the block")


def test_three_like_blanks_side_by_side_are_three_rips_at_the_width_of_one():
    instance = day(("A", (8 * FT, FT, 2 * FT), 3))
    steps = [step for step in first_piece(instance, {"A": "4182 A"}).steps if step.action == "rip"]
    assert [step.at_um for step in steps] == [FT, FT, FT]
    assert {step.off for step in steps} == {"4182 A"}


def test_a_setting_is_the_size_of_what_comes_off():
    instance = day(("A", (7 * FT, FT, FT // 2), 9), ("B", (3 * FT, FT, FT // 2), 5))
    piece = first_piece(instance)
    for step in piece.steps:
        end = step.pos[step.axis] + step.at_um
        ends = {leaf.pos[step.axis] + leaf.size[step.axis] for leaf in piece.placed}
        assert end in ends


def test_every_piece_that_is_cut_again_was_named_by_the_cut_before():
    piece = first_piece(day(("A", (7 * FT, FT, FT // 2), 9), ("B", (3 * FT, FT, FT // 2), 5)))
    named = {"the block"}
    for step in piece.steps:
        assert step.datum.split(", ")[1] in named
        named |= {step.off, step.rest}


def raw(step):
    return "raw" in step.datum


def test_an_edge_is_raw_until_its_skin_is_off_and_straight_from_then_on():
    """A block cut across first and trimmed late: each length has a raw edge of its own."""
    skin, long = 10_000, 4 * FT - KERF
    block = {"id": "B", "grade": "G", "size": [8 * FT, 4 * FT, 2 * FT], "skin": [[0, 0], [skin, skin], [0, 0]]}
    instance = day(("A", (long, FT, 2 * FT), 6)) | {"stock": [block | {"limit": None, "price": 1}]}
    bars = {"axis": "y", "at": FT, "lo": {"blank": "A", "rot": "LWH"}, "hi": {"waste": True}}
    length = {"axis": "y", "at": skin, "lo": {"waste": True}, "hi": bars}
    tree = {"axis": "x", "at": long, "lo": length, "hi": length}
    cross, *rips = opened_piece(instance, {"source": "stock:B#1", "tree": tree}).steps
    assert not raw(cross)
    assert [(step.at_um, raw(step)) for step in rips] == [(skin, True), (FT, False)] * 2


def test_a_remnant_and_a_block_without_skin_have_no_raw_edge():
    instance = day(("A", (7 * FT, FT, FT // 2), 6))
    assert not any(map(raw, first_piece(instance).steps))
    rack = [{"id": "R-1", "grade": "G", "size": [8 * FT, 4 * FT, 2 * FT], "price": 1}]
    assert not any(map(raw, first_piece(instance | {"stock": [], "remnants": rack}).steps))


@settings(max_examples=25, deadline=None)
@given(st.lists(st.tuples(st.integers(2, 8), st.integers(1, 4), st.integers(1, 2), st.integers(1, 4)), max_size=4))
def test_following_the_steps_frees_every_leaf(rows):
    blanks = [(f"A{n}", (x * FT - KERF, y * FT - KERF, z * FT - KERF), q) for n, (x, y, z, q) in enumerate(rows)]
    instance = day(*blanks)
    for piece in plan(instance, iterations=3).plan["pieces"]:
        free = _sawn(opened_piece(instance, piece))
        assert free == {(leaf.pos, leaf.size) for leaf in leaves(instance, piece["source"], piece["tree"])}


def _sawn(opened):
    """Saw a block step by step, as a person would: return every part that is left."""
    parts = {((0, 0, 0), opened.size)}
    for step in opened.steps:
        parts.remove((step.pos, step.size))
        low, high, beyond = list(step.size), list(step.size), list(step.pos)
        low[step.axis] = step.at_um
        high[step.axis] -= step.at_um + KERF
        beyond[step.axis] += step.at_um + KERF
        parts.add((step.pos, tuple(low)))
        if high[step.axis] > 0:
            parts.add((tuple(beyond), tuple(high)))
    return parts


TWO_SIZES = day(("A", (7 * FT, FT, FT // 2), 9), ("B", (3 * FT, FT, FT // 2), 5))


def test_the_cuts_of_every_next_blank_are_all_cuts_of_the_sheet_once_and_in_order():
    """Worked in the order of the sheet, the next cuts of one blank after another are the cuts that free blanks."""
    piece = first_piece(TWO_SIZES)
    made, counted = [], {}
    for step in piece.steps:
        for name in (step.off, step.rest):
            if name in ("A", "B"):
                made += [cut.number for cut in next_cuts(piece.steps, counted, name)]
                counted[name] = counted.get(name, 0) + 1
    frees = max(step.number for step in piece.steps if {step.off, step.rest} & {"A", "B"})
    assert sorted(set(made)) == list(range(1, frees + 1))
    assert made == sorted(made)


def test_the_last_of_the_next_cuts_frees_the_blank_and_none_is_left_after_the_last():
    piece = first_piece(TWO_SIZES)
    last = next_cuts(piece.steps, {}, "A")[-1]
    assert "A" in (last.off, last.rest)
    all_of_them = sum((step.off == "A") + (step.rest == "A") for step in piece.steps)
    assert next_cuts(piece.steps, {"A": all_of_them}, "A") == ()
    assert next_cuts(piece.steps, {}, "nobody's") == ()
