"""The checker of nests against every kind of bad nest, each one a small damage to a right one."""

from dataclasses import replace

import pytest
from shapely import Polygon, affinity

from cutsheets.nesting.check import check_nest
from cutsheets.nesting.faces import FaceRoom, OpenedFace
from tests.cutsheets.nest_faces import COUNTER, RINGED, face, instance, item, nest

SQUARE = ((0, 0), (2, 0), (2, 2), (0, 2))
STOCK = face("F", 10, 10, 1, qty=1)
ASKED = instance(item("S", SQUARE, qty=2), item("R", ((0, 0), (3, 0), (0, 1)), mirror=True), stock=(STOCK,), kerf=0.5)
RIGHT = nest(STOCK, ("S", 0.0, 1, 1), ("S", 90.0, 5.5, 1), ("R", 0.0, 9, 5, True))


def codes(asked, answer):
    return {fault.code for fault in check_nest(asked, answer).faults}


def moved(number, **changed):
    """The right nest with one placement changed."""
    placements = list(RIGHT.placements)
    placements[number] = replace(placements[number], **changed)
    return replace(RIGHT, placements=tuple(placements))


def test_a_right_nest_has_no_fault_and_true_figures():
    verdict = check_nest(ASKED, RIGHT)
    assert verdict.ok
    assert verdict.cost == 100
    assert verdict.clearance == pytest.approx(0.5)  # from x = 3 to x = 3.5
    assert (verdict.faces[0].parts, verdict.faces[0].x_used) == (3, 9)
    assert verdict.faces[0].share == pytest.approx((4 + 4 + 1.5) / 100)


@pytest.mark.parametrize(("bad", "code"), [
    (moved(1, x=5.4999), "kerf"),
    (moved(1, x=5.0), "kerf"),
    (moved(1, x=4.0), "overlap"),
    (moved(1, x=3.0), "overlap"),
    (moved(0, x=0.999), "outside"),
    (moved(0, y=0.999), "outside"),
    (moved(2, x=9.001), "outside"),
    (moved(2, y=8.001), "outside"),
    (moved(0, turn=45.0), "turn"),
    (moved(0, turn=0.001), "turn"),
    (moved(0, mirrored=True, x=3.0), "mirror"),
    (moved(0, item="X"), "item-unknown"),
    (moved(0, item="R", x=4.0, y=3.6, mirrored=True), "count"),
    (moved(0, face=1), "face-unknown"),
    (moved(0, face=-1), "face-unknown"),
    (moved(0, x=float("nan")), "place"),
    (replace(RIGHT, placements=RIGHT.placements[1:]), "count"),
    (replace(RIGHT, placements=(*RIGHT.placements, replace(RIGHT.placements[0], y=6.5))), "count"),
    (replace(RIGHT, faces=(OpenedFace("F", FaceRoom(11, 10, 1)),)), "face-size"),
    (replace(RIGHT, faces=(OpenedFace("F", FaceRoom(10, 10, 0.9)),)), "margin"),
    (replace(RIGHT, faces=(OpenedFace("G", FaceRoom(10, 10, 1)),)), "stock-unknown"),
    (replace(RIGHT, faces=RIGHT.faces * 2), "limit"),
])  # fmt: skip
def test_each_kind_of_bad_nest_is_found(bad, code):
    assert code in codes(ASKED, bad)


def test_a_pair_is_named_by_its_placements():
    verdict = check_nest(ASKED, moved(1, x=5.4))
    assert verdict.close == [(0, 1)]
    assert verdict.faults[0].where == "placements[1]"


def test_a_part_in_a_counter_is_right_where_it_is_clear_of_it():
    ring = item("O", RINGED, holes=(COUNTER,))
    stock = face("F", 20, 20)
    asked = instance(ring, item("S", SQUARE), stock=(stock,), kerf=0.5)
    assert codes(asked, nest(stock, ("O", 0.0, 1, 1), ("S", 0.0, 4, 4))) == set()
    assert codes(asked, nest(stock, ("O", 0.0, 1, 1), ("S", 0.0, 3.4, 4))) == {"kerf"}
    assert codes(asked, nest(stock, ("O", 0.0, 1, 1), ("S", 0.0, 2.5, 4))) == {"overlap"}


def test_without_kerf_parts_may_touch_but_not_overlap():
    stock = face("F", 20, 20)
    asked = instance(item("S", SQUARE, qty=2), stock=(stock,), kerf=0.0)
    assert codes(asked, nest(stock, ("S", 0.0, 1, 1), ("S", 0.0, 3, 1))) == set()
    assert codes(asked, nest(stock, ("S", 0.0, 1, 1), ("S", 0.0, 2.999, 1))) == {"overlap"}


def test_a_part_that_may_be_turned_anyhow_is_checked_where_it_lies():
    stock = face("F", 20, 20, 0)
    asked = instance(item("S", SQUARE, turns=None), stock=(stock,))
    corner = 2**0.5  # half the diagonal of a square of side 2
    assert codes(asked, nest(stock, ("S", 45.0, corner, 0))) == set()
    assert codes(asked, nest(stock, ("S", 45.0, corner - 0.001, 0))) == {"outside"}


@pytest.mark.parametrize("mirrored", [False, True])
@pytest.mark.parametrize("turn", [0.0, 37.5, 90.0, 180.0, 217.0, 270.0, -90.0])
def test_parts_are_moved_as_the_format_says(turn, mirrored):
    """A second method: shapely's own mirror, turn and shift."""
    wedge = ((0, 0), (5, 0), (5, 1), (1, 3))
    stock = face("F", 30, 30, 0)
    moved_by_shapely = affinity.translate(
        affinity.rotate(affinity.scale(Polygon(wedge), -1 if mirrored else 1, origin=(0, 0)), turn, origin=(0, 0)),
        12,
        9,
    )
    asked = instance(item("W", wedge, turns=None, mirror=True), stock=(stock,))
    verdict = check_nest(asked, nest(stock, ("W", turn, 12, 9, mirrored)))
    _, _, right, top = moved_by_shapely.bounds
    assert verdict.faces[0].x_used == pytest.approx(right)
    high = face("F", 30, top + 1e-7, 0)  # just as high as the part reaches
    assert check_nest(replace(asked, stock=(high,)), nest(high, ("W", turn, 12, 9, mirrored))).ok
    low = face("F", 30, top - 1e-4, 0)
    assert codes(replace(asked, stock=(low,)), nest(low, ("W", turn, 12, 9, mirrored))) == {"outside"}
