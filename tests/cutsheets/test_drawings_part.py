"""Pictures of a part from its views: the office sees three sizes, the cutter sees the foam alone."""

import re

import pytest

from cutsheets.drawings.lettering import plain
from cutsheets.drawings.part import part_scenes, view_scene
from cutsheets.drawings.scene import Polygon, Polyline, Text, rectangle
from cutsheets.drawings.svg import to_svg
from cutsheets.solids import Size, View
from tests.cutsheets.paper_samples import CORNICE

FOAM, FINISHED, BLANK = rectangle(2, 0, 98, 48), rectangle(0, 0, 100, 50), rectangle(-5, -5, 105, 55)
VIEW = View(
    "plan", foam=(FOAM, rectangle(40, 20, 60, 30)), finished=(FINISHED,), blank=(BLANK,),
    lines=(((50, -5), (50, 55)),), labels=(((50, 60), "LEFT"),),
    sizes=(
        Size((2, 0), (98, 0), "foam", -1), Size((0, 0), (100, 0), "finished", -2),
        Size((-5, -5), (105, -5), "blank", -3),
    ),
)  # fmt: skip


def figures(scene):
    """Every text of a drawing, with its role."""
    return [(plain(shape.parts), shape.role) for shape in scene.flat() if isinstance(shape, Text)]


def test_the_office_sees_three_sizes_and_only_the_foam_in_chalk():
    assert figures(view_scene(VIEW, "mm")) == [("96", "chalk"), ("100", "dim"), ("110", "dim"), ("LEFT", "label")]


def test_the_cutter_sees_no_size_but_the_foam():
    assert figures(view_scene(VIEW, "mm", look="cutter")) == [("96", "chalk"), ("LEFT", "label")]


def test_a_blank_is_never_said_too_small():
    view = View("end", foam=(FOAM,), blank=(BLANK,), sizes=(Size((0, 0), (100.01, 0), "blank"),))
    assert figures(view_scene(view, "in")) == [("3 15/16", "dim")]  # 3.9374 in, 3-15/16 is the next sixteenth up


def test_only_edges_under_coat_are_thick():
    thick = [s.points for s in view_scene(VIEW, "mm", look="cutter").flat() if getattr(s, "weight", "") == "coat"]
    bottom, hole = ((2, 0), (98, 0)), 4
    assert bottom not in thick
    assert len(thick) == 3 + hole


def test_blank_and_joints_are_dashed_and_waste_is_hatched():
    shapes = list(view_scene(VIEW, "mm").flat())
    assert [s.rings for s in shapes if isinstance(s, Polygon) and s.dash] == [(BLANK,)]
    assert [s.points for s in shapes if isinstance(s, Polyline) and s.dash] == [((50, -5), (50, 55))]
    assert any(isinstance(s, Polygon) and s.hatch for s in shapes)


def test_a_line_without_views_is_shown_by_its_section():
    [(title, scene)] = part_scenes(CORNICE, "in")
    assert title == "section"
    assert re.search("<svg", to_svg(scene, title=title))


@pytest.mark.parametrize("size", [2.0, 10.0])
def test_figures_come_out_in_the_size_asked_for(size):
    texts = [shape for shape in view_scene(VIEW, "mm", text=size).flat() if isinstance(shape, Text)]
    assert {text.size for text in texts if text.role != "label"} == {size}
