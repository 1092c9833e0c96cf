"""Lower bounds: never above what is possible, and sharper than volume where the shapes of blanks forbid more."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cutsheets.planning import plan
from cutsheets.planning.bounds import Floor
from cutsheets.planning.layout import Job
from cutsheets.planning.prices import Prices
from cutsheets.stock import volume
from tests.cutsheets.plan_days import ANY, any_instance, blank, block, inches, instance, remnant, shelf_of


def bound(day, grade="1.0"):
    job = Job(day, grade, Prices.of(day))
    return Floor(job, job.demand).bound


def bricks(size, count, box):
    return bound(instance(blank("A", size, count, rot=ANY), stock=[block(box, price=1000)])).blocks


def test_blanks_a_little_over_half_a_block_need_a_block_each_although_the_volume_says_two():
    day = instance(blank("A", [51, 51, 51], 8, rot=ANY), stock=[block([100, 100, 100])])
    assert math.ceil(8 * 51**3 / 100**3) == 2
    assert bound(day).blocks == 8


def test_a_length_that_fits_beside_a_long_one_is_not_counted_twice():
    """70 + 30 and 60 + 40 fill two bars; counting 70 as a whole bar is only fair while 30 counts as nothing."""
    assert bound(shelf_of(100, (70, 1), (60, 1), (40, 1), (30, 1))).blocks == 2


def test_the_kerf_between_blanks_is_counted():
    """Sixteen cubes are one block by volume; with kerf 3 × 1 × 1 of them go into one."""
    day = instance(blank("A", inches(24, 24, 24), 16), stock=[block(inches(96, 48, 48))], kerf=3_175)
    assert bound(day).blocks == 6


def test_a_blank_that_may_lie_another_way_is_counted_in_the_lie_that_takes_least():
    day = instance(blank("A", [51, 10, 10], 10, rot=["LWH"]), stock=[block([100, 10, 10])])
    assert bound(day).blocks == 10
    day = instance(blank("A", [51, 10, 10], 10, rot=["LWH", "WLH"]), stock=[block([100, 60, 10])])
    assert bound(day).blocks == 1


def test_a_blank_that_may_stand_in_the_gap_beside_the_large_ones_needs_no_room_of_theirs():
    """51 × 100 of 100 × 100 leave 49 × 100: there the small ones stand, though lying along they do not fit."""
    small = blank("B", [51, 10, 10], 2, rot=["LWH", "WLH"])
    day = instance(blank("A", [51, 100, 10], 3), small, stock=[block([100, 100, 10])])
    assert bound(day).blocks == 3


def test_bricks_of_1_2_4_in_a_cube_of_6_are_27_by_volume_and_26_in_truth():
    """De Bruijn, Amer. Math. Monthly 76 (1969) 37-40: 26 go in, so no bound for 26 may be over one block."""
    assert math.ceil(6**3 / volume((1, 2, 4))) == 27
    assert bricks([1, 2, 4], 26, [6, 6, 6]) == 1
    assert bricks([1, 2, 4], 27, [6, 6, 6]) in (1, 2)


def test_bricks_of_1_2_4_do_not_fill_a_cube_of_10_but_two_hold_125():
    """De Bruijn 1969: 1 × 2 × 4 bricks do not fill 10 × 10 × 10."""
    assert bricks([1, 2, 4], 125, [10, 10, 10]) in (1, 2)


def test_five_bricks_of_1_2_3_fill_a_box_of_1_5_6():
    """De Bruijn 1969: filled, though not all bricks lie the same way."""
    day = instance(blank("A", [1, 2, 3], 5, rot=ANY), stock=[block([1, 5, 6], price=1000)])
    result = plan(day, iterations=60)
    assert result.bound.blocks == result.stats.new_blocks == 1


def test_rolls_of_5600_mm_for_thirteen_widths_are_at_least_73():
    """Wikipedia, “Cutting stock problem”: 407 160 mm in rolls of 5600 mm; 73 rolls are enough."""
    widths = [1380, 1520, 1560, 1710, 1820, 1880, 1930, 2000, 2050, 2100, 2140, 2150, 2200]
    ordered = [22, 25, 12, 14, 18, 18, 20, 10, 12, 14, 16, 18, 20]
    day = shelf_of(5600, *zip(widths, ordered, strict=True))
    assert bound(day).blocks == 73
    assert bound(day).price == pytest.approx(73 * 5600, abs=0.01)


def test_remnants_on_the_rack_are_not_counted_as_new_blocks():
    day = instance(blank("A", [10, 10, 10], 1), stock=[block([30, 30, 30])], remnants=[remnant("R", [10, 10, 10], 7)])
    assert (bound(day).blocks, bound(day).price) == (0, pytest.approx(7, abs=0.01))


def test_remnants_that_cost_less_than_they_earn_when_kept_lower_the_bound_of_the_score():
    """A remnant of price 0: what is left of it earns its credit, so the score may be below nothing."""
    day = instance(
        blank("A", inches(12, 12, 12), 1), stock=[block(inches(96, 48, 48))],
        remnants=[remnant("R", inches(48, 48, 24), 0)],
    )  # fmt: skip
    result = plan(day, iterations=30)
    assert result.bound.score <= result.score < 0


def test_every_blank_but_one_needs_a_cut_and_every_skinned_face_one_more():
    """Three blanks out of one block with skin on two faces: four cuts of 15 cents, and nothing left worth keeping."""
    day = instance(
        blank("A", [30, 10, 10], 3), stock=[block([30, 30, 16], skin=[[0, 0], [0, 0], [3, 3]], price=1000)],
        min_remnant={"dims": [90, 90, 90], "volume": 0},
    )  # fmt: skip
    result = plan(day, iterations=10)
    assert (result.score, result.stats.cuts) == (1060, 4)
    assert result.bound.score == pytest.approx(1060, abs=0.01)


def test_four_plates_round_a_pinwheel_need_two_slabs_although_they_fit_one_without_a_saw():
    """By volume and by every dual feasible function one slab would do; edge to edge three come out of it."""
    day = instance(blank("A", [24, 16, 8], 4, rot=["LWH", "WLH"]), stock=[block([40, 40, 8], price=1000)])
    assert (bound(day).blocks, round(bound(day).price)) == (2, 2000)
    assert bound(day | {"stock": [block([40, 40, 16], price=1000)]}).blocks == 1  # two slabs, one on the other


def half(day, **changes):
    """The bound of a day on which keeping foam costs nothing and earns half of the price of new foam."""
    return bound(day | {"prices": {"cut": 0, "keep": 0, "credit": [(None, 0.5)]}} | changes).score


def test_what_the_saw_turns_to_dust_earns_nothing():
    """A half of a bar of 100 with a kerf of 10: 40 are left, not 50."""
    day = instance(
        blank("A", [50, 10, 10], 1), stock=[block([100, 10, 10], price=1000)], kerf=10,
        min_remnant={"dims": [5, 5, 5], "volume": 0},
    )  # fmt: skip
    assert plan(day | {"prices": {"cut": 0, "keep": 0, "credit": [(None, 0.5)]}}, iterations=5).score == 800
    assert 770 < half(day) <= 800  # 750 without kerf


def test_a_gap_narrower_than_any_remnant_and_any_blank_earns_nothing():
    """A bar of 94 out of 100: what is kept is at least 5 wide, so 6 may be kept and 4 may not."""
    bars = [block([100, 50, 50], price=1000)], {"dims": [5, 5, 5], "volume": 0}
    kept, lost = (
        instance(blank("A", [length, 50, 50], 1), stock=bars[0], min_remnant=bars[1]) for length in (94, 96)
    )  # fmt: skip
    assert (round(half(kept)), round(half(lost))) == (1000 - 30, 1000)


def test_a_remnant_too_small_to_leave_another_one_costs_all_of_its_price():
    day = instance(
        blank("A", [60, 50, 40], 1), stock=[block([100, 50, 40], price=1000, limit=0)],
        remnants=[remnant("R", [70, 50, 40], 300)], min_remnant={"dims": [15, 15, 15], "volume": 0},
    )  # fmt: skip
    assert round(half(day)) == 300


PRICES = st.fixed_dictionaries({
    "cut": st.sampled_from([0, 15, 400]), "keep": st.sampled_from([0, 50, 900]),
    "credit": st.sampled_from([[(None, 0.0)], [(None, 1.0)], [(1e-12, 0.2), (1e-11, 0.5), (None, 0.9)]]),
})  # fmt: skip


@settings(max_examples=150, deadline=None)
@given(any_instance(prices=PRICES))
def test_no_plan_in_any_prices_is_cheaper_than_its_bound(day):
    result = plan(day, iterations=6)
    assert result.bound.score <= min(result.score, result.plain_score) + 1e-6
    assert result.bound.price <= result.stats.price
    assert result.bound.blocks <= result.stats.new_blocks


def test_nothing_wanted_costs_nothing():
    assert bound(instance(stock=[block([9, 9, 9])])).score == 0


@settings(max_examples=60, deadline=None)
@given(any_instance())
def test_the_bound_is_never_below_what_the_grown_volumes_say(day):
    """Blocks ≥ Σ(l+k)(w+k)(h+k) ÷ the largest grown block, less what the rack holds."""
    for grade in ("G", "H"):
        job = Job(day, grade, Prices())
        wanted = {n: job.demand[n] for n in job.numbers if job.has_source(n)}
        grown = sum(volume(job.lies[n][0][1]) * qty for n, qty in wanted.items())
        rack = sum(volume(source.core) for source in job.sources if source.is_remnant)
        blocks = [volume(source.core) for source in job.sources if not source.is_remnant and source.limit is None]
        if blocks and all(source.is_remnant or source.limit is None for source in job.sources):
            least = max(0, math.ceil((grown - rack) / max(blocks) - 1e-9))
            assert Floor(job, job.demand).bound.blocks >= least or wanted != dict(job.demand)
