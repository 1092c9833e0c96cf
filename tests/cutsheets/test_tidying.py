"""Tidying: free foam beside free foam becomes one remnant, no blank is lost, and nothing ever gets dearer."""

from itertools import count
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cutsheets.planning.budget import Budget
from cutsheets.planning.building import Builder
from cutsheets.planning.check import check
from cutsheets.planning.layout import FREE, Job
from cutsheets.planning.prices import Prices
from cutsheets.planning.tidying import free_end, tidied
from cutsheets.planning.trees import tree
from tests.cutsheets.bars import CUT, gives
from tests.cutsheets.plan_days import any_instance, blank, block, instance

KEEP = {"dims": [10, 10, 10], "volume": 0}
LONG, HIGH = 0, 2  # axes


def blocks_of(size, *blanks, **changes):
    """A job with blocks of a size for 1000 cents and blanks of these sizes, two of each; an offcut of 10 is kept."""
    listed = (blank(f"B{n}", list(each), 2) for n, each in enumerate(blanks))
    day = instance(*listed, stock=[block(size, price=1000)], **{"min_remnant": KEEP} | changes)
    return Job(day, "1.0", Prices.of(day))


def lying(job, n=0):
    return "blank", n, "LWH"


def order_of(job, layout):
    """A layout of the first foam, tidied, as an opened piece; and as it was."""
    foam = job.sources[0]
    return job.opened(foam, tidied(job, layout, foam.core)), job.opened(foam, layout)


def test_foam_that_is_free_above_two_blanks_comes_off_in_one_cut():
    job = blocks_of([80, 10, 40], [40, 10, 30])
    below = ("cut", HIGH, 30, lying(job), FREE)
    after, before = order_of(job, ("cut", LONG, 40, below, below))
    assert after.layout == ("cut", HIGH, 30, ("cut", LONG, 40, lying(job), lying(job)), FREE)
    assert (before.cuts, after.cuts) == (3, 2)
    assert after.cost < before.cost - CUT


def test_parts_with_free_ends_are_gathered_past_one_that_has_none():
    job = blocks_of([120, 10, 40], [40, 10, 30], [40, 10, 40])
    below, full = ("cut", HIGH, 30, lying(job), FREE), lying(job, 1)
    after, before = order_of(job, ("cut", LONG, 40, below, ("cut", LONG, 40, full, below)))
    freed = ("cut", HIGH, 30, ("cut", LONG, 40, lying(job), lying(job)), FREE)
    assert after.layout == ("cut", LONG, 80, freed, full)
    assert after.gives == before.gives


def test_of_two_free_ends_the_common_length_comes_off_and_the_rest_stays():
    job = blocks_of([80, 10, 60], [40, 10, 30], [40, 10, 40], min_remnant={"dims": [10, 20, 40], "volume": 0})
    low, high = ("cut", HIGH, 30, lying(job), FREE), ("cut", HIGH, 40, lying(job, 1), FREE)
    after, _ = order_of(job, ("cut", LONG, 40, low, high))
    low = ("cut", HIGH, 30, lying(job), FREE)
    assert after.layout == ("cut", HIGH, 40, ("cut", LONG, 40, low, lying(job, 1)), FREE)


def test_a_layout_without_anything_to_gain_stays_the_very_same():
    job = blocks_of([80, 10, 40], [40, 10, 30])
    layout = ("cut", HIGH, 30, ("cut", LONG, 40, lying(job), lying(job)), FREE)
    assert tidied(job, layout, job.sources[0].core) is layout


def test_offcuts_too_small_to_keep_are_left_where_they_are():
    job = blocks_of([80, 10, 40], [40, 10, 30], min_remnant={"dims": [11, 11, 11], "volume": 0})
    below = ("cut", HIGH, 30, lying(job), FREE)
    layout = ("cut", LONG, 40, below, below)
    assert tidied(job, layout, job.sources[0].core) is layout


@pytest.mark.parametrize("shave", [True, False])
def test_free_ends_come_off_together_only_where_no_kerf_then_hangs_half_in_the_air(shave):
    """One blank would be 2 lower than the cut beside it, and the kerf is 4."""
    keep = {"dims": [6, 6, 6], "volume": 0}
    job = blocks_of([76, 6, 56], [36, 6, 26], [36, 6, 28], kerf=4, allow_edge_shave=shave, min_remnant=keep)
    low, high = ("cut", HIGH, 30, lying(job), FREE), ("cut", HIGH, 32, lying(job, 1), FREE)
    after, before = order_of(job, ("cut", LONG, 40, low, high))
    assert (after.layout == before.layout) is not shave
    assert after.layout[1] == (HIGH if shave else LONG)


@pytest.mark.parametrize(
    ("layout", "axis", "end"),
    [
        (FREE, LONG, 80),
        (("waste",), LONG, 0),
        (("blank", 0, "LWH"), HIGH, 0),
        (("cut", LONG, 30, FREE, FREE), LONG, 80),
        (("cut", LONG, 30, ("blank", 0, "LWH"), FREE), LONG, 50),
        (("cut", LONG, 30, ("blank", 0, "LWH"), FREE), HIGH, 0),
        (("cut", HIGH, 30, ("cut", LONG, 60, ("blank", 0, "LWH"), FREE), FREE), LONG, 20),
        (("cut", HIGH, 30, ("cut", LONG, 60, ("blank", 0, "LWH"), None), FREE), LONG, 0),
    ],
)
def test_the_free_end_of_a_box_goes_right_across(layout, axis, end):
    assert free_end(layout, axis, (80, 10, 40)) == end


def test_a_row_longer_than_calls_can_be_nested_is_tidied():
    job = blocks_of([4_020, 10, 40], [1, 10, 30])
    row = ("cut", HIGH, 30, lying(job), FREE)
    for _ in range(4_019):
        row = ("cut", LONG, 1, ("cut", HIGH, 30, lying(job), FREE), row)
    after, before = order_of(job, row)
    assert (after.cuts, after.gives) == (4_020, before.gives)


@settings(max_examples=150, deadline=None)
@given(any_instance(), st.integers(0, 1000))
def test_any_filled_piece_in_order_gives_the_same_blanks_costs_no_more_and_passes_the_checker(day, seed):
    for grade in {each["grade"] for each in day["blanks"]}:
        job = Job(day, grade, Prices.of(day))
        builder = Builder(job, Random(seed), Budget(rounds=1000))
        pieces = builder.built(job.demand.copy(), [], builder.taste())
        done = [job.opened(each.source, tidied(job, each.layout, each.source.core)) for each in pieces]
        assert all(after.cost < before.cost + 0.02 for after, before in zip(done, pieces, strict=True))
        assert [each.gives for each in done] == [each.gives for each in pieces]
        assert not faults(day, job, done)


def faults(day, job, pieces):
    """What the checker says of pieces as a plan for just the blanks that they give."""
    made, tags, numbers = gives(pieces), (f"N{n}" for n in count(1_000)), count(1)
    wanted = {**day, "blanks": [{**each, "qty": made[n]} for n, each in enumerate(day["blanks"]) if made[n]]}
    opened = []
    for piece in pieces:
        source = piece.source.name if piece.source.is_remnant else f"{piece.source.name}#{next(numbers)}"
        opened.append({"source": source, "tree": tree(job, piece, tags)})
    return check(wanted, {"format": "blockyard-plan-1", "instance": day["name"], "pieces": opened}).faults
