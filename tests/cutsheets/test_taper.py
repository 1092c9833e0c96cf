import math

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from shapely import Polygon

from cutsheets.rules import Rules
from cutsheets.solids import Box
from cutsheets.volumes import between
from tests.cutsheets.kind_jobs import IN, cut, figures, refusal, same_part, work, written_again

ROUND = {"kind": "taper", "base": {"round": 10}, "top": {"round": 7}, "length": 72}
BASE, TOP = [[0, 0], [10, 0], [10, 8], [0, 8]], [[2, 1], [8, 1], [8, 5], [2, 5]]
NEWEL = {"kind": "taper", "base": BASE, "top": TOP, "length": 72}
TIGHT = Rules(skim_wall=0, skim_other=0, end_trim=0)


def ring(radii, dx, dy):
    turn = 2 * math.pi / len(radii)
    return [[dx + r * math.cos(i * turn), dy + r * math.sin(i * turn)] for i, r in enumerate(radii)]


def frustum(length, r, s):
    return math.pi * length / 3 * (r * r + r * s + s * s)


def test_a_round_taper_is_the_frustum_of_a_cone():
    # V = πh/3·(R² + Rr + r²), S = π(R + r)·s: Machinery's Handbook, Volumes of Solids: Frustum of Cone (memory)
    done = cut(coat="1/8", qty=3, **ROUND)
    slant = math.hypot(72, 1.5)
    assert done["part"] == {
        "foam_base": 9.75, "foam_top": 6.75, "volume": pytest.approx(frustum(72, 4.875, 3.375), abs=1e-5),
        "slant": pytest.approx(slant, abs=1e-6),
        "half_angle": pytest.approx(math.degrees(math.atan(1.5 / 72)), abs=1e-6),
    }  # fmt: skip
    assert (done["finished"], done["foam"]) == ({"l": 72, "w": 10, "h": 10}, {"l": 72, "w": 9.75, "h": 9.75})
    assert done["blanks"] == [{"l": 73, "w": 10.25, "h": 10.25, "qty": 3, "marks": ["A1"]}]
    assert done["core_volume"] == pytest.approx(3 * frustum(72, 4.875, 3.375))
    assert done["coat_area"] == pytest.approx(3 * math.pi * (5 + 3.5) * slant)
    assert (done["wire_length"], done["wire_minutes"]) == pytest.approx(
        (3 * math.pi * 9.75, 3 * (math.pi * 9.75 / 20 + 2 * 0.5))
    )


def test_the_bigger_end_may_be_the_top():
    done = work(**ROUND | {"base": {"round": 7}, "top": {"round": 10}})
    assert done.quantities.core_volume / IN**3 == pytest.approx(frustum(72, 5, 3.5))
    assert "TOP is the bigger" in done.notes[0].text
    assert "BASE is the bigger" in work(**ROUND).notes[0].text
    assert work(**ROUND | {"top": {"round": 10}}).notes == ()


def test_two_sections_by_the_prismoidal_formula():
    # V = L/6·(A₁ + 4·Aₘ + A₂) with the middle section 8 × 6: Machinery's Handbook, Prismoidal Formula (memory)
    done = cut(**NEWEL)
    assert done["part"] == {
        "foam_base": [10, 8], "foam_top": [6, 4], "volume": 72 / 6 * (80 + 4 * 48 + 24),
        "slant": pytest.approx(math.sqrt(72**2 + 2**2 + 3**2), abs=1e-6),
        "half_angle": pytest.approx(math.degrees(math.atan2(math.hypot(2, 3), 72)), abs=1e-6),
    }  # fmt: skip
    assert done["blanks"][0] == {"l": 73, "w": 10.5, "h": 8.5, "qty": 1, "marks": ["A1"]}


def test_the_coat_of_a_section_comes_off_every_face_but_the_ends():
    done = cut(coat="1/8", **NEWEL)
    assert (done["part"]["foam_base"], done["part"]["foam_top"]) == ([9.75, 7.75], [5.75, 3.75])
    assert (done["finished"]["l"], done["foam"]["l"]) == (72, 72)
    # four plane faces, each a trapezium of its own slant height
    low, high, side = (math.hypot(72, d) for d in (1, 3, 2))
    assert done["coat_area"] == pytest.approx((10 + 6) / 2 * (low + high) + 2 * (8 + 4) / 2 * side)


def test_a_top_that_lies_aside_makes_the_blank_larger():
    aside = [[x + 6, y + 5] for x, y in TOP]
    size = work(rules=TIGHT, **NEWEL | {"top": aside}).blanks[0].size
    assert _sides(size) == pytest.approx((72 * IN, 14 * IN, 10 * IN))


@settings(deadline=None)
@given(
    st.lists(st.tuples(st.floats(60, 150), st.floats(60, 150)), min_size=4, max_size=9),
    st.floats(-80, 80), st.floats(-80, 80), st.floats(0.5, 6), st.floats(200, 2000),
)  # fmt: skip
def test_the_volume_is_what_slices_along_the_length_add_up_to(radii, dx, dy, coat, length):
    # second method: areas of 200 slices between shapely's own offsets of both ends, midpoint rule
    ends = [ring([pair[i] for pair in radii], dx * i, dy * i) for i in (0, 1)]
    done = work("mm", kind="taper", base=ends[0], top={"section": ends[1]}, length=length, coat=coat)
    foam = [Polygon(end).buffer(-coat, join_style="mitre", mitre_limit=1000) for end in ends]
    outlines = [_begun_at(list(part.exterior.coords)[:-1], end[0]) for part, end in zip(foam, ends, strict=True)]
    assume({len(outline) for outline in outlines} == {len(radii)})  # shapely leaves out points on a straight line
    slices = math.fsum(Polygon(between(*outlines, (i + 0.5) / 200)).area for i in range(200)) / 200 * length
    assert figures(done)["volume"] == pytest.approx(slices, rel=1e-4)
    assert all(a + 1e-6 >= b for a, b in zip(_sides(done.finished), _sides(done.foam), strict=True))
    assert all(a > b for a, b in zip(_sides(done.blanks[0].size), _sides(done.foam), strict=True))


def _begun_at(outline, near):
    """Return a ring, counter-clockwise, begun at its point nearest to another."""
    points = outline if Polygon(outline).exterior.is_ccw else outline[::-1]
    first = min(range(len(points)), key=lambda i: math.dist(points[i], near))
    return points[first:] + points[:first]


def _sides(box):
    return box.l, box.w, box.h


@settings(deadline=None)
@given(st.floats(30, 900), st.floats(30, 900), st.floats(0, 10), st.floats(100, 2400))
def test_a_round_taper_is_what_its_slices_add_up_to(base, top, coat, length):
    # second method: 500 discs, midpoint rule
    done = work("mm", kind="taper", base={"round": base}, top={"round": top}, length=length, coat=coat)
    squares = [((base + (top - base) * (i + 0.5) / 500) / 2 - coat) ** 2 for i in range(500)]
    assert done.quantities.core_volume == pytest.approx(math.pi * length / 500 * math.fsum(squares), rel=1e-4)


def test_points_typed_clockwise_keep_their_mates():
    clockwise = work(base=BASE[::-1], top=TOP[::-1], kind="taper", length=72)
    same_part(clockwise, work(**NEWEL))
    assert figures(work(**NEWEL | {"base": {"section": BASE}})) == figures(work(**NEWEL))


@pytest.mark.parametrize(("inches", "millimetres"), [
    (ROUND, {"base": {"round": 254}, "top": {"round": 177.8}, "length": 1828.8}),
    (NEWEL, {
        "base": [[x * IN, y * IN] for x, y in BASE], "top": {"section": [[x * IN, y * IN] for x, y in TOP]},
        "length": 1828.8,
    }),
])  # fmt: skip
def test_a_job_in_millimetres_gives_the_same_taper(inches, millimetres):
    same_part(work(coat="1/8", qty=2, **inches), work("mm", coat=3.175, qty=2, **inches | millimetres))
    inch, metric = cut(**inches)["part"], cut("mm", **inches | millimetres)["part"]
    assert metric["volume"] == pytest.approx(inch["volume"] * IN**3)
    assert metric["half_angle"] == pytest.approx(inch["half_angle"])


@pytest.mark.parametrize(("unit", "line"), [
    ("in", ROUND | {"top": {"round": "7 1/3"}}),
    ("in", NEWEL | {"base": {"section": [[-5, -4], [5, -4], ["5 1/16", 4], [-5, 4]]}}),
    ("mm", {"kind": "taper", "base": {"round": 254.001}, "top": {"round": 100}, "length": 900}),
    ("in", NEWEL | {"base": BASE[::-1], "top": TOP[::-1]}),
])  # fmt: skip
def test_a_taper_written_and_read_again_is_the_same(unit, line):
    first, second = written_again(unit, **line)
    assert first == second


def test_an_end_that_breaks_in_the_hand_and_a_blank_without_a_block_are_remarked():
    pointed = work(**ROUND | {"top": {"round": "1/4"}}, rules=Rules(block=Box(1000, 600, 600)))
    assert [note.code for note in pointed.notes] == ["bigger-end", "thin-foam", "blank-too-long"]


def test_the_machine_must_take_the_length_and_the_box_round_both_ends():
    (asks,) = work(rules=TIGHT, **NEWEL).asks
    assert (asks.wire, asks.travel, asks.height) == pytest.approx((76 * IN, 10 * IN, 8 * IN))


def test_the_pictures_name_both_ends():
    side, ends = work(coat="1/8", **NEWEL).views
    assert [words for _, words in side.labels] == ["BASE", "TOP"]
    assert side.labels[0][0][0] < side.labels[1][0][0]
    assert side.foam[0][0] == pytest.approx((0, 0.125 * IN))
    assert side.foam[0][1] == pytest.approx((72 * IN, 1.125 * IN))
    measured = [(one.of, round(math.dist(one.a, one.b) / IN, 4)) for one in side.sizes]
    assert measured == [
        ("foam", 72), ("blank", 73), ("blank", 8.25), ("foam", 7.75), ("foam", 3.75), ("finished", 8), ("finished", 4),
    ]  # fmt: skip
    assert {words for _, words in ends.labels} == {"BASE", "TOP"}
    swapped = work(kind="taper", base=TOP, top=BASE, length=72).views[1]
    assert Polygon(swapped.foam[0]).area > Polygon(swapped.lines[0]).area  # the bigger end fills the picture


@pytest.mark.parametrize(("keys", "code", "where"), [
    ({"base": {"round": 254}}, "range", "base.round"),  # mm typed in an inch file
    ({"base": {"round": 0}}, "length-zero", "base.round"),
    ({"top": {"round": -7}}, "length-negative", "top.round"),
    ({"top": {"round": float("inf")}}, "length", "top.round"),
    ({"base": {"round": 0.4}, "top": {"round": 0.3}}, "range", "base"),
    ({"length": 1828.8}, "range", "length"),
    ({"length": 0}, "length-zero", "length"),
    ({"length": 120}, "part-too-long", "length"),
    ({"base": BASE}, "taper-end", "top"),
    ({"base": {"round": 10, "section": BASE}}, "taper-end", "base"),
    ({"base": {}}, "taper-end", "base"),
    ({"base": {"square": 10}}, "unknown-key", "base"),
    ({"base": 10}, "taper-end", "base"),
    ({"top": {"round": 0.5}, "coat": 0.25}, "coat-swallows-end", "top"),
    ({"bare": "none"}, "unknown-key", ""),
])  # fmt: skip
def test_a_round_taper_that_cannot_be_cut_is_refused_at_its_place(keys, code, where):
    assert refusal(**ROUND | keys) == (code, where)


@pytest.mark.parametrize(("keys", "code", "where"), [
    ({"top": TOP[:3]}, "taper-points", "top"),
    ({"top": TOP[::-1]}, "taper-crossing", "top"),
    ({"top": TOP[2:] + TOP[:2]}, "taper-crossing", "top"),  # turned by half: all lines meet in the middle
    ({"top": [[0, 0], [5, 5], [5, 0], [0, 5]]}, "section-crossing", "top"),
    ({"base": [[0, 0], [10, 0], [10, None], [0, 8]]}, "length", "base[2]"),
    ({"base": [[0, 0], [254, 0], [254, 200], [0, 200]]}, "range", "base"),
    ({"top": TOP, "coat": 1, "base": [[0, 0], [10, 0], [10, 1.5], [0, 1.5]]}, "coat-swallows-edge", "base"),
])  # fmt: skip
def test_sections_that_no_wire_can_join_are_refused_at_their_place(keys, code, where):
    assert refusal(**NEWEL | keys) == (code, where)


@pytest.mark.parametrize("left_out", ["base", "top", "length"])
def test_a_taper_that_lacks_a_key_is_refused(left_out):
    assert refusal(**{key: value for key, value in ROUND.items() if key != left_out})[0] == "missing-key"


def test_both_counts_of_points_are_named():
    with pytest.raises(ValueError, match="base has 4 points and the top 3"):
        work(**NEWEL | {"top": TOP[:3]})


def test_a_coat_that_takes_a_point_whose_mate_stays_is_refused():
    curved = [[0, 0], [10, 0], [10, 8], [9.9, 8.01], [0, 8]]
    mate = [[2, 1], [8, 1], [8, 5], [6, 5.2], [2, 5]]
    assert refusal(kind="taper", base=curved, top=mate, length=72, coat=0.25) == ("taper-coat", "base")
