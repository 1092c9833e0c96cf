"""Drawings on pages: well-formed, readable aloud, and allowed by a strict content security policy."""

import re
import xml.etree.ElementTree as ET

import pytest

from cutsheets.drawings.foam import Slice, foam_bar_scene
from cutsheets.drawings.lettering import Figure
from cutsheets.drawings.plan import block_scene, slab_drawings
from cutsheets.drawings.profile import profile_scene
from cutsheets.drawings.runs import strip_scene
from cutsheets.drawings.scene import Polygon as Shape
from cutsheets.drawings.scene import Scene, Text, rectangle
from cutsheets.drawings.stripe import PATTERNS, stripe_scene
from cutsheets.drawings.svg import to_svg
from tests.cutsheets.paper_samples import BLOCK, CORNICE, PANEL, STICKS

SCENES = {
    "section": profile_scene(CORNICE, "in"),
    "box": profile_scene(PANEL, "mm"),
    "strip": strip_scene(STICKS[:6], "in"),
    "block": block_scene(BLOCK),
    "slab": slab_drawings(BLOCK, "in")[1].scene,
    "bar": foam_bar_scene([Slice("blanks", 9, "blanks", "9.0"), Slice("trim", 1, "trim", "1.0")], scale=10),
} | {f"stripe {pattern}": stripe_scene(pattern, 40, 14) for pattern in PATTERNS}
NS = "{http://www.w3.org/2000/svg}"


@pytest.mark.parametrize("name", SCENES)
def test_every_drawing_is_well_formed_and_says_what_it_is(name):
    root = ET.fromstring(to_svg(SCENES[name], title=name, desc="a <b> & c"))  # noqa: S314 - our own text
    assert root.get("role") == "img"
    assert [root.find(f"{NS}title").text, root.find(f"{NS}desc").text] == [name, "a <b> & c"]


@pytest.mark.parametrize("name", SCENES)
def test_no_drawing_needs_inline_styles_scripts_or_ids(name):
    text = to_svg(SCENES[name], title=name)
    assert not re.search(r"style|<script|\bid=|href|\bon\w+=|\bnan\b|\binf\b", text)


def test_roles_are_classes_with_the_colours_of_the_house():
    root = ET.fromstring(to_svg(SCENES["section"], title="x"))  # noqa: S314
    strokes = {each.get("class"): each.get("stroke") for each in root.iter(f"{NS}path") if each.get("stroke")}
    assert strokes["d-chalk"] == "#2A2FA8"
    assert strokes["d-waste"] == "#586A60"
    assert {each.get("class") for each in root.iter(f"{NS}g")} == {"d-text d-chalk", "d-text d-dim"}


def test_a_fraction_is_a_stack_with_a_bar_between():
    root = ET.fromstring(to_svg(Scene((Text((0, 0), (Figure(9, 1, 2),), 10),)), title="x"))  # noqa: S314
    assert [each.text for each in root.iter(f"{NS}text")] == ["9 ", "1", "2"]
    assert len(list(root.iter(f"{NS}rect"))) == 1


def test_names_from_outside_are_escaped():
    text = to_svg(Scene((Text((0, 0), ("<A&B>",), 10),)), title='"<x>"')
    assert "&lt;A&amp;B&gt;" in text
    assert "<x>" not in text


def test_a_width_in_pixels_keeps_the_shape():
    root = ET.fromstring(to_svg(Scene((Shape((rectangle(0, 0, 200, 100),)),)), title="x", width=400))  # noqa: S314
    assert root.get("width") == "400"
    assert float(root.get("height")) == pytest.approx(200, abs=5)


def test_a_stripe_takes_the_ink_that_the_shop_gave_its_grade():
    text = to_svg(stripe_scene("two", 40, 14), title="Firm", ink="#7A1E5C")
    assert 'color="#7A1E5C"' in text
    assert 'fill="currentColor"' in text


def test_the_twelve_stripes_differ_in_shape_and_lie_inside_their_band():
    drawn = {to_svg(stripe_scene(pattern, 127, 20), title="x") for pattern in PATTERNS}
    assert len(drawn) == len(PATTERNS) == 12
    for pattern in PATTERNS:
        assert stripe_scene(pattern, 127, 20).bounds == pytest.approx((0, 0, 127, 20), abs=1e-6)
