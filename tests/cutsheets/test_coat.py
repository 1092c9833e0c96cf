import math

import pytest
from hypothesis import given, reject
from hypothesis import strategies as st
from shapely import Polygon

from cutsheets.coat import coated_girth, foam_outline
from cutsheets.errors import CutsheetError
from cutsheets.sections import make_section, measure

STEPPED = [(0, 0), (2, 0), (2, 3), (5, 3), (5, 6), (8, 6), (8, 9), (0, 9)]
NONE = frozenset()


def foam_of(points, coat, bare=None):
    return measure(foam_outline(make_section(points, bare), coat))


def refusal(points, coat, bare=None):
    with pytest.raises(CutsheetError) as caught:
        foam_of(points, coat, bare)
    return caught.value


def test_the_stepped_cornice_measures_as_its_rectangles_add_up():
    # P5: 6 + 15 + 24 = 45 and (6·1 + 15·2.5 + 24·4) / 45, sum of rectangles
    face = measure(STEPPED)
    assert (face.area, face.centroid_x, face.width, face.height) == pytest.approx((45, 3.1, 8, 9))


def test_area_by_the_shoelace_formula():
    # P4: shoelace formula, the well-known five-point example (memory)
    assert measure([(3, 4), (5, 11), (12, 8), (9, 5), (5, 6)]).area == pytest.approx(30)


def test_the_coat_comes_off_every_face_but_the_wall():
    face = foam_of(STEPPED, 0.125)
    assert (face.width, face.height) == (7.875, 8.75)
    assert face.area == pytest.approx(41.90625)  # sum of rectangles
    assert face.centroid_x == pytest.approx(3.011326, abs=5e-7)
    assert coated_girth(make_section(STEPPED)) == 25
    assert foam_outline(make_section(STEPPED), 0.125)[0] == (0, 0.125)


@pytest.mark.parametrize("slope", [0, 0.5, 1, 2])
def test_a_sloped_face_loses_more_of_its_height(slope):
    # t·√(1 + s²), plane geometry: the offset is normal to the face
    section = [(0, 0), (4, 0), (4, 10), (0, 10 + 4 * slope)]
    top = max(y for x, y in foam_outline(make_section(section), 0.25) if abs(x) < 1e-9)
    assert 10 + 4 * slope - top == pytest.approx(0.25 * math.hypot(1, slope))


@given(
    st.lists(st.floats(1, 4), min_size=5, max_size=14),
    st.floats(0.001, 0.1),
)
def test_an_all_coated_section_is_what_an_independent_offset_gives(radii, coat):
    # independent check: shapely's buffer with mitred joins
    turn = 2 * math.pi / len(radii)
    star = [(5 + r * math.cos(i * turn), r * math.sin(i * turn)) for i, r in enumerate(radii)]
    try:
        foam = foam_outline(make_section(star, NONE), coat)
    except CutsheetError:
        reject()  # a short edge may well be swallowed here
    buffered = Polygon(star).buffer(-coat, join_style="mitre", mitre_limit=1000)
    assert Polygon(foam).symmetric_difference(buffered).area < 1e-6


@given(st.floats(0, 0.9), st.sets(st.integers(0, 7)))
def test_foam_lies_inside_the_finished_section_and_bare_edges_do_not_move(coat, bare):
    section = make_section(STEPPED, frozenset(bare))
    foam = Polygon(foam_outline(section, coat))
    assert foam.difference(Polygon(STEPPED)).area < 1e-9
    left, low, right, high = foam.bounds
    due = [0 if edge in bare else coat for edge in (7, 0, 5, 6)]  # wall, bottom, front, top
    assert [left, low, 8 - right, 9 - high] == pytest.approx(due)


def test_a_section_typed_clockwise_is_the_same_and_keeps_its_edge_numbers():
    clockwise = STEPPED[::-1]  # edge 0 is now the wall's neighbour, the top; edge 7 is typed edge 7 again
    top = frozenset({0})
    turned = make_section(clockwise, top)
    assert turned.turned
    assert foam_of(clockwise, 0.125, top).height == 9 - 0.125
    assert foam_of(clockwise, 0.125).area == pytest.approx(41.90625)


def test_a_coat_thicker_than_the_part_is_refused_with_the_edge_named():
    error = refusal([(0, 0), (1, 0), (1, 6), (0, 6)], 1.5)
    assert error.code == "coat-swallows-edge"
    assert "edge 0" in error.message


def test_a_small_edge_that_the_coat_swallows_is_named_as_it_was_typed():
    chamfered = [(0, 0), (4, 0), (4, 5.95), (3.95, 6), (0, 6)]
    assert "edge 2" in refusal(chamfered, 0.25).message
    clockwise = chamfered[::-1]  # the same edge is typed edge 1: from (3.95, 6) to (4, 5.95)
    assert "edge 1" in refusal(clockwise, 0.25).message


def hollowed(radius, chords=12):
    """Return a block of 60 × 100 whose upper front corner is a quarter hollow, ending square to face and top."""
    turns = [math.pi / 2 * i / chords for i in range(chords + 1)]
    hollow = [(60 - radius * math.sin(a), 100 - radius * math.cos(a)) for a in turns]
    return [(0, 0), (60, 0), *hollow, (0, 100)]


@given(st.floats(0.1, 8), st.floats(15, 40))
def test_at_the_end_of_a_curve_the_coat_may_take_more_than_one_chord(coat, radius):
    # independent check: shapely's buffer with mitred joins
    foam = foam_outline(make_section(hollowed(radius), NONE), coat)
    buffered = Polygon(hollowed(radius)).buffer(-coat, join_style="mitre", mitre_limit=1000)
    assert Polygon(foam).symmetric_difference(buffered).area < 1e-6


def test_a_bead_smaller_than_the_coat_is_a_detail_that_is_swallowed():
    bead = [(10 + 2 * math.cos(a), 20 + 2 * math.sin(a)) for a in (math.pi * (i / 16 - 0.5) for i in range(17))]
    section = [(0, 0), (10, 0), *bead, (10, 40), (0, 40)]
    assert foam_of(section, 1.5).width == pytest.approx(10.5, abs=0.01)
    assert refusal(section, 2.5).code == "coat-swallows-edge"


def test_a_coat_that_would_cut_the_section_in_two_is_refused():
    hourglass = [(0, 0), (6, 0), (6, 4), (3.2, 5), (6, 6), (6, 10), (0, 10), (0, 6), (2.8, 5), (0, 4)]
    assert refusal(hourglass, 0.5, NONE).code == "coat-splits-section"


def test_where_a_coat_ends_in_the_middle_of_a_flat_face_it_ends_in_a_step():
    half_coated = [(0, 0), (3, 0), (6, 0), (6, 4), (0, 4)]
    foam = foam_outline(make_section(half_coated, frozenset({0, 4})), 0.5)
    assert foam[:3] == ((0, 0), (3, 0), (3, 0.5))
    assert measure(foam).area == pytest.approx(24 - 3 * 0.5 - 6 * 0.5 - 0.5 * 3)


@pytest.mark.parametrize(("points", "code"), [
    ([(0, 0), (5, 0)], "section-open"),
    ([(0, 0), (5, 5), (5, 0), (0, 5)], "section-crossing"),
    ([(0, 0), (5, 0), (2, 0), (2, 4), (0, 4)], "section-crossing"),
    ([(0, 0), (2, 0), (4, 0)], "section-flat"),
    ([(0, 0), (5, 0), (5, 0), (0, 5)], "section-points"),
    ([(0, 0), (5, 0), (0, 5), (0, 0)], "section-points"),
    ([(-1, 0), (5, 0), (0, 5)], "section-wall"),
])  # fmt: skip
def test_a_section_that_is_none_is_refused(points, code):
    with pytest.raises(CutsheetError) as caught:
        make_section(points, where="lines[1].section")
    assert (caught.value.code, caught.value.where) == (code, "lines[1].section")


def test_two_crossing_edges_are_named():
    with pytest.raises(CutsheetError, match="Edge 0 and edge 2 cross"):
        make_section([(0, 0), (5, 5), (5, 0), (0, 5)])


def test_an_edge_number_that_does_not_exist_is_refused():
    with pytest.raises(CutsheetError) as caught:
        make_section(STEPPED, frozenset({8}))
    assert caught.value.code == "section-edge"
