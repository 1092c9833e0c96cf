"""Planning blanks in blocks: seven days that a naive planner gets wrong, and what everybody expects of a plan."""

import json

import pytest

from cutsheets.planning import plan
from cutsheets.planning.check import check
from tests.cutsheets.plan_days import ANY, IN, blank, block, inches, instance, opened_price, remnant, shelf_of, without

BLOCK = inches(96, 48, 48)
EIGHTH = 3_175  # 1/8 in

# name → (the day, new blocks needed, why). Hand examples; sizes in micrometres.
TRAPS = {
    "a kerf lies only between blanks": (
        # 4 × 607 218 + 3 kerfs = 2 438 397; 2 × 608 012 + 1 kerf = 1 219 199: sixteen fill the block to 3 µm.
        instance(blank("A", [607_218, 608_012, 608_012], 16), stock=[block(BLOCK)], kerf=EIGHTH),
        1,
    ),
    "kerfs add up": (
        # Sixteen 24 in cubes are one block by volume; with kerf 3 × 1 × 1 go into one.
        instance(blank("A", inches(24, 24, 24), 16), stock=[block(BLOCK)], kerf=EIGHTH),
        6,
    ),
    "a blank does not lie as it likes": (
        # Two cubes fill a block; the four plates lie lengthwise only and have a block of their own.
        instance(blank("A", inches(48, 48, 48), 2), blank("B", inches(24, 48, 12), 4), stock=[block(BLOCK)]),
        2,
    ),
    "a saw cuts edge to edge": (
        # Four plates round a core fill the block as a pinwheel, which no saw can cut; edge to edge three plates fit.
        instance(
            blank("A", inches(24, 16, 8), 4, rot=["LWH", "WLH"]), blank("C", inches(8, 8, 8), 1, rot=ANY),
            stock=[block(inches(40, 40, 8), price=1000)],
        ),
        2,
    ),
    "the rack comes first": (
        # R1 holds all four to 3 mm; R2 stays on the rack.
        instance(
            blank("A", inches(24, 12, 12), 4), stock=[block(BLOCK)], kerf=EIGHTH,
            remnants=[remnant("R1", inches(48.25, 24.25, 12), 1056), remnant("R2", inches(40, 20, 10), 602)],
        ),
        0,
    ),
    "grades never pool": (
        # Two halves would fill one block, but each is of a grade of its own.
        instance(
            blank("A", inches(48, 48, 48), 1, rot=ANY), blank("C", inches(48, 48, 48), 1, grade="2.0", rot=ANY),
            stock=[block(BLOCK), block(BLOCK, "BLK-2.0", grade="2.0")],
        ),
        2,
    ),
    "skin is no foam": (
        # 95 × 47 × 47 in without the skin: one blank of 48 × 24 × 24 in each, not eight.
        instance(
            blank("A", inches(48, 24, 24), 8), stock=[block(BLOCK, skin=[[IN // 2, IN // 2]] * 3)], kerf=1_588
        ),
        8,
    ),
}  # fmt: skip


@pytest.mark.parametrize(("day", "blocks"), TRAPS.values(), ids=TRAPS)
def test_a_trap_is_answered_right(day, blocks):
    result = plan(day, iterations=60)
    assert check(day, result.plan).ok
    assert result.stats.new_blocks == blocks >= result.bound.blocks
    assert not result.left_out


def test_one_remnant_is_enough_for_four_blanks_and_the_other_stays_on_the_rack():
    result = plan(TRAPS["the rack comes first"][0], iterations=60)
    assert [piece["source"] for piece in result.plan["pieces"]] == ["remnant:R1"]


def test_sixteen_blanks_that_fill_a_block_leave_less_than_one_hundredth():
    result = plan(TRAPS["a kerf lies only between blanks"][0], iterations=60)
    assert result.stats.yield_gross == pytest.approx(0.9909, abs=1e-4)


# Cross-cutting bars. Hand examples; the unit is 1/16 in where there is a kerf.


def bars(day, iterations=200):
    return plan(day, iterations=iterations).stats.new_blocks


def test_first_fit_decreasing_takes_three_bars_where_two_are_enough():
    day = shelf_of(96, (48, 1), (36, 1), (32, 1), (28, 2), (20, 1))
    result = plan(day, iterations=200)
    assert result.plain_stats.new_blocks == 3
    assert result.stats.new_blocks == result.bound.blocks == 2


def test_the_same_pieces_with_kerf_need_three_bars_or_an_eighth_more():
    pieces = [(48 * 16, 1), (36 * 16, 1), (32 * 16, 1), (28 * 16, 2), (20 * 16, 1)]
    assert bars(shelf_of(96 * 16, *pieces, kerf=1)) == 3
    assert bars(shelf_of(96 * 16 + 2, *pieces, kerf=1)) == 2


@pytest.mark.parametrize(("length", "in_one_bar"), [(96 * 16, 3), (96 * 16 + 3, 4)])
def test_a_bar_gives_length_plus_kerf_over_piece_plus_kerf_pieces(length, in_one_bar):
    assert bars(shelf_of(length, (24 * 16, in_one_bar), kerf=1), iterations=20) == 1
    assert bars(shelf_of(length, (24 * 16, in_one_bar + 1), kerf=1), iterations=20) == 2


def test_thirteen_widths_out_of_rolls_of_5600_mm_come_within_three_rolls_of_the_best():
    """The example of Wikipedia's “Cutting stock problem”: at least 73 rolls, and 73 are enough."""
    widths = [1380, 1520, 1560, 1710, 1820, 1880, 1930, 2000, 2050, 2100, 2140, 2150, 2200]
    ordered = [22, 25, 12, 14, 18, 18, 20, 10, 12, 14, 16, 18, 20]
    result = plan(shelf_of(5600, *zip(widths, ordered, strict=True)), iterations=5000)
    assert result.bound.blocks == 73
    assert 73 <= result.stats.new_blocks <= 76


# What cannot be done --------------------------------------------------------------------------------------------------


def test_a_blank_longer_than_every_block_is_left_out_by_name_and_the_rest_is_planned():
    day = instance(blank("LONG", inches(97, 8, 8), 2), blank("A", inches(90, 8, 8), 3), stock=[block(BLOCK)])
    result = plan(day, iterations=5)
    assert [(left.blank, left.qty, left.why) for left in result.left_out] == [("LONG", 2, "fits-nothing")]
    assert check(without(day, result.left_out), result.plan).ok


def test_blanks_beyond_the_stock_on_hand_are_left_out_by_name():
    day = instance(blank("A", inches(48, 48, 48), 5), stock=[block(BLOCK, limit=2)])
    result = plan(day, iterations=5)
    assert [(left.blank, left.qty, left.why) for left in result.left_out] == [("A", 1, "no-foam-left")]
    assert check(without(day, result.left_out), result.plan).ok


def test_blanks_that_the_plain_shelves_have_no_room_for_are_placed_where_there_is_foam():
    day = shelf_of(96, (48, 1), (36, 1), (32, 1), (28, 2), (20, 1))
    day["stock"][0]["limit"] = 2  # shelves need three
    assert not plan(day, iterations=20).left_out


def test_a_block_and_a_remnant_of_one_id_are_counted_apart():
    cube = inches(48, 48, 48)
    day = instance(blank("A", cube, 3), stock=[block(cube, "X", limit=2)], remnants=[remnant("X", cube, 9)])
    result = plan(day, iterations=30)
    assert [piece["source"] for piece in result.plan["pieces"]] == ["remnant:X", "stock:X#1", "stock:X#2"]
    assert check(day, result.plan).ok


def test_a_block_and_a_remnant_of_one_id_keep_their_sizes_in_a_search():
    """The one remnant and half a block give the blanks; whoever takes one for the other makes a faulty plan."""
    blanks = [blank("A", inches(24, 24, 24), 9, rot=ANY), blank("B", inches(16, 12, 8), 30, rot=ANY)]
    day = instance(*blanks, stock=[block(BLOCK, "X")], remnants=[remnant("X", inches(48, 24, 24), 900)])
    other = day | {"remnants": [remnant("Y", inches(48, 24, 24), 900)]}
    one, two = plan(day, iterations=300), plan(other, iterations=300)
    assert [piece["tree"] for piece in one.plan["pieces"]] == [piece["tree"] for piece in two.plan["pieces"]]


def test_a_grade_without_any_foam_is_left_out_and_the_other_grade_is_planned():
    day = instance(blank("A", inches(9, 9, 9), 1), blank("H", inches(9, 9, 9), 1, grade="2.0"), stock=[block(BLOCK)])
    result = plan(day, iterations=5)
    assert [left.blank for left in result.left_out] == ["H"]
    assert result.stats.new_blocks == 1


def test_a_day_without_blanks_opens_nothing():
    result = plan(instance(stock=[block(BLOCK)]), seconds=0.1)
    assert (result.plan["pieces"], result.score, result.bound.score) == ([], 0, 0)


def test_a_dearer_plan_within_the_limit_of_cuts_is_not_refused_because_a_cheaper_one_is_over_it():
    day = TRAPS["a kerf lies only between blanks"][0]
    cuts = plan(day, iterations=0).stats.cuts
    assert plan(day | {"max_cuts": cuts}, iterations=20).stats.cuts <= cuts


# Time and luck --------------------------------------------------------------------------------------------------------


def shop_day():
    sizes = [
        (71.5, 6, 4, 4), (59.5, 8.5, 6, 7), (72, 10, 8, 5), (47.5, 12, 5, 3), (95.5, 14.25, 10.25, 4), (30, 11, 9, 9),
        (96, 7.75, 6, 10), (60, 16.25, 6.25, 8), (22.5, 22.5, 7, 6),
    ]  # fmt: skip
    blanks = [blank(f"B{n}", inches(*size), qty, rot=["LWH", "LHW"]) for n, (*size, qty) in enumerate(sizes)]
    racked = [remnant("R1", inches(96, 20, 16), 4600), remnant("R2", inches(60, 30, 12), 3200)]
    half = block(inches(96, 48, 24), "HALF", price=17_638)
    return instance(*blanks, stock=[block(BLOCK), half], remnants=racked, kerf=EIGHTH)


def test_the_same_seed_and_rounds_give_the_same_plan_to_the_last_letter():
    one, two = (json.dumps(plan(shop_day(), iterations=40, seed=7).plan) for _ in range(2))
    assert one == two


def test_the_order_in_which_blanks_are_listed_changes_nothing():
    backwards = shop_day() | {"blanks": shop_day()["blanks"][::-1]}
    assert plan(backwards, iterations=40, seed=7).plan == plan(shop_day(), iterations=40, seed=7).plan


def test_more_rounds_never_give_a_dearer_plan():
    scores = [plan(shop_day(), iterations=rounds).score for rounds in (0, 5, 20, 80)]
    assert scores == sorted(scores, reverse=True)


def test_a_search_told_to_stop_returns_a_whole_plan_at_once():
    result = plan(shop_day(), seconds=60, stop=lambda: True)
    assert check(shop_day(), result.plan).ok


def test_no_time_at_all_still_gives_the_plain_plan():
    result = plan(shop_day(), seconds=0)
    assert check(shop_day(), result.plan).ok
    assert result.score == result.plain_score


def test_a_plan_costs_what_is_opened_less_what_is_kept_plus_handling():
    """Two halves of a block: 332.80 for the block, 15 cents for the cut that parts them."""
    day = instance(blank("A", inches(48, 48, 48), 2), stock=[block(BLOCK)])
    result = plan(day, iterations=5)
    assert (opened_price(day, result.plan), result.score) == (33_280, 33_295)
    assert result.bound.score == pytest.approx(33_295, abs=0.01)


def test_a_row_longer_than_calls_can_be_nested_is_planned():
    day = instance(blank("A", [1, 30, 30], 1200), stock=[block([2400, 31, 31])], kerf=1)
    assert plan(day, iterations=1).stats.new_blocks == 1
