import io
import math
import random
from itertools import pairwise

import pytest
from ezdxf.filemanagement import read as other_reader
from ezdxf.math import BSpline, Vec3, bulge_to_arc, rational_bspline_from_arc
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LineString, Point, Polygon

from cutsheets.errors import CutsheetError
from cutsheets.files.dxf import read_dxf, write_dxf
from cutsheets.tracing.curves import bulged
from tests.cutsheets.drawing_files import dxf, farthest, rectangle, rings_of, shapes

SQUARE = rectangle(0, 0, 100, 50)


def code(data, **options):
    with pytest.raises(CutsheetError) as caught:
        read_dxf(data, **options)
    return caught.value.code


def area(drawn):
    return sum(Polygon(outline.outer, outline.holes).area for outline in drawn.outlines)


@given(shapes(), st.sampled_from(["in", "mm"]))
@settings(max_examples=40)
def test_what_is_written_is_read_back_within_a_thousandth_of_a_millimetre(shape, unit):
    outlines, chains = shape
    back = read_dxf(write_dxf(outlines, unit, chains))
    assert farthest(rings_of(back.outlines, back.chains), rings_of(outlines, chains)) < 0.001
    assert (back.unit, set(back.layers) <= {"OUTLINES", "HOLES", "CHAINS"}) == (unit, True)


@given(shapes())
@settings(max_examples=10)
def test_another_reader_finds_the_same_closed_polylines_and_the_unit(shape):
    # independent: ezdxf, and its audit of the file
    document = other_reader(io.StringIO(write_dxf(shape[0], "in").decode()))
    lines = list(document.modelspace().query("LWPOLYLINE"))
    assert (document.units, document.audit().has_errors, all(line.closed for line in lines)) == (1, False, True)
    assert len(lines) == sum(len(outline.rings) for outline in shape[0])
    assert [x * 25.4 for x, _ in lines[0].get_points("xy")] == pytest.approx([x for x, _ in shape[0][0].outer])


@pytest.mark.parametrize(
    ("number", "unit", "mm"), [(1, "in", 25.4), (2, "in", 304.8), (4, "mm", 1), (5, "mm", 10), (6, "mm", 1000)]
)
def test_the_unit_of_the_file_is_used(number, unit, mm):
    # $INSUNITS, DXF reference, HEADER section; 1 in = 25.4 mm (1959 agreement)
    drawn = read_dxf(dxf(lambda _, space: space.add_lwpolyline(SQUARE, close=True), units=number))
    assert (drawn.unit, drawn.per_unit, area(drawn)) == (unit, mm, pytest.approx(5000 * mm**2))


@pytest.mark.parametrize(("number", "name"), [(0, "$INSUNITS"), (10, "yards"), (20, "parsecs"), (13, "microns")])
def test_other_units_are_refused_by_name_unless_one_is_given(number, name):
    data = dxf(lambda _, space: space.add_lwpolyline(SQUARE, close=True), units=number)
    with pytest.raises(CutsheetError, match=name.replace("$", r"\$")) as caught:
        read_dxf(data)
    assert caught.value.code == "drawing-unit"
    given_one = read_dxf(data, unit="in")
    assert (given_one.unit, given_one.per_unit, area(given_one)) == (None, 25.4, pytest.approx(5000 * 25.4**2))


def test_lines_and_an_arc_close_to_one_outline():
    def draw(_, space):
        for start, end in (((0, 0), (100, 0)), ((100, 50), (100, 0)), ((0, 0), (0, 50))):
            space.add_line(start, end)
        space.add_arc((50, 50), 50, 0, 180)

    drawn = read_dxf(dxf(draw))
    assert (drawn.troubles, drawn.chains, drawn.entities) == ((), (), 4)
    assert area(drawn) == pytest.approx(5000 + math.pi * 50**2 / 2, abs=math.pi * 50 * 0.02)  # half a circle on top


@given(st.floats(-3, 3).filter(lambda bulge: abs(bulge) > 0.01), st.floats(1, 200), st.floats(0, 6))
@settings(max_examples=60)
def test_a_bulge_is_the_arc_that_the_reference_means(bulge, long, angle):
    # DXF reference: bulge = tan(included angle / 4); independent: ezdxf.math.bulge_to_arc
    end = (long * math.cos(angle), long * math.sin(angle))
    centre, start_angle, end_angle, radius = bulge_to_arc((0, 0), end, bulge)
    points = bulged((0, 0), end, bulge, 0.01)
    assert {round(math.dist(point, centre), 6) for point in points} == {round(radius, 6)}
    turned = (end_angle - start_angle) % math.tau
    assert turned == pytest.approx(4 * math.atan(abs(bulge)))
    assert LineString(points).length == pytest.approx(radius * turned, rel=0.05)
    (_, a), b, (_, c) = (0, 0), points[len(points) // 2], end
    left = end[0] * b[1] - end[1] * b[0]
    assert (left < 0) == (bulge > 0), (a, c)  # counter-clockwise: the arc lies to the right of its chord


def test_polylines_of_both_sorts_keep_their_bulges():
    corners = [(0, 0, 0), (60, 0, 1), (60, 40, 0), (0, 40, -0.5)]
    light = read_dxf(dxf(lambda _, space: space.add_lwpolyline(corners, format="xyb", close=True)))
    old = read_dxf(
        dxf(lambda _, space: space.add_polyline2d(corners, format="xyb", close=True), version="R12"), unit="mm"
    )
    assert light.outlines == old.outlines
    segment = 0.5 * 25**2 * (4 * math.atan(0.5) - math.sin(4 * math.atan(0.5)))  # ½ r²(θ − sin θ), the left side's arc
    assert area(light) == pytest.approx(2400 + math.pi * 20**2 / 2 - segment, abs=2.5)


def test_circles_and_ellipses_keep_their_area_within_the_chord_error():
    # πr² and πab; all that may be missing is a ring of the chord error
    for chord in (0.5, 0.02, 0.001):
        round_one = read_dxf(dxf(lambda _, space: space.add_circle((7, 8), 30)), chord=chord)
        assert 0 <= math.pi * 900 - area(round_one) <= math.tau * 30 * chord
        long_one = read_dxf(dxf(lambda _, space: space.add_ellipse((7, 8), (30, 10), 0.4)), chord=chord)
        assert 0 <= math.pi * 1000 * 0.4 - area(long_one) <= math.tau * math.sqrt(1000) * chord


@given(st.lists(st.tuples(st.integers(0, 200), st.integers(0, 200)), min_size=5, max_size=9, unique=True))
@settings(max_examples=25)
def test_a_spline_is_followed_within_the_chord_error(control):
    # independent: 400 points of the curve by ezdxf's own evaluation
    drawn = read_dxf(dxf(lambda _, space: space.add_open_spline([(*point, 0) for point in control])), chord=0.05)
    line = LineString(drawn.chains[0]) if drawn.chains else Polygon(drawn.outlines[0].outer).exterior
    curve = BSpline([Vec3(point) for point in control])
    t = (curve.max_t * i / 400 for i in range(401))
    assert max(line.distance(Point(point.x, point.y)) for point in curve.points(t)) <= 0.05 + 1e-6


def test_a_rational_spline_is_the_arc_that_it_stands_for():
    # independent: ezdxf's rational spline of an arc (The NURBS Book, A7.1) and the radius of that arc
    curve = rational_bspline_from_arc((0, 0, 0), 50, 10, 250)
    drawn = read_dxf(dxf(lambda _, space: space.add_spline().apply_construction_tool(curve)), chord=0.01)
    line = LineString(drawn.chains[0])
    assert line.length == pytest.approx(50 * math.radians(240), rel=1e-3)
    assert {round(math.hypot(*point), 6) for point in line.coords} == {50}
    assert min(Point(0, 0).distance(LineString(piece)) for piece in pairwise(line.coords)) >= 50 - 0.01


def test_a_closed_spline_ends_where_it_begins():
    # periodic: its first and last knots lie outside the curve (The NURBS Book, 12.2)
    corners = [(0, 0), (40, 0), (40, 40), (0, 40)]
    closed = BSpline([Vec3(p) for p in [*corners, *corners[:3]]], order=4, knots=range(11))
    drawn = read_dxf(dxf(lambda _, space: space.add_spline().apply_construction_tool(closed)))
    assert (len(drawn.outlines), drawn.chains) == (1, ())
    outline = Polygon(drawn.outlines[0].outer)
    x, y = outline.centroid.coords[0]
    assert (x, y) == (pytest.approx(20, abs=0.01), pytest.approx(20, abs=0.01))
    middle = 40 * (23 + 23) / 48  # (P0 + 23 P1 + 23 P2 + P3) / 48, the middle of a span
    assert max(point[0] for point in drawn.outlines[0].outer) == pytest.approx(middle, abs=0.02)


def test_blocks_are_put_where_they_are_placed():
    def draw(document, space):
        shape = document.blocks.new("SHAPE")
        shape.add_lwpolyline(rectangle(0, 0, 10, 10), close=True)
        pair = document.blocks.new("PAIR")
        pair.add_blockref("SHAPE", (0, 0))
        pair.add_blockref("SHAPE", (20, 0), dxfattribs={"xscale": 2, "yscale": 2})
        space.add_blockref("PAIR", (100, 0), dxfattribs={"rotation": 90})
        space.add_blockref("SHAPE", (300, 0), dxfattribs={"column_count": 3, "column_spacing": 20})
        space.add_blockref("SHAPE", (-50, 0), dxfattribs={"xscale": -1})

    drawn = read_dxf(dxf(draw))
    assert sorted(Polygon(each.outer).area for each in drawn.outlines) == pytest.approx([100] * 5 + [400])
    assert {tuple(map(round, Polygon(each.outer).bounds)) for each in drawn.outlines} == {
        (90, 0, 100, 10), (80, 20, 100, 40), (300, 0, 310, 10), (320, 0, 330, 10), (340, 0, 350, 10), (-60, 0, -50, 10),
    }  # fmt: skip


def test_shapes_seen_from_below_are_turned_as_the_reference_says():
    # DXF reference, arbitrary axis algorithm: an extrusion of (0, 0, −1) runs x the other way
    below = {"extrusion": (0, 0, -1)}

    def draw(_, space):
        space.add_lwpolyline([(10, 0, 0, 0, 1), (10, 20), (0, 20), (0, 0)], close=True, dxfattribs=below)
        space.add_arc((50, 0), 10, 0, 90, dxfattribs=below)

    drawn = read_dxf(dxf(draw))
    assert Polygon(drawn.outlines[0].outer).bounds == pytest.approx((-20, 0, 0, 20), abs=0.02)
    assert LineString(drawn.chains[0]).bounds == pytest.approx((-60, 0, -50, 10))


def test_what_is_not_understood_or_not_shown_is_counted():
    def draw(document, space):
        space.add_lwpolyline(SQUARE, close=True)
        space.add_text("2 off")
        space.add_point((1, 1))
        space.add_line((0, 0, 0), (5, 5, 90))
        document.layers.add("NOTES").off()
        space.add_line((0, 0), (9, 9), dxfattribs={"layer": "NOTES"})
        document.layout("Layout1").add_line((0, 0), (1, 1))

    drawn = read_dxf(dxf(draw))
    assert dict(drawn.skipped) == {"TEXT": 1, "POINT": 1, "LINE not flat": 1, "hidden": 1}
    assert (len(drawn.outlines), drawn.chains, drawn.entities, dict(drawn.layers)) == (1, (), 5, {"0": 1})


def test_a_file_that_another_program_wrote_by_hand_is_read_with_what_is_strange_in_it():
    # the shortest file of the DXF reference: a header with the unit, and entities; one of no known sort
    tags = """0 SECTION 2 HEADER 9 $INSUNITS 70 4 0 ENDSEC 0 SECTION 2 ENTITIES 0 GADGET 8 0
        0 LINE 8 CUT 10 0 20 0 11 5 21 0 0 LINE 8 CUT 10 5 20 0 11 5 21 9
        0 LINE 8 CUT 10 0 20 0 11 5 21 9 0 ENDSEC 0 EOF"""
    drawn = read_dxf("\n".join([*tags.split(), ""]).encode())
    assert (area(drawn), drawn.unit, dict(drawn.skipped), dict(drawn.layers)) == (22.5, "mm", {"GADGET": 1}, {"CUT": 3})


def blocks_within_blocks(deep, wide):
    def draw(document, space):
        document.blocks.new("B0").add_line((0, 0), (1, 1))
        for i in range(1, deep):
            block = document.blocks.new(f"B{i}")
            for n in range(wide):
                block.add_blockref(f"B{i - 1}", (n, i))
        space.add_blockref(f"B{deep - 1}", (0, 0))

    return dxf(draw)


def block_in_itself():
    def draw(document, space):
        for name, other in (("A", "B"), ("B", "A")):
            document.blocks.new(name).add_blockref(other, (0, 0))
        space.add_blockref("A", (0, 0))

    return dxf(draw)


def grid_of_nothing(document, space):
    document.blocks.new("EMPTY")
    rows = {"column_count": 30000, "row_count": 30000, "column_spacing": 1, "row_spacing": 1}
    space.add_blockref("EMPTY", (0, 0), dxfattribs=rows)


@pytest.mark.parametrize(
    ("data", "refused"),
    [
        (b"", "drawing-broken"),
        (b"AutoCAD Binary DXF\r\n\x1a\x00", "drawing-kind"),
        (dxf(lambda _, space: space.add_line((0, 0), (1, 1)))[:9000], "drawing-broken"),
        (b"0\n" * 5_000_001, "drawing-size"),
        (dxf(lambda _, space: space.add_line((0, 0), (200_000, 1))), "drawing-range"),
        (dxf(lambda _, space: space.add_line((0, 0), (math.nan, 1))), "drawing-range"),
        (dxf(lambda _, space: space.add_circle((0, 0), math.inf)), "drawing-size"),
        (dxf(lambda _, space: space.add_circle((0, 0), 1e30)), "drawing-size"),
        (blocks_within_blocks(10, 10), "drawing-size"),
        (blocks_within_blocks(40, 1), "drawing-size"),
        (block_in_itself(), "drawing-size"),
        (dxf(grid_of_nothing), "drawing-size"),
    ],
)
def test_hostile_files_are_refused_by_name(data, refused):
    assert code(data) == refused


@given(st.data())
@settings(max_examples=60)
def test_no_damaged_file_raises_anything_but_a_refusal(data):
    whole = WHOLE
    chance = random.Random(data.draw(st.integers(0, 10**6)))
    damaged = bytearray(whole)
    for _ in range(chance.randint(1, 30)):
        at = chance.randrange(len(damaged))
        dirt = bytes(chance.choices(b"0123456789\n -.eAx\xff\x00", k=chance.randint(0, 3)))
        damaged[at : at + chance.randint(0, 3)] = dirt
    try:
        read_dxf(bytes(damaged))
    except CutsheetError as error:
        assert error.code.startswith("drawing-")  # noqa: PT017 - most damage is harmless


def _some_of_each(document, space):
    document.blocks.new("B").add_circle((0, 0), 3)
    space.add_blockref("B", (5, 5))
    space.add_lwpolyline([(0, 0, 0.5), (9, 0, 0), (9, 9, 0)], format="xyb", close=True)
    space.add_open_spline([(0, 0), (1, 5), (6, 6), (9, 1)])
    space.add_ellipse((0, 0), (5, 0), 0.5)
    space.add_arc((0, 0), 4, 10, 80)


WHOLE = dxf(_some_of_each)
