import math
import random
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely import LineString, Point, Polygon
from shapely.ops import polygonize, unary_union

from cutsheets.errors import CutsheetError
from cutsheets.tracing import Drawn, as_half_profile, as_outlines, as_section, trace
from cutsheets.tracing.curves import arc, bezier, bulged, ellipse

TOLERANCE = 0.05
SQUARE = [(0, 0), (10, 0), (10, 10), (0, 10)]


def edges(ring):
    return [list(edge) for edge in zip(ring, [*ring[1:], ring[0]], strict=True)]


def moved(ring, dx, dy=0, by=1):
    return [(x * by + dx, y * by + dy) for x, y in ring]


def closed(ring):
    return [*ring, ring[0]]


def drawing(*paths):
    outlines, chains, troubles = trace(paths, tolerance=TOLERANCE)
    return Drawn(outlines, chains, troubles, None, 1.0, 0.02, len(paths), {})


def codes(drawn):
    return [trouble.code for trouble in drawn.troubles]


def refusal(use, *args, **options):
    with pytest.raises(CutsheetError) as caught:
        use(*args, **options)
    return caught.value


@st.composite
def polygons(draw):
    """A star-shaped polygon with corners at least 1 mm apart."""
    radii = draw(st.lists(st.floats(20, 100), min_size=3, max_size=30))
    turn = math.tau / len(radii)
    return [(r * math.cos(i * turn), r * math.sin(i * turn)) for i, r in enumerate(radii)]


@given(polygons(), st.randoms(use_true_random=False))
def test_the_order_and_direction_of_lines_do_not_matter(ring, chance):
    lines = [line[:: chance.choice((1, -1))] for line in edges(ring)]
    chance.shuffle(lines)
    assert drawing(*lines).outlines == drawing(closed(ring)).outlines
    assert len(drawing(*lines).outlines[0].outer) == len(ring)


@given(polygons(), st.randoms(use_true_random=False))
def test_ends_that_miss_each_other_by_less_than_the_tolerance_are_joined(ring, chance):
    reach = TOLERANCE / 2 / math.sqrt(2)

    def shaken(point):
        return point[0] + chance.uniform(-reach, reach), point[1] + chance.uniform(-reach, reach)

    lines = [[shaken(a), shaken(b)][:: chance.choice((1, -1))] for a, b in edges(ring)]
    chance.shuffle(lines)
    drawn = drawing(*lines)
    assert drawn.troubles == drawn.chains == ()
    assert Polygon(drawn.outlines[0].outer).hausdorff_distance(Polygon(ring)) < TOLERANCE


@given(polygons(), st.data())
def test_a_missing_line_is_a_gap_at_its_place(ring, data):
    lines = edges(ring)
    missing = lines.pop(data.draw(st.integers(0, len(lines) - 1)))
    drawn = drawing(*lines)
    assert drawn.outlines == ()
    assert codes(drawn) == ["gap"]
    assert drawn.troubles[0].at in [pytest.approx(end) for end in missing]
    assert f"{math.dist(*missing):.3f} mm" in drawn.troubles[0].message


def test_a_gap_wider_than_the_tolerance_is_named_with_both_ends():
    drawn = drawing([(0, 0), (10, 0), (10, 10)], [(10, 10), (0, 10), (0, 0.8)])
    assert (drawn.outlines, codes(drawn)) == ((), ["gap"])
    assert "0.800 mm between (0, 0) mm and (0, 0.8) mm" in drawn.troubles[0].message


@given(polygons(), st.floats(0.2, 0.8))
def test_outlines_are_those_that_another_library_finds(ring, share):
    # independent: shapely's polygonize of the same loose lines
    inner = moved(ring, 0, by=share)
    lines = edges(ring) + edges(inner)
    random.Random(1).shuffle(lines)
    outline = drawing(*lines).outlines[0]
    faces = list(polygonize(unary_union([LineString(line) for line in lines])))
    ours = Polygon(outline.outer, outline.holes)
    assert ours.area == pytest.approx(max(face.area for face in faces if face.interiors))
    assert len(outline.holes) == 1


def test_an_island_in_a_hole_is_an_outline_of_its_own_and_the_largest_comes_first():
    rings = [moved(SQUARE, 45, 45), moved(SQUARE, 0, by=10), moved(SQUARE, 25, 25, by=5), moved(SQUARE, 200)]
    drawn = drawing(*map(closed, rings))
    assert [Polygon(each.outer).area for each in drawn.outlines] == [10000, 100, 100]
    assert [len(each.holes) for each in drawn.outlines] == [1, 0, 0]
    assert Polygon(drawn.outlines[0].outer).exterior.is_ccw
    assert not Polygon(drawn.outlines[0].holes[0]).exterior.is_ccw


def test_loops_that_cross_each_other_are_set_aside_with_the_places():
    drawn = drawing(closed(SQUARE), closed(moved(SQUARE, 5, 5)), closed(moved(SQUARE, 50)))
    assert len(drawn.outlines) == 1
    assert {trouble.at for trouble in drawn.troubles} == {(5, 10), (10, 5)}
    assert set(codes(drawn)) == {"crossing"}
    assert [chain[0] == chain[-1] for chain in drawn.chains] == [True, True]


def test_a_loop_that_crosses_itself_is_named_at_the_crossing():
    drawn = drawing(closed([(0, 0), (10, 10), (10, 0), (0, 10)]))
    assert (drawn.outlines, codes(drawn), drawn.troubles[0].at) == ((), ["crossing"], (5, 5))


def test_a_centre_line_across_a_shape_is_named_and_the_shape_stays():
    drawn = drawing(closed(SQUARE), [(5, -3), (5, 13)])
    assert len(drawn.outlines) == len(drawn.chains) == 1
    assert {trouble.at for trouble in drawn.troubles if trouble.code == "crossing"} == {(5, 0), (5, 10)}


def test_a_line_drawn_twice_counts_once_and_is_named():
    drawn = drawing(*edges(SQUARE), [(10, 10), (10, 0)])
    assert (len(drawn.outlines), codes(drawn), drawn.troubles[0].at) == (1, ["doubled"], (10, 5))
    twice = drawing(closed(SQUARE), closed(SQUARE[::-1]))
    assert (len(twice.outlines), codes(twice), twice.chains) == (1, ["doubled"], ())


def test_three_ends_that_meet_are_left_to_the_user():
    drawn = drawing(*edges(SQUARE), [(0, 0), (10, 10)])
    assert drawn.outlines == ()
    assert {(trouble.code, trouble.at) for trouble in drawn.troubles} == {("junction", (0, 0)), ("junction", (10, 10))}


def test_a_stray_line_at_the_corner_of_a_shape_does_not_hide_the_shape():
    drawn = drawing(closed(SQUARE), [(0, 0), (-7, -3)])
    assert len(drawn.outlines) == 1
    assert ("junction", (0, 0)) in [(trouble.code, trouble.at) for trouble in drawn.troubles]


def test_lines_without_length_and_loops_without_inside_are_named():
    assert codes(drawing([(3, 4), (3, 4)], closed(SQUARE))) == ["zero-length"]
    there_and_back = drawing(closed([(0, 0), (5, 0), (9, 0)]))
    assert (there_and_back.outlines, codes(there_and_back)) == ((), ["flat"])


def test_a_curve_of_lines_shorter_than_the_tolerance_keeps_its_shape():
    # a circle of 2,000 lines of 0.031 mm, as some programs write curves
    circle = [(10 * math.cos(i * math.tau / 2000), 10 * math.sin(i * math.tau / 2000)) for i in range(2000)]
    drawn = drawing(*edges(circle))
    assert (len(drawn.outlines[0].outer), drawn.troubles) == (2000, ())


def test_a_speck_shorter_than_the_tolerance_is_named_and_not_closed_upon_itself():
    drawn = drawing(closed(SQUARE), [(30, 30), (30.02, 30), (30.02, 30.02)])
    assert (len(drawn.outlines), len(drawn.chains), codes(drawn)) == (1, 1, ["gap"])


def test_troubles_are_listed_up_to_what_somebody_reads():
    drawn = drawing(*([(i, 0), (i, 0)] for i in range(500)))
    assert codes(drawn).count("zero-length") == 100
    assert "more of “zero-length”" in drawn.troubles[-1].message


def test_a_section_begins_at_the_wall():
    drawn = drawing(closed(moved(SQUARE, -30, 7)))
    assert as_section(drawn, to_wall=True) == [[0, 0], [10, 0], [10, 10], [0, 10]]
    assert refusal(as_section, drawn, to_wall=False).code == "section-wall"
    assert as_section(drawing(closed(moved(SQUARE, 2, 3))), to_wall=False)[0] == [2, 3]


def test_no_section_is_chosen_for_the_user():
    two = drawing(closed(SQUARE), closed(moved(SQUARE, 50, by=2)))
    assert refusal(as_section, two, to_wall=True).code == "section-choice"
    assert as_section(two, to_wall=True, which=1) == as_section(drawing(closed(SQUARE)), to_wall=True)
    assert refusal(as_section, two, to_wall=True, which=2).code == "section-choice"
    hollow = drawing(closed(moved(SQUARE, 0, by=9)), closed(moved(SQUARE, 5, 5)))
    assert refusal(as_section, hollow, to_wall=True).code == "section-holes"


def test_a_drawing_without_an_outline_says_why():
    open_one = refusal(as_section, drawing([(0, 0), (10, 0), (10, 10)]), to_wall=True)
    assert (open_one.code, "gap" in open_one.message) == ("section-none", True)
    assert refusal(as_outlines, drawing()).code == "outlines-none"


HALF = [(30, 0), (30, 10), (15, 40), (15, 60)]


@pytest.mark.parametrize(
    "paths",
    [
        [HALF],
        [HALF[::-1]],
        [[(0, 0), *HALF, (0, 60)]],
        [closed([(0, 0), *HALF, (0, 60)])],
        [closed([*HALF, *[(-x, y) for x, y in HALF[::-1]]])],
    ],
    ids=["open chain", "downwards", "with its ends on the axis", "right half", "whole outline"],
)
def test_a_half_profile_is_read_from_the_base_upwards(paths):
    profile = as_half_profile(drawing(*([(x, y + 5) for x, y in path] for path in paths)))
    assert [point for point in profile if point[1]] == [[0, 30], [10, 30], [40, 15], [60, 15]]


@pytest.mark.parametrize(
    ("paths", "code"),
    [
        ([closed([(5, 0), *HALF, (5, 60)])], "profile-axis"),
        ([closed([(-9, 0), *HALF, (-9, 60)])], "profile-uneven"),
        ([[(-1, 0), *HALF]], "profile-axis"),
        ([HALF, [(x + 50, y) for x, y in HALF]], "profile-none"),
        ([closed(moved(SQUARE, -5)), closed(moved(SQUARE, 50))], "profile-choice"),
        ([closed([(-40, -40), (40, -40), (40, 99), (-40, 99)]), closed(moved(SQUARE, -5))], "profile-holes"),
        ([closed([(0, 0), (9, 0), (9, 9), (0, 9), (0, 6), (5, 6), (5, 3), (0, 3)])], "profile-axis"),
    ],
)
def test_half_profiles_that_leave_a_question_are_refused(paths, code):
    assert refusal(as_half_profile, drawing(*paths)).code == code


def test_outlines_keep_their_holes_and_places():
    shape = as_outlines(drawing(closed(moved(SQUARE, 0, by=3)), closed(moved(SQUARE, 5, 5))))
    assert [(each["name"], each["qty"], len(each["holes"])) for each in shape] == [("shape 1", 1, 1)]
    assert Polygon(shape[0]["outer"], shape[0]["holes"]).area == 800


@pytest.mark.parametrize(
    ("chord", "sagitta", "area", "length"), [(21, 6, 89.254148, 25.308373), (1.2, 0.5, 0.451024, 1.695161)]
)
def test_a_flattened_arc_encloses_the_segment_of_the_handbook(chord, sagitta, area, length):
    # Machinery's Handbook, Mensuration: circular segment from chord and sagitta; bulge = 2·sagitta/chord
    points = bulged((0, 0), (chord, 0), 2 * sagitta / chord, 1e-6)
    assert Polygon(points).area == pytest.approx(area, rel=1e-5)
    assert LineString(points).length == pytest.approx(length, rel=1e-5)
    assert min(y for _, y in points) == pytest.approx(-sagitta, abs=1e-5)  # positive: counter-clockwise


@given(st.floats(0.01, 5000), st.floats(0.001, 1))
def test_a_circle_is_inscribed_within_its_chord_error(radius, chord):
    # area of a circle πr² (Euclid); a ring of the chord error's width is all that may be missing
    area = Polygon(arc((3, 4), radius, start=0, sweep=math.tau, chord=chord)).area
    missing = math.pi * radius**2 - area
    assert -1e-9 * area <= missing <= math.tau * radius * chord


places = st.floats(-100, 100).map(lambda value: round(value, 3))
points = st.tuples(places, places)


@given(st.lists(points, min_size=3, max_size=4), st.floats(0.005, 0.5))
def test_no_point_of_a_bezier_curve_is_farther_off_than_the_chord_error(control, chord):
    # independent: de Casteljau's construction of 200 points of the curve
    def casteljau(net, t):
        while len(net) > 1:
            net = [((1 - t) * ax + t * bx, (1 - t) * ay + t * by) for (ax, ay), (bx, by) in pairwise(net)]
        return Point(net[0])

    line = LineString(bezier(control, chord))
    assert max(line.distance(casteljau(control, i / 200)) for i in range(201)) <= chord * (1 + 1e-6) + 1e-9


angles = st.integers(-6200, 6200).map(lambda value: value / 1000)


@given(points, points, angles, angles.filter(bool), st.floats(0.005, 0.5))
def test_no_point_of_an_ellipse_is_farther_off_than_the_chord_error(u, v, start, sweep, chord):
    line = LineString(ellipse((0, 0), u, v, start=start, sweep=sweep, chord=chord))
    for i in range(101):
        t = start + sweep * i / 100
        at = Point(u[0] * math.cos(t) + v[0] * math.sin(t), u[1] * math.cos(t) + v[1] * math.sin(t))
        assert line.distance(at) <= chord * (1 + 1e-6) + 1e-9
