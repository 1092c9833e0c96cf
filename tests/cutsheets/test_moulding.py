import json
import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cutsheets.errors import CutsheetError
from cutsheets.files.job import line_from_dict, read_job, write_job
from cutsheets.kinds import KINDS
from cutsheets.rules import Rules
from cutsheets.solids import Box
from cutsheets.units import MM3_PER_CUBIC_INCH, board_feet, pounds

IN = 25.4
PCF = {"EPS 1.0": 16.01846337396}
STEPPED = [[0, 0], [2, 0], [2, 3], [5, 3], [5, 6], [8, 6], [8, 9], [0, 9]]
OUT = {"outside": 90}
RULES = Rules()


def work(rules=RULES, unit="in", **keys):
    raw = {"mark": "A", "kind": "moulding", "grade": "EPS 1.0", "section": STEPPED} | keys
    return KINDS["moulding"].work(line_from_dict(raw, unit, rules, grades=PCF))


def inches(box):
    return tuple(round(side / IN, 6) for side in (box.l, box.w, box.h))


def refusal(**keys):
    with pytest.raises(CutsheetError) as caught:
        work(**keys)
    return caught.value


def wall(length, left=OUT, right=OUT, **more):
    return {"name": "north", "wall": length, "left": left, "right": right} | more


def test_the_cornice_of_a_theatre_front_is_worked_out_whole():
    # the stepped section of P5 with 1/8 in coat, eight runs between outside corners; every figure by hand:
    # core = 41.90625 · (3072 + 16 · 3.011326), coat = 25 · 3072 + 16 · 109 (first moment of the coated girth)
    done = work(coat="1/8", runs=[wall(480, qty=4), wall(288, qty=4)])
    amounts = done.quantities
    assert done.parts == 40
    assert [(inches(blank.size), blank.qty) for blank in done.blanks] == [
        ((97, 8.375, 9.25), 24), ((56.875, 8.375, 9.25), 16),
    ]  # fmt: skip
    assert amounts.core_volume / float(MM3_PER_CUBIC_INCH) == pytest.approx(130755.09, abs=0.005)
    assert amounts.blank_volume / float(MM3_PER_CUBIC_INCH) == pytest.approx(250843.8, abs=0.05)
    assert (board_feet(amounts.core_volume), board_feet(amounts.blank_volume)) == pytest.approx(
        (908.02, 1741.97), abs=0.005
    )
    assert pounds(amounts.core_mass) == pytest.approx(75.67, abs=0.005)
    assert amounts.coat_area / IN**2 == pytest.approx(78544)
    # wire: once round the foam of each of 40 sticks, 2 · (7.875 + 8.75); at 20 in/min, two half minutes a stick
    assert (amounts.wire_length / IN, amounts.wire_minutes) == pytest.approx((40 * 33.25, 40 * 33.25 / 20 + 40))


def test_the_volume_of_a_mitred_prism_follows_its_centroid():
    # M8: A·(L_back + Σ x̄·tan(turn/2)) = 24 · (100 + 2 · 2); Pappus-type first moment
    block = [[0, 0], [4, 0], [4, 6], [0, 6]]
    long_sticks = Rules(longest_stick=200 * IN)
    done = work(long_sticks, section=block, bare="none", runs=[wall(100)])
    assert done.quantities.core_volume / IN**3 == pytest.approx(2496)
    inside = work(long_sticks, section=block, runs=[wall(100, {"inside": 90}, {"inside": 90})])
    assert inside.quantities.core_volume / IN**3 == pytest.approx(24 * 96)


def test_splicing_changes_neither_the_foam_nor_the_coat():
    spliced, whole = (work(Rules(longest_stick=n * IN), coat="1/8", runs=[wall(400)]) for n in (96, 900))
    assert spliced.quantities.core_volume == pytest.approx(whole.quantities.core_volume)
    assert spliced.quantities.coat_area == pytest.approx(whole.quantities.coat_area)
    assert spliced.parts > whole.parts == 1


def test_pieces_are_marked_along_the_wall_from_left_to_right():
    done = work(runs=[wall(200, "cap"), wall(60, "square", "square", qty=2)], pieces=[{"length": 40, "qty": 3}], qty=2)
    assert [(stick.mark, stick.qty, stick.run) for stick in done.sticks] == [
        ("A1", 2, "north"), ("A2", 2, "north"), ("A3", 2, "north"), ("A4", 4, "north"), ("A5", 6, ""),
    ]  # fmt: skip
    assert (done.sticks[0].left.kind, done.sticks[0].right.kind, done.sticks[2].right.angle) == ("cap", "splice", 90)
    assert done.parts == 16


def test_a_window_surround_of_four_mitred_sides():
    flat = [[0, 0], [2, 0], [2, 5], [0, 5]]
    done = work(section=flat, coat="1/8", frames=[{"width": 30, "height": 44, "qty": 6}])
    sides = [(s.side, s.qty, round(s.foam_short / IN, 6), round(s.foam_long / IN, 6)) for s in done.frames]
    assert sides == [
        ("head/sill", 12, 30.25, 39.75), ("leg", 12, 44.25, 53.75),
    ]  # fmt: skip
    # foam 1.875 × 4.75: each side is as long as its middle line, opening + 2 · 2.5
    assert done.quantities.core_volume / IN**3 == pytest.approx(12 * 1.875 * 4.75 * (35 + 49))
    # coated: front 5 wide at its middle line, inner edge 2 at the opening, outer edge 2 at +10
    assert done.quantities.coat_area / IN**2 == pytest.approx(
        12 * sum(5 * (s + 5) + 2 * s + 2 * (s + 10) for s in (30, 44))
    )


def test_a_capped_end_is_coated_too():
    capped, plain = (work(coat="1/8", runs=[wall(60, end, "square")]) for end in ("cap", "square"))
    assert (capped.quantities.coat_area - plain.quantities.coat_area) / IN**2 == pytest.approx(45)
    assert work(runs=[wall(60, "cap", "square")]).quantities.coat_area == 0


def test_wire_time_is_path_by_feed_and_two_ways_in_or_out_for_each_stick():
    # W1: girth 42.5 in at 20 in/min and 2 entries of 0.5 min = 3.125 min; common practice, no source
    section = [[0, 0], [10, 0], [10, 11.25], [0, 11.25]]
    done = work(section=section, pieces=[{"length": 60}])
    assert done.quantities.wire_length / IN == pytest.approx(42.5)
    assert done.quantities.wire_minutes == pytest.approx(3.125)


@given(st.floats(0.01, 0.5), st.floats(20, 400), st.integers(1, 5))
def test_foam_is_inside_the_finished_part_and_the_blank_outside_the_foam(coat, length, qty):
    done = work(coat=coat, runs=[wall(length, qty=qty)])
    assert (done.finished.width - done.foam.width) / IN == pytest.approx(coat, abs=1e-5)  # the back is bare
    assert (done.finished.height - done.foam.height) / IN == pytest.approx(2 * coat, abs=1e-5)
    for stick in done.sticks:
        foam = (stick.long, done.foam.width, done.foam.height)
        assert all(a >= b for a, b in zip((stick.blank.l, stick.blank.w, stick.blank.h), foam, strict=True))
    amounts = done.quantities
    assert amounts.core_volume < amounts.blank_volume  # weight = core volume × density, so a blank weighs more
    assert amounts.core_mass == pytest.approx(amounts.core_volume / 1e9 * PCF["EPS 1.0"])
    assert sum(blank.qty for blank in done.blanks) == done.parts


def test_a_job_in_millimetres_gives_the_same_part():
    metric = [[x * IN, y * IN] for x, y in STEPPED]
    inch, mm = work(coat="1/8", runs=[wall(480)]), work(unit="mm", section=metric, coat=3.175, runs=[wall(12192)])
    assert mm.quantities.core_volume == pytest.approx(inch.quantities.core_volume)
    assert [blank.size for blank in mm.blanks] == [blank.size for blank in inch.blanks]


def test_the_line_may_set_its_own_allowances():
    done = work(
        pieces=[{"length": 40}], allow={"skim": {"wall": 0, "other": "1/4"}, "end_trim": 1, "blank_step": "1/2"}
    )
    assert inches(done.blanks[0].size) == (42, 8.5, 9.5)


def test_remarks_that_the_trade_needs_to_see():
    small_block = Rules(block=Box(90 * IN, 48 * IN, 36 * IN), skim_other=0)
    away = [[1, 0], [4, 0], [4, 6], [1, 6]]
    done = work(small_block, section=away, pieces=[{"length": 96}, {"length": 12}])
    assert [note.code for note in done.notes] == ["off-the-wall", "short-piece", "no-skim", "blank-too-long"]
    assert "A2" in done.notes[1].text
    assert work(pieces=[{"length": 40}]).notes == ()


def arc(centre, radius, start, end):
    """Return points of an arc (degrees) whose chords lie within 0.02 mm of it: sagitta R·(1 - cos(step / 2))."""
    steps = math.ceil(math.radians(abs(end - start)) / (2 * math.acos(1 - 0.02 / radius)))
    at = [math.radians(start + (end - start) * i / steps) for i in range(steps + 1)]
    return [[centre[0] + radius * math.cos(a), centre[1] + radius * math.sin(a)] for a in at]


def curved(points, coat, **keys):
    return work(unit="mm", section=points, coat=coat, pieces=[{"length": 1000}], **keys)


@settings(max_examples=40, deadline=None)
@given(st.floats(0.5, 8), st.floats(10, 200))
def test_a_cavetto_loses_its_coat_chord_by_chord_and_its_radius_grows(coat, radius):
    # plane geometry: a hollow of radius R has foam of radius R + coat, an independent measure from its centre
    hollow = arc((20 + radius, 20), radius, 180, 90)
    done = curved([[0, 0], [20, 0], *hollow, [20 + radius, 40 + radius], [0, 40 + radius]], coat)
    away = [math.dist(point, (20 + radius, 20)) for point in done.foam.outline]
    # the coat on the upright edge above may take a few chords at its end, no others
    assert len(hollow) / 2 < len(done.foam.outline) - 4 <= len(hollow)
    assert away[2:-2] == pytest.approx([radius + coat] * (len(away) - 4), abs=0.03)


@settings(max_examples=40, deadline=None)
@given(st.floats(0.5, 8), st.floats(10, 200))
def test_an_ovolo_loses_its_coat_chord_by_chord_and_its_radius_shrinks(coat, radius):
    # plane geometry: a round of radius R has foam of radius R - coat
    round_ = arc((20, 20), radius, -90, 0)
    done = curved([[0, 20 - radius], *round_, [20 + radius, 60 + radius], [0, 60 + radius]], coat)
    away = [math.dist(point, (20, 20)) for point in done.foam.outline]
    assert len(done.foam.outline) == len(round_) + 3
    assert away[1:-2] == pytest.approx([radius - coat] * len(round_), abs=0.03)


def test_the_small_fillet_of_an_ogee_is_named_when_the_coat_swallows_it():
    lower, upper = arc((60, 20), 40, 180, 90), arc((60, 100), 40, -90, 0)
    fillet = [[20, 16], [22, 16], [22, 20]]  # 2 mm out, between the plain face and the hollow
    points = [[0, 0], [20, 0], *fillet[:1], *fillet[1:2], [22, 18], [20, 18], *lower, *upper[1:], [100, 120], [0, 120]]
    done = curved(points, 0.5)
    assert done.foam.area < done.finished.area
    with pytest.raises(CutsheetError, match="edge 3"):
        curved(points, 3)


def test_any_edge_of_a_frame_may_stay_bare():
    # section 2 × 5: edge 0 at the opening, 1 front, 2 outside, 3 on the wall; sizes by hand
    flat = [[0, 0], [2, 0], [2, 5], [0, 5]]
    for bare, opening, outer in (([3], 30.25, 39.75), ([0, 3], 30, 39.75), ([2, 3], 30.25, 40), ("none", 30.25, 39.75)):
        done = work(section=flat, coat="1/8", bare=bare, frames=[{"width": 30, "height": 44}])
        head, leg = done.frames
        assert (head.foam_short / IN, head.foam_long / IN) == pytest.approx((opening, outer))
        assert (leg.foam_short / IN, leg.foam_long / IN) == pytest.approx((opening + 14, outer + 14))
    # with the back coated too, the frame is one coat thinner: 2 - 2/8
    assert inches(done.blanks[0].size)[1] == 1.75 + 0.5


def test_runs_frames_and_pieces_of_one_line_are_what_they_are_alone():
    flat = [[0, 0], [2, 0], [2, 5], [0, 5]]
    lengths = {
        "runs": [wall(120, OUT, {"inside": 135}, qty=2)], "frames": [{"width": 30, "height": 44, "qty": 3}],
        "pieces": [{"length": 40, "qty": 5}],
    }  # fmt: skip
    whole = work(section=flat, coat="1/8", qty=2, **lengths)
    alone = [work(section=flat, coat="1/8", qty=2, **{name: given}) for name, given in lengths.items()]
    assert whole.parts == sum(done.parts for done in alone) == 2 * (2 * 2 + 3 * 4 + 5)
    for name in ("core_volume", "blank_volume", "coat_area", "wire_length", "core_mass"):
        total = sum(getattr(done.quantities, name) for done in alone)
        assert getattr(whole.quantities, name) == pytest.approx(total), name
    assert [stick.mark for stick in whole.sticks] == [f"A{n}" for n in range(1, len(whole.sticks) + 1)]
    assert [stick.flat for stick in whole.sticks] == [False, False, True, True, False]


def test_the_hand_of_every_stick_follows_from_the_order_of_the_wall():
    # seen from the front; a run with its ends changed over is cut from the mirrored sticks, and weighs the same
    first, last = {"outside": 135}, {"inside": 90}
    one, other = (work(runs=[wall(200, *ends)]) for ends in ((first, last), (last, first)))
    assert [(s.left.kind, s.right.kind) for s in one.sticks] == [
        ("outside", "splice"), ("splice", "splice"), ("splice", "inside"),
    ]  # fmt: skip
    assert [(s.right.kind, s.left.kind) for s in reversed(other.sticks)] == [
        (s.left.kind, s.right.kind) for s in one.sticks
    ]
    assert one.quantities.core_volume == pytest.approx(other.quantities.core_volume)
    # M1, M3: 8 deep at a corner of 135°: 8 / tan(67.5°) beyond the wall; the trap says 19.31
    assert one.runs[0].left_extension / IN == pytest.approx(3.313708, abs=1e-6)


@pytest.mark.parametrize("bare", ["wall", "none", [1, 4]])
def test_a_moulding_is_written_as_it_was_read(bare):
    line = {
        "mark": "A", "kind": "moulding", "grade": "E", "section": STEPPED[::-1], "bare": bare, "coat": 0.125,
        "runs": [wall("31'-4\"", OUT, "cap", qty=2)], "frames": [], "pieces": [{"length": "5 1/2", "qty": 8}],
    }  # fmt: skip
    read = read_job({"format": "blockyard-job-1", "unit": "in", "grades": {"E": {"density": 1}}, "lines": [line]})
    assert read_job(json.loads(json.dumps(write_job(read)))) == read


@pytest.mark.parametrize(("keys", "code", "where"), [
    ({"runs": [wall(480, {"outside": 0})]}, "corner-angle", "runs[0].left"),
    ({"runs": [wall(480, {"outside": 180})]}, "corner-angle", "runs[0].left"),
    ({"runs": [wall(480, "mitre")]}, "end", "runs[0].left"),
    ({"runs": [wall(480, {"outside": 90, "inside": 90})]}, "end", "runs[0].left"),
    ({"runs": [wall(480, OUT, {"outside": "x"})]}, "angle", "runs[0].right"),
    ({"runs": [wall("15 in", {"inside": 90}, {"inside": 90})]}, "run-too-short", "runs[0]"),
    ({"runs": [wall(0)]}, "length-zero", "runs[0].wall"),
    ({"runs": [wall(480, qty=0)]}, "count", "runs[0].qty"),
    ({"runs": [{"wall": 480, "left": OUT}]}, "missing-key", "runs[0]"),
    ({"frames": [{"width": 30, "height": -1}]}, "length-negative", "frames[0].height"),
    ({"frames": [{"width": 30, "height": 40}], "section": [[0, 1], [2, 1], [2, 5], [0, 5]]}, "frame-section",
     "section"),
    ({"pieces": [{"length": 40, "count": 2}]}, "unknown-key", "pieces[0]"),
    ({"pieces": [{"length": "5-3"}]}, "length-ambiguous", "pieces[0].length"),
    ({}, "no-lengths", ""),
    ({"runs": {}}, "not-a-list", "runs"),
    ({"pieces": [{"length": 40}], "coat": 1, "section": [[0, 0], [1, 0], [1, 6], [0, 6]]}, "coat-swallows-edge",
     "section"),
    ({"pieces": [{"length": 40}], "bare": "back"}, "bare", "bare"),
    ({"pieces": [{"length": 40}], "bare": [0, True]}, "bare", "bare"),
    ({"pieces": [{"length": 40}], "bare": [9]}, "section-edge", "section"),
    ({"pieces": [{"length": 40}], "section": [[0, 0], [5, 0, 1], [5, 5]]}, "list-size", "section[1]"),
    ({"pieces": [{"length": 40}], "sprung": {"face": 4, "thick": 1, "spring": 45}}, "sprung", "sprung"),
])  # fmt: skip
def test_what_cannot_be_cut_is_refused_at_its_place(keys, code, where):
    error = refusal(**keys)
    assert (error.code, error.where) == (code, where)


@pytest.mark.parametrize("keys", [
    {"pieces": [{"length": 40}], "section": [[0, 0], [203, 0], [203, 229], [0, 229]]},  # mm typed in an inch file
    {"pieces": [{"length": 40}], "unit": "mm", "section": [[0, 0], [0.3, 0], [0.3, 0.4], [0, 0.4]]},  # and the reverse
    {"pieces": [{"length": 1000}], "unit": "mm", "section": [[0, 0], [9, 0], [9, 11], [0, 11]]},  # a cornice in inches
    {"pieces": [{"length": 40}], "coat": 3},
    {"runs": [wall(12192)]},
    {"runs": [wall(7)]},
])  # fmt: skip
def test_sizes_25_times_too_large_or_too_small_are_asked_about(keys):
    assert refusal(**keys).code == "range"


def test_a_short_return_is_cut_when_its_unit_is_written():
    assert work(runs=[wall("7 in", OUT, "square")]).runs[0].wall == pytest.approx(7 * IN)
