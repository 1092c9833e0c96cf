"""Bands, sills, turned parts, keystones and quoins from numbers, and the recipes to start from."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely import Polygon

from cutsheets.coat import foam_outline
from cutsheets.errors import CutsheetError
from cutsheets.families import FAMILIES, PRESETS, as_typed, build
from cutsheets.kinds.shapes import read_section
from cutsheets.kinds.turned import read as read_turned
from cutsheets.kinds.turned import volume

CHORDS = 0.02 / 25.4  # in: what a chord stands off its curve, up to a radius of 2 in
SILL = {"family": "sill", "out": "6", "nose": "3", "slope": "10"}
GROOVE = {"groove_width": "1/2", "groove_depth": "1/4", "groove_from": "1"}
BAND = {"family": "band", "height": "6", "out": "2"}
KEYSTONE = {"family": "keystone", "height": "12", "top": "9", "bottom": "6"}
QUOIN = {"family": "quoin", "long": "16", "height": "8"}


def section(recipe, unit="in"):
    keys = build(recipe, unit)
    read_section(keys, unit)
    return Polygon(keys["section"])


def outlines(recipe):
    return [Polygon(outline["outer"]) for outline in build(recipe, "in")["outlines"]]


def turned(*members, base):
    keys = build({"family": "turned", "base": base, "members": list(members)}, "in")
    return read_turned(keys, "in")


def refusal(recipe):
    with pytest.raises(CutsheetError) as caught:
        build(recipe, "in")
    return caught.value.code, caught.value.where


def test_a_band_is_a_rectangle_whose_front_edges_may_be_cut_off():
    # quarter circle πr²/4, right triangle a²/2; Machinery's Handbook, Areas of Plane Figures
    assert section(BAND).area == 12
    assert section(BAND | {"edge": "bevel", "size": "1/2"}).area == pytest.approx(12 - 2 * 0.125)
    rounded = section(BAND | {"edge": "round", "size": "1/2"})
    assert rounded.area == pytest.approx(12 - 2 * 0.25 * (1 - math.pi / 4), abs=2 * CHORDS)
    assert rounded.bounds == pytest.approx((0, 0, 2, 6))


def test_a_band_may_be_a_half_round():
    # half circle, the same table
    half = section({"family": "band", "height": "4", "out": "2", "edge": "round", "size": "2"})
    assert half.area == pytest.approx(2 * math.pi, abs=7 * CHORDS)


def test_a_sill_falls_by_its_slope_or_by_its_fall():
    # trapezium: half the sum of both sides times the depth; Machinery's Handbook, Areas of Plane Figures
    rise = 6 * math.tan(math.radians(10))
    by_slope = section(SILL)
    assert by_slope.area == pytest.approx((3 + 3 + rise) / 2 * 6)
    by_fall = section({"family": "sill", "out": "6", "nose": "3", "fall": f"{rise:.6f}"})
    assert by_fall.symmetric_difference(by_slope).area < 1e-4


def test_a_drip_groove_is_taken_out_of_the_underside_where_it_is_said_to_be():
    square = section(SILL).difference(section(SILL | GROOVE | {"groove": "square"}))
    assert square.bounds == pytest.approx((4.5, 0, 5, 0.25))
    # half circle πr²/2; the same table
    half = section(SILL).difference(section(SILL | GROOVE | {"groove": "round"}))
    assert half.area == pytest.approx(math.pi / 32, abs=CHORDS)
    assert half.bounds == pytest.approx((4.5, 0, 5, 0.25))


def test_the_edges_of_a_nose_are_rounded_without_changing_its_size():
    # what a round takes off a corner that turns by a: r²·(tan(a/2) − a/2), plane geometry
    rounded = section(SILL | {"radius": "1/2"})
    turns = [math.pi / 2, math.radians(80)]
    off = sum(0.25 * (math.tan(a / 2) - a / 2) for a in turns)
    assert section(SILL).area - rounded.area == pytest.approx(off, abs=2 * CHORDS)
    assert rounded.bounds == pytest.approx(section(SILL).bounds)


def test_a_keystone_is_a_trapezium_and_its_foot_may_follow_the_arch():
    (straight,), (curved,) = outlines(KEYSTONE), outlines(KEYSTONE | {"foot_radius": "24"})
    assert straight.bounds == (0, 0, 9, 12)
    assert straight.area == (9 + 6) / 2 * 12
    # circular segment r²/2·(a − sin a), chord 6 = 2r·sin(a/2); Machinery's Handbook, Circular Segment
    angle = 2 * math.asin(3 / 24)
    segment = 24**2 / 2 * (angle - math.sin(angle))
    assert straight.area - curved.area == pytest.approx(segment, abs=6 * 24 / 2500)


def test_quoins_are_cut_long_and_short_with_one_margin():
    long, short = outlines(QUOIN | {"short": "10", "corners": "bevel", "margin": "3/4"})
    assert (long.bounds, short.bounds) == ((0, 0, 16, 8), (0, 0, 10, 8))
    assert (long.area, short.area) == (128 - 4 * 0.75**2 / 2, 80 - 4 * 0.75**2 / 2)
    (rounded,) = outlines(QUOIN | {"corners": "round", "margin": "1"})
    assert rounded.area == pytest.approx(128 - (4 - math.pi), abs=7 * CHORDS)


def test_a_ball_on_a_neck_holds_what_a_sphere_with_a_cap_off_holds():
    # spherical zone πh/6·(3a² + 3b² + h²), here b = 0, and its height r + √(r² − a²); Machinery's Handbook, volumes
    ball = turned({"member": "ball", "radius": "3", "end": "0"}, base="1 1/2")
    high = 3 + math.sqrt(9 - 2.25)
    assert ball.half_profile[-1] == pytest.approx((high * 25.4, 0), abs=1e-5)
    cap_off = math.pi * high / 6 * (3 * 1.5**2 + high**2)
    assert volume(ball.side) / 25.4**3 == pytest.approx(cap_off, rel=2e-3)


def test_a_torus_about_its_axis_holds_what_pappus_says():
    # Pappus: 2π·x̄·A of the half circle, x̄ = R + 4r/3π, on a cylinder πR²h; Larson & Edwards, Calculus 7.6
    ring = turned({"member": "torus", "height": "2"}, base="4")
    half = 2 * math.pi * (4 + 4 / (3 * math.pi)) * math.pi / 2
    assert volume(ring.side) / 25.4**3 == pytest.approx(math.pi * 16 * 2 + half, rel=1e-3)


@given(st.lists(st.sampled_from(["cavetto", "ovolo", "cyma_recta", "cyma_reversa", "bevel"]), min_size=1, max_size=5))
def test_turned_members_are_as_high_as_they_are_typed_and_are_read_as_a_turned_part(names):
    rows = [{"member": name, "height": "1", "out": "1/2", "direction": "in" if i % 2 else "out"}
            for i, name in enumerate(names)]  # fmt: skip
    fillet = {"member": "fillet", "height": "1/4", "out": "0"}
    parts = [each for row in rows for each in (row, fillet)]
    side = turned(fillet, *parts, base="2").half_profile
    assert side[-1][0] == pytest.approx((0.25 + 1.25 * len(names)) * 25.4)
    assert max(radius for _, radius in side) == pytest.approx(2.5 * 25.4)


@pytest.mark.parametrize(("recipe", "code", "where"), [
    (SILL | {"slope": "60"}, "family-slope", "slope"),
    (SILL | {"slope": "-5"}, "family-slope", "slope"),
    (SILL | {"slope": "", "fall": "12"}, "family-slope", "fall"),
    (SILL | {"fall": "1"}, "family-slope", "slope"),
    (SILL | {"slope": ""}, "family-slope", "slope"),
    (SILL | {"radius": "2"}, "family-radius", "radius"),
    (SILL | GROOVE | {"groove": "square", "groove_depth": "4"}, "family-groove", "groove_depth"),
    (SILL | GROOVE | {"groove": "round", "groove_from": "5 1/2"}, "family-groove", "groove_from"),
    (SILL | GROOVE | {"groove": "round", "groove_from": "1/2", "radius": "1/2"}, "family-groove", "groove_from"),
    (SILL | {"groove": "round"}, "missing-key", "groove_width"),
    (SILL | {"out": "nan"}, "length", "out"),
    (SILL | {"out": float("nan")}, "length", "out"),
    (BAND | {"edge": "round", "size": "2 1/2"}, "family-edge", "size"),
    (BAND | {"edge": "bevel"}, "missing-key", "size"),
    (BAND | {"height": ""}, "missing-key", "height"),
    (KEYSTONE | {"bottom": "10"}, "family-taper", "bottom"),
    (KEYSTONE | {"foot_radius": "5"}, "family-radius", "foot_radius"),
    (KEYSTONE | {"height": "1/2", "foot_radius": "6"}, "family-radius", "height"),
    (QUOIN | {"corners": "round", "margin": "4"}, "family-margin", "margin"),
    (QUOIN | {"corners": "bevel"}, "missing-key", "margin"),
    ({"family": "turned", "base": "0", "members": [{"member": "torus", "height": "2"}]}, "length-zero", "base"),
    ({"family": "turned", "base": "2", "members": [{"member": "ball", "radius": "1", "end": "0"}]},
     "family-radius", "members[0].radius"),
    ({"family": "turned", "base": "2", "members": [{"member": "ball", "radius": "3", "end": "0"},
                                                  {"member": "fillet", "height": "1", "out": "0"}]},
     "family-wall", "members[0]"),
])  # fmt: skip
def test_an_impossible_recipe_is_refused_at_its_field(recipe, code, where):
    assert refusal(recipe) == (code, where)


@pytest.mark.parametrize("unit", ["in", "mm"])
@pytest.mark.parametrize("name", PRESETS)
def test_every_recipe_to_start_from_draws_a_sound_shape_in_both_units(name, unit):
    keys = build(as_typed(PRESETS[name], unit), unit)
    shape = FAMILIES[PRESETS[name]["family"]].shape
    assert shape in keys
    if shape == "section":
        assert len(read_section(keys, unit).points) < 200
    elif shape == "half_profile":
        assert len(read_turned(keys, unit).half_profile) < 300
    else:
        assert all(Polygon(outline["outer"]).is_valid for outline in keys["outlines"])


@pytest.mark.parametrize("name", [name for name, family in FAMILIES.items() if not family.members])
@pytest.mark.parametrize("unit", ["in", "mm"])
def test_the_numbers_that_a_form_starts_with_draw_something(name, unit):
    family = FAMILIES[name]
    start = {field.name: field.default for field in family.fields}
    assert family.shape in build({"family": name} | start, unit)
    assert family.shape in build({"family": name} | as_typed(start, unit), unit)


@pytest.mark.parametrize("name", ["stacked", "turned"])
def test_every_member_draws_something_from_the_numbers_that_its_row_starts_with(name):
    fillet = {"member": "fillet", "height": "1", "out": "0"}
    for member in FAMILIES[name].members:
        row = {"member": member.name} | {field.name: field.default for field in member.fields}
        rows = [fillet, row] if member.name == "ball" else [fillet, row, fillet]
        assert FAMILIES[name].shape in build({"family": name, "base": "1 7/8", "members": rows}, "in"), member.name


@pytest.mark.parametrize(
    "name", [name for name, recipe in PRESETS.items() if FAMILIES[recipe["family"]].shape == "section"]
)
def test_an_eighth_of_coat_leaves_the_foam_that_an_independent_offset_leaves(name):
    # independent check: shapely's buffer with mitred joins
    finished = read_section(build(PRESETS[name], "in") | {"bare": "none"}, "in")
    foam = Polygon(foam_outline(finished, 25.4 / 8))
    buffered = Polygon(finished.points).buffer(-25.4 / 8, join_style="mitre", mitre_limit=1000)
    assert foam.symmetric_difference(buffered).area < 1e-6


def test_a_recipe_means_the_same_in_an_inch_and_in_a_metric_job():
    inches = build(PRESETS["crown cornice"], "in")["section"]
    metric = build(PRESETS["crown cornice"], "mm")["section"]
    assert metric == [pytest.approx([25.4 * x, 25.4 * y], abs=1e-5) for x, y in inches]
