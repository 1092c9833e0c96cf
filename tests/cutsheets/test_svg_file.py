import io
import math
import random
import re
from xml.etree import ElementTree

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LineString, MultiLineString, Point, Polygon
from svgelements import SVG, Matrix, Path

from cutsheets.errors import CutsheetError
from cutsheets.files.svg import read_svg, write_svg
from cutsheets.solids import Outline
from cutsheets.tracing.drawn import TOLERANCE
from tests.cutsheets.drawing_files import farthest, rectangle, rings_of, shapes, svg

RECT = '<rect x="10" y="20" width="30" height="40"/>'


def refusal(data, **options):
    with pytest.raises(CutsheetError) as caught:
        read_svg(data, **options)
    return caught.value


def area(drawn):
    return sum(Polygon(outline.outer, outline.holes).area for outline in drawn.outlines)


def bounds(drawn):
    return LineString([point for outline in drawn.outlines for point in outline.outer]).bounds


@given(shapes(), st.sampled_from(["in", "mm"]))
@settings(max_examples=60)
def test_what_is_written_is_read_back_within_a_thousandth_of_a_millimetre(shape, unit):
    outlines, chains = shape
    back = read_svg(write_svg(outlines, unit, chains))
    assert farthest(rings_of(back.outlines, back.chains), rings_of(outlines, chains)) < 0.001
    assert (back.unit, back.skipped) == (unit, {})


@pytest.mark.parametrize("unit", ["in", "mm"])
def test_another_reader_finds_the_real_size(unit):
    # independent: svgelements' own reading of the whole file, at 96 px an inch (W3C, CSS Values and Units)
    data = write_svg([Outline(rectangle(5.0, 5.0, 30.4, 55.8))], unit)
    shape = next(each for each in SVG.parse(io.BytesIO(data)).elements() if isinstance(each, Path))
    left, top, right, bottom = shape.bbox()
    assert (right - left, bottom - top) == (pytest.approx(96), pytest.approx(192))
    assert not re.search(b"<(?!/?(svg|path)[ >])", data)  # nothing else, and so no script


def test_nothing_cannot_be_written():
    with pytest.raises(CutsheetError, match="choose"):
        write_svg([], "mm")


@pytest.mark.parametrize(
    ("size", "box", "unit", "mm"),
    [
        ('width="100mm" height="50mm"', 'viewBox="0 0 100 50"', "mm", 1),
        ('width="4in"', 'viewBox="0 0 4 4"', "in", 25.4),
        ('width="10cm" height="10cm"', 'viewBox="0 0 1000 1000"', "mm", 0.1),
        ('width="72pt" height="72pt"', 'viewBox="0 0 72 72"', "in", 25.4 / 72),
        ('width="6pc"', 'viewBox="0 0 1 1"', "in", 25.4),
        ('width="96px" height="96px"', 'viewBox="0 0 1 1"', None, 25.4),
        ('width="100mm"', "", "mm", 25.4 / 96),
        ("", "", None, 25.4 / 96),
        ('width="200mm" height="50mm"', 'viewBox="0 0 100 50"', "mm", 1),
        ('width="200mm" height="50mm" preserveAspectRatio="xMidYMid slice"', 'viewBox="0 0 100 50"', "mm", 2),
    ],
)
def test_units_are_those_of_the_standard(size, box, unit, mm):
    # W3C, CSS Values and Units Level 3, absolute lengths: 1 in = 96 px = 72 pt = 6 pc = 2.54 cm; SVG 2, 8.2: viewBox
    drawn = read_svg(svg(RECT, size=size, box=box))
    assert (drawn.unit, drawn.per_unit) == (unit, pytest.approx(mm))
    assert area(drawn) == pytest.approx(1200 * mm**2)


def test_a_drawing_that_hides_its_size_is_refused_unless_the_unit_is_given():
    for size in ("", 'width="100%" height="100%"'):
        data = svg(RECT, size=size)
        assert refusal(data).code == "drawing-unit"
        assert area(read_svg(data, unit="in")) == pytest.approx(1200 * 25.4**2)
    stretched = svg(RECT, size='width="200mm" height="50mm" preserveAspectRatio="none"')
    assert refusal(stretched).code == "drawing-unit"


def test_y_is_turned_up_about_the_origin_of_the_drawing():
    assert bounds(read_svg(svg(RECT))) == pytest.approx((10, -60, 40, -20))


@pytest.mark.parametrize(
    ("shape", "size"),
    [
        ('<rect width="40" height="30"/>', 1200),
        ('<rect width="40" height="30" rx="5"/>', 1200 - (4 - math.pi) * 25),
        ('<rect width="40" height="30" rx="5" ry="3"/>', 1200 - (4 - math.pi) * 15),
        ('<circle cx="50" cy="50" r="20"/>', math.pi * 400),
        ('<ellipse cx="50" cy="50" rx="20" ry="8"/>', math.pi * 160),
        ('<polygon points="0,0 40,0 40,30"/>', 600),
        ('<polyline points="0 0 40 0 40 30 0 0"/>', 600),
        ('<path d="M0 0h40v30z"/>', 600),
        ('<path d="M0 0L40 0 40 30L0 0"/>', 600),
        ('<path d="M-20 0A20 20 0 0 1 20 0A20 20 0 0 1-20 0Z"/>', math.pi * 400),
        ('<path d="M0 0Q20 40 40 0Z"/>', 40 * 40 / 3),  # Archimedes: two thirds of the triangle
        ('<path d="M0 0C0 40 40 40 40 0Z"/>', 0.6 * 40 * 40),  # ∫ y dx of that cubic
        ('<path d="M0 0q10 20 20 0t20 0Z M100 100h10v10h-10z"/>', None),
        ('<path fill-rule="evenodd" d="M0 0H90V90H0ZM10 10H20V20H10Z"/>', 8000),
    ],
)
def test_every_shape_has_the_area_that_geometry_gives_it(shape, size):
    drawn = read_svg(svg(shape), chord=0.001)
    if size is None:  # the two halves of a wave cross the line that closes them
        assert "crossing" in [trouble.code for trouble in drawn.troubles]
        return
    assert area(drawn) == pytest.approx(size, abs=0.001 * 150)
    assert drawn.troubles == drawn.chains == ()


def test_transforms_and_uses_add_up():
    body = """<defs><rect id="r" width="10" height="10"/></defs>
        <g transform="translate(10,20) scale(2)"><use href="#r" x="5"/>
        <g transform="rotate(90)"><use href="#r" transform="matrix(1 0 0 2 0 0)"/></g></g>"""
    drawn = read_svg(svg(body))
    assert {tuple(round(v) + 0.0 for v in Polygon(each.outer).bounds) for each in drawn.outlines} == {
        (20, -40, 40, -20),
        (-30, -40, 10, -20),
    }


def test_nested_viewports_and_symbols_scale_what_is_in_them():
    # SVG 2, 8.2: the box of 10 × 10 goes into 40 × 20, centred, at twice its size
    body = """<svg x="50" y="50" width="40" height="20" viewBox="0 0 10 10"><rect width="10" height="10"/></svg>
        <rect width="5" height="5"/>
        <symbol id="s" viewBox="0 0 10 10"><rect width="10" height="10"/></symbol>
        <use href="#s" x="10" y="60" width="20" height="20"/>"""
    found = sorted(Polygon(outline.outer).bounds for outline in read_svg(svg(body)).outlines)
    expected = [(0, -5, 5, 0), (10, -80, 30, -60), (60, -70, 80, -50)]
    assert [value for box in found for value in box] == pytest.approx([value for box in expected for value in box])


NUMBER = st.integers(-90, 90).map(str)
PIECES = st.one_of(
    st.tuples(st.just("l"), NUMBER, NUMBER),
    st.tuples(st.just("c"), *[NUMBER] * 6),
    st.tuples(st.just("q"), *[NUMBER] * 4),
    st.tuples(st.just("a"), *[NUMBER] * 3, st.sampled_from(["0 0", "0 1", "1 0", "1 1"]), NUMBER, NUMBER),
)


@given(st.lists(PIECES, min_size=1, max_size=4), st.integers(0, 359))
@settings(max_examples=80)
def test_no_point_of_a_path_is_farther_off_than_the_chord_error(pieces, angle):
    # independent: svgelements' own points of each curve, turned with it
    text = "M1 1l3 4" + "".join(" ".join(piece) for piece in pieces)
    drawn = read_svg(svg(f'<path transform="rotate({angle}) scale(2 1)" d="{text}"/>'), chord=0.01)
    rings = [(*ring, ring[0]) for outline in drawn.outlines for ring in outline.rings]
    lines = MultiLineString([*rings, *drawn.chains])
    turn = Matrix(f"scale(1,-1) rotate({angle}) scale(2 1)")
    for segment in Path(text)[1:]:
        for i in range(11):
            assert lines.distance(Point(*turn.point_in_matrix_space(segment.point(i / 10)))) < 0.0101 + TOLERANCE / 2


def test_what_is_not_understood_or_not_shown_is_counted():
    body = """<title>Sill</title><metadata>x</metadata><text>A</text><image href="http://invented.example/x.png"/>
        <g style="display:none"><rect width="9" height="9"/></g><rect visibility="hidden" width="9" height="9"/>
        <use href="file:///etc/passwd#r"/><use href="#missing"/><script>alert(1)</script>
        <foreignObject><p xmlns="http://www.w3.org/1999/xhtml">x</p></foreignObject>"""
    drawn = read_svg(svg(body + RECT))
    assert dict(drawn.skipped) == {
        "text": 1, "image": 1, "hidden": 2, "use of something that is not in this file": 2, "script": 1,
        "foreignObject": 1,
    }  # fmt: skip
    assert len(drawn.outlines) == 1


LAUGHS = "".join(f'<g id="g{i}">{f"""<use href="#g{i - 1}"/>""" * 10}</g>' for i in range(1, 11))


@pytest.mark.parametrize(
    ("data", "refused"),
    [
        (b"", "drawing-broken"),
        (b"<svg", "drawing-broken"),
        (b"<html/>", "drawing-kind"),
        (b'<?xml version="1.0" encoding="no-such"?><svg/>', "drawing-broken"),
        (b'<!DOCTYPE svg [<!ENTITY a "b">]><svg>&a;</svg>', "drawing-unsafe"),
        (b'<!DOCTYPE svg SYSTEM "file:///etc/passwd"><svg/>', "drawing-unsafe"),
        (
            '<?xml version="1.0" encoding="utf-16"?><!DOCTYPE svg [<!ENTITY a "b">]><svg/>'.encode("utf-16"),
            "drawing-unsafe",
        ),
        (svg("<g>" * 300 + "</g>" * 300), "drawing-size"),
        (svg("<g/>" * 20_001), "drawing-size"),
        (svg(f'<rect id="g0" width="1" height="1"/>{LAUGHS}'), "drawing-size"),
        (svg('<g id="a"><use href="#a"/></g>'), "drawing-size"),
        (svg('<path d="M0 0' + "L1 1" * 900_000 + '"/>'), "drawing-size"),
        (svg('<circle r="1e15"/>'), "drawing-size"),
        (svg('<circle cx="1e9" r="3"/>'), "drawing-range"),
        (svg('<path d="M0 0L1e999 3"/>'), "drawing-range"),
        (svg('<rect width="nan" height="3"/>'), "drawing-broken"),
        (svg('<path d="M0 0L10"/>'), "drawing-broken"),
        (svg('<path d="M0 0 spline 4"/>'), "drawing-broken"),
        (svg('<polygon points="0 0 1"/>'), "drawing-broken"),
        (svg('<rect transform="turn(3)" width="1" height="1"/>'), "drawing-broken"),
        (svg(RECT, box='viewBox="0 0 0 0"'), "drawing-broken"),
        (b" " * 10_000_001, "drawing-size"),
    ],
    ids=range(22),
)
def test_hostile_files_are_refused_by_name(data, refused):
    assert refusal(data).code == refused


@given(st.integers(0, 10**6))
@settings(max_examples=100)
def test_no_damaged_file_raises_anything_but_a_refusal(seed):
    chance = random.Random(seed)
    damaged = bytearray(svg(f'<g transform="scale(2)">{RECT}<path d="M0 0a5 5 0 0 1 9 9c1 2 3 4 5 6z"/></g>'))
    for _ in range(chance.randint(1, 20)):
        at = chance.randrange(len(damaged))
        damaged[at : at + chance.randint(0, 3)] = bytes(chance.choices(b'0123456789<>/"= -.eMz\xff\x00', k=2))
    try:
        read_svg(bytes(damaged))
    except CutsheetError as error:
        assert error.code.startswith("drawing-")  # noqa: PT017 - some damage is harmless


def test_written_files_are_well_formed_xml():
    root = ElementTree.fromstring(write_svg([Outline(rectangle(0.0, 0.0, 9.0, 9.0))], "mm"))  # noqa: S314 - our own
    assert (root.get("width"), root.get("viewBox")) == ("11mm", "-1 -10 11 11")
