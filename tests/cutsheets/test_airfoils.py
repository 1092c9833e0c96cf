import math

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from shapely import LinearRing, Point, Polygon

from cutsheets.airfoils import drawn_airfoil, matched, naca, naca_airfoil, surfaces, under_skin, upper_point
from cutsheets.errors import CutsheetError
from cutsheets.kerf import wire_path
from cutsheets.solids import Outline

DIAMOND = ((100.0, 0.0), (40.0, 8.0), (0.0, 0.0), (40.0, -8.0))
codes = st.builds(lambda m, p, t: f"{m}{p if m else 0}{t:02}", st.integers(0, 6), st.integers(2, 6), st.integers(6, 24))


def test_the_thickness_of_0012_is_that_of_the_report():
    # N1: NACA Report 460 (1933), thickness equation, % of the chord
    upper, lower = surfaces("0012", [0.0125, 0.05, 0.1, 0.3, 0.5, 0.7, 0.9, 1])
    half = [1.893903, 3.554686, 4.68277, 6.001727, 5.294025, 3.663907, 1.447717, 0.126]
    assert 100 * upper[:, 1] == pytest.approx(half, abs=5e-7)
    assert (lower == upper * (1, -1)).all()


def test_the_thickness_of_2412_is_laid_off_at_right_angles_to_the_mean_line():
    # N2: NACA Report 460; NASA TM 4741. Laid off upright, x would stay 5 and 10 %.
    upper, lower = surfaces("2412", [0.05, 0.1, 0.3, 0.5, 0.8])
    expected = [
        [4.690149, 4.009906, 5.309851, -3.072406], [9.649776, 5.544655, 10.350224, -3.794655],
        [29.850004, 7.874852, 30.149996, -4.124852], [50.058819, 7.238143, 49.941181, -3.349254],
        [80.116468, 3.731642, 79.883532, -1.50942],
    ]  # fmt: skip
    assert 100 * np.hstack((upper, lower)) == pytest.approx(np.array(expected), abs=5e-7)


def test_2412_agrees_with_the_table_of_ordinates():
    # NACA Report 460, table of NACA 2412; the same in Abbott and von Doenhoff, Theory of Wing Sections, Appendix III
    # (memory): station, upper, lower in % of the chord
    table = [
        (1.25, 2.15, -1.65), (2.5, 2.99, -2.27), (5, 4.13, -3.01), (7.5, 4.96, -3.46), (10, 5.63, -3.75),
        (15, 6.61, -4.10), (20, 7.26, -4.23), (25, 7.67, -4.22), (30, 7.88, -4.12), (40, 7.80, -3.80),
        (50, 7.24, -3.34), (60, 6.36, -2.76), (70, 5.18, -2.14), (80, 3.75, -1.50), (90, 2.08, -0.82),
        (95, 1.14, -0.48),
    ]  # fmt: skip
    section = naca_airfoil("2412", 100.0)
    for x, upper, lower in table:
        assert upper_point(section, x / 100)[1] == pytest.approx(upper, abs=0.03), x
        assert np.interp(x, *section.lower.T) == pytest.approx(lower, abs=0.03), x


def test_2412_measures_as_it_does_with_many_stations():
    # N3: numerical, 4001 stations on each side
    ring = naca("2412", 1, 4001)
    x_min, y_min, x_max, y_max = Polygon(ring).bounds
    assert Polygon(ring).area == pytest.approx(0.08228208, abs=5e-9)
    assert (y_max, y_min, x_max) == pytest.approx((0.07921728, -0.0423779, 1.000084), abs=5e-7)
    assert x_min == pytest.approx(-7.791e-5, abs=5e-9)


def test_0012_encloses_what_the_integral_of_its_equation_says():
    # N4: 10·t·(2·a0/3 + a1/2 + a2/3 + a3/4 + a4/5), integral of the polynomial of NACA Report 460
    due = 10 * 0.12 * (2 * 0.2969 / 3 - 0.126 / 2 - 0.3516 / 3 + 0.2843 / 4 - 0.1015 / 5)
    assert due == pytest.approx(0.08221, abs=5e-6)
    assert Polygon(naca("0012", 1)).area == pytest.approx(due, rel=3e-5)


def test_the_nose_is_as_round_as_the_report_says():
    # NACA Report 460: the radius at the leading edge is 1.1019·t²
    (x, y), _ = surfaces("0012", [1e-7, 1])[0]
    assert y**2 / (2 * x) == pytest.approx(1.1019 * 0.12**2, rel=2e-3)


@pytest.mark.parametrize("code", ["", "012", "00120", "2x12", "٠٠١٢", "-012", "0000", "0041", "2012", "0412"])
def test_a_code_that_is_no_four_digit_section_is_refused(code):
    with pytest.raises(CutsheetError) as caught:
        naca(code, 100, where="root.naca")
    assert (caught.value.code, caught.value.where) == ("naca", "root.naca")


@settings(max_examples=30, deadline=None)
@given(codes, st.floats(60, 400), st.floats(0.2, 3))
def test_every_point_of_the_foam_is_one_skin_away_from_the_surface(code, chord, coat):
    assume(coat < chord * int(code[2:]) / 300)
    finished = naca_airfoil(code, chord)
    foam = under_skin(finished, coat)
    surface = LinearRing(finished.ring)
    away = [Point(point).distance(surface) for point in foam.ring]
    # a hollow side (camber) keeps its corners sharp, so a point there may lie a hair farther off
    assert min(away) == pytest.approx(coat, abs=1e-7)
    assert max(away) == pytest.approx(coat, rel=1e-3)
    # independent: the same offset by shapely's buffer, which may move an edge by 1 % of the distance
    buffered = Polygon(finished.ring).buffer(-coat, join_style="mitre", mitre_limit=1000)
    assert Polygon(foam.ring).symmetric_difference(buffered).area < 0.012 * coat * 2.2 * chord


def test_foam_ends_where_the_two_skins_meet():
    # a diamond's sides slope 8 in 60 at the tail: the skins meet coat·√(1 + s²)/s ahead of it; plane geometry
    foam = under_skin(drawn_airfoil(DIAMOND), 2)
    slope = 8 / 60
    assert foam.nose + foam.chord == pytest.approx(100 - 2 * math.hypot(1, slope) / slope)
    assert foam.nose == pytest.approx(2 * math.hypot(1, 0.2) / 0.2)


def test_a_skin_that_leaves_nothing_or_two_pieces_is_refused():
    with pytest.raises(CutsheetError) as caught:
        under_skin(naca_airfoil("0006", 100.0), 3.1, "tip")
    assert (caught.value.code, caught.value.where) == ("coat-swallows-section", "tip")
    waisted = ((100.0, 4.0), (50.0, 1.0), (0.0, 4.0), (0.0, -4.0), (50.0, -1.0), (100.0, -4.0))
    with pytest.raises(CutsheetError) as caught:
        under_skin(drawn_airfoil(waisted), 1.5, "root")
    assert (caught.value.code, caught.value.where) == ("coat-splits-section", "root")


@settings(max_examples=50, deadline=None)
@given(codes, codes, st.floats(50, 300), st.floats(50, 300))
def test_matched_sections_lose_nothing_and_pair_equal_shares_of_the_chord(root, tip, big, small):
    first, last = naca_airfoil(root, big), naca_airfoil(tip, small)
    one, two = matched(first, last)
    assert len(one) == len(two)
    assert Polygon(one).area == pytest.approx(Polygon(first.ring).area)
    assert Polygon(two).area == pytest.approx(Polygon(last.ring).area)
    # the ends of a cambered section lie a hair beyond its chord, where the other section has no point
    beyond = [max(-min(x / size for x, _ in ring), max(x / size for x, _ in ring) - 1) for ring, size in
              ((one, big), (two, small))]  # fmt: skip
    shares = [abs(a[0] / big - b[0] / small) for a, b in zip(one, two, strict=True)]
    assert max(shares) <= max(beyond) + 1e-9


def test_a_drawn_section_with_upright_nose_and_tail_keeps_all_its_corners():
    plank = drawn_airfoil(((100.0, 0.0), (100.0, 6.0), (0.0, 6.0), (0.0, 0.0)))
    one, two = matched(plank, naca_airfoil("0012", 50.0))
    assert Polygon(one).area == pytest.approx(600)
    assert len(one) == len(two)
    assert upper_point(plank, 0.25) == (25, 6)


@pytest.mark.parametrize("ring", [
    ((100.0, 0.0), (50.0, 8.0), (50.0, 2.0), (0.0, 0.0)),  # an upright step
    ((100.0, 0.0), (40.0, 8.0), (45.0, 2.0), (0.0, 0.0)),  # a hook
])  # fmt: skip
def test_a_side_that_does_not_run_steadily_aft_is_refused(ring):
    with pytest.raises(CutsheetError) as caught:
        drawn_airfoil(ring, "tip.section")
    assert (caught.value.code, caught.value.where) == ("wing-section", "tip.section")


def test_the_wire_runs_half_a_kerf_outside_the_part():
    # W2: 6 × 2 with a kerf of 1/16: path 6.0625 × 2.0625; on the line itself the part would be 5.9375 × 1.9375
    path = wire_path(Outline(((0, 0), (6, 0), (6, 2), (0, 2))), 0.0625)
    left, low, right, high = Polygon(path.outer).bounds
    assert (right - left, high - low) == (6.0625, 2.0625)
    assert len(path.outer) == 4


def test_the_wire_runs_inside_a_hole_and_round_a_corner_that_turns_in():
    ell = ((0, 0), (60, 0), (60, 20), (30, 20), (30, 40), (0, 40))
    hole = ((5, 5), (5, 15), (15, 15), (15, 5))
    path = wire_path(Outline(ell, (hole,)), 2)
    assert Polygon(path.outer).equals(Polygon([(-1, -1), (61, -1), (61, 21), (31, 21), (31, 41), (-1, 41)]))
    assert Polygon(path.holes[0]).equals(Polygon([(6, 6), (14, 6), (14, 14), (6, 14)]))
    assert LinearRing(path.outer).is_ccw
    assert not LinearRing(path.holes[0]).is_ccw
    assert wire_path(Outline(ell), 0) == Outline(ell)


@settings(deadline=None)
@given(st.lists(st.floats(30, 60), min_size=3, max_size=14), st.floats(0.5, 3))
def test_the_wire_path_is_what_an_independent_offset_gives(radii, kerf):
    # independent: shapely's buffer with mitred joins
    turn = 2 * math.pi / len(radii)
    star = [(r * math.cos(i * turn), r * math.sin(i * turn)) for i, r in enumerate(radii)]
    path = Polygon(wire_path(Outline(tuple(star)), kerf).outer)
    buffered = Polygon(star).buffer(kerf / 2, join_style="mitre", mitre_limit=1000)
    assert path.symmetric_difference(buffered).area < 0.012 * kerf / 2 * path.length


@pytest.mark.parametrize("outline", [
    Outline(((0, 0), (9, 0), (9, 9), (0, 9)), (((4, 4), (4, 5), (5, 5), (5, 4)),)),  # the hole is filled
    Outline(((0, 0), (9, 0), (9, 9), (5, 9), (5, 4.5), (8, 4.5), (8, 4), (1, 4), (1, 4.5), (4, 4.5), (4, 9), (0, 9))),
])  # fmt: skip
def test_a_wire_wider_than_a_gap_is_refused(outline):
    with pytest.raises(CutsheetError) as caught:
        wire_path(outline, 1.2, "outlines[0]")
    assert (caught.value.code, caught.value.where) == ("kerf", "outlines[0]")
