"""Words of a drawing stand where they can be read: on no line, on no other word, with a line back where they moved."""

import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely import LineString, Polygon

from cutsheets.drawings.clear import set_clear
from cutsheets.drawings.part import stations, view_scene
from cutsheets.drawings.scene import Polyline, Text
from tests.cutsheets.kind_jobs import work
from tests.cutsheets.test_traveller_parts import LINES, TWISTED, WING

SPOT = st.floats(0, 200)
LINE = st.lists(st.tuples(SPOT, SPOT), min_size=2, max_size=4, unique=True)


def boxes(shapes):
    return [Polygon(shape.corners) for shape in shapes if isinstance(shape, Text)]


@given(st.lists(LINE, max_size=8), st.lists(st.tuples(SPOT, SPOT), min_size=1, max_size=6))
def test_texts_touch_no_line_and_no_other_text(lines, spots):
    texts = [Text(spot, (f"word {n}",), 9.0) for n, spot in enumerate(spots)]
    found = boxes(set_clear(texts, lines, []))
    assert len(found) == len(texts)
    assert not any(box.intersects(LineString(line)) for box in found for line in lines)
    assert not any(one.intersects(other) for one, other in itertools.combinations(found, 2))


def test_a_text_in_the_clear_stays_and_one_that_moved_has_a_line_back():
    [there] = [shape for shape in set_clear([Text((0, 0), ("far",), 9.0)], [], []) if isinstance(shape, Text)]
    assert there.at == (0, 0)
    cross = [((-30, 0), (30, 0)), ((0, -30), (0, 30))]
    shapes = list(set_clear([Text((0, 0), ("here",), 9.0)], cross, []))
    [line] = [shape for shape in shapes if isinstance(shape, Polyline)]
    assert line.points[0] == (0, 0)
    assert Polygon(next(s for s in shapes if isinstance(s, Text)).corners).distance(LineString(line.points)) < 1e-6


def test_the_labels_of_every_kind_are_clear_of_the_edges_of_the_part():
    for line in (*LINES.values(), TWISTED):
        for view in work(**line).views:
            edges = [LineString([*ring, ring[0]]) for ring in (*view.foam, *view.blank)]
            labels = {words for _, words in view.labels}
            size = max(edge.length for edge in edges) / 60
            shown = [
                s for s in view_scene(view, "in", text=size).flat() if isinstance(s, Text) and s.parts[0] in labels
            ]
            assert len(shown) >= len(labels)
            assert not any(box.intersects(edge) for box in boxes(shown) for edge in edges)


@pytest.mark.parametrize("size", [25, 60, 70, 90])
def test_no_figure_and_no_arrow_of_a_wing_lies_along_the_line_of_a_tower(size):
    [view] = [view for view in work("mm", **WING).views if view.name == "left wing from above"]
    towers = [LineString(line) for line in view.lines]
    shapes = list(view_scene(view, "mm", look="cutter", text=size).flat())
    figures = [one for one in boxes(shapes) if one.area > 0]
    arrows = [LineString(one.points) for one in shapes if isinstance(one, Polyline) and one.weight == "part"]
    assert len(towers) == 2
    assert not [tower for tower in towers for figure in figures if figure.intersects(tower)]
    assert not [tower for tower in towers for arrow in arrows if len(arrow.coords) == 3 and arrow.intersects(tower)]


def test_a_part_that_is_measured_at_many_heights_has_letters_for_its_list():
    (view,) = work(kind="turned", half_profile=[[0, 3], [1, 3], [1, 2], [4, 1.5], [6, 2.5], [9, 0.5]]).views
    lettered = {s.parts for s in view_scene(view, "in", look="cutter").flat() if isinstance(s, Text)}
    assert {(letter,) for letter, _ in stations(view)} <= lettered
    heights = [one.a[1] for _, one in stations(view)]
    assert heights == sorted(heights)
    assert len(heights) >= 4
