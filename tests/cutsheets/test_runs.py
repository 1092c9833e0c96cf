import math
from dataclasses import replace

import pytest
from hypothesis import given, reject
from hypothesis import strategies as st

from cutsheets.coat import foam_outline
from cutsheets.errors import CutsheetError
from cutsheets.rules import Rules
from cutsheets.runs import (
    Frame,
    Piece,
    WallRun,
    extension,
    frame_cuts,
    frame_sides,
    lean,
    mitre,
    piece_cuts,
    reach,
    run_cuts,
    share,
    work_run,
)  # fmt: skip
from cutsheets.sections import make_section, measure
from cutsheets.solids import End

# Every length here is in inches: the rules of geometry have no unit.
SQUARE, CAP, SPLICE = End("square"), End("cap"), End("splice")
OUT, IN = End("outside", 90), End("inside", 90)
RULES = Rules(longest_stick=96, shortest_piece=24)
CORNICE = [(0, 0), (2, 0), (2, 3), (5, 3), (5, 6), (8, 6), (8, 9), (0, 9)]
COAT = 0.125
FINISHED, FOAM = measure(CORNICE), measure(foam_outline(make_section(CORNICE), COAT))

angles = st.floats(60, 179)
corners = st.builds(End, st.sampled_from(["outside", "inside"]), angles)
ends = corners | st.sampled_from([SQUARE, CAP, SPLICE])


def worked(wall, left, right, rules=RULES):
    return work_run(WallRun("north", wall, left, right), FINISHED, FOAM, coat=COAT, rules=rules, where="runs[0]")


@pytest.mark.parametrize(
    ("turn", "beyond"), [(90, 4), (60, 2.309401), (45, 1.656854), (30, 1.071797), (22.5, 0.795649)]
)
def test_an_outside_corner_goes_beyond_the_wall_by_half_the_turn(turn, beyond):
    # M1 and M2: w·tan(turn/2) = w / tan(included/2), w = 4; plane trigonometry (bisector)
    end = End("outside", 180 - turn)
    assert extension(end, 4) == pytest.approx(beyond, abs=5e-7)
    assert 4 * math.tan(math.radians(turn / 2)) == pytest.approx(beyond, abs=5e-7)
    assert mitre(end) == turn / 2


def test_the_angle_between_the_walls_is_not_taken_for_the_turn():
    # M3: 135° put into w·tan(θ/2) gives 9.656854, 8 in too long at each end
    assert extension(End("outside", 135), 4) == pytest.approx(1.656854, abs=5e-7)


def test_an_inside_corner_is_long_at_the_wall_and_adds_nothing():
    run = worked(60, IN, SQUARE)
    (cut,) = run_cuts(run, reach(FOAM))
    assert (run.foam_long, run.left_extension) == (60, 0)
    assert (cut.wall, cut.front, cut.overall) == (60, pytest.approx(60 - 7.875), 60)


def test_a_cornice_between_two_outside_corners():
    run = worked(480, OUT, OUT)
    assert (run.finished_long, run.foam_long) == pytest.approx((496, 495.75))
    assert (run.left_extension, run.left_mitre) == pytest.approx((7.875, 45))
    assert run.pieces == (96, 96, 96, 96, 55.875, 55.875)


def test_a_capped_end_gives_up_the_coat_and_a_splice_nothing():
    run = worked(60, CAP, SPLICE)
    assert (run.finished_long, run.foam_long, run.left_extension) == (60, 59.875, -0.125)


def test_between_an_outside_and_an_inside_corner_the_stick_is_longest_over_all():
    (cut,) = run_cuts(worked(60, OUT, IN), reach(FOAM))
    assert (cut.wall, cut.front, cut.overall) == pytest.approx((60, 60, 67.875))


@pytest.mark.parametrize(("long", "pieces"), [
    (96, (96,)), (96.0000000001, (96,)), (10, (10,)), (120, (96, 24)), (119, (59.5, 59.5)), (200, (96, 52, 52)),
    (192, (96, 96)),
])  # fmt: skip
def test_sticks_are_full_first_and_no_last_one_is_a_stub(long, pieces):
    assert share(long, RULES) == pytest.approx(pieces)


def test_corners_come_before_sticks():
    # 180 + 2 · 7.875 is more than two sticks of 96, although 180 is less
    assert len(worked(180, OUT, OUT).pieces) == 3


@given(st.floats(40, 2000), ends, ends, st.floats(30, 200), st.floats(0, 30))
def test_the_pieces_of_a_run_add_up_to_the_wall_and_its_ends(wall, left, right, longest, shortest):
    # identity: sum of piece lengths = wall + Σ end terms; splices add nothing
    rules = Rules(longest_stick=longest, shortest_piece=shortest)
    try:
        run = worked(wall, left, right, rules)
    except CutsheetError:
        reject()  # a stub with an inside mitre, where the shop allows stubs
    assert sum(run.pieces) == pytest.approx(wall + run.left_extension + run.right_extension)
    assert max(run.pieces) <= longest + 1e-5
    cuts = list(run_cuts(run, reach(FOAM)))
    mitres = sum(reach(FOAM) * lean(end) for end in (left, right))
    assert sum(cut.front - cut.wall for cut in cuts) == pytest.approx(mitres, abs=1e-6)
    assert [cut.overall for cut in cuts] == list(run.pieces)
    assert (cuts[0].left, cuts[-1].right) == (left, right)


@pytest.mark.parametrize(("wall", "left", "right"), [(15, IN, IN), (0.2, CAP, CAP), (7, IN, SQUARE)])
def test_a_run_shorter_than_its_mitres_or_caps_is_refused(wall, left, right):
    with pytest.raises(CutsheetError) as caught:
        worked(wall, left, right)
    assert (caught.value.code, caught.value.where) == ("run-too-short", "runs[0]")


def test_a_run_of_a_thousand_sticks_is_refused():
    with pytest.raises(CutsheetError) as caught:
        worked(480, OUT, OUT, replace(RULES, longest_stick=0.1))
    assert caught.value.code == "too-many-sticks"


def test_a_frame_is_mitred_round_its_opening_and_the_coat_widens_the_foam_opening():
    flat = [(0, 0), (2, 0), (2, 5), (0, 5)]  # 2 thick, 5 wide, bare at its back
    finished, foam = measure(flat), measure(foam_outline(make_section(flat), COAT))
    head, leg = frame_sides(Frame(30, 44, 6), finished, foam)
    assert (head.side, head.qty, leg.side, leg.qty) == ("head/sill", 12, "leg", 12)
    assert (head.finished_short, head.finished_long, head.foam_short, head.foam_long) == (30, 40, 30.25, 39.75)
    assert (leg.finished_short, leg.finished_long, leg.foam_short, leg.foam_long) == (44, 54, 44.25, 53.75)
    (cut,) = frame_cuts(head, foam, RULES)
    assert (cut.front, cut.wall, cut.flat, cut.qty, cut.left) == (39.75, 30.25, True, 12, OUT)


def test_a_side_of_a_frame_longer_than_a_stick_is_spliced():
    flat = measure([(0, 0), (2, 0), (2, 5), (0, 5)])
    _, leg = frame_sides(Frame(30, 110), flat, flat)
    first, last = frame_cuts(leg, flat, RULES)
    assert (first.front, first.wall, first.left, first.right) == (96, 91, OUT, SPLICE)
    assert (last.front, last.wall, last.right) == (24, 19, OUT)


def test_loose_pieces_are_square_and_a_long_one_is_spliced():
    assert [(cut.overall, cut.left, cut.right, cut.qty) for cut in piece_cuts(Piece(60, 8), RULES)] == [
        (60, SQUARE, SQUARE, 8)
    ]
    assert [cut.right for cut in piece_cuts(Piece(150), RULES)] == [SPLICE, SQUARE]
