"""Drawings as data: what is measured is what is pointed at, hatches stay inside, text comes out at its size."""

import math
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely import LineString
from shapely import Polygon as Area

from cutsheets.drawings.lettering import Figure, font_runs, length_parts, plain, typeset
from cutsheets.drawings.scene import (
    Dimension,
    Polygon,
    Polyline,
    Scene,
    Text,
    cut_mark,
    fitted,
    hatch_lines,
    rectangle,
)

EIGHT = (Figure(8, 7, 8),)


def lines_of(dimension):
    return [shape for shape in dimension.shapes() if isinstance(shape, Polyline)]


@given(st.floats(1, 500), st.floats(0, 360), st.floats(5, 40))
def test_the_crows_feet_stand_on_the_ends_of_what_is_measured(length, angle, offset):
    end = (length * math.cos(math.radians(angle)), length * math.sin(math.radians(angle)))
    feet = [line.points[1] for line in lines_of(Dimension((0, 0), end, offset, EIGHT, 4)) if len(line.points) == 3]
    assert math.dist(*feet) == pytest.approx(length)
    assert all(min(math.dist(foot, (0, 0)), math.dist(foot, end)) == pytest.approx(offset) for foot in feet)


def test_the_figure_stands_in_the_gap_of_its_line_or_beyond_a_short_one():
    wide, short = Dimension((0, 0), (200, 0), -10, EIGHT, 8), Dimension((0, 0), (6, 0), -10, EIGHT, 8)
    (centre, *_), (beyond, *_) = ([s.at[0] for s in each.shapes() if isinstance(s, Text)] for each in (wide, short))
    assert centre == pytest.approx(100)
    assert beyond > 6


def test_bounds_hold_text_with_its_fractions_and_numbered_circles():
    text = Text((0, 0), EIGHT, 10)
    left, bottom, right, top = Scene((text, *cut_mark((50, 0), 7, 10))).bounds
    assert right > 50
    assert left == pytest.approx(-text.width / 2)
    assert (bottom, top) < (-5, 5)


@given(st.floats(0.5, 9), st.floats(0, 30))
def test_hatch_lines_stay_inside_the_outline_and_out_of_its_hole(spacing, shift):
    outer = ((0, 0), (90 + shift, 10), (70, 80), (10, 60))
    hole = rectangle(30, 25, 45, 40)
    allowed = Area(outer, [hole]).buffer(1e-6)
    lines = hatch_lines((outer, hole), spacing)
    assert lines
    assert all(allowed.covers(LineString(line)) for line in lines)


def test_hatch_lines_are_as_far_apart_as_asked():
    levels = sorted({round((y - x) * math.sqrt(0.5), 6) for (x, y), _ in hatch_lines((rectangle(0, 0, 60, 60),), 3.0)})
    assert {round(b - a, 6) for a, b in pairwise(levels)} == {3.0}


def test_a_drawing_is_built_so_that_its_text_comes_out_at_the_size_asked():
    def build(text):
        return Scene((Polygon((rectangle(0, 0, 300, 200),)), Dimension((0, 0), (300, 0), -2 * text, EIGHT, text)))

    scene = fitted(build, 150, 120, 16.0)
    sizes = [shape.size * scene.scale_for(150, 120) for shape in scene.flat() if isinstance(shape, Text)]
    assert sizes == [pytest.approx(16.0, rel=0.01)]


def test_a_moved_drawing_keeps_its_size():
    scene = Scene((Dimension((0, 0), (30, 0), -9, EIGHT, 5), *cut_mark((9, 9), 1, 3)))
    there = scene.moved(100, -40).bounds
    assert there == pytest.approx([a + b for a, b in zip(scene.bounds, (100, -40, 100, -40), strict=True)])


def test_a_stacked_fraction_has_a_level_bar_at_half_the_height_of_the_capitals():
    setting = typeset((Figure(11, 1, 4),), "figures", 100.0)
    (bar,) = setting.bars
    whole, over, under = setting.glyphs
    assert bar.y + bar.thick / 2 == pytest.approx(34.5)
    assert (whole.text, over.text, under.text) == ("11 ", "1", "4")  # the blank keeps 11 and 1 apart when copied
    assert over.y > bar.y > under.y
    assert over.size == pytest.approx(40)


def test_lengths_are_set_as_people_write_them():
    words = [plain(length_parts(mm, "in", way)) for mm, way in ((285.8, "up"), (285.8, "down"), (-3.175, "nearest"))]
    assert words == ["11 5/16", "11 1/4", "−1/8"]


@pytest.mark.parametrize("name", ["Łukasz Żółć", "Nguyễn Thị Hương", "Şahin", "Núñez"])
def test_latin_names_are_set_in_the_shops_own_letters(name):
    assert font_runs(name, "strong") == [(name, "BlockyardStrong")]


def test_a_word_in_another_script_is_set_whole_in_the_fallback():
    runs = font_runs("Ильин & Παπαδόπουλος Bros", "text")
    assert [name for _, name in runs] == ["BlockyardOtherText", "BlockyardText", "BlockyardOtherText", "BlockyardText"]
    assert "".join(text for text, _ in runs) == "Ильин & Παπαδόπουλος Bros"


def test_a_letter_that_no_font_has_is_named_by_its_code_point_and_not_dropped():
    assert font_runs("A𓀀", "text") == [("A[U+13000]", "BlockyardText")]
