"""Pictures of the profile library: turned parts, outlines with counters, drawings with every trouble marked."""

import math

import pytest

from cutsheets.drawings.lettering import plain
from cutsheets.drawings.scene import Circle, Dimension, Polygon, Polyline, Text
from cutsheets.drawings.shapes import half_profile_scene, outlines_scene
from cutsheets.drawings.svg import to_svg
from cutsheets.drawings.traced import MOST_MARKED, traced_scene
from cutsheets.solids import Outline
from cutsheets.tracing import Drawn, Trouble, trace

POST = ((0.0, 76.2), (25.4, 76.2), (101.6, 38.1), (228.6, 12.7))  # height, radius
SQUARE = ((0.0, 0.0), (100.0, 0.0), (100.0, 80.0), (0.0, 80.0))
HOLE = ((20.0, 20.0), (20.0, 40.0), (40.0, 40.0), (40.0, 20.0))


def figures(scene):
    return [plain(shape.parts) for shape in scene.shapes if isinstance(shape, Dimension)]


def foam(scene):
    return [shape for shape in scene.shapes if isinstance(shape, Polygon) and shape.fill == "foam"]


def words(scene):
    return [plain(shape.parts) for shape in scene.flat() if isinstance(shape, Text)]


def drawn(paths):
    outlines, chains, troubles = trace(paths, tolerance=0.05)
    return Drawn(outlines, chains, troubles, None, 1.0, 0.02, len(paths), {})


def shifted(ring, dx):
    return tuple((x + dx, y) for x, y in ring)


def test_a_half_profile_is_mirrored_on_its_axis_with_its_three_sizes():
    scene = half_profile_scene(POST, "in")
    (ring,) = foam(scene)[0].rings
    assert sorted(ring) == sorted((-x, y) for x, y in ring)
    assert figures(scene) == ["Ø 6", "9", "Ø 1"]


def test_a_part_that_ends_in_a_point_has_no_top_diameter():
    scene = half_profile_scene((*POST[:3], (228.6, 0.0)), "in")
    (ring,) = foam(scene)[0].rings
    assert len(ring) == len(set(ring)) == 7
    assert figures(scene) == ["Ø 6", "9"]


def test_the_base_of_a_turned_part_is_not_coated():
    coat = [shape for shape in half_profile_scene(POST, "mm").shapes if getattr(shape, "role", "") == "coat"]
    assert [shape.points[0] for shape in coat] == [(76.2, 0.0)]
    assert coat[0].points[-1] == (-76.2, 0.0)


def test_outlines_keep_their_places_and_their_counters():
    scene = outlines_scene([("A", Outline(SQUARE, (HOLE,))), ("B", Outline(shifted(SQUARE, 120)))], "mm")
    assert [len(shape.rings) for shape in foam(scene)] == [2, 1]
    assert figures(scene) == ["220", "80"]


def test_outlines_on_one_another_stand_apart_with_their_names_and_their_own_sizes():
    scene = outlines_scene([("long", Outline(SQUARE, (HOLE,))), ("short", Outline(SQUARE[:3]))], "mm")
    first, second = foam(scene)
    assert max(x for x, _ in first.rings[0]) < min(x for x, _ in second.rings[0])
    assert figures(scene) == ["100", "80", "100", "80"]
    assert {"long", "short"} <= set(words(scene))


def test_every_trouble_is_marked_with_its_number_and_never_with_a_circle():
    gap = drawn([[(0, 0), (100, 0), (100, 80)], [(100, 81), (0, 80), (0, 0)]])
    scene = traced_scene(gap)
    assert words(scene) == ["1"]
    feet = [
        shape for shape in scene.shapes if isinstance(shape, Polyline) and shape.weight == "frame" and not shape.dash
    ]
    assert any(math.dist(shape.points[1], gap.troubles[0].at) < 1e-9 for shape in feet if len(shape.points) == 3)
    assert not any(isinstance(shape, Circle) for shape in scene.shapes)
    assert "<svg" in to_svg(scene, title="a drawing")


@pytest.mark.parametrize(("paths", "said"), [([], None), ([[*SQUARE, SQUARE[0]]], [])])
def test_a_drawing_without_trouble_has_no_marks_and_an_empty_one_no_picture(paths, said):
    scene = traced_scene(drawn(paths))
    assert (scene and words(scene)) == said


def test_a_thousand_troubles_do_not_cover_the_drawing():
    many = tuple(Trouble("loose", "A line ends.", (float(i), 0.0)) for i in range(1000))
    assert len(words(traced_scene(Drawn((), (), many, None, 1.0, 0.02, 0, {})))) == MOST_MARKED


def test_outlines_to_choose_among_are_numbered_inside_themselves():
    ring, other = [*SQUARE, SQUARE[0]], [*shifted(SQUARE, 200), (200.0, 0.0)]
    assert words(traced_scene(drawn([ring, other]))) == ["outline 1", "outline 2"]
