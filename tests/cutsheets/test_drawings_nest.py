"""The picture of a face: every part where it lies, numbered as it comes free, counters with their slits."""

import pytest
from shapely.geometry import Polygon as Area

from cutsheets.drawings.lettering import plain
from cutsheets.drawings.nest import face_scene
from cutsheets.drawings.scene import Polygon, Polyline, Text
from cutsheets.drawings.svg import to_svg
from cutsheets.nesting.cuts import nest_cuts
from tests.cutsheets.nest_faces import COUNTER, RINGED, instance, item, nest

ASKED = instance(item("O", RINGED, holes=(COUNTER,)), item("L", qty=2))
LYING = nest(ASKED.stock[0], ("O", 0.0, 1, 1), ("L", 0.0, 12, 1), ("L", 90.0, 20, 12))
CUTS = nest_cuts(ASKED, LYING)


@pytest.fixture
def shapes():
    return list(face_scene(ASKED, LYING, 0, CUTS).flat())


def test_every_part_is_numbered_once_in_the_order_in_which_it_comes_free(shapes):
    numbers = [int(plain(s.parts)) for s in shapes if isinstance(s, Text) and s.role == "mark"]
    assert numbers == [1, 2, 3]


def test_parts_are_drawn_in_millimetres_where_they_lie(shapes):
    drawn = [s for s in shapes if isinstance(s, Polygon) and s.fill == "wash"]
    areas = sorted(Area(s.rings[0], s.rings[1:]).area / 25.4**2 for s in drawn)
    assert areas == pytest.approx([11, 11, 48])


def test_a_counter_has_its_slit(shapes):
    slits = [s for s in shapes if isinstance(s, Polyline) and s.weight == "cut"]
    assert len(slits) == len([cut for cut in CUTS if cut.lead])
    assert any(cut.ring == 1 and cut.lead for cut in CUTS)


def test_a_wide_part_bears_its_name():
    asked = instance(item("PANEL", tuple((2 * x, 2 * y) for x, y in RINGED)))
    lying = nest(asked.stock[0], ("PANEL", 0.0, 1, 1))
    scene = face_scene(asked, lying, 0, nest_cuts(asked, lying))
    assert "PANEL" in [plain(s.parts) for s in scene.flat() if isinstance(s, Text)]


def test_it_becomes_a_picture_of_a_page():
    assert "<svg" in to_svg(face_scene(ASKED, LYING, 0, CUTS), title="face 1")
