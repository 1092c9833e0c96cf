"""Lower bounds: they never exclude an answer that exists, and see what plain volume does not."""

import pytest

from cutsheets.planning.check import can_be_sawn, first_overlap
from cutsheets.solids import Placed
from tests.cutsheets.plan_cases import ANY_LIE, FT, bars, blank, block, instance, planned, remnant

PRICE = 33_280


def bound(case):
    """The bounds alone: no round of search."""
    return planned(case, iterations=0).bound


def bricks(size, count, box):
    return instance([blank("BRICK", size, count, lies=ANY_LIE)], [block(box, price=PRICE)])


# de Bruijn, Filling boxes with bricks, American Mathematical Monthly 76 (1969) 37-40: of 1 × 2 × 4 bricks, 27 have the
# volume of a 6 × 6 × 6 box and only 26 fit; 125 have that of 10 × 10 × 10 and do not fill it.


@pytest.mark.parametrize(
    ("count", "box", "at_least", "truth"),
    [(26, 6, 1, 1), (27, 6, 1, 2), (28, 6, 2, 2), (125, 10, 1, 2), (126, 10, 2, 2)],
)
def test_bricks_in_a_cube_are_bounded_by_their_volume_and_never_above_the_truth(count, box, at_least, truth):
    assert at_least <= bound(bricks((1, 2, 4), count, (box,) * 3)).blocks <= truth


def test_a_box_that_five_bricks_fill_is_enough_for_them_and_too_little_for_six():
    # The same paper: 1 × 2 × 3 bricks fill 1 × 5 × 6, not all parallel.
    laid = [Placed("blank", "A", (0, 0, 2 * n), (1, 3, 2)) for n in range(3)]
    laid += [Placed("blank", "A", (0, 3, 3 * n), (1, 2, 3)) for n in range(2)]
    assert first_overlap(laid) is None
    assert can_be_sawn(laid, (1, 5, 6))
    assert bound(bricks((1, 2, 3), 5, (1, 5, 6))).blocks == 1
    assert bound(bricks((1, 2, 3), 6, (1, 5, 6))).blocks == 2


def test_blanks_over_half_the_block_in_every_direction_need_a_block_each():
    case = instance([blank("A", (51, 51, 51), 7, lies=ANY_LIE)], [block((100, 100, 100), price=PRICE)])
    assert bound(case).blocks == 7  # volume alone says one
    assert bound(case).price == pytest.approx(7 * PRICE)


def test_a_lie_that_is_allowed_counts_and_one_that_is_not_does_not():
    flat = blank("A", (100, 51, 20), 7, lies=("LWH",))
    turned = {**flat, "rot": ["LWH", "LHW"]}
    # Lying flat, two do not go side by side: five in a pile is all. On edge, two more go beside the pile.
    assert bound(instance([flat], [block((100, 100, 100))])).blocks == 2
    assert bound(instance([turned], [block((100, 100, 100))])).blocks == 1


@pytest.mark.parametrize(("kerf", "blocks"), [(0, 1), (1, 2)])
def test_the_kerf_between_parts_is_part_of_the_bound(kerf, blocks):
    assert bound(bars(96, [(24, 4)], kerf=kerf)).blocks == blocks


def test_the_kerf_beyond_the_last_part_is_not_part_of_the_bound():
    assert bound(bars(99, [(24, 4)], kerf=1)).blocks == 1


@pytest.mark.parametrize(("skin", "blocks"), [(0, 1), (1, 2)])
def test_the_skin_is_no_room_for_blanks(skin, blocks):
    case = instance([blank("A", (10, 10, 5), 2)], [block((10, 10, 10 + skin), skin=[[0, 0], [0, 0], [skin, skin]])])
    assert bound(case).blocks == blocks


def test_what_the_rack_can_give_needs_no_block():
    case = instance(
        [blank("A", (10, 10, 10), 3)], [block((20, 10, 10), price=500)], remnants=[remnant("R", (20, 10, 10))]
    )
    assert bound(case).blocks == 1
    # 500 for a block, 1000 for the remnant: two blocks are the cheapest.
    assert bound(case).price == pytest.approx(1000)


def test_two_grades_are_bounded_apart():
    half = [blank("A", (10, 10, 5), 1), blank("B", (10, 10, 5), 1, grade="2.0")]
    stock = [block((10, 10, 10), price=500), block((10, 10, 10), name="B2", grade="2.0", price=700)]
    assert bound(instance(half, stock)).blocks == 2
    assert bound(instance(half, stock)).price == pytest.approx(1200)


def test_the_cheaper_block_bounds_the_price_and_the_larger_one_the_number():
    stock = [block((10, 10, 10), price=300), block((20, 10, 10), name="LONG", price=1_000)]
    both = bound(instance([blank("A", (10, 10, 10), 4)], stock))
    assert both.blocks == 2
    assert both.price == pytest.approx(1200)


def test_a_cut_for_every_blank_but_one_is_in_the_bound_of_the_score():
    # 15 cents a cut (a shop figure): four blanks out of one block take three cuts, and nothing is left to keep.
    case = instance([blank("A", (2 * FT, FT, FT), 4)], [block((8 * FT, FT, FT), price=5_000)])
    result = planned(case)
    assert result.score == 5_000 + 3 * 15
    assert result.bound.score == pytest.approx(result.score, abs=1)


def test_nothing_to_cut_is_bounded_by_nothing():
    assert bound(instance([], [block((10, 10, 10))])).blocks == 0
