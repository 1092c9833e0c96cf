"""A blank for every piece, or many pieces out of one face: what each way gives, and which is cheaper."""

import math
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import box, distance
from shapely.geometry import Polygon

from cutsheets.files.job import line_from_dict
from cutsheets.kinds import KINDS
from cutsheets.machines import Machine
from cutsheets.nesting.faces import laid
from cutsheets.planning.gang import basis, ganged, is_straight, margin, read_gang, section
from cutsheets.planning.ways import Supply, compare
from cutsheets.rules import Rules

IN = 25.4
KERF = 1.5875  # mm, of the wire
BAND = [[0, 0], [4, 0], [4, 6], [0, 6]]
STEPPED = [[0, 0], [5, 0], [5, 2], [3, 2], [3, 7], [0, 7]]
CORNERS = [{"name": "front", "wall": 480, "left": {"outside": 90}, "right": {"outside": 90}}]
SUPPLY = Supply(
    blocks=((2_463_800, 1_244_600, 939_800),), skin=0, kerf=1588,  # 97 × 49 × 37 in
    useful={"dims": [101_600, 304_800, 609_600], "volume": 101_600 * 304_800 * 609_600}, per_ft3=260, hour=3600,
)  # fmt: skip


def worked(*, points=BAND, qty=12, length=40, rules=None, **keys):
    """Return a line worked out, and its rules: 12 pieces of 40 in of a 4 × 6 in band unless something else is said."""
    keys = keys or {"pieces": [{"length": length, "qty": qty}]}
    line = {"mark": "A", "kind": "moulding", "grade": "Firm", "qty": 1, "section": points, **keys}
    read = line_from_dict(line, "in", rules or Rules(), grades={"Firm": 24.0})
    return KINDS["moulding"].work(read), read.rules


def ways(supply=SUPPLY, **what):
    return compare(*worked(**what), supply, rounds=3)


def parts_on(face, line):
    return [laid(section(line), place) for place in face.placed]


# Figures by hand


def test_a_worked_example_by_hand():
    # Each piece: round the band 2 × (4 + 6) = 20 in at 20 in a minute, in and out at half a minute: 2 minutes.
    # Wire time = cut path ÷ feed + entries: common practice, no source.
    found = ways(rules=Rules(handling=1.0))
    assert found.each.wire_minutes == pytest.approx(12 * 2)
    assert found.each.handling_minutes == pytest.approx(12)
    assert [(blank.qty, blank.gives) for blank in found.each.blanks] == [(12, 1)]
    assert found.each.blanks[0].size.volume == pytest.approx(41 * 4.5 * 6.5 * IN**3)
    assert found.gang.handling_minutes == pytest.approx(sum(blank.qty for blank in found.gang.blanks))
    assert found.gang.wire_minutes >= 12 * 1 + 1  # the same way round, but in and out once a face
    hour = found.each.cost - found.each.foam_cost
    assert hour == pytest.approx((24 + 12) * 3600 / 60)


def test_costs_are_whole_cents_so_that_what_is_shown_adds_up():
    found = ways(rules=Rules(handling=0.37, feed=311.7))
    for way in (found.each, found.gang):
        assert way.foam_cost == int(way.foam_cost)
        assert way.work_cost == int(way.work_cost)


def test_the_foam_in_the_parts_is_the_same_both_ways_and_that_of_thin_slices():
    # Prismatic foam by slices: the area of a fine grid of strips times the length (numeric integration).
    line, rules = worked(points=STEPPED, qty=8)
    found = compare(line, rules, SUPPLY, rounds=3)
    shape, steps = Polygon(STEPPED), 700
    strips = (shape.intersection(box(0, 7 * i / steps, 5, 7 * (i + 1) / steps)).area for i in range(steps))
    by_slices = 8 * 40 * math.fsum(strips) * IN**3
    assert found.each.core == pytest.approx(by_slices * 1e9)
    assert found.gang.core == found.each.core
    for way in (found.each, found.gang):
        assert way.yielded == pytest.approx(way.core / (way.opened - way.kept))


def test_big_blanks_come_out_of_blocks_as_often_as_their_length_goes_into_one():
    # n = floor((L + k) / (p + k)) = floor((97 + 1/16) / (41 + 1/16)) = 2 (arithmetic)
    found = ways(qty=220)
    volume = math.prod(SUPPLY.blocks[0])
    full = [blank for blank in found.gang.blanks if blank.size.w * blank.size.h > 0.9 * 49 * 37 * IN**2]
    faces = sum(blank.qty for blank in full)
    assert faces > 1
    assert found.gang.opened / volume >= math.ceil(faces / 2)


def test_sticks_come_out_of_the_fewest_block_lengths_whichever_way_they_are_cut():
    # Two blanks of 41 in and one kerf go into 97 in: floor((97 + 1/16) / (41 + 1/16)) = 2 (arithmetic).
    found = ways(qty=12)
    assert found.each.lengths == 6
    assert found.gang.lengths == math.ceil(sum(blank.qty for blank in found.gang.blanks) / 2)


# Faces


@pytest.mark.parametrize("points", [BAND, STEPPED])
def test_sections_lie_on_their_face_a_kerf_apart_and_inside_the_skim(points):
    line, rules = worked(points=points, qty=30)
    bench = Machine("bench", wire=60 * IN, travel=30 * IN, height=20.2 * IN)  # several faces, full to the edge
    found = compare(line, rules, replace(SUPPLY, machines=(bench,)), rounds=3)
    assert sum(face.qty * face.gives for face in found.nest.faces) == 30
    for face in found.nest.faces:
        parts, edge = parts_on(face, line), margin(rules)
        room = box(edge, edge, face.size.w - edge, face.size.h - edge).buffer(1e-6)
        assert all(room.covers(part) for part in parts)
        assert all(distance(a, b) > KERF - 1e-6 for i, a in enumerate(parts) for b in parts[:i])
        assert all(part.area == pytest.approx(Polygon(points).area * IN**2) for part in parts)


def test_interlocking_sections_take_less_foam_than_their_boxes_side_by_side():
    found = ways(points=STEPPED, qty=30)
    boxes = 30 * (5 + 1 / 16) * (7 + 1 / 16) * IN**2
    assert sum(blank.size.w * blank.size.h * blank.qty for blank in found.gang.blanks) < 0.9 * boxes


def test_the_last_face_is_smaller_than_the_full_ones():
    small = replace(SUPPLY, machines=(Machine("bench", wire=60 * IN, travel=30 * IN, height=20.2 * IN),))
    *full, last = ways(small, qty=50).nest.faces
    assert last.gives < full[0].gives
    assert last.size.w * last.size.h < full[0].size.w * full[0].size.h


def test_pieces_of_one_length_share_faces_and_others_have_their_own():
    found = ways(pieces=[{"length": 40, "qty": 6}, {"length": 60, "qty": 4}])
    lengths = {round(face.size.l / IN): 0 for face in found.nest.faces}
    for face in found.nest.faces:
        lengths[round(face.size.l / IN)] += face.qty * face.gives
    assert lengths == {41: 6, 61: 4}


def test_a_face_is_no_wider_than_a_wire_cutter_reaches():
    small = replace(SUPPLY, machines=(Machine("bench", wire=60 * IN, travel=20 * IN, height=12 * IN),))
    for face in ways(small, qty=30).nest.faces:
        assert sorted((face.size.w, face.size.h)) <= [12 * IN, 20 * IN]
    short = replace(SUPPLY, machines=(Machine("short", wire=30 * IN, travel=20 * IN, height=12 * IN),))
    assert ways(short, qty=30).gang is None


def test_a_mitred_stick_is_never_mirrored_on_a_face():
    nest = ways(points=STEPPED, runs=CORNERS).nest
    assert not any(place.mirrored for face in nest.faces for place in face.placed)


def test_foam_that_may_not_be_turned_over_keeps_every_section_upright():
    nest = ways(replace(SUPPLY, lies=("LWH", "WLH")), points=STEPPED, qty=12).nest
    assert {(place.turn, place.mirrored) for face in nest.faces for place in face.placed} == {(0.0, False)}


# Which is cheaper


def test_the_cheaper_way_is_recommended_with_the_difference():
    found = ways(qty=30)
    assert found.better == "gang"
    assert f"{(found.each.cost - found.gang.cost) / 100:,.2f} less" in found.reason
    assert f"{100 * found.gang.yielded:.1f} % of the foam" in found.reason  # as the table says it


def test_one_piece_alone_has_one_way_and_the_reason_is_said():
    found = ways(qty=1)
    assert (found.better, found.gang) == ("each", None)
    assert found.reason.startswith("No face")


def test_a_comparison_comes_out_the_same_every_time():
    assert ways(qty=14, points=STEPPED) == ways(qty=14, points=STEPPED)


def test_a_nest_is_read_back_as_it_was_written():
    nest = ways(qty=14).nest
    assert read_gang(nest.as_json()) == nest


# A line with its faces


def test_faces_become_the_blanks_of_the_line_and_every_piece_keeps_its_mark():
    line, rules = worked(points=STEPPED, qty=14)
    nest = compare(line, rules, SUPPLY, rounds=3).nest
    laid_out = ganged(line, nest, rules)
    assert sum(blank.qty * blank.gives for blank in laid_out.blanks) == 14
    assert {stick.mark for stick in laid_out.sticks} == {"A1"}
    assert sum(stick.qty for stick in laid_out.sticks) == 14
    assert laid_out.quantities.core_volume == line.quantities.core_volume
    assert [asks.wire for asks in laid_out.asks] == [blank.size.l + rules.wire_over for blank in laid_out.blanks]


def test_a_piece_more_than_the_nest_carries_has_a_blank_of_its_own_and_a_note_says_so():
    line, rules = worked(qty=12)
    nest = compare(line, rules, SUPPLY, rounds=3).nest
    more = ganged(worked(qty=13)[0], nest, rules)
    assert (1, 1) in [(blank.qty, blank.gives) for blank in more.blanks]
    assert [note.code for note in more.notes] == ["part-nest"]
    fewer = ganged(worked(qty=11)[0], nest, rules)
    assert sum(stick.qty for stick in fewer.sticks) == 11
    assert all(stick.gives * blank.qty <= 11 for stick in fewer.sticks for blank in fewer.blanks)


def test_a_nest_is_of_one_section_one_kerf_and_one_margin():
    line, rules = worked()
    same = basis(line, rules)
    assert basis(worked(qty=5)[0], rules) == same
    assert basis(worked(points=STEPPED)[0], rules) != same
    assert basis(line, replace(rules, wire_kerf=2.0)) != same
    assert basis(line, replace(rules, skim_other=12.7)) != same


def test_only_parts_with_one_section_throughout_have_two_ways():
    panel = {"mark": "A", "kind": "panel", "grade": "Firm", "qty": 1, "size": [24, 24, 2]}
    read = line_from_dict(panel, "in", Rules(), grades={"Firm": 24.0})
    assert not is_straight(KINDS["panel"].work(read))


@settings(max_examples=4, deadline=None)
@given(st.integers(2, 9), st.integers(2, 9), st.integers(2, 24), st.integers(20, 90))
def test_every_piece_is_on_a_face_once_and_every_blank_goes_into_a_block(w, h, qty, length):
    points = [[0, 0], [w, 0], [w, h], [0, h]]
    found = ways(points=points, qty=qty, length=length)
    assert sum(face.qty * face.gives for face in found.nest.faces) == qty
    sides = sorted(side / 1000 for side in SUPPLY.blocks[0])
    for blank in found.gang.blanks:
        assert all(
            a <= b + 1e-6 for a, b in zip(sorted((blank.size.l, blank.size.w, blank.size.h)), sides, strict=True)
        )
    assert 0 < found.gang.yielded < 1


# The rack and the saw


def test_a_remnant_that_holds_the_blanks_is_used_before_a_block_is_opened():
    # 41 × 9 × 7 in holds two blanks of 41 × 4.5 less a kerf; half of 1 ft³ at the rack is cheaper than a block
    rest = (42 * 25_400, round(9.2 * 25_400), 7 * 25_400)
    with_rest = ways(replace(SUPPLY, remnants=((rest, 100),)), qty=2)
    assert with_rest.each.opened == math.prod(rest)
    assert with_rest.each.foam_cost < ways(qty=2).each.foam_cost
    assert math.prod(rest) < math.prod(SUPPLY.blocks[0])


def test_a_remnant_has_faces_of_its_own_for_many_sections():
    rest = (42 * 25_400, 14 * 25_400, 14 * 25_400)
    no_block = replace(SUPPLY, blocks=(), remnants=((rest, 100),))
    found = ways(no_block, qty=4)
    assert found.gang is not None
    assert found.gang.opened == math.prod(rest)


def test_what_a_saw_cannot_cut_across_is_not_planned():
    low = replace(SUPPLY, saw={"height": 2 * 25_400, "length": 2 * 25_400})
    found = ways(low, qty=12)
    assert found.each is None
    assert found.gang is None
    high = replace(SUPPLY, saw={"height": 100 * 25_400, "length": 100 * 25_400})
    assert ways(high, qty=12).each is not None
