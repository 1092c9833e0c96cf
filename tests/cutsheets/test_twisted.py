import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Polygon, affinity, minimum_bounding_radius, union_all

from cutsheets.files.job import line_from_dict
from cutsheets.kinds import KINDS
from cutsheets.rules import Rules
from cutsheets.solids import Box
from tests.cutsheets.kind_jobs import IN, PCF, cut, figures, refusal, same_part, work, written_again

SHAFT = {"kind": "twisted", "square": 6, "length": 60, "turns": 0.5, "hand": "right"}
ANGLE = [[0, 0], [6, 0], [6, 2], [2, 2], [2, 6], [0, 6]]
CORNER = {"kind": "twisted", "section": ANGLE, "length": 60, "turns": 0.25}


def star(radii, dx=0.0, dy=0.0):
    turn = 2 * math.pi / len(radii)
    return [[dx + r * math.cos(i * turn), dy + r * math.sin(i * turn)] for i, r in enumerate(radii)]


def meshed_volume(ring, length, turns, slices=400):
    """Return the volume inside triangles between sections that turn, by Gauss's theorem: ∮ x·nₓ dA."""
    angles, along = 2 * math.pi * turns * np.linspace(0, 1, slices + 1), np.linspace(0, length, slices + 1)
    corners = np.array(ring)
    shares = np.linspace(0, 1, 8, endpoint=False)[:, None]
    x, y = np.concatenate([a + shares * (b - a) for a, b in zip(corners, np.roll(corners, -1, axis=0), strict=True)]).T
    points = np.stack(np.broadcast_arrays(
        np.outer(np.cos(angles), x) - np.outer(np.sin(angles), y),
        np.outer(np.sin(angles), x) + np.outer(np.cos(angles), y), along[:, None],
    ), axis=2)  # fmt: skip
    a, c = points[:-1], points[1:]
    b, d = np.roll(a, -1, axis=1), np.roll(c, -1, axis=1)
    triangles = ((a, b, d), (a, d, c))
    return sum(((p + q + r)[..., 0] / 3 * np.cross(q - p, r - p)[..., 0] / 2).sum() for p, q, r in triangles)


def test_a_square_shaft_with_half_a_turn():
    # by hand: foam 5 3/4 square, its diagonal the turning circle; volume by Cavalieri
    done = cut(coat="1/8", qty=3, **SHAFT)
    circle = 5.75 * math.sqrt(2)
    assert done["part"] == {
        "turning_circle": pytest.approx(circle, abs=1e-6), "volume": pytest.approx(5.75**2 * 60),
        "turns": 0.5,
        "edge_length": pytest.approx(math.hypot(60, math.pi * circle / 2), abs=1e-6),
        "helix_angle": pytest.approx(math.degrees(math.atan(math.pi * circle / 2 / 60)), abs=1e-6),
    }  # fmt: skip
    (blank,) = done["blanks"]
    assert (blank["l"], blank["qty"], blank["marks"]) == (61, 3, ["A1"])
    assert blank["w"] == blank["h"] == pytest.approx(circle + 0.5, abs=1e-6)
    assert (done["finished"]["width"], done["foam"]["width"]) == (6, 5.75)
    assert done["core_volume"] == pytest.approx(3 * 5.75**2 * 60)
    # wire: along the edge once for each of four faces, two ways in or out each time
    path = 3 * 4 * math.hypot(60, math.pi * circle / 2)
    assert (done["wire_length"], done["wire_minutes"]) == pytest.approx((path, path / 20 + 3 * 4 * 2 * 0.5))


def test_the_length_of_an_edge_is_that_of_a_helix():
    # L = N·√(H² + (2πr)²): Larson & Edwards, Calculus, arc length of a helix (memory); r 1, rise 2 a turn, 10 turns
    done = cut(kind="twisted", square=math.sqrt(2), length=20, turns=10)
    assert done["part"]["edge_length"] == pytest.approx(65.938166, abs=1e-5)
    assert done["part"]["helix_angle"] == pytest.approx(math.degrees(math.acos(20 / 65.938166)), abs=1e-5)


def test_the_coated_area_is_that_of_four_helicoid_strips():
    # ∫ √(1 + (ωu)²) du over each face, by Simpson's rule; more than girth × length
    done, rate = cut(coat="1/8", **SHAFT), math.pi / 60
    roots = [math.sqrt(1 + (rate * (-3 + 6 * i / 100)) ** 2) for i in range(101)]
    strip = 6 / 300 * sum(root * (1 if i in (0, 100) else 4 if i % 2 else 2) for i, root in enumerate(roots))
    assert done["coat_area"] == pytest.approx(4 * 60 * strip)
    assert done["coat_area"] > done["finished"]["coated_girth"] * 60
    assert cut(**SHAFT)["coat_area"] == 0


@settings(deadline=None)
@given(st.lists(st.floats(60, 150), min_size=4, max_size=9), st.floats(-200, 200), st.floats(0.1, 2), st.floats(0.5, 5))
def test_the_volume_is_what_a_mesh_of_the_twisted_foam_holds(radii, aside, turns, coat):
    # second method: Gauss's theorem on triangles; the coat by shapely's own offset
    done = work("mm", kind="twisted", section=star(radii, aside), length=1500, turns=turns, coat=coat)
    foam = Polygon(star(radii, aside)).buffer(-coat, join_style="mitre", mitre_limit=1000)
    ring = list(foam.exterior.normalize().coords)[:-1]
    ring = ring if Polygon(ring).exterior.is_ccw else ring[::-1]
    about = Polygon(star(radii, aside)).centroid
    held = meshed_volume([(x - about.x, y - about.y) for x, y in ring], 1500, turns)
    assert done.quantities.core_volume == pytest.approx(held, rel=3e-3)
    assert figures(done)["volume"] == done.quantities.core_volume


@settings(deadline=None)
@given(st.lists(st.floats(60, 150), min_size=4, max_size=9), st.floats(0.5, 5))
def test_the_turning_circle_holds_the_foam_in_every_turn(radii, coat):
    # second method: the smallest circle round the foam turned 24 times about the finished centroid
    section = star(radii, 200, 50)
    done = work("mm", kind="twisted", section=section, length=1500, turns=1, coat=coat)
    axis = Polygon(section).centroid
    swept = union_all([affinity.rotate(Polygon(done.foam.outline), 15 * i, origin=axis) for i in range(24)])
    assert figures(done)["turning_circle"] == pytest.approx(2 * minimum_bounding_radius(swept), rel=2e-3)
    blank = done.blanks[0].size
    assert min(blank.w, blank.h) > figures(done)["turning_circle"]
    assert done.foam.area <= done.finished.area


def test_the_axis_is_the_centroid_and_not_the_middle_of_the_box():
    # centroid of an angle 6 × 6 × 2, sum of rectangles: (12·3 + 8·1)/20 = 2.2; farthest corner (6, 0)
    assert cut(**CORNER)["part"]["turning_circle"] == pytest.approx(2 * math.hypot(3.8, 2.2), abs=1e-6)


def test_a_pair_is_one_of_each_hand_for_every_piece():
    done = cut(qty=3, **SHAFT | {"hand": "pair"})
    assert [(s["mark"], s["run"], s["qty"]) for s in done["sticks"]] == [("A1", "right", 3), ("A2", "left", 3)]
    assert (done["parts"], done["blanks"][0]["qty"]) == (6, 6)
    assert done["core_volume"] == pytest.approx(2 * cut(qty=3, **SHAFT)["core_volume"])
    assert done["wire_minutes"] == pytest.approx(2 * cut(qty=3, **SHAFT)["wire_minutes"])
    assert cut(**SHAFT | {"hand": "left"})["sticks"][0]["run"] == "left"


def test_the_picture_of_the_left_hand_is_the_mirror_of_the_right():
    done = work(**CORNER | {"hand": "pair"})
    right, right_side, left, left_side = done.views
    assert [view.name for view in (right, left)] == ["end, right hand", "end, left hand"]
    for a, b in ((right.foam[0], left.foam[0]), (right.lines[1], left.lines[1])):
        assert [(-x, y) for x, y in a] == list(b)
    assert right_side.lines != left_side.lines
    assert work(**CORNER | {"hand": "left"}).views[0].foam == left.foam


def test_a_right_hand_twist_goes_away_clockwise_and_falls_to_the_right_seen_from_the_side():
    # (cos t, sin t, ct) with c > 0 is right-handed: Wolfram MathWorld, Helix (memory). Seen along +z it goes clockwise;
    # held upright its near side rises to the right, so with z laid to the right it falls
    right, side, _, left_side = work(**SHAFT | {"hand": "pair"}).views
    near, farther = right.foam[0], right.lines[1]
    (x, y), (u, v) = near[0], farther[0]
    assert x * v - y * u < 0
    assert all(line[0][1] > line[-1][1] for line in side.lines)
    assert all(line[0][1] < line[-1][1] for line in left_side.lines)


def test_a_lathe_must_swing_the_blank_over_its_corners():
    (asks,) = work(rules=Rules(skim_other=0, end_trim=10), **SHAFT).asks
    assert (asks.swing, asks.centres) == pytest.approx((12 * IN, 60 * IN + 20))


def test_a_profile_of_the_library_may_be_the_section():
    raw = {"mark": "A", "grade": "EPS 1.0", "profile": "P1"} | {k: v for k, v in CORNER.items() if k != "section"}
    library = {"P1": {"section": ANGLE, "bare": "wall", "unit": "in"}}
    line = line_from_dict(raw, "in", Rules(), grades=PCF, profiles=library)
    assert KINDS["twisted"].work(line).part == work(**CORNER).part


@pytest.mark.parametrize(("inches", "millimetres"), [
    (SHAFT, {"square": 152.4, "length": 1524}),
    (CORNER, {"section": [[x * IN, y * IN] for x, y in ANGLE], "length": 1524}),
])  # fmt: skip
def test_a_job_in_millimetres_gives_the_same_part(inches, millimetres):
    same_part(work(coat="1/8", qty=2, **inches), work("mm", coat=3.175, qty=2, **inches | millimetres))
    inch, metric = cut(**inches)["part"], cut("mm", **inches | millimetres)["part"]
    assert metric["turning_circle"] == pytest.approx(inch["turning_circle"] * IN)
    assert (metric["volume"], metric["helix_angle"]) == pytest.approx((inch["volume"] * IN**3, inch["helix_angle"]))


@pytest.mark.parametrize(("unit", "line"), [
    ("in", SHAFT | {"square": "5 1/3", "turns": "1 1/3", "hand": "pair"}),
    ("in", CORNER | {"section": [[-3, -3], ["2 15/16", -3], [3, 3]], "hand": "left"}),
    ("mm", {"kind": "twisted", "square": 152.401, "length": 1500.5, "turns": 0.75}),
    ("in", CORNER | {"section": ANGLE[::-1]}),
])  # fmt: skip
def test_a_twisted_part_written_and_read_again_is_the_same(unit, line):
    first, second = written_again(unit, **line)
    assert first == second


def test_remarks_that_the_trade_needs_to_see():
    def codes(rules=None, **keys):
        return [note.code for note in work(rules=rules, **SHAFT | keys).notes]

    assert codes() == []
    assert [note.code for note in work(**CORNER).notes] == ["hollow-section"]
    assert codes(turns=10) == ["steep-twist"]
    assert codes(rules=Rules(block=Box(1000, 600, 600))) == ["blank-too-long"]


@pytest.mark.parametrize(("keys", "code", "where"), [
    ({"section": ANGLE}, "twisted-section", ""),
    ({"square": 152.4}, "range", "square"),  # mm typed in an inch file
    ({"square": 0}, "length-zero", "square"),
    ({"square": float("nan")}, "length", "square"),
    ({"square": 1, "coat": 0.5}, "coat-swallows-edge", "square"),
    ({"length": -60}, "length-negative", "length"),
    ({"length": 1524}, "range", "length"),
    ({"length": 120}, "part-too-long", "length"),
    ({"turns": 0}, "turns", "turns"),
    ({"turns": 101}, "turns", "turns"),
    ({"turns": -0.5}, "number", "turns"),
    ({"turns": "180°"}, "number", "turns"),
    ({"turns": "1/0"}, "number", "turns"),
    ({"turns": float("nan")}, "number", "turns"),
    ({"turns": True}, "number", "turns"),
    ({"hand": "both"}, "hand", "hand"),
    ({"hand": ["right"]}, "hand", "hand"),
    ({"bare": "none"}, "unknown-key", ""),
])  # fmt: skip
def test_a_twisted_part_that_cannot_be_cut_is_refused_at_its_place(keys, code, where):
    assert refusal(**SHAFT | keys) == (code, where)


@pytest.mark.parametrize(("section", "coat", "code", "where"), [
    ([[0, 0], [6, 0]], 0, "section-open", "section"),
    ([[0, 0], [6, 6], [6, 0], [0, 6]], 0, "section-crossing", "section"),
    ([[0, 0], [6, 0, 1], [6, 6]], 0, "list-size", "section[1]"),
    ([[0, 0], [152, 0], [152, 152]], 0, "range", "section"),
    (ANGLE, 1, "coat-swallows-edge", "section"),
])  # fmt: skip
def test_a_section_that_cannot_be_twisted_is_refused_at_its_place(section, coat, code, where):
    assert refusal(coat=coat, **CORNER | {"section": section}) == (code, where)


@pytest.mark.parametrize(("left_out", "code"), [
    ("square", "twisted-section"), ("length", "missing-key"), ("turns", "missing-key"),
])  # fmt: skip
def test_a_twisted_part_that_lacks_a_key_is_refused(left_out, code):
    assert refusal(**{key: value for key, value in SHAFT.items() if key != left_out}) == (code, "")


def test_a_left_part_of_a_crooked_section_is_listed_as_it_is_cut():
    crooked = {"section": [[0, 0], [6, 0], [6, 3], [0, 1]], "length": 60, "turns": 0.5}
    right, left = (cut(kind="twisted", hand=hand, **crooked) for hand in ("right", "left"))
    middle = right["foam"]["centroid_x"]
    mirrored = {(round(2 * middle - x, 4), round(y, 4)) for x, y in right["foam"]["outline"]}
    assert {(round(x, 4), round(y, 4)) for x, y in left["foam"]["outline"]} == mirrored
    assert "mirrored" in [note["code"] for note in left["notes"]]
    assert "mirrored" not in [note["code"] for note in right["notes"]]
