import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Point, Polygon

from cutsheets.polygons import Plan, least_wall, sector
from cutsheets.rules import Rules
from cutsheets.solids import Box
from tests.cutsheets.kind_jobs import IN, cut, figures, refusal, same_part, work, written_again

SQUARE = {"square": 4, "clearance": 0.25}
ROUND = {"kind": "column", "round": 14, "height": 90, "shells": 2, "void": SQUARE}
HEXAGON = {"sides": 6, "across_flats": 12}
STAVES = {"kind": "column", "regular": HEXAGON, "height": 90, "staves": {"thick": 1.25}}
ACROSS, SIDES = st.floats(300, 900), st.integers(3, 16)


def outline(plan):
    """Return a plan made apart from the code: a buffered point, or corners at their own angles."""
    if not plan.sides:
        return Point(0, 0).buffer(plan.across / 2, quad_segs=300)
    radius, step = plan.across / 2 / math.cos(math.pi / plan.sides), 2 * math.pi / plan.sides
    return Polygon([
        (radius * math.cos((k + 0.5) * step), radius * math.sin((k + 0.5) * step)) for k in range(plan.sides)
    ])  # fmt: skip


def test_two_shells_round_a_square_post():
    # by hand: foam 14 - 2/8, void 4 + 2/4; circle and square, Machinery's Handbook, Areas of Plane Figures (memory)
    done = cut(coat="1/8", qty=3, **ROUND)
    area = (math.pi * 6.875**2 - 4.5**2) / 2
    assert done["part"] == {
        "foam_across": 13.75, "void_across": 4.5, "area": pytest.approx(area, abs=1e-6),
        "least_wall": pytest.approx(6.875 - 2.25 * math.sqrt(2), abs=1e-6), "lengths": [90],
    }  # fmt: skip
    assert (done["finished"], done["foam"]) == ({"l": 90, "w": 14, "h": 14}, {"l": 90, "w": 13.75, "h": 13.75})
    assert done["blanks"] == [{"l": 91, "w": 7.375, "h": 14.25, "qty": 6, "marks": ["A1"]}]
    assert (done["parts"], done["core_volume"]) == (6, pytest.approx(6 * 90 * area, abs=1e-4))
    assert done["coat_area"] == pytest.approx(3 * 90 * 14 * math.pi)  # outside only, as finished
    # wire: round outside and void, and twice along both joints; two ways in or out for each shell
    path = 3 * (13.75 * math.pi + 4 * 4.5 + 4 * (6.875 - 2.25))
    assert (done["wire_length"], done["wire_minutes"]) == pytest.approx((path, path / 20 + 12 * 0.5))


@pytest.mark.parametrize(("sides", "side", "corners", "area"), [
    (3, 1.732, 2.0, 1.299), (4, 1.0, 1.414, 1.0), (6, 0.577, 1.155, 0.866), (8, 0.414, 1.082, 0.828),
])  # fmt: skip
def test_regular_polygons_are_those_of_the_handbook(sides, side, corners, area):
    # Machinery's Handbook, Regular Polygons: for 1 across flats; three places (memory)
    plan = Plan(1, sides)
    assert (plan.side, 2 * plan.corner, plan.area) == pytest.approx((side, corners, area), abs=6e-4)


def test_an_octagon_to_six_places():
    # Wolfram MathWorld, Octagon: r = (1 + √2)s/2, R = √(4 + 2√2)s/2, A = 2(1 + √2)s²
    plan = Plan(1, 8)
    assert (plan.side, 2 * plan.corner, plan.area) == pytest.approx((0.414214, 1.082392, 0.828427), abs=5e-7)


def test_six_staves_with_their_bevels():
    # Machinery's Handbook, Regular Polygons: side = across flats · tan(180°/n); the coat does not move the inside
    done = cut(coat="1/8", **STAVES)
    third = math.tan(math.radians(30))
    assert done["part"] == {
        "foam_across": 11.75, "void_across": 9.25, "area": pytest.approx(1.25 * (11.75 + 9.25) / 2 * third, abs=1e-6),
        "least_wall": 1.25, "lengths": [90], "bevel": 30, "outer": pytest.approx(11.75 * third, abs=1e-6),
        "inner": pytest.approx(9.25 * third, abs=1e-6), "finished_side": pytest.approx(12 * third, abs=1e-6),
    }  # fmt: skip
    (blank,) = done["blanks"]
    assert (blank["l"], blank["w"], blank["qty"]) == (91, 1.75, 6)
    assert blank["h"] == pytest.approx(11.75 * third + 0.5, abs=1e-6)
    assert done["coat_area"] == pytest.approx(90 * 6 * 12 * third)
    path = 6 * ((11.75 + 9.25) * third + 2 * 1.25 / math.cos(math.radians(30)))
    assert done["wire_length"] == pytest.approx(path)


@settings(deadline=None)
@given(ACROSS, SIDES, st.floats(10, 100))
def test_staves_fill_the_ring_between_two_polygons(across, sides, thick):
    # second method: areas of shapely's difference, and corners that meet all round
    regular = {"sides": sides, "across_flats": across}
    done = work("mm", kind="column", regular=regular, height=2000, staves={"thick": thick})
    part = figures(done)
    ring = outline(Plan(across, sides)).difference(outline(Plan(across - 2 * thick, sides)))
    assert sides * part["area"] == pytest.approx(ring.area, rel=1e-6)
    assert done.quantities.core_volume == pytest.approx(2000 * ring.area, rel=1e-6)
    lean = math.degrees(math.atan2((part["outer"] - part["inner"]) / 2, thick))
    assert 2 * sides * lean == pytest.approx(360, abs=0.01)
    assert part["bevel"] == pytest.approx(lean, abs=0.001)


@settings(deadline=None)
@given(ACROSS, st.one_of(st.just(0), SIDES), st.floats(20, 100), st.sampled_from([0, 4]), st.integers(1, 8))
def test_shells_fill_the_plan_round_the_void_and_lie_in_their_blanks(across, sides, post, post_sides, count):
    outer, void = Plan(across, sides), Plan(post, post_sides)
    plan = {"regular": {"sides": sides, "across_flats": across}} if sides else {"round": across}
    around = {"square" if post_sides else "round": post}
    done = work("mm", kind="column", height=1500, shells=count, void=around, **plan)
    part, whole, hole = figures(done), outline(outer), outline(void)
    assert count * part["area"] == pytest.approx(whole.difference(hole).area, rel=1e-4)
    assert part["least_wall"] == pytest.approx(whole.exterior.distance(hole), abs=0.01)
    pieces = [Polygon(ring[0], ring[1:]) for ring in (sector(outer, void, i, count) for i in range(count))]
    assert math.fsum(piece.area for piece in pieces) == pytest.approx(count * part["area"], rel=2e-3)
    blank = done.blanks[0].size
    for left, low, right, high in (piece.bounds for piece in pieces):
        assert right - left <= blank.h
        assert high - low <= blank.w


@pytest.mark.parametrize(("shells", "depth", "width"), [(1, 13.75, 13.75), (2, 6.875, 13.75), (4, 6.875, 6.875)])
def test_the_blank_of_a_shell_is_the_box_of_its_sector_with_a_joint_flat(shells, depth, width):
    done = work(coat="1/8", rules=Rules(skim_wall=0, skim_other=0, end_trim=0), **ROUND | {"shells": shells})
    size = done.blanks[0].size
    assert (size.l, size.w, size.h) == pytest.approx((90 * IN, depth * IN, width * IN), abs=1e-5)


def test_the_joint_side_gets_the_skim_of_the_wall_and_a_whole_shell_has_no_joint():
    rules = Rules(skim_wall=0, skim_other=10, end_trim=0)
    depth = {count: work(rules=rules, **ROUND | {"shells": count}).blanks[0].size.w / IN for count in (1, 2)}
    assert depth == pytest.approx({1: 14 + 20 / IN, 2: 7 + 10 / IN}, abs=1e-5)


@settings(deadline=None)
@given(ACROSS, ACROSS, st.integers(3, 24), st.integers(0, 24).filter(lambda n: n not in (1, 2)))
def test_the_thinnest_wall_is_the_distance_from_the_void_to_the_outside(across, post, sides, post_sides):
    # second method: shapely's distance; an overlap has none
    outer, void = Plan(2 * across, sides), Plan(post / 4, post_sides)
    assert least_wall(outer, void) == pytest.approx(outline(outer).exterior.distance(outline(void)), abs=0.01)


def test_the_height_is_split_into_sticks_from_the_bottom_up():
    done = cut(coat="1/8", qty=2, **ROUND | {"height": 200})
    assert done["part"]["lengths"] == [96, 52, 52]
    assert [(s["mark"], s["qty"], s["long"], s["run"]) for s in done["sticks"]] == [
        ("A1", 4, 96, "shell"), ("A2", 8, 52, "shell"),
    ]  # fmt: skip
    assert done["parts"] == sum(blank["qty"] for blank in done["blanks"]) == 12
    whole = cut(coat="1/8", qty=2, allow={"longest_stick": 240}, **ROUND | {"height": 200})
    assert done["core_volume"] == pytest.approx(whole["core_volume"])
    assert (done["coat_area"], done["wire_length"]) == pytest.approx((whole["coat_area"], 3 * whole["wire_length"]))


@pytest.mark.parametrize(("inches", "millimetres"), [
    (ROUND, {"round": 355.6, "height": 2286, "void": {"square": 101.6, "clearance": 6.35}}),
    (STAVES, {"regular": {"sides": 6, "across_flats": 304.8}, "height": 2286, "staves": {"thick": 31.75}}),
])  # fmt: skip
def test_a_job_in_millimetres_gives_the_same_column(inches, millimetres):
    same_part(work(coat="1/8", qty=2, **inches), work("mm", coat=3.175, qty=2, **inches | millimetres))
    inch, metric = cut(**inches)["part"], cut("mm", **inches | millimetres)["part"]
    assert metric["foam_across"] == pytest.approx(inch["foam_across"] * IN)
    assert metric["area"] == pytest.approx(inch["area"] * IN**2)


@pytest.mark.parametrize("line", [
    ROUND, STAVES, ROUND | {"void": {"round": "3 1/3", "clearance": "1/8"}},
    {"kind": "column", "regular": {"sides": 5, "across_flats": "11 7/16"}, "height": "7'-2\"", "shells": 1,
     "void": {"square": 4}},
])  # fmt: skip
@pytest.mark.parametrize("unit", ["in", "mm"])
def test_a_column_written_and_read_again_is_the_same(line, unit):
    if unit == "mm":
        line = {"kind": "column", "round": 355.6, "height": 2286.001, "shells": 3, "void": {"round": 90.5}}
    first, second = written_again(unit, **line)
    assert first == second


def test_remarks_that_the_trade_needs_to_see():
    def codes(**keys):
        return [note.code for note in work(rules=keys.pop("rules", None), **ROUND | keys).notes]

    assert codes() == []
    assert codes(shells=1) == ["closed-void"]
    assert codes(shells=3) == ["unlike-shells"]
    assert codes(void={"round": 5}, shells=3) == []
    assert codes(void={"round": "13 1/2"}) == ["thin-foam"]
    assert codes(rules=Rules(block=Box(1000, 600, 600))) == ["blank-too-long"]


def test_the_wire_lies_along_the_shell():
    (asks,) = work(rules=Rules(wire_over=100), **ROUND).asks
    assert (asks.what, asks.wire, asks.may_turn) == ("A1", pytest.approx(91 * IN + 100), True)


def test_the_pictures_show_the_plan_with_its_joints_and_a_piece_in_its_blank():
    plan, stave = work(coat="1/8", **STAVES).views
    assert (plan.name, stave.name, len(plan.lines)) == ("plan", "stave", 6)
    measured = [(size.of, round(math.dist(size.a, size.b) / IN, 4)) for size in plan.sizes]
    assert measured == [("foam", 9.25), ("foam", 11.75), ("finished", 12)]
    corner = max(plan.foam[0])
    assert any(math.dist(corner, line[1]) < 1e-6 for line in plan.lines)  # staves meet at the corners
    assert Polygon(stave.blank[0]).contains(Polygon(stave.foam[0]))


@pytest.mark.parametrize(("keys", "code", "where"), [
    ({"round": 0}, "length-zero", "round"),
    ({"round": -14}, "length-negative", "round"),
    ({"round": float("nan")}, "length", "round"),
    ({"round": 355.6}, "range", "round"),  # mm typed in an inch file
    ({"height": 2286}, "range", "height"),
    ({"height": None}, "length", "height"),
    ({"regular": HEXAGON}, "column-plan", ""),
    ({"staves": {"thick": 1}}, "column-build", ""),
    ({"shells": 0}, "count", "shells"),
    ({"shells": 1.5}, "count", "shells"),
    ({"shells": 25}, "column-shells", "shells"),
    ({"void": {"square": 4, "round": 4}}, "column-void", "void"),
    ({"void": {"clearance": 1}}, "column-void", "void"),
    ({"void": {"square": 10}}, "column-void", "void"),  # its corners reach out
    ({"void": {"round": 13.9, "clearance": 0.2}}, "column-void", "void"),
    ({"void": {"square": 4, "clearance": 6.35}}, "range", "void.clearance"),
    ({"void": {"square": 4, "clearance": -1}}, "length-negative", "void.clearance"),
    ({"void": {"square": 0.1}}, "range", "void.square"),
    ({"void": 4}, "not-an-object", "void"),
    ({"void": {"square": 4, "gap": 1}}, "unknown-key", "void"),
    ({"round": 1, "coat": 0.5}, "coat-swallows-column", "round"),
    ({"sides": 6}, "unknown-key", ""),
    ({"height": 1000, "allow": {"longest_stick": 0.5}}, "too-many-sticks", "height"),
])  # fmt: skip
def test_a_round_column_that_cannot_be_cut_is_refused_at_its_place(keys, code, where):
    assert refusal(**ROUND | keys) == (code, where)


@pytest.mark.parametrize(("keys", "code", "where"), [
    ({"regular": {"sides": 2, "across_flats": 12}}, "column-sides", "regular.sides"),
    ({"regular": {"sides": 61, "across_flats": 12}}, "column-sides", "regular.sides"),
    ({"regular": {"sides": 6}}, "missing-key", "regular"),
    ({"regular": {"sides": 6, "across_flats": 12, "turn": 1}}, "unknown-key", "regular"),
    ({"regular": {"sides": 6, "across_flats": "304.8"}}, "range", "regular.across_flats"),
    ({"regular": {"sides": 4, "across_flats": 1}, "coat": 0.5}, "coat-swallows-column", "regular.across_flats"),
    ({"staves": {"thick": 6}}, "stave-too-thick", "staves.thick"),
    ({"staves": {"thick": 0}}, "length-zero", "staves.thick"),
    ({"staves": {}}, "missing-key", "staves"),
    ({"void": SQUARE}, "column-void", "void"),
])  # fmt: skip
def test_staves_that_cannot_be_cut_are_refused_at_their_place(keys, code, where):
    assert refusal(**STAVES | keys) == (code, where)


@pytest.mark.parametrize(("left_out", "code"), [
    ("round", "column-plan"), ("height", "missing-key"), ("shells", "column-build"), ("void", "missing-key"),
])  # fmt: skip
def test_a_column_that_lacks_a_key_is_refused(left_out, code):
    assert refusal(**{key: value for key, value in ROUND.items() if key != left_out})[0] == code


def test_staves_for_a_round_column_are_refused_with_the_remedy():
    assert refusal(kind="column", round=14, height=90, staves={"thick": 1.25}) == ("column-staves", "staves")
