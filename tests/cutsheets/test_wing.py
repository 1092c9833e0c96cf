import json
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LinearRing, Polygon

from cutsheets.airfoils import naca
from cutsheets.cutlist import as_json, cut_list
from cutsheets.errors import CutsheetError
from cutsheets.files.job import read_job, write_job
from cutsheets.machines import Machine, lacks

IN = 25.4
WING = {
    "mark": "W", "kind": "wing", "grade": "EPS", "root": {"naca": "0012", "chord": 220},
    "tip": {"naca": "0012", "chord": 150}, "span": 700, "sweep": 40, "washout": 0, "hands": ["left", "right"],
    "margin": {"ahead": 8, "behind": 8, "above": 5, "below": 5}, "towers": {"gap": 1300, "root_offset": 150},
    "stations": [0.3],
}  # fmt: skip
DIAMOND = [[0, 0], [40, -8], [100, 0], [40, 8]]


def job(unit="mm", shop=None, **keys):
    line = {name: value for name, value in (WING | keys).items() if value is not None}
    return read_job(
        {"format": "blockyard-job-1", "unit": unit, "grades": {"EPS": {"density": 20 if unit == "mm" else 1.25}},
         "shop": shop or {}, "lines": [line]}
    )  # fmt: skip


def work(**keys):
    return cut_list(job(**keys))[0]


def listed(**keys):
    read = job(**keys)
    return as_json(read, cut_list(read))["lines"][0]


def codes(done):
    return [note.code for note in done.notes]


def test_a_tapered_wing_of_one_section_is_the_frustum_of_a_cone():
    # both sections alike, so V = span/3·(A1 + √(A1·A2) + A2), frustum; area of 0012: closed form, NACA Report 460
    part = listed()["part"]
    root, tip = 0.08221 * 220**2, 0.08221 * 150**2
    assert (part["root_area"], part["tip_area"]) == pytest.approx((root, tip), rel=1e-4)
    assert part["volume"] == pytest.approx(700 / 3 * (root + math.sqrt(root * tip) + tip), rel=1e-4)
    assert part["mass"] == pytest.approx(part["volume"] / 1e9 * 20, abs=1e-6)


def test_the_two_ends_of_the_wire_run_as_the_chords_stand_to_each_other():
    # T2: same time at both ends; chords 300 and 180
    ends = {"root": {"naca": "2412", "chord": 300}, "tip": {"naca": "0012", "chord": 180}}
    assert listed(**ends)["part"]["speed_ratio"] == pytest.approx(1.666667, abs=1e-6)


def test_the_wire_stands_at_the_towers_on_the_line_through_both_ends():
    # similar triangles, worked out apart from the code: a straight line through 150 and 850 mm, read at 0 and 1300
    row = listed()["part"]["stations"][0]
    assert row["at"] == 0.3
    assert row["root"] == pytest.approx([66, 0.06001727 * 220], abs=1e-3)  # half thickness: NACA Report 460
    assert row["tip"] == pytest.approx([40 + 45, 0.06001727 * 150], abs=1e-3)
    for axis in (0, 1):
        line = np.polyfit([150, 850], [row["root"][axis], row["tip"][axis]], 1)
        towers = [row["left_tower"][axis], row["right_tower"][axis]]
        assert towers == pytest.approx(np.polyval(line, [0, 1300]), abs=1e-5)


def test_the_machine_must_reach_over_both_surfaces_at_both_towers():
    done = work(tip={"naca": "0012", "chord": 220}, sweep=70)
    (asks,) = done.asks
    # the wing is swept 70 in 700, so the wire moves on by 0.1 mm for each mm between the towers, besides one chord
    assert (asks.wire, asks.travel) == pytest.approx((1300, 220 + 130), abs=1e-6)
    assert asks.height == pytest.approx(26.407, abs=2e-3)  # the same section at both towers: 12 % of 220
    assert lacks(asks, Machine("short", wire=1200, travel=300), "mm") == (
        "wire: needs 1300, has 1200", "cross-travel: needs 350, has 300",
    )  # fmt: skip


def test_the_blank_holds_both_ends_the_margins_and_the_trim():
    shop = {"end_trim": 10, "skim": 99, "blank_step": 0}
    blank = work(shop=shop, sweep=100, hands=["left"]).blanks[0].size
    # the tip reaches from 100 to 250, the root from 0 to 220; thickness 12 % of 220
    assert (blank.l, blank.w, blank.h) == pytest.approx((720, 250 + 16, 0.1200337 * 220 + 10), abs=2e-3)
    skimmed = work(shop=shop | {"skim": 6}, margin={"ahead": 20}, sweep=0).blanks[0].size
    assert (skimmed.w, skimmed.h) == pytest.approx((220 + 26, 0.1200337 * 220 + 12), abs=2e-3)
    stepped = work(shop=shop | {"blank_step": 25}, sweep=100).blanks[0].size
    assert (stepped.l, stepped.w, stepped.h) == (725, 275, 50)


def test_washout_turns_the_tip_nose_down_about_its_quarter_chord():
    plank = {"section": [[0, -3], [100, -3], [100, 3], [0, 3]]}
    done = listed(root=plank, tip=plank, sweep=0, washout=5, stations=[0, 0.25, 1])["part"]["stations"]
    nose, quarter, tail = (row["tip"] for row in done)
    turn = math.radians(5)
    assert quarter == pytest.approx([25 - 3 * math.sin(turn), 3 * math.cos(turn)], abs=1e-5)
    assert nose[1] == pytest.approx(quarter[1] - 25 * math.sin(turn), abs=1e-5)  # the sign: nose down, tail up
    assert tail[1] == pytest.approx(quarter[1] + 75 * math.sin(turn), abs=1e-5)
    assert [row["root"] for row in done] == [[0, 3], [25, 3], [100, 3]]


def test_cores_are_cut_in_pairs_that_mirror_each_other():
    done = work(qty=3)
    assert [(stick.mark, stick.run, stick.qty) for stick in done.sticks] == [("W1", "left", 3), ("W2", "right", 3)]
    assert (done.parts, done.blanks[0].qty) == (6, 6)
    left, _, right, _ = done.views
    assert right.foam[0] == tuple((-x, y) for x, y in left.foam[0])
    words = [{name: at for at, name in view.labels} for view in (left, right)]
    assert {"left wing", "leading edge"} <= words[0].keys()
    # the root lies at the left tower of a left wing; for the right one the towers have changed places
    assert words[0]["root, left tower"][0] < words[0]["left wing"][0] < words[0]["tip, right tower"][0]
    assert words[1]["tip, left tower"][0] < words[1]["right wing"][0] < words[1]["root, right tower"][0]
    assert words[0]["leading edge"][1] < words[0]["left wing"][1]


def test_a_single_hand_is_cut_alone_and_asked_about():
    done = work(hands=["right"], qty=2)
    assert (done.parts, [stick.run for stick in done.sticks]) == (2, ["right"])
    assert {"pairs", "hand", "beds"} <= set(codes(done))
    # root at the left tower: the leading edge of a right wing is then away from the reader
    words = {name: at for at, name in done.views[0].labels}
    assert words["leading edge"][1] > words["right wing"][1]
    assert words["root, left tower"][0] < words["tip, right tower"][0]
    assert "pairs" not in codes(work())


def test_the_skin_comes_off_both_surfaces_and_the_foam_stops_short_of_the_tail():
    bare, skinned = work(), work(coat=2)
    assert skinned.finished == bare.foam
    assert bare.foam.h - skinned.foam.h == pytest.approx(4, abs=0.01)
    assert skinned.foam.w < bare.foam.w - 2 - 5
    (note,) = (note for note in skinned.notes if note.code == "trailing-edge")
    assert "12.8 mm ahead of the trailing edge at the root" in note.text
    assert skinned.quantities.core_volume < bare.quantities.core_volume
    assert bare.quantities.coat_area == 0
    # both skins of a wing about as large as its planform, 2 cores
    assert skinned.quantities.coat_area == pytest.approx(2 * 2 * 700 * (220 + 150) / 2, rel=0.03)


def test_quantities_are_those_of_all_cores_and_the_wire_goes_round_the_middle_section():
    done, girths = work(qty=2), [LinearRing(naca("0012", chord)).length for chord in (220, 150)]
    volume = next(figure.value for figure in done.part if figure.key == "volume")
    assert done.quantities.core_volume == pytest.approx(4 * volume)
    assert done.quantities.wire_length == pytest.approx(4 * sum(girths) / 2)
    assert done.quantities.wire_minutes == pytest.approx(done.quantities.wire_length / 508 + 8 * 0.5)
    assert done.quantities.core_volume < done.quantities.blank_volume


def slice_areas(root, tip, shares):
    """Return the areas of wing sections between two rings, by interpolating both surfaces at 4,000 shares."""
    at = np.linspace(0, 1, 4001)
    ends = []
    for ring, chord, turn, sweep in (root, tip):
        nose = min(range(len(ring)), key=lambda i: ring[i][0])
        upper, lower = np.array(ring[: nose + 1])[::-1], np.array(ring[nose:])
        sides = [np.column_stack((chord * at, np.interp(chord * at, *side.T))) for side in (upper, lower)]
        points = np.concatenate((sides[0][::-1], sides[1])) - (chord / 4, 0)
        spin = np.array([[math.cos(turn), -math.sin(turn)], [math.sin(turn), math.cos(turn)]])
        ends.append(points @ spin.T + (chord / 4 + sweep, 0))
    return [Polygon((1 - share) * ends[0] + share * ends[1]).area for share in shares]


@settings(max_examples=25, deadline=None)
@given(
    st.sampled_from(["0012", "2412", "4415", "0009", "6318"]), st.sampled_from(["0012", "1408", "2424", "0020"]),
    st.floats(120, 400), st.floats(60, 300), st.floats(100, 1500), st.floats(0, 300), st.floats(-8, 8),
)  # fmt: skip
def test_the_volume_is_that_of_a_hundred_slices(root, tip, big, small, span, sweep, washout):
    # second method: sections interpolated surface by surface and measured by shapely, added up along the span
    part = listed(
        root={"naca": root, "chord": big}, tip={"naca": tip, "chord": small}, span=span, sweep=sweep, washout=washout,
        towers={"gap": span + 500, "root_offset": 200}, hands=["left"],
    )["part"]  # fmt: skip
    shares = np.linspace(0, 1, 101)
    turn = math.radians(washout)
    areas = slice_areas((naca(root, big), big, 0, 0), (naca(tip, small), small, turn, sweep), shares)
    assert part["volume"] == pytest.approx(np.trapezoid(areas, shares * span), rel=1e-3)


@settings(max_examples=25, deadline=None)
@given(st.floats(0, 3), st.floats(0, 12), st.floats(0, 200), st.integers(1, 9))
def test_finished_foam_and_blank_lie_inside_each_other(coat, washout, sweep, qty):
    done = work(coat=coat, washout=washout, sweep=sweep, qty=qty)
    for small, large in ((done.foam, done.finished), (done.foam, done.blanks[0].size)):
        assert all(a <= b + 1e-6 for a, b in zip((small.l, small.w, small.h), (large.l, large.w, large.h), strict=True))
    assert sum(blank.qty for blank in done.blanks) == done.parts == 2 * qty
    for view in done.views:
        inner, outer = Polygon(view.foam[0]), Polygon(view.blank[0])
        assert inner.difference(outer).area < 1e-6


def test_a_drawn_section_may_meet_a_naca_section_or_one_with_other_points():
    mixed = listed(root={"section": DIAMOND}, tip={"naca": "0012", "chord": 100}, sweep=0)["part"]
    assert (mixed["root_area"], mixed["tip_area"]) == pytest.approx((800, 822.1), rel=1e-4)
    kite = [[100, 0], [70, 6], [40, 8], [0, 0], [40, -8]]
    two = listed(root=DIAMOND, tip={"section": kite}, sweep=0)["part"]
    assert two["tip_area"] == pytest.approx(Polygon(kite).area)
    # every rib lies between two ribs whose shares of the chord are the same, so its area is a mean of both
    assert two["volume"] == pytest.approx(700 * (800 + Polygon(kite).area) / 2)


def test_an_inch_file_gives_the_same_wing_as_one_in_millimetres():
    sizes = {
        "root": {"naca": "0012", "chord": "220 mm"}, "tip": {"naca": "0012", "chord": "150 mm"}, "span": "700 mm",
        "sweep": "40 mm", "margin": dict.fromkeys(("ahead", "behind", "above", "below"), "8 mm"), "coat": "1 mm",
        "towers": {"gap": "1300 mm", "root_offset": "150 mm"},
    }  # fmt: skip
    inch, mm = listed(unit="in", **sizes), listed(**sizes)
    assert inch["part"]["volume"] * IN**3 == pytest.approx(mm["part"]["volume"], rel=1e-5)
    assert inch["part"]["stations"][0]["right_tower"][0] * IN == pytest.approx(
        mm["part"]["stations"][0]["right_tower"][0], abs=1e-4
    )
    assert inch["part"]["speed_ratio"] == pytest.approx(mm["part"]["speed_ratio"])


@pytest.mark.parametrize("unit", ["in", "mm"])
@pytest.mark.parametrize("keys", [
    {}, {"root": [[0, 0], [40, -8], [100, 0], [40, 8]]}, {"tip": {"section": DIAMOND[::-1]}, "hands": ["right"]},
    {"margin": {"above": 3}}, {"margin": None, "sweep": None, "washout": None, "hands": None, "stations": None},
    {"washout": -2.5, "stations": [0, 0.25, 1], "qty": 4, "coat": "1 mm"},
])  # fmt: skip
def test_a_wing_is_written_as_it_was_read(unit, keys):
    small = {"root": {"naca": "2412", "chord": 22}, "tip": {"naca": "0012", "chord": 15}} if unit == "in" else {}
    long = {"span": 70, "towers": {"gap": 130, "root_offset": 15}} if unit == "in" else {}
    margin = {"margin": {"ahead": 1, "behind": 1, "above": 1, "below": 1}} if unit == "in" else {}
    read = job(unit=unit, **(small | long | margin | keys))
    written = json.loads(json.dumps(write_job(read)))
    assert read_job(written) == read
    assert cut_list(read_job(written))[0].part == cut_list(read)[0].part


def test_remarks_that_the_trade_needs_to_see():
    assert codes(work()) == ["hand", "beds"]
    swapped = work(root={"naca": "0012", "chord": 150}, tip={"naca": "0012", "chord": 220})
    assert "tip-larger" in codes(swapped)
    assert "nose-up" in codes(work(washout=-1))
    assert "no-skim" in codes(work(margin={"above": 0}))
    assert "towers-near" in codes(work(towers={"gap": 1300, "root_offset": 0}))
    assert "blank-too-long" in codes(work(shop={"block": [600, 600, 600]}))
    assert all(len(note.text) <= 200 for note in swapped.notes)
    assert "indoor-foam" not in [note["code"] for note in listed()["notes"]]
    assert "fumes" in [note["code"] for note in listed()["notes"]]


@pytest.mark.parametrize(("keys", "code", "where"), [
    ({"root": None}, "missing-key", ""),
    ({"tip": {"naca": "0012"}}, "missing-key", "tip"),
    ({"tip": {"naca": "0012", "chord": 150, "sweep": 3}}, "unknown-key", "tip"),
    ({"tip": {"section": DIAMOND, "chord": 150}}, "unknown-key", "tip"),
    ({"root": "0012"}, "not-an-object", "root"),
    ({"root": {"naca": 2412, "chord": 220}}, "naca", "root.naca"),
    ({"root": {"naca": "24", "chord": 220}}, "naca", "root.naca"),
    ({"tip": {"naca": "0012", "chord": 0}}, "length-zero", "tip.chord"),
    ({"tip": {"naca": "0012", "chord": -5}}, "length-negative", "tip.chord"),
    ({"tip": {"naca": "0012", "chord": math.nan}}, "length", "tip.chord"),
    ({"tip": {"naca": "0012", "chord": 3}}, "range", "tip.chord"),
    ({"root": {"naca": "0012", "chord": 22000}}, "range", "root.chord"),
    ({"tip": {"section": [[0, 0], [100, 9]]}}, "section-open", "tip.section"),
    ({"tip": [[0, 0], [100, 0], [0, 8], [100, 8]]}, "section-crossing", "tip"),
    ({"tip": {"section": [[x + 20, y] for x, y in DIAMOND]}}, "wing-section", "tip.section"),
    ({"tip": {"section": [[0, 0], [60, -8], [100, 0], [50, 2], [50, 8]]}}, "wing-section", "tip.section"),
    ({"tip": {"section": [[0, 0], ["x", 1], [100, 0]]}}, "length", "tip.section[1]"),
    ({"span": None}, "missing-key", ""),
    ({"span": 0}, "length-zero", "span"),
    ({"span": 70000}, "range", "span"),
    ({"sweep": -4}, "length-negative", "sweep"),
    ({"sweep": 40000}, "range", "sweep"),
    ({"washout": 45}, "washout", "washout"),
    ({"washout": "x"}, "angle", "washout"),
    ({"hands": []}, "list-size", "hands"),
    ({"hands": ["left", "left"]}, "hands", "hands"),
    ({"hands": "left"}, "not-a-list", "hands"),
    ({"hands": ["port"]}, "hands", "hands"),
    ({"margin": {"front": 3}}, "unknown-key", "margin"),
    ({"margin": {"ahead": 800}}, "range", "margin.ahead"),
    ({"margin": 8}, "not-an-object", "margin"),
    ({"towers": None}, "missing-key", ""),
    ({"towers": {"gap": 1300}}, "missing-key", "towers"),
    ({"towers": {"gap": 800, "root_offset": 150}}, "towers-gap", "towers.gap"),
    ({"towers": {"gap": 80000, "root_offset": 150}}, "range", "towers.gap"),
    ({"stations": [1.2]}, "station", "stations[0]"),
    ({"stations": [0.3, True]}, "station", "stations[1]"),
    ({"stations": [math.nan]}, "station", "stations[0]"),
    ({"stations": 0.3}, "not-a-list", "stations"),
    ({"section": DIAMOND}, "unknown-key", ""),
    ({"coat": 12}, "coat-swallows-section", "tip"),
    ({"profile": "X"}, "profile", "profile"),
])  # fmt: skip
def test_what_cannot_be_cut_is_refused_at_its_place(keys, code, where):
    with pytest.raises(CutsheetError) as caught:
        work(**keys)
    assert (caught.value.code, caught.value.where) == (code, f"lines[0].{where}".rstrip("."))


@pytest.mark.parametrize(
    ("chord", "at", "half"), [(1000, 0.1, 4.68277), (3000, 0.0125, 1.893903), (3000, 0.3, 6.001727)]
)
def test_a_station_lies_on_the_curve_whatever_the_chord(chord, at, half):
    # NACA Report 460: half thickness of 0012 in per cent of the chord
    plank = {"naca": "0012", "chord": chord}
    [row] = listed(root=plank, tip=plank, sweep=0, stations=[at])["part"]["stations"]
    assert row["root"] == pytest.approx([at * chord, half * chord / 100], abs=1e-6 * chord)
