"""Stacked mouldings: sizes add up, areas are those of the handbooks, nothing impossible is drawn."""

import math
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LineString, Point, Polygon

from cutsheets.errors import CutsheetError
from cutsheets.families import FAMILIES, build
from cutsheets.families.arcs import through, turn
from cutsheets.kinds.shapes import read_section

INCH = 25.4
CHORDS = 0.02 / INCH  # in: what a chord stands off its curve, up to a radius of 2 in


def recipe(*members, base="2"):
    return {"family": "stacked", "base": base, "members": list(members)}


def row(member, height, out=None, direction=None, **more):
    given = {"member": member, "height": height, "out": out, "direction": direction, **more}
    return {name: value for name, value in given.items() if value is not None}


FILLET = row("fillet", "1/2", "0")


def drawn(*members, base="2", unit="in"):
    """Return the section in its unit, read as any section of a job file is."""
    keys = build(recipe(*members, base=base), unit)
    read_section(keys, unit)
    return Polygon(keys["section"])


def refusal(typed, unit="in"):
    with pytest.raises(CutsheetError) as caught:
        build(typed, unit)
    return caught.value.code, caught.value.where


def test_a_stack_is_as_high_as_its_members_and_as_deep_as_its_steps():
    members = [
        row("fascia", "3", "0"), row("cavetto", "1 1/2", "1 1/4"), row("fillet", "1/2", "1/4"),
        row("cyma_recta", "2 1/2", "2"), FILLET,
    ]  # fmt: skip
    assert drawn(*members, base="1").bounds == pytest.approx((0, 0, 1 + 1.25 + 0.25 + 2, 3 + 1.5 + 0.5 + 2.5 + 0.5))


def test_every_step_stands_in_the_section_as_an_edge_of_its_size():
    section = build(recipe(row("fascia", "3", "0"), row("fascia", "3", "2"), row("fascia", "3", "1", "in")), "in")
    assert section == {
        "section": [[0, 0], [2, 0], [2, 3], [4, 3], [4, 6], [3, 6], [3, 9], [0, 9]], "bare": "wall",
    }  # fmt: skip


@pytest.mark.parametrize(("member", "beyond"), [
    # quarter circle πr²/4 and its spandrel r²(1 − π/4); Machinery's Handbook, Areas of Plane Figures
    (row("ovolo", "2", "2"), math.pi),
    (row("cavetto", "2", "2"), 4 - math.pi),
    # quarter ellipse πab/4; the same table
    (row("ovolo", "3", "2"), math.pi * 6 / 4),
    (row("cavetto", "3", "2"), 6 - math.pi * 6 / 4),
    # half circle, half ellipse; the same table
    (row("torus", "2"), math.pi / 2),
    (row("bead", "1/2"), math.pi / 32),
    (row("torus", "2", bulge="1/2"), math.pi / 4),
    # a bead of radius 1/4 between two fillets
    (row("astragal", "1", "0", fillet="1/4", fillets="both"), math.pi / 32),
    # halves of a rectangle, by symmetry about the middle
    (row("cyma_recta", "3", "2"), 3),
    (row("cyma_reversa", "3", "2"), 3),
    (row("cyma_recta", "3", "2", radius="2"), 3),
    (row("bevel", "3", "2"), 3),
    (row("fillet", "3", "2"), 6),
])  # fmt: skip
def test_a_member_adds_the_area_that_the_handbook_gives(member, beyond):
    high = float(member["height"].replace("1/2", "0.5"))
    assert drawn(member, FILLET).area - 2 * high - _capped(member) == pytest.approx(beyond, abs=2 * high * CHORDS)


def _capped(member):
    """Return the area of the fillet above a member, half an inch high."""
    return 0.5 * (2 + float(member.get("out", "0")) * (member["member"] not in ("torus", "bead", "astragal")))


def test_stepping_in_takes_away_what_stepping_out_adds():
    for name in ("cavetto", "ovolo", "cyma_recta", "cyma_reversa", "bevel"):
        out = drawn(FILLET, row(name, "3", "1"), FILLET, base="2")
        back = drawn(FILLET, row(name, "3", "1", "in"), FILLET, base="3")
        assert back.area == pytest.approx(out.area), name


def test_a_scotia_is_two_quarter_hollows_on_one_level():
    # radii (height ± out) / 2 = 1 and 2; each leaves a spandrel r²(1 − π/4), Machinery's Handbook
    scotia = drawn(FILLET, row("scotia", "3", "1", "in"), FILLET, base="5")
    hollow = (5 - 2) * 3 + (1 + 4) * (1 - math.pi / 4)
    assert scotia.area - 0.5 * (5 + 4) == pytest.approx(hollow, abs=6 * CHORDS)
    assert min(x for x, _ in scotia.exterior.coords if x > 0) == pytest.approx(5 - 2, abs=1e-6)


@pytest.mark.parametrize(("name", "bottom", "middle", "top"), [
    ("cyma_recta", 0, 90, 0),  # ends level, upright in the middle
    ("cyma_reversa", 90, 0, 90),  # ends upright, level in the middle
])  # fmt: skip
def test_a_cyma_runs_as_ware_says_it_does(name, bottom, middle, top):
    # W. R. Ware, The American Vignola, 1903 (memory)
    points = [tuple(p) for p in build(recipe(FILLET, row(name, "4", "4"), FILLET), "in")["section"]]
    curve = [p for p in points if 0.5 <= p[1] <= 4.5 and p[0] >= 2]
    leans = [math.degrees(math.atan2(b[1] - a[1], b[0] - a[0])) for a, b in pairwise(curve)]
    half = len(leans) // 2
    assert [leans[0], leans[half], leans[-1]] == pytest.approx([bottom, middle, top], abs=4)


@pytest.mark.parametrize("name", ["cyma_recta", "cyma_reversa"])
@pytest.mark.parametrize("more", [{}, {"radius": "2 3/4"}, {"lower": "1"}, {"lower": "2 1/2", "radius": "4"}])
def test_the_two_curves_of_a_cyma_are_tangent_where_they_meet(name, more):
    points = [tuple(p) for p in build(recipe(FILLET, row(name, "4", "3", **more), FILLET), "in")["section"]]
    curve = [p for p in points if p[0] >= 2 and 0.5 <= p[1] <= 4.5]
    turns = [turn(*three) for three in zip(curve, curve[1:], curve[2:], strict=False)]
    assert max(map(abs, turns)) < 7  # a chord of the smallest curve here turns by no more: there is no corner
    bends = [left for left in turns if abs(left) > 0.1]
    assert sum(before * after < 0 for before, after in pairwise(bends)) == 1  # round and hollow change places once


def test_a_radius_draws_the_segment_of_the_handbook():
    # Machinery's Handbook, Circular Segment: chord 21, height 6, radius 12.1875, area 89.254148
    curve = through((0, 0), (21, 0), 12.1875, hollow=False)
    assert -min(y for _, y in curve) == pytest.approx(6, abs=0.02)
    assert Polygon(curve).area == pytest.approx(89.254148, rel=5e-3)


@given(st.floats(0.2, 900), st.booleans())
def test_no_chord_stands_off_its_arc_by_more_than_it_may(radius, hollow):
    curve = through((0, 0), (radius, radius), radius, hollow=hollow)
    centre = Point(radius, 0) if hollow else Point(0, radius)
    off = [radius - centre.distance(LineString(chord)) for chord in pairwise(curve)]
    assert max(off) <= max(0.02, radius / 2500) + 1e-9
    assert 8 <= len(off) <= 28


MEMBERS = {member.name: member for member in FAMILIES["stacked"].members}
SIXTEENTHS = st.integers(1, 64).map(lambda n: n / 16)


@st.composite
def rows(draw):
    member = MEMBERS[draw(st.sampled_from(sorted(MEMBERS)))]
    typed = {"member": member.name}
    for field in member.fields:
        if field.sort == "choice":
            typed[field.name] = draw(st.sampled_from([name for name, _ in field.choices]))
        elif not field.optional or draw(st.booleans()):
            typed[field.name] = draw(SIXTEENTHS)
    return typed


@settings(max_examples=300)
@given(st.lists(rows(), min_size=1, max_size=6), SIXTEENTHS)
def test_what_is_accepted_is_a_sound_section_and_the_rest_is_refused_at_its_member(members, base):
    typed = recipe(*members, base=base)
    try:
        keys = build(typed, "in")
    except CutsheetError as error:
        refused = error.where
    else:
        refused = ""
    if refused:
        assert refused.startswith("members")
        return
    section = Polygon(keys["section"])
    assert section.is_valid
    left, low, _, high = section.bounds
    assert (left, low) == (0, 0)
    assert high == pytest.approx(sum(member.get("height", 0) for member in members))
    metric = [
        {name: value * INCH if isinstance(value, float) else value for name, value in member.items()}
        for member in members
    ]
    same = Polygon(build(recipe(*metric, base=base * INCH), "mm")["section"])
    assert same.area == pytest.approx(section.area * INCH**2, rel=1e-6)
    assert same.bounds == pytest.approx([side * INCH for side in section.bounds], abs=1e-4)


@pytest.mark.parametrize(("members", "code", "where"), [
    ([FILLET, row("cavetto", "2", "2", "in"), FILLET], "family-wall", "members[1]"),
    ([FILLET, row("scotia", "4", "1", "in"), FILLET], "family-wall", "members[1]"),
    ([row("ovolo", "2", "1", radius="2")], "family-radius", "members[0].radius"),
    ([FILLET, row("cyma_recta", "2", "1", lower="2")], "family-lower", "members[1].lower"),
    ([row("astragal", "1", "0", fillet="1/2", fillets="both")], "family-fillet", "members[0].fillet"),
    ([row("scotia", "1", "1")], "family-scotia", "members[0].out"),
    ([FILLET, row("cavetto", "2", "2")], "family-feather", "members[1]"),
    ([row("cavetto", "1", "1", "in"), FILLET], "family-feather", "members[0]"),
    ([FILLET, {"member": "step", "out": "1", "direction": "in"}, {"member": "step", "out": "1/2"}, FILLET],
     "family-folded", "members[2]"),
    ([{"member": "step", "out": "1"}], "family-no-height", "members"),
    ([row("fillet", "-1", "0")], "length-negative", "members[0].height"),
    ([row("fillet", "0", "0")], "length-zero", "members[0].height"),
    ([row("fillet", "0.001", "0")], "family-small", "members[0].height"),
    ([row("fillet", "1", "0", "sideways")], "family-choice", "members[0].direction"),
    ([row("fillet", "1")], "missing-key", "members[0].out"),
    ([row("fillet", "1", "0", radius="1")], "unknown-key", "members[0]"),
    ([row("gargoyle", "1")], "family-member", "members[0].member"),
    (["fillet"], "family-member", "members[0].member"),
    ([{"member": ["fillet"]}], "family-member", "members[0].member"),
    ([], "list-size", "members"),
    ([FILLET] * 25, "list-size", "members"),
])  # fmt: skip
def test_an_impossible_stack_is_refused_at_its_place(members, code, where):
    assert refusal(recipe(*members)) == (code, where)


def test_a_recipe_of_no_family_is_refused():
    assert refusal({"family": "gargoyle"}) == ("family-unknown", "family")
    assert refusal({"family": ["stacked"]}) == ("family-unknown", "family")
    assert refusal({"family": "stacked", "base": "1"}) == ("list-size", "members")
    assert refusal(recipe(FILLET) | {"colour": "red"}) == ("unknown-key", "")
