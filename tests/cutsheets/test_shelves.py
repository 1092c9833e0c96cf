"""The plain planner: first fit decreasing onto shelves, as a person would do it without much thought."""

import pytest

from cutsheets.planning.layout import Job, walk
from cutsheets.planning.prices import Prices
from cutsheets.planning.shelves import shelves
from tests.cutsheets.plan_cases import bars, blank, block, instance, remnant


def laid(case, grade="1.0"):
    """Return the opened pieces and what is left out by id, as the plain planner has it."""
    pieces, left = shelves(Job(case, grade, Prices()))
    return pieces, {case["blanks"][number]["id"]: count for number, count in left.items() if count}


def taken(case):
    """Return (source, {blank: count}) for each opened piece."""
    pieces, _ = laid(case)
    names = [blank["id"] for blank in case["blanks"]]
    return [(piece.source.name, {names[number]: count for number, count in piece.gives}) for piece in pieces]


def test_long_ones_go_first_and_each_onto_the_first_bar_with_room():
    # 48 + 36, 32 + 28 + 28, 20: worked by hand; two bars would do.
    case = bars(96, [(20, 1), (28, 2), (32, 1), (36, 1), (48, 1)])
    assert taken(case) == [("BLK", {"P4": 1, "P3": 1}), ("BLK", {"P2": 1, "P1": 2}), ("BLK", {"P0": 1})]


def test_a_short_one_goes_back_into_a_gap_of_an_earlier_bar():
    case = bars(10, [(7, 2), (3, 2)])
    assert taken(case) == [("BLK", {"P0": 1, "P1": 1})] * 2


def test_a_row_fills_before_a_layer_and_a_layer_before_the_piece():
    case = instance([blank("A", (5, 5, 5), 7)], [block((10, 10, 10))])
    (piece,), left = laid(case)
    assert (piece.gives, left) == (((0, 7),), {})
    # Layers lie on each other along z, rows side by side along y: the first cut parts the layers.
    assert piece.layout[:3] == ("cut", 2, 5)
    assert taken(instance([blank("A", (5, 5, 5), 9)], [block((10, 10, 10))])) == [("BLK", {"A": 8}), ("BLK", {"A": 1})]


def test_a_thin_blank_in_a_high_row_is_cut_free_of_the_rest():
    case = instance([blank("A", (6, 10, 10), 1), blank("B", (4, 8, 7), 1)], [block((10, 10, 10))])
    (piece,), _ = laid(case)
    blanks = {node[1]: room for node, room in walk(piece.layout, piece.source.core) if node[0] == "blank"}
    assert blanks == {0: (6, 10, 10), 1: (4, 8, 7)}


def test_a_blank_lies_in_its_first_lie_that_has_room():
    case = instance([blank("A", (9, 2, 1), 2, lies=("LWH", "WLH"))], [block((9, 3, 1))])
    assert taken(case) == [("BLK", {"A": 1})] * 2
    assert taken({**case, "stock": [block((11, 9, 1))]}) == [("BLK", {"A": 2})]


def test_remnants_are_opened_before_blocks():
    case = instance(
        [blank("A", (6, 4, 4), 3)],
        [block((12, 4, 4))],
        remnants=[remnant("TINY", (5, 4, 4)), remnant("R", (7, 4, 4))],
    )
    assert taken(case) == [("R", {"A": 1}), ("BLK", {"A": 2})]


@pytest.mark.parametrize(("kerf", "pieces"), [(0, 4), (1, 3)])
def test_the_kerf_takes_room_between_blanks(kerf, pieces):
    case = bars(96, [(24, pieces)], kerf=kerf)
    assert taken(case) == [("BLK", {"P0": pieces})]
    assert len(taken(bars(96, [(24, pieces + 1)], kerf=kerf))) == 2


def test_the_last_kerf_may_be_half_in_the_air_only_where_the_saw_may_do_it():
    case = bars(51, [(24, 2)], kerf=2)  # 24 + 2 + 24 leaves 1, half a kerf
    assert len(taken(case)) == 1
    assert len(taken({**case, "allow_edge_shave": False})) == 2


def test_what_has_no_foam_is_left_over_and_counted():
    case = instance([blank("A", (6, 4, 4), 5), blank("LONG", (20, 4, 4), 2)], [block((12, 4, 4), limit=2)])
    assert laid(case)[1] == {"A": 1, "LONG": 2}


def test_only_foam_of_the_grade_is_opened():
    case = instance([blank("A", (6, 4, 4), 1, grade="2.0")], [block((12, 4, 4))])
    assert laid(case, "2.0") == ([], {"A": 1})
