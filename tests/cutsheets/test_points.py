import math

import pytest
from ezdxf.math import bulge_center
from hypothesis import given
from hypothesis import strategies as st
from shapely import LineString, Polygon

from cutsheets.errors import CutsheetError
from cutsheets.files.points import read_points


def refusal(text, unit="in", **options):
    with pytest.raises(CutsheetError) as caught:
        read_points(text, unit, **options)
    return caught.value


@pytest.mark.parametrize(
    "text",
    [
        "0,0\n5 1/2, 0\n5 1/2, -3",
        "0;0\n5-1/2; 0\n5.5; -3",
        '0\t0\n5 1/2"\t0\n139.7 mm\t-3"',
        "0 0\n5 1/2 0\n5.5 -3",
        "# sill\n\n0, 0   # the wall\n  5½, 0\n\n5 1/2 , −3\n",
        "0,0\r\n5 1/2, 0\r\n5 1/2, -3\r\n",
    ],
)
def test_points_are_read_as_people_write_them(text):
    assert read_points(text, "in") == ((0, 0), (139.7, 0), (139.7, -76.2))


def test_a_millimetre_field_reads_millimetres():
    assert read_points("0 0\n140 0\n140 76.5", "mm") == ((0, 0), (140, 0), (140, 76.5))


@pytest.mark.parametrize("word", ["bulge 1", "b=1", "BULGE: 1", "r 2", "radius 2 in", "r 50.8 mm"])
@pytest.mark.parametrize("between", [", ", "; ", "\t", " "])
def test_an_arc_turns_left_where_it_is_positive(word, between):
    # DXF reference: bulge = tan(angle / 4), 1 a half circle, positive counter-clockwise
    first = f"0{between}0{between}{word}"
    arc = read_points(f"{first}\n4{between}0", "in", chord=0.001)[:-1]
    assert min(y for _, y in arc) == pytest.approx(-50.8, abs=0.001)
    turned = read_points(f"{first.replace('1', '-1').replace('r 2', 'r -2')}\n4{between}0", "in")
    if "1" in word or word == "r 2":
        assert max(y for _, y in turned) == pytest.approx(50.8, abs=0.05)


@given(st.floats(1.0001, 50), st.floats(0, 6), st.sampled_from([1, -1]))
def test_a_radius_gives_the_shorter_arc_of_that_radius(times, angle, side):
    # independent: ezdxf.math.bulge_center on the bulge that the handbook's segment gives: tan(½ asin(half chord / r))
    radius, end = round(20 * times, 3), (round(40 * math.cos(angle), 3), round(40 * math.sin(angle), 3))
    arc = read_points(f"0, 0, r {side * radius:.3f}\n{end[0]:.3f}, {end[1]:.3f}", "mm", chord=0.01)
    centre = bulge_center((0, 0), end, side * math.tan(math.asin(min(1, math.dist((0, 0), end) / 2 / radius)) / 2))
    assert {round(math.dist(point, centre) / radius, 6) for point in arc} == {1}
    assert LineString(arc).length <= math.pi * radius * 1.0001


def test_the_last_corner_goes_on_to_the_first():
    # a half circle on a square: Machinery's Handbook, areas of plane figures
    dee = read_points("0,0\n40,0\n40,40, bulge 1\n0,40", "mm", chord=0.001)
    assert Polygon(dee).area == pytest.approx(1600 + math.pi * 200, abs=0.1)
    assert Polygon(read_points("0,0\n40,0\n40,40\n0,40, r 20", "mm", chord=0.001)).area == pytest.approx(
        1600 + math.pi * 200, abs=0.1
    )
    assert refusal("0,0\n40,0, r 30", closed=False).code == "points-arc"


@pytest.mark.parametrize(
    ("text", "code", "where"),
    [
        ("", "points", "points"),
        ("# only words", "points", "points"),
        ("0,0\n5 1/2\n3,3", "points", "points[1]"),  # 5 and 1/2, or 5 1/2 and nothing
        ("0,0\n\n# corner\n7", "points", "points[1]"),
        ("0,0,0\n1,1", "points", "points[0]"),
        ("0,0\n5,5,0", "points", "points[1]"),
        ("0,\n1,1", "points", "points[0]"),
        ("0,0\n1 2 3 4 5", "points", "points[1]"),
        ("5,5;0", "length-ambiguous", "points[0]"),
        ("0,0\n1,x", "length", "points[1]"),
        ("0,0\n1,nan", "length", "points[1]"),
        ("0,0\n9999 ft, 0", "length-range", "points[1]"),
        ("0,0, r 1.9\n4,0", "points-arc", "points[0]"),
        ("0,0, r 0\n4,0", "points-arc", "points[0]"),
        ("0,0, r x\n4,0", "length", "points[0]"),
        ("0,0, bulge nan\n4,0", "points-arc", "points[0]"),
        ("0,0, bulge 1e9\n4,0", "points-arc", "points[0]"),
        ("0,0, bulge 1\n0,0\n4,4", "points-arc", "points[0]"),
        ("1,1\n" * 2001, "points-size", "points"),
        ("1, " + "9" * 300, "points", "points[0]"),
    ],
)
def test_what_is_no_corner_is_refused_with_its_place(text, code, where):
    error = refusal(text)
    assert (error.code, error.where) == (code, where)


def test_a_refusal_names_the_line_as_an_editor_counts_it():
    assert "Line 4" in refusal("0,0\n\n# corner\n7").message
    assert "Line 2" in refusal("0,0\n1,x").message
    assert "Line 1" in refusal("0,0, r x\n4,0").message
    small = refusal("# arc\n0,0, r 1 1/2\n4,0")
    assert ("Line 2" in small.message, "take 2 or more" in small.message) == (True, True)


@given(st.text(max_size=60))
def test_no_text_raises_anything_but_a_refusal(text):
    try:
        read_points(text, "in")
    except CutsheetError as error:
        assert error.where.startswith("points")  # noqa: PT017 - some texts are points
