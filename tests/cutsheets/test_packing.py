"""Coat, mesh and weight of each piece, by second methods; and the bundles that they are tied into."""

import math
from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cutsheets.errors import CutsheetError
from cutsheets.sheets.coatsheet import CoatSheet, coat_sheet_pdf
from cutsheets.sheets.packing import LIFT, Coat, PackedLine, make_bundles
from cutsheets.sheets.packingslip import PackingSlip, packing_slip_pdf
from cutsheets.units import pounds
from tests.cutsheets.kind_jobs import IN, work
from tests.cutsheets.packed_orders import (
    CORNICE,
    HEAD,
    INSIDE,
    LINES,
    MESHED,
    OUTSIDE,
    PANELS,
    SPRUNG,
    STEPPED,
    moulding,
)
from tests.cutsheets.paper_reader import words

SERIF = "SignSerif-Bold.ttf"
SQ_FT = 144 * IN**2


def quad_area(a, b, c, d):
    """Return the area of a plane quadrangle in space, from its two triangles."""

    def triangle(p, q, r):
        u, v = [[y - x for x, y in zip(p, end, strict=True)] for end in (q, r)]
        cross = (u[1] * v[2] - u[2] * v[1], u[2] * v[0] - u[0] * v[2], u[0] * v[1] - u[1] * v[0])
        return math.hypot(*cross) / 2

    return triangle(a, b, c) + triangle(a, c, d)


def skin(wall, left_turn, right_turn):
    """Return the faces of the finished cornice between its mitre planes but for its back, in²; turns in degrees.

    A second method: the corners of every face in space, from where each plane cuts each edge line (plane geometry).
    """

    def at(point, end, turn):
        x, y = point
        return (x, y, (wall if end else 0) + (1 if end else -1) * x * math.tan(math.radians(turn / 2)))

    edges = pairwise([*STEPPED, STEPPED[0]])
    return sum(
        quad_area(at(a, 0, left_turn), at(b, 0, left_turn), at(b, 1, right_turn), at(a, 1, right_turn))
        for a, b in edges
        if a[0] or b[0]
    )


def of(line, mark):
    return next(like for like in line.pieces if mark in [each for each, _ in like.marks])


@pytest.mark.parametrize(("left", "right", "turns"), [(OUTSIDE, INSIDE, (90, -45)), ("square", OUTSIDE, (0, 90))])
def test_the_coat_of_a_mitred_stick_is_its_faces_measured_in_space(left, right, turns):
    line = PackedLine(moulding(runs=[{"wall": 60, "left": left, "right": right}]), "", MESHED)
    assert line.pieces[0].coat / IN**2 == pytest.approx(skin(60, *turns))


def test_the_coat_of_spliced_sticks_adds_up_to_the_faces_of_the_whole_run():
    line = PackedLine(moulding(runs=[{"wall": 504, "left": OUTSIDE, "right": INSIDE}]), "", MESHED)
    assert len(line.pieces) > 2
    assert sum(like.qty * like.coat for like in line.pieces) / IN**2 == pytest.approx(skin(504, 90, -45))


def test_each_stick_of_a_run_has_the_coat_of_its_own_faces():
    line = PackedLine(moulding(runs=[{"wall": 504, "left": OUTSIDE, "right": INSIDE}]), "", MESHED)
    first, *middle, last = line.worked.sticks
    assert of(line, first.mark).coat / IN**2 == pytest.approx(skin(first.wall / IN, 90, 0))
    assert of(line, last.mark).coat / IN**2 == pytest.approx(skin(last.wall / IN, 0, -45))
    for stick in middle:
        assert of(line, stick.mark).coat / IN**2 == pytest.approx(skin(stick.wall / IN, 0, 0))


def test_a_capped_end_is_coated_and_said_apart():
    porch = next(like for like in CORNICE.pieces if "cap" in like.ends)
    section = 5 * 2 + 3 * 5
    assert porch.caps / IN**2 == pytest.approx(section)
    assert porch.coat / IN**2 == pytest.approx(skin(42, 0, 90) + section)


def test_the_coat_of_a_side_of_a_frame_is_girth_times_the_way_of_its_middle():
    """Pappus: S = the length of the line × the way of its centroid (Larson & Edwards, Calculus, 7.6; memory)."""
    section = [[0, 0], [2, 0], [2, 5], [0, 5]]
    worked = work(kind="moulding", section=section, bare="wall", coat="1/8", frames=[{"width": 30, "height": 60}])
    head, leg = PackedLine(worked, "", MESHED).pieces
    middle = (2 * 0 + 5 * 2.5 + 2 * 5) / 9
    assert (head.qty, head.coat / IN**2) == (2, pytest.approx(9 * (30 + 2 * middle)))
    assert (leg.qty, leg.coat / IN**2) == (2, pytest.approx(9 * (60 + 2 * middle)))


def test_the_pieces_of_every_line_share_its_coat_and_its_weight():
    for line in (*LINES, SPRUNG):
        amounts = line.worked.quantities
        assert sum(like.qty * like.coat for like in line.pieces) == pytest.approx(amounts.coat_area)
        coat_kg = amounts.coat_area * line.coat.thick / 1e9 * line.coat.density if line.coat else 0
        assert line.kg == pytest.approx(amounts.core_mass + coat_kg)
        assert line.qty == line.worked.parts


def test_mesh_has_a_lap_along_both_long_edges_of_a_piece():
    line = PackedLine(moulding(pieces=[{"length": 96}]), "", MESHED)
    girth = 5 + 2 + 2 + 5 + 3
    assert line.mesh / IN**2 == pytest.approx((girth + 2 * 2.5) * 96)
    assert PackedLine(line.worked, "", replace(MESHED, lap=0.0)).mesh == 0


def test_a_block_of_type_i_foam_weighs_what_the_standard_makes_it():
    """ASTM C578 Table 1: Type I is at least 0.90 lb/ft³; a block of 48 × 48 × 96 in has 128 ft³: 115.2 lb."""
    block = PackedLine(work(kind="panel", size=[96, 48, 48]), "")
    light = block.kg * 0.90  # the grade of the sample weighs 1 lb/ft³
    assert pounds(light) == pytest.approx(115.2)


def test_three_hundred_board_feet_at_one_pound_weigh_25_pounds():
    """A board foot is 144 in³ (PS 20, American Softwood Lumber Standard; memory)."""
    assert pounds(PackedLine(work(kind="panel", size=[60, 24, 6], qty=5), "").kg) == pytest.approx(25)


def test_a_square_foot_of_eighth_inch_coat_adds_a_96th_of_what_a_cubic_foot_of_it_weighs():
    bare, coated = (
        PackedLine(moulding(pieces=[{"length": 96}]), "", Coat("", "", IN / 8, density=density))
        for density in (0, 1601.846337396)  # 100 lb/ft³
    )
    assert pounds(coated.kg - bare.kg) == pytest.approx(coated.pieces[0].coat / SQ_FT * 100 / 96)


def test_the_most_a_bundle_weighs_is_the_load_constant_of_the_lifting_equation():
    """Revised NIOSH lifting equation, DHHS (NIOSH) Publication 94-110: load constant 23 kg, 51 lb (memory)."""
    assert (LIFT, round(pounds(LIFT))) == (23, 51)
    heavy = PackedLine(work(kind="panel", size=[48, 48, 12], qty=4), "")  # 16 lb each
    assert [bundle.qty for bundle in make_bundles([heavy], 12)] == [3, 1]


def test_pieces_too_unlike_in_length_do_not_lie_in_one_bundle():
    line = PackedLine(moulding(pieces=[{"length": 94}, {"length": 47}, {"length": 46}]), "", MESHED)
    assert [bundle.names for bundle in make_bundles([line], 6)] == ["A1–A2", "A3"]


def test_a_bundle_holds_pieces_of_one_line_only_and_they_are_numbered_through():
    bundles = make_bundles(LINES, 100)
    assert [bundle.number for bundle in bundles] == list(range(1, len(bundles) + 1))
    assert {bundle.of for bundle in bundles} == {len(bundles)}
    assert {mark[0] for bundle in bundles for mark, _ in bundle.marks if bundle.line is PANELS} == {"C"}


def test_more_bundles_than_anybody_labels_are_refused_at_once():
    for size in ([48, 24, 6], [96, 48, 48]):
        with pytest.raises(CutsheetError) as caught:
            make_bundles([PackedLine(work(kind="panel", size=size, qty=1_000_000 if size[0] == 48 else 5000), "")], 6)
        assert caught.value.code == "too-many-bundles"


@settings(max_examples=60, deadline=None)
@given(
    st.lists(st.tuples(st.integers(10, 94), st.integers(1, 20)), min_size=1, max_size=8),
    st.integers(1, 12), st.sampled_from([0, 1600, 9000]),
)  # fmt: skip
def test_every_piece_is_in_one_bundle_and_no_bundle_is_too_large(wanted, most, density):
    worked = moulding(pieces=[{"length": length, "qty": qty} for length, qty in wanted])
    line = PackedLine(worked, "", replace(MESHED, density=density))
    bundles = make_bundles([line], most)
    packed = [mark for bundle in bundles for mark, count in bundle.marks for _ in range(count)]
    assert sorted(packed) == sorted(mark for like in line.pieces for mark, count in like.marks for _ in range(count))
    assert sum(bundle.kg for bundle in bundles) == pytest.approx(line.kg)
    for bundle in bundles:
        longs = [of(line, mark).long for mark, _ in bundle.marks]
        assert bundle.qty <= most
        assert bundle.qty == 1 or bundle.kg <= LIFT
        assert max(longs) <= 2 * min(longs)


def test_letters_on_several_slabs_have_the_height_of_their_capitals_on_every_sheet():
    letters = PackedLine(work(kind="cutout", text="LIBRARY", font=SERIF, cap_height=24, thick=3), "Letters", MESHED)
    assert len(letters.worked.sticks) > 1
    slip = " ".join(words(packing_slip_pdf(PackingSlip(HEAD, (letters,), 6))))
    coat = " ".join(words(coat_sheet_pdf(CoatSheet(HEAD, (letters,)))))
    assert "7 pieces Finished, inches: capitals 24 high, 3 thick" in slip
    assert "Finished capitals 24 high, 3 thick, for checking only." in coat


def test_shapes_have_the_height_of_the_tallest():
    outlines = [{"name": name, "outer": [[0, 0], [9, 0], [9, high], [0, high]]} for name, high in (("P", 4), ("Q", 6))]
    loose = work(kind="cutout", outlines=outlines, thick=2, coat="1/4").loose
    assert (loose.of, loose.high, loose.thick) == ("tallest", pytest.approx(6 * IN), pytest.approx(2 * IN))


def test_a_bundle_of_several_pieces_of_a_mark_says_how_many_of_which():
    line = PackedLine(
        work(kind="moulding", section=STEPPED, pieces=[{"length": 40, "qty": 4}, {"length": 30, "qty": 2}]), ""
    )
    [bundle] = make_bundles([line], 6)
    assert bundle.names.replace("\u00a0", " ") == "4 × A1, 2 × A2"


def test_a_bundle_of_one_piece_a_mark_names_them_in_as_few_words_as_possible():
    line = PackedLine(
        work(kind="moulding", section=STEPPED, pieces=[{"length": 40 + n, "qty": 1} for n in range(4)]), ""
    )
    [bundle] = make_bundles([line], 6)
    assert bundle.names == "A1–A4"


@pytest.mark.parametrize(("text", "said"), [("LILI", False), ("LOBBY", True)])
def test_the_note_on_the_kerf_names_counters_where_there_are_some(text, said):
    letters = work(kind="cutout", text=text, font=SERIF, cap_height=12, thick=3, gap=1)
    [kerf] = [note.text for note in letters.notes if note.code == "wire-kerf"]
    assert ("inside each counter" in kerf) is said
