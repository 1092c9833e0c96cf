"""Sections and strips: the right figures in the right place, hands as on the bench, sums that can be checked."""

from dataclasses import replace

import pytest

from cutsheets.drawings.lettering import plain
from cutsheets.drawings.profile import coated_edges, profile_scene
from cutsheets.drawings.runs import check_parts, end_words, group_sticks, name_marks, strip_scene
from cutsheets.drawings.scene import Dimension, Polygon, Polyline, Text
from cutsheets.solids import End
from tests.cutsheets.paper_samples import CORNICE, FOAM, IN, MANY, OUT, PANEL, RUNS, SPLICE, STICKS, stick


def figures(scene):
    return [(plain(shape.parts), shape.role) for shape in scene.shapes if isinstance(shape, Dimension)]


def words(scene):
    return [plain(shape.parts) for shape in scene.flat() if isinstance(shape, Text)]


def test_the_office_sees_three_sizes_and_only_the_foam_in_chalk():
    shown = figures(profile_scene(CORNICE, "in"))
    assert sorted(text for text, role in shown if role == "chalk") == ["10 3/4", "8 7/8"]
    assert sorted(text for text, role in shown if role == "dim") == ["11", "11 1/4", "9", "9 1/2"]


def test_the_cutter_sees_no_size_but_the_foams():
    assert sorted(figures(profile_scene(CORNICE, "in", look="cutter"))) == [("10 3/4", "chalk"), ("8 7/8", "chalk")]


def test_coat_lies_on_every_edge_but_the_wall():
    edges = coated_edges(CORNICE.foam, CORNICE.finished)
    assert len(edges) == len(FOAM) - 1
    assert all(max(a[0], b[0]) > 0 for a, b in edges)


def test_a_bare_part_has_no_thick_edge():
    bare = replace(CORNICE, finished=CORNICE.foam)
    shapes = profile_scene(bare, "in", look="cutter").flat()
    assert not [shape for shape in shapes if isinstance(shape, Polyline) and shape.weight == "coat"]


def test_the_foam_lies_inside_its_blank():
    shapes = [shape for shape in profile_scene(CORNICE, "in").flat() if isinstance(shape, Polygon)]
    (blank,) = (shape.rings[0] for shape in shapes if shape.role == "blank")
    (foam,) = (shape.rings[0] for shape in shapes if shape.fill == "foam")
    left, bottom, right, top = (*blank[0], *blank[2])
    assert all(left <= x <= right and bottom <= y <= top for x, y in foam)
    assert (right - left, top - bottom) == pytest.approx((9.5 * IN, 11.25 * IN))


def test_a_panel_is_a_box_with_three_sizes():
    assert sorted(figures(profile_scene(PANEL, "in"))) == [("24", "chalk"), ("48", "chalk"), ("6", "chalk")]


def test_a_metric_shop_reads_the_same_drawing_in_millimetres():
    assert ("225.4", "chalk") in figures(profile_scene(CORNICE, "mm"))


def face_and_wall(one):
    """Return left ends and right ends of a stick's outline: at the face (below) and at the wall (above)."""
    (piece,) = (s.rings[0] for s in strip_scene([one], "in").flat() if isinstance(s, Polygon) and s.fill == "foam")
    (left, _), (right, _), (wall_right, _), (wall_left, _) = piece
    return (left, wall_left), (right, wall_right)


def test_an_outside_corner_is_longer_at_the_face_and_at_the_readers_hand():
    (left, wall_left), (right, wall_right) = face_and_wall(STICKS[6])
    assert left < wall_left
    assert right == wall_right


def test_an_inside_corner_is_longer_at_the_wall():
    (left, wall_left), (right, wall_right) = face_and_wall(stick("C1", 60, 68, (SPLICE, End("inside", 90))))
    assert left == wall_left
    assert right < wall_right


def test_a_frames_side_names_its_opening_instead_of_a_wall():
    side = replace(stick("B1", 38.875, 30.125, (OUT, OUT)), flat=True)
    assert {"opening", "outside"} <= set(words(strip_scene([side], "in")))


def test_a_short_run_shows_every_stick_and_its_sum():
    shown = words(strip_scene(STICKS[:6], "in"))
    assert [word for word in shown if word.startswith("A")] == ["A1", "A2", "A3", "A4", "A5", "A6"]
    assert shown.count("87") == 5
    assert "521 3/4" in shown


def test_a_long_run_names_like_sticks_together():
    shown = words(strip_scene(MANY[:60], "in", lengths=False))
    assert [word for word in shown if word.startswith("D")] == ["D1", "D2–D59", "D60"]


def test_like_sticks_are_one_row_with_all_their_marks():
    groups = [(name_marks(like.marks), like.qty) for like in group_sticks(STICKS)]
    assert groups == [("A1", 1), ("A2–A5", 4), ("A6", 1), ("B1", 1), ("B2", 1)]


def test_like_sticks_of_other_runs_join_the_row():
    again = [replace(each, mark=f"C{n}", run="C", qty=2) for n, each in enumerate(STICKS[:3], 1)]
    groups = [(name_marks(like.marks), like.qty) for like in group_sticks([*STICKS[:3], *again])]
    assert groups == [("A1, C1", 3), ("A2–A3, C2–C3", 6)]


def test_left_and_right_hand_are_never_one_row():
    assert len(group_sticks(STICKS[6:])) == 2


@pytest.mark.parametrize(("angle", "words_"), [(90, "mitre 45°"), (135, "mitre 22.5°"), (120, "mitre 30°")])
def test_the_saw_angle_is_half_the_turn_of_the_wall(angle, words_):
    """Plane trigonometry: the joint lies on the bisector, so 135° between walls is 22.5° and not 67.5° at the saw."""
    assert end_words(End("outside", angle)) == f"{words_} outside"
    assert end_words(End("inside", angle)) == f"{words_} inside"
    assert end_words(End("outside", angle), flat=True) == words_


def test_the_check_line_adds_up_as_it_is_printed():
    assert plain(check_parts(RUNS[0], "in")) == "5 × 87 + 86 3/4 = 521 3/4 = 42′ 0″ wall + 2 × 8 7/8"


def test_a_check_line_whose_rounded_figures_miss_the_sum_says_so():
    thirds = replace(RUNS[1], wall=100 * IN, pieces=(100 / 3 * IN,) * 3, foam_long=100 * IN, left_extension=0.0)
    assert plain(check_parts(thirds, "in")) == "3 × 33 5/16 = 100 = 8′ 4″ wall, each figure rounded"


def test_a_coated_free_end_takes_its_coat_off_the_wall():
    run = replace(RUNS[1], wall=42 * IN, left_extension=8.875 * IN, right_extension=-0.125 * IN)
    assert "3′ 6″ wall + 8 7/8 − 1/8" in plain(check_parts(run, "in"))
