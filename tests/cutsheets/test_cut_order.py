import time
from random import Random

import pytest
import shapely
from shapely import Polygon, affinity, box

from cutsheets.nesting.faces import FaceRoom, laid
from cutsheets.nesting.lattice import pack_face
from cutsheets.nesting.order import cut_order
from cutsheets.solids import Outline

# Order of cutting: common practice, no source.
FACE = FaceRoom(20, 20, 0.5)
LETTER_O = Polygon([(0, 0), (6, 0), (6, 8), (0, 8)], [[(1, 1), (1, 7), (5, 7), (5, 1)]])
DOT = box(2, 3, 4, 5)


def rings(order):
    return [(cut.part, cut.ring) for cut in order]


def test_parts_are_cut_from_the_top_down_whatever_order_they_come_in():
    parts = [box(1, 1 + 4 * n, 5, 4 + 4 * n) for n in (2, 0, 3, 1)]
    assert rings(cut_order(parts, FACE, 0.1)) == [(2, 0), (0, 0), (3, 0), (1, 0)]


def test_a_counter_is_cut_while_the_letter_is_held_and_what_lies_in_it_before():
    order = cut_order([DOT, LETTER_O], FACE, 0.1)
    assert rings(order) == [(0, 0), (1, 1), (1, 0)]
    start, end = order[0].lead
    assert LETTER_O.exterior.distance(shapely.Point(start)) == pytest.approx(0)
    assert DOT.exterior.distance(shapely.Point(end)) == pytest.approx(0)


def test_a_counter_is_slit_once_on_the_shortest_way_or_where_the_slit_to_a_part_in_it_goes():
    empty, _ = cut_order([LETTER_O], FACE, 0.1)
    assert empty.ring == 1
    assert shapely.LineString(empty.lead).length == pytest.approx(1)  # through a stroke: all are one unit wide
    to_dot, counter, _ = cut_order([DOT, LETTER_O], FACE, 0.1)
    assert shapely.LineString(to_dot.lead).crosses(shapely.LineString(LETTER_O.interiors[0]))
    assert counter.lead is None


def test_a_letter_in_a_letter_in_a_letter_is_cut_first():
    nested = [affinity.scale(LETTER_O, size, size, origin=(3, 4)) for size in (2, 1, 0.5)]
    assert rings(cut_order(nested, FaceRoom(40, 40), 0.1)) == [(2, 1), (2, 0), (1, 1), (1, 0), (0, 1), (0, 0)]


def test_a_part_needs_a_lead_in_cut_unless_the_kerf_of_a_neighbour_is_there_already():
    # the first one from the face's edge, the second one kerf below it, the third far below
    parts = [box(1, 14, 5, 18), box(1, 9.9, 5, 13.9), box(1, 2, 5, 6)]
    leads = [cut.lead for cut in cut_order(parts, FaceRoom(40, 20), 0.1)]
    assert [lead is None for lead in leads] == [False, True, False]
    assert shapely.LineString(leads[0]).length == pytest.approx(1)  # from the left edge
    assert shapely.LineString(leads[2]).length == pytest.approx(1)


def test_no_lead_in_cut_goes_through_a_part_that_is_not_cut_yet():
    # the ring of four is cut from the top; the block in its middle is reached from a part that is cut
    ring = [box(4, 12, 16, 15), box(4, 5, 7, 11.9), box(13, 5, 16, 11.9), box(4, 1, 16, 4.9)]
    block = box(9, 7, 11, 9)
    parts = [*ring, block]
    done = set()
    for cut in cut_order(parts, FaceRoom(20, 20), 0.1):
        if cut.lead:
            way = shapely.LineString(cut.lead)
            others = [part for n, part in enumerate(parts) if n not in done and n != cut.part]
            assert not any(way.intersects(part) for part in others)
        done.add(cut.part)


def test_a_longer_way_is_taken_round_a_part_that_is_not_cut_yet():
    # the left edge is nearer to the block's nose than what is cut on its right, but a wall stands before it
    block = Polygon([(5, 10), (8, 10), (8, 16), (5, 16), (5, 14), (4, 13), (5, 12)])
    first, wall = box(13, 12, 16, 18), box(2, 9, 3, 15)
    order = cut_order([wall, block, first], FaceRoom(40, 40), 0.1)
    assert [cut.part for cut in order] == [2, 1, 0]
    start, end = order[1].lead
    assert (start[0], end[0]) == (13, 8)


def shadow_area(high, low):
    """Return how much of one part hangs over another: by strips of x, not by the code's own shadows."""
    total = 0.0
    left, right = max(high.bounds[0], low.bounds[0]), min(high.bounds[2], low.bounds[2])
    for k in range(40):
        x = left + (right - left) * (k + 0.5) / 40
        line = shapely.LineString([(x, -99), (x, 99)])
        one, other = high.intersection(line), low.intersection(line)
        if not one.is_empty and not other.is_empty:
            total += (one.centroid.y > other.centroid.y) * (right - left) / 40
    return total


@pytest.mark.parametrize("seed", range(3))
def test_no_box_of_a_full_face_is_cut_before_one_that_hangs_over_it(seed):
    rng = Random(seed)
    side = rng.uniform(1.5, 3)
    outline = Outline(((0, 0), (side, 0), (side, 1), (0, 1)))
    parts = [laid(outline, one) for one in pack_face(outline, FACE, 0.1, turns=(0.0, 90.0))]
    order = [cut.part for cut in cut_order(parts, FACE, 0.1)]
    assert sorted(order) == list(range(len(parts)))
    for n, low in enumerate(order):
        for high in order[n + 1 :]:
            assert parts[high].bounds[1] < parts[low].bounds[3] or shadow_area(parts[high], parts[low]) < 1e-6


def test_interlocked_sections_are_all_cut_and_most_without_a_lead_in():
    outline = Outline(((0, 0), (6, 0), (6, 1), (1, 1), (1, 6), (0, 6)))
    face = FaceRoom(48, 48, 0.25)
    parts = [laid(outline, one) for one in pack_face(outline, face, 0.06)]
    order = cut_order(parts, face, 0.06)
    assert sorted(cut.part for cut in order) == list(range(len(parts)))
    assert sum(cut.lead is None for cut in order) > 0.8 * len(parts)


def test_thousands_of_parts_are_put_in_order_within_a_second_or_two():
    parts = [box(x, y, x + 0.6, y + 0.6) for x in range(65) for y in range(65)]
    began = time.process_time()
    order = cut_order(parts, FaceRoom(65, 65), 0.1)
    assert time.process_time() - began < 3  # every machine
    assert [parts[cut.part].bounds[1] for cut in order] == sorted(
        (y for y in range(65) for _ in range(65)), reverse=True
    )


def test_nothing_to_cut_needs_no_cut():
    assert cut_order([], FACE, 0.1) == []
