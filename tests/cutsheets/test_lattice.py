import math
from random import Random

import pytest
import shapely
from hypothesis import assume, example, given, settings
from hypothesis import strategies as st
from shapely import affinity
from shapely.geometry.polygon import orient

from cutsheets.airfoils import naca
from cutsheets.nesting import lattice, trials
from cutsheets.nesting.blocks import in_blocks
from cutsheets.nesting.faces import FaceRoom
from cutsheets.nesting.interlock import Shapes, cells, interlock
from cutsheets.nesting.lattice import pack_face
from cutsheets.nesting.nofit import simpler
from cutsheets.nesting.rows import closest, stacks
from cutsheets.solids import Outline

L = ((0, 0), (6, 0), (6, 1), (1, 1), (1, 6), (0, 6))
C = ((0, 0), (8, 0), (8, 0.5), (0.5, 0.5), (0.5, 3.5), (8, 3.5), (8, 4), (0, 4))
CROWN = ((0, 0), (4, 0), (4, 1), (3.5, 1.2), (3.2, 1.6), (3, 2.2), (2.6, 2.8), (2, 3.1), (1.2, 3.3), (1, 4), (0, 4))
SILL = ((0, 0), (5, 0), (5, 0.8), (2, 1.6), (2, 3), (0, 3))
WEDGE = ((0, 0), (5, 0), (1, 3))
HALF_TURN = (0.0, 180.0)
RIGHT_ANGLES = (0.0, 90.0, 180.0, 270.0)


def moved(ring, one):
    """Return an outline where a placement puts it, by shapely's own transforms."""
    shape = shapely.Polygon(ring)
    if one.mirrored:
        shape = affinity.scale(shape, -1, 1, origin=(0, 0))
    return affinity.translate(affinity.rotate(shape, one.turn, origin=(0, 0)), one.x, one.y)


def check(ring, face, kerf, placements, turns=HALF_TURN):
    """Check by shapely alone: inside the margin, a kerf apart, only turns that are allowed; return how many."""
    shapes = [moved(ring, one) for one in placements]
    inside = shapely.box(face.margin, face.margin, face.w - face.margin, face.h - face.margin).buffer(1e-6)
    assert all(inside.covers(shape) for shape in shapes)
    assert {one.turn for one in placements} <= set(turns)
    tree = shapely.STRtree(shapes)
    for n, shape in enumerate(shapes):
        for m in tree.query(shape, predicate="dwithin", distance=kerf):
            if m > n:
                assert shape.distance(shapes[m]) >= kerf - 1e-6
                assert shape.intersection(shapes[m]).area <= 1e-6
    assert len(shapes) * shapely.Polygon(ring).area <= face.inner[0] * face.inner[1]
    return len(shapes)


def in_boxes(ring, face, kerf):
    """Return how many boxes round the outline go on a face in rows; the arithmetic of a saw."""
    left, low, right, high = shapely.Polygon(ring).bounds
    rows = [
        math.floor((room + kerf) / (side + kerf) + 1e-9)
        for room, side in zip(face.inner, (right - left, high - low), strict=True)
    ]
    return max(rows[0], 0) * max(rows[1], 0)


@settings(max_examples=12, deadline=None)
@given(st.integers(4, 80), st.integers(4, 80), st.sampled_from([0.0, 0.0625, 0.1]), st.sampled_from([0.0, 0.25]))
@example(8, 8, 0.0, 0.0)
def test_a_rectangle_goes_as_often_as_rows_of_boxes_say(wide, high, kerf, margin):
    w, h = wide / 8, high / 8
    face = FaceRoom(24, 16, margin)
    ring = ((0, 0), (w, 0), (w, h), (0, h))
    count = check(ring, face, kerf, pack_face(Outline(ring), face, kerf))
    assert count >= in_boxes(ring, face, kerf)
    if in_boxes(ring, face, kerf) == 0:
        assert count == 0
    if h > 8 or w > 12:  # one row or one column: nothing can lie otherwise
        assert count == in_boxes(ring, face, kerf)


@pytest.mark.parametrize("kerf", [0.0, 0.06])
@pytest.mark.parametrize(("ring", "turns", "mirror"), [
    (L, HALF_TURN, False), (C, HALF_TURN, False), (CROWN, RIGHT_ANGLES, True), (SILL, RIGHT_ANGLES, False),
    (WEDGE, (0.0,), True), (CROWN, (90.0, 270.0), False), (SILL, (0.0,), False), (WEDGE, (30.0, 210.0), False),
])  # fmt: skip
def test_sections_lie_a_kerf_apart_inside_the_margin_and_never_fewer_than_boxes(ring, turns, mirror, kerf):
    face = FaceRoom(30, 22, 0.25)
    placements = pack_face(Outline(ring), face, kerf, turns=turns, mirror=mirror)
    assert mirror or not any(one.mirrored for one in placements)
    turned = affinity.rotate(shapely.Polygon(ring), turns[0], origin=(0, 0)).exterior.coords[:-1]
    assert check(ring, face, kerf, placements, turns) >= in_boxes(turned, face, kerf)


@pytest.mark.parametrize(("ring", "times"), [(L, 3), (C, 2)])
def test_l_and_c_sections_need_half_the_faces_of_boxes_at_most(ring, times):
    face = FaceRoom(48, 48, 0.25)
    count = check(ring, face, 0.06, pack_face(Outline(ring), face, 0.06))
    assert count >= times * in_boxes(ring, face, 0.06)


def nosed(long, nose, high):
    """Return a sill with a sloped top and a round nose."""
    arc = [
        (long + nose / 2 * math.sin(t), nose / 2 - nose / 2 * math.cos(t)) for t in map(math.radians, range(0, 181, 22))
    ]
    return ((0, 0), *arc, (0, high))


@pytest.mark.parametrize(("ring", "general"), [(nosed(7, 2, 3.5), 94), (nosed(6.5, 1.7, 3.1), 120)])
def test_sills_that_nose_between_two_others_go_as_often_as_a_general_packer_lays_them(ring, general):
    # what packingsolver's irregular solver gave in ten seconds; two columns nose in nose make up the width
    face = FaceRoom(48, 48, 0.25)
    assert check(ring, face, 0.06, pack_face(Outline(ring), face, 0.06)) >= general


COVE = [(4 + 2 * math.sin(t), 3.5 - 2 * math.cos(t)) for t in map(math.radians, range(0, 91, 6))]
ROUND_CROWN = ((0, 0), (4, 0), (4, 1.5), *COVE, (6, 6), (0, 6))
SPIKE = ((0, 0), (3, 0), (3, 6), *((3 + math.cos(t), 7 + math.sin(t)) for t in map(math.radians, range(285, 361, 15))),
         (2.2, 9), (0, 10))  # fmt: skip


@pytest.mark.parametrize(("ring", "general"), [
    (C, 120), (L, 125), (WEDGE, 270), (nosed(7, 2, 3.5), 97), (ROUND_CROWN, 58), (SPIKE, 62), (naca("2412", 14), 114),
])  # fmt: skip
def test_turned_by_right_angles_they_go_at_least_as_often_as_a_general_packer_lays_them(ring, general):
    # what packingsolver's irregular solver gave in ten seconds, all four turns and the mirror allowed
    face = FaceRoom(48, 48, 0.25)
    assert check(ring, face, 0.06, pack_face(Outline(ring), face, 0.06, turns=RIGHT_ANGLES, mirror=True),
                 RIGHT_ANGLES) >= general  # fmt: skip


@pytest.mark.parametrize("code", ["0012", "2412", "6409"])
def test_a_wing_section_of_hundreds_of_points_is_made_simple_and_loses_next_to_nothing(code):
    ring = naca(code, 9)
    true, outside = shapely.Polygon(ring), simpler(ring, 40)
    assert outside.buffer(1e-9).covers(true)
    assert len(outside.exterior.coords) <= 41
    assert outside.area < 1.01 * true.area
    assert outside.hausdorff_distance(true) < 0.002 * 9


T = ((0, 0), (7, 0), (7, 1.25), (4.2, 1.25), (4.2, 5.5), (2.8, 5.5), (2.8, 1.25), (0, 1.25))
CAP = ((0, 0), (9, 0), (9, 1), (4.5, 3), (0, 1))


@pytest.mark.parametrize(("ring", "general"), [(T, 38), (CAP, 37), (ROUND_CROWN, 21)])
def test_small_faces_hold_as_many_as_a_general_packer_lays_in_ten_seconds(ring, general):
    # packingsolver's irregular solver; rows, lattices and blocks alone hold 35, 36 and 20
    face = FaceRoom(36, 24, 0.25)
    count = check(ring, face, 0.06, pack_face(Outline(ring), face, 0.06, turns=RIGHT_ANGLES, mirror=True), RIGHT_ANGLES)
    assert count >= general


def test_a_face_on_its_side_is_packed_and_turned_back():
    lying, face = tuple((-y, x) for x, y in T), FaceRoom(24, 36, 0.25)
    assert check(lying, face, 0.06, pack_face(Outline(lying), face, 0.06)) >= 36  # rows, lattices and blocks alone: 34


def test_blocks_that_repeat_round_a_gap_are_found_by_their_period():
    # packingsolver's irregular solver gave 48 in ten seconds, our own pinwheel 47
    ring = ((0, 0), (10, 0), (10, 3), (8.6, 3.6), (8.2, 4.5), (1.8, 4.5), (1.4, 3.6), (0, 3))
    face = FaceRoom(48, 48, 0.25)
    count = check(ring, face, 0.06, pack_face(Outline(ring), face, 0.06, turns=RIGHT_ANGLES), RIGHT_ANGLES)
    assert count >= 48


def test_where_the_packing_library_says_nothing_rows_and_lattices_stand(monkeypatch):
    monkeypatch.setattr(trials, "answers", lambda *_, **__: iter(()))
    face = FaceRoom(36, 24, 0.25)
    assert check(T, face, 0.06, pack_face(Outline(T), face, 0.06)) >= 34


def test_what_fits_exactly_is_not_made_simpler():
    assert simpler(CROWN, 5).equals(shapely.Polygon(CROWN))


def test_with_half_turns_rows_of_both_directions_share_a_face():
    # packingsolver's irregular solver gave 98 in ten seconds, rows of one direction 97
    ring = ((0, 0), (7, 0), (7, 1.2), (5.5, 1.2), (5.5, 2), (4, 2), (4, 3.2), (1.5, 3.2), (1.5, 4.5), (0, 4.5))
    face = FaceRoom(48, 48, 0.25)
    assert check(ring, face, 0.06, pack_face(Outline(ring), face, 0.06)) >= 98


def blocks_of(ring, kerf, room):
    """Return the fullest face cut straight through and the fullest pinwheel of a section in pairs and alone."""
    shapes = Shapes(Outline(ring), kerf)
    rows = closest(
        cell.turned(turn) for cell in cells(shapes, [(180.0, False)]) for turn in (0.0, 90.0)
    )  # fmt: skip
    return in_blocks(shapes, stacks(shapes, rows, room), stacks(shapes, rows, room[::-1]), room)


def test_a_pinwheel_holds_more_than_straight_cuts_where_both_ways_leave_a_rest():
    straight, pinwheel = blocks_of(C, 0.06, (47.5, 47.5))
    assert check(C, FaceRoom(47.5, 47.5), 0.06, straight, RIGHT_ANGLES) >= 115
    assert check(C, FaceRoom(47.5, 47.5), 0.06, pinwheel, RIGHT_ANGLES) > len(straight)


def test_the_middle_of_a_pinwheel_lies_a_kerf_from_the_blocks_round_it():
    ring, room = ((0, 0), (5, 0), (5, 2), (0, 2)), (29, 18)
    straight, pinwheel = blocks_of(ring, 0.1, room)
    assert check(ring, FaceRoom(*room), 0.1, pinwheel, RIGHT_ANGLES) > len(straight)


@pytest.mark.parametrize(("long", "wide", "face", "most"), [
    (2, 1, (3, 3), 4),  # four boxes round a middle that is left: a pinwheel of the simplest kind
    (3, 2, (5, 5), 4),
    (5, 3, (21, 18), 24),  # all of one face but 18 of 378; 24 · 15 = 360 (an area bound gives 25)
])  # fmt: skip
def test_boxes_go_as_often_as_on_a_pallet(long, wide, face, most):
    ring = ((0, 0), (long, 0), (long, wide), (0, wide))
    straight, pinwheel = blocks_of(ring, 0.0, face)
    assert max(check(ring, FaceRoom(*face), 0.0, one, RIGHT_ANGLES) for one in (straight, pinwheel)) >= most


@settings(max_examples=8, deadline=None)
@given(
    st.lists(st.tuples(st.integers(0, 12), st.integers(0, 12)), min_size=3, max_size=5, unique=True),
    st.integers(20, 40), st.integers(20, 40), st.sampled_from([0.0, 0.1]), st.booleans(),
)  # fmt: skip
def test_with_blocks_a_face_never_holds_fewer(points, wide, high, kerf, mirror):
    shape = shapely.MultiPoint(points).convex_hull
    assume(shape.area > 4)
    ring = tuple(orient(shape).exterior.coords[:-1])
    face, how = FaceRoom(wide, high, 0.25), {"turns": RIGHT_ANGLES, "mirror": mirror}
    count = check(ring, face, kerf, pack_face(Outline(ring), face, kerf, **how), RIGHT_ANGLES)
    with pytest.MonkeyPatch.context() as without:
        without.setattr(lattice, "in_blocks", lambda *_: [])
        assert count >= len(pack_face(Outline(ring), face, kerf, **how))


def regular(n):
    return tuple((math.cos(2 * math.pi * k / n), math.sin(2 * math.pi * k / n)) for k in range(n))


@pytest.mark.parametrize(("ring", "density"), [
    # Kuperberg and Kuperberg, Double-lattice packings of convex bodies in the plane, Discrete & Computational
    # Geometry 5 (1990) 389-397: (5 - √5)/3 for the regular pentagon
    (regular(5), (5 - math.sqrt(5)) / 3),
    (regular(7), 0.8926),  # the same paper's method, the regular heptagon (memory)
    (regular(6), 1.0),  # it tiles the plane
])  # fmt: skip
def test_pairs_of_regular_polygons_are_as_dense_as_published(ring, density):
    assert interlock(Outline(ring), 0.0, [(180.0, False)]).density == pytest.approx(density, abs=1e-4)


@settings(max_examples=12, deadline=None)
@given(st.lists(st.tuples(st.integers(0, 20), st.integers(0, 20)), min_size=3, max_size=4, unique=True))
@example([(4, 15), (17, 12), (9, 1), (8, 0)])  # GEOS loses one of three shapes that touch: parts on top of each other
def test_every_triangle_and_quadrilateral_tiles_the_plane_by_half_turns(points):
    # Grünbaum and Shephard, Tilings and Patterns (1987): Conway's criterion
    shape = shapely.Polygon(points)
    assume(shape.is_valid and shape.area > 0.05 * shape.length**2 / 4)
    ring = tuple(orient(shape).exterior.coords[:-1])
    assert interlock(Outline(ring), 0.0, [(180.0, False)]).density == pytest.approx(1.0, abs=2e-3)


def test_on_a_large_face_without_kerf_triangles_leave_next_to_nothing():
    face = FaceRoom(200, 200)
    count = check(WEDGE, face, 0.0, pack_face(Outline(WEDGE), face, 0.0))
    assert count * 7.5 / 200**2 > 0.95


def star(rng):
    """Return an outline that no one drew: radii at rising angles."""
    count = rng.randint(3, 60)
    turns = sorted(rng.sample(range(360), count))
    return tuple((rng.uniform(0.6, 3) * math.cos(math.radians(t)), rng.uniform(0.6, 3) * math.sin(math.radians(t)))
                 for t in turns)  # fmt: skip


@pytest.mark.parametrize("seed", range(6))
def test_any_outline_is_packed_by_the_rules(seed):
    rng = Random(seed)
    shape = shapely.Polygon(star(rng)).buffer(0)
    shape = max(shapely.get_parts(shape), key=lambda part: part.area)
    ring = tuple(map(tuple, orient(shapely.Polygon(shape.exterior)).exterior.coords[:-1]))
    face = FaceRoom(rng.uniform(3, 30), rng.uniform(3, 30), rng.choice([0, 0.5]))
    turns = rng.choice([(0.0,), HALF_TURN, RIGHT_ANGLES])
    kerf = rng.choice([0.0, 0.05, 0.4])
    placements = pack_face(Outline(ring), face, kerf, turns=turns, mirror=rng.random() < 0.5)
    assert check(ring, face, kerf, placements, turns) >= in_boxes(ring, face, kerf)


def test_only_so_many_are_laid_as_are_asked_for_and_low_on_the_face():
    face = FaceRoom(48, 48, 0.25)
    placements = pack_face(Outline(L), face, 0.06, most=30)
    assert check(L, face, 0.06, placements) == 30
    used = shapely.union_all([moved(L, one) for one in placements]).bounds
    assert (used[2] - used[0]) * (used[3] - used[1]) < 0.33 * 47.5**2


def test_what_fits_nowhere_is_not_laid():
    assert pack_face(Outline(L), FaceRoom(6.2, 6.2, 0.25), 0.06) == []
    assert pack_face(Outline(L), FaceRoom(1, 1, 0.6), 0.06) == []


def test_the_same_face_is_packed_the_same_way_again():
    face = FaceRoom(30, 22, 0.25)
    first, second = (pack_face(Outline(CROWN), face, 0.06, mirror=True) for _ in range(2))
    assert first == second
