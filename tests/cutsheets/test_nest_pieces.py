"""Grown outlines, parts in counters, plain rows and the cuts: what a nest is made from."""

import math

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import Polygon

from cutsheets.nesting.boxes import rows
from cutsheets.nesting.check import check_nest
from cutsheets.nesting.cuts import nest_cuts
from cutsheets.nesting.faces import Placement, placed
from cutsheets.nesting.pieces import MITRE, grown, make_pieces, spread
from tests.cutsheets.nest_faces import COUNTER, ELL, RIGHT, RINGED, disc, face, instance, item, nest


@settings(deadline=None, max_examples=30)
@given(st.floats(0.0, 0.1), st.floats(0.001, 0.03), st.integers(12, 200), st.integers(2, 6))
def test_a_grown_outline_holds_the_kerf_and_keeps_its_bound(by, fine, points, waves):
    rough = tuple((x * far, y * far) for x, y in disc(3.0, points) for far in [1 + math.sin(waves * x) / 5])
    true = Polygon(rough)
    larger = Polygon(grown(rough, by, fine))
    assert larger.covers(true.buffer(by * 0.999 - 1e-9))
    edge = shapely.points(shapely.get_coordinates(shapely.segmentize(larger.exterior, 0.05)))
    assert shapely.distance(edge, true).max() <= MITRE * (by + fine) + fine


def test_a_plain_outline_is_not_made_larger_than_the_kerf_asks():
    assert Polygon(grown(ELL, 0.5, 0.1)).bounds == (-0.5, -0.5, 6.5, 6.5)


def test_many_points_become_few():
    assert len(grown(disc(5.0, 400), 0.03, 0.01)) < 100


def test_parts_go_into_counters_where_they_fit_clear_of_the_kerf():
    small = item("S", ((0, 0), (3.5, 0), (3.5, 3.5), (0, 3.5)), qty=3)
    asked = instance(item("O", RINGED, holes=(COUNTER,), qty=2), small, kerf=0.2)
    pieces = {(piece.item.id, len(piece.guests)): piece.copies for piece in make_pieces(asked)}
    assert pieces == {("O", 1): 2, ("S", 0): 1}
    host = next(piece for piece in make_pieces(asked) if piece.guests)
    guest = placed(small, host.guests[0])
    assert Polygon(COUNTER).exterior.distance(guest) >= 0.2
    assert not any(piece.guests for piece in make_pieces(asked, in_counters=False))


def test_a_part_that_a_kerf_too_much_keeps_out_stays_outside():
    asked = instance(item("O", RINGED, holes=(COUNTER,)), item("S", ((0, 0), (3.7, 0), (3.7, 3.7), (0, 3.7))), kerf=0.2)
    assert not any(piece.guests for piece in make_pieces(asked))


@pytest.mark.parametrize("turn", RIGHT)
def test_a_part_in_a_counter_moves_with_its_host(turn):
    asked = instance(item("O", RINGED, holes=(COUNTER,)), item("S", ((0, 0), (3, 0), (0, 3))), kerf=0.2)
    (host,) = make_pieces(asked)
    lying = spread(host, Placement("", turn, False, 12.0, 12.0))
    assert check_nest(asked, nest(asked.stock[0], *((p.item, p.turn, p.x, p.y) for p in lying))).ok


def test_rows_fill_a_face_to_the_last_kerf_and_no_further():
    square = ((0, 0), (10, 0), (10, 10), (0, 10))
    exact = instance(item("S", square, qty=4), stock=(face("F", 22, 22, 0.5),), kerf=1.0)
    assert len(rows(exact).faces) == 1
    wider = instance(item("S", square, qty=4), stock=(face("F", 22, 22, 0.5),), kerf=1.001)
    assert len(rows(wider).faces) == 4


@settings(deadline=None, max_examples=40)
@given(st.lists(st.tuples(st.floats(0.5, 8), st.floats(0.5, 8), st.integers(1, 9)), min_size=1, max_size=5))
def test_rows_are_always_right(sizes):
    items = [item(f"I{n}", ((0, 0), (w, 0), (w, h), (0, h)), qty) for n, (w, h, qty) in enumerate(sizes)]
    asked = instance(*items, stock=(face("F", 10, 9), face("G", 18, 10)), kerf=0.1)
    assert check_nest(asked, rows(asked)).ok


def test_rows_take_a_cheap_remnant_first_and_the_cheapest_face_for_the_rest():
    stock = (face("BIG", 48, 24), face("SMALL", 8, 8), face("REST", 16, 8, qty=1, cost=1))
    asked = instance(item("L", qty=3), stock=stock)
    assert [each.stock for each in rows(asked).faces] == ["REST", "SMALL"]


def test_each_counter_is_cut_before_the_edge_of_its_part_and_through_a_slit():
    asked = instance(item("O", RINGED, holes=(COUNTER,), qty=2), item("L"))
    lying = nest(asked.stock[0], ("O", 0.0, 1, 1), ("L", 0.0, 12, 1), ("O", 90.0, 20, 12))
    cuts = nest_cuts(asked, lying)
    assert sorted((cut.placement, cut.ring) for cut in cuts) == [(0, 0), (0, 1), (1, 0), (2, 0), (2, 1)]
    for number in (0, 2):
        counter, edge = (cut for cut in cuts if cut.placement == number)
        assert (counter.ring, edge.ring) == (1, 0)
        part = placed(asked.items[0], lying.placements[number])
        slit = shapely.LineString(counter.lead)
        assert slit.length == pytest.approx(2)
        assert part.intersection(slit).length == pytest.approx(2)
