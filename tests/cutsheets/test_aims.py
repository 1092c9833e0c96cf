"""Aims: other foam is thought of only where it is there, is large enough and is cheaper."""

from collections import Counter
from dataclasses import replace
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cutsheets.planning.aims import Aim, Aims
from cutsheets.planning.fill import Grounds
from cutsheets.planning.layout import Job
from cutsheets.planning.prices import Prices
from cutsheets.planning.shelves import shelves
from cutsheets.stock import volume
from tests.cutsheets.bars import CUT, bar_job, cut_up, gives, number, source
from tests.cutsheets.plan_days import any_instance

DRAWS = 40
MANY_DRAWS = 2_000  # some aims come to mind seldom


def thought_of(job, plan, seed=0, draws=DRAWS):
    """Every aim that comes to mind in some draws: for some pieces, and for all."""
    rng = Random(seed)
    aims = Aims(job, rng, Grounds(job, rng).reach)
    found = [aim for aim in (aims.any(plan) for _ in range(draws)) if aim is not None]
    return aims, found + aims.exchanges(plan)


def an_aim(apart, price=0.0, **changes):
    return replace(Aim(list(apart), [], Counter(), [], price, 1.0), **changes)


def test_a_cheaper_remnant_that_holds_all_blanks_is_aimed_at():
    job = bar_job((40, 1), (60, 1), rack=[("R", 110, 200)])
    plan = [cut_up(job, "BAR", 40, 60)]
    aims = thought_of(job, plan)[1]
    assert {aim.name for aim in aims} == {("remnant:R",)}
    assert all(aim.gain == 1015 - 200 - 15 for aim in aims)  # bar and cut give way to the remnant and a cut
    assert all(aim.left == job.demand for aim in aims)


def test_nothing_is_aimed_at_where_no_other_foam_is_cheaper():
    job = bar_job((40, 1), (60, 1), rack=[("DEAR", 110, 2000), ("SHORT", 50, 10)])
    assert thought_of(job, [cut_up(job, "BAR", 40, 60)])[1] == []


def test_foam_into_which_no_blank_fits_is_not_aimed_at_alone():
    job = bar_job((60, 2), rack=[("R1", 59, 10), ("R2", 59, 10), ("R3", 59, 10)])
    aims = thought_of(job, [cut_up(job, "BAR", 60), cut_up(job, "BAR", 60)])[1]
    assert all("stock:BAR" in aim.name for aim in aims)


def test_what_stays_free_counts_for_as_much_as_in_the_plan():
    """The rest of the bar pays for half of it: the short one is no cheaper by its price, but it leaves a rest too."""
    prices = {"cut": CUT, "keep": 0, "credit": [(None, 0.5)]}
    job = bar_job((20, 1), rack=[("R", 60, 700)], prices=prices, min_remnant={"dims": [10, 10, 20], "volume": 0})
    plan = [cut_up(job, "BAR", 20)]
    assert plan[0].cost == 1000 + CUT - 80 * 5 < 700 + CUT
    (aim,) = thought_of(job, plan, draws=0)[1]
    assert aim.name == ("remnant:R",)
    assert aim.gain == pytest.approx(1000 - 80 * 5 - (700 - 40 * 5))


def test_two_bars_give_way_to_a_full_one():
    job = bar_job((40, 1), (60, 1))
    aims = thought_of(job, [cut_up(job, "BAR", 40), cut_up(job, "BAR", 60)])[1]
    assert {(aim.name, aim.fullness) for aim in aims} == {(("stock:BAR",), 1.0)}


def test_an_aim_saves_what_its_pieces_cost_less_its_price():
    job = bar_job((40, 2))
    bars = [cut_up(job, "BAR", 40), cut_up(job, "BAR", 40)]
    assert an_aim(bars, 900.0).gain == 2 * 1015 - 900


def test_an_aim_is_nearer_the_less_is_missing_the_more_it_saves_and_the_less_it_was_tried():
    job = bar_job((40, 1))
    bars = [cut_up(job, "BAR", 40)]
    aim = an_aim(bars, 500.0, missing=100)
    assert replace(aim, missing=99).distance(1.0) < aim.distance(1.0)
    assert replace(aim, price=400.0).distance(1.0) < aim.distance(1.0)
    assert replace(aim, tries=1).distance(1.0) > aim.distance(1.0)
    assert replace(aim, missing=0).distance(1.0) == 0


def test_an_aim_outlives_other_pieces_and_takes_over_what_comes_for_its_own():
    job = bar_job((40, 3))
    one, two, other, new = (cut_up(job, "BAR", 40) for _ in range(4))
    apart = an_aim([one, two])
    assert apart.outlives([other], [new])
    assert apart.apart == [one, two]
    assert apart.outlives([two], [new])
    assert apart.apart == [one, new]
    assert not an_aim([one, two]).outlives([two, other], [new])  # half of what gave way was its own
    assert not an_aim([one], 1014.5).outlives([other], [new])  # nothing left to save


def test_a_slab_that_is_promised_to_the_rack_is_kept_beside_what_is_filled():
    job = bar_job((20, 2), min_remnant={"dims": [10, 10, 30], "volume": 0})
    plan = [cut_up(job, "BAR", 20), cut_up(job, "BAR", 20)]
    aims, found = thought_of(job, plan, draws=MANY_DRAWS)
    promised = [aim for aim in found if aim.pieces[-1].source.core[0] < 100]
    assert promised
    for aim in promised:
        foam = aim.pieces[-1].source
        filled = job.opened(foam, ("cut", 0, 20, ("blank", number(job, 20), "LWH"), ("free",)))
        kept = aims.kept_promise(filled)
        assert kept.source == source(job, "BAR")
        assert kept.layout == ("cut", 0, foam.core[0], filled.layout, ("free",))
        assert kept.gives == filled.gives


def test_a_piece_without_a_promise_stays_as_it_is():
    job = bar_job((20, 2))
    piece = cut_up(job, "BAR", 20)
    assert Aims(job, Random(0), Grounds(job, Random(0)).reach).kept_promise(piece) is piece


@settings(max_examples=60, deadline=None)
@given(any_instance(), st.integers(0, 100))
def test_every_aim_is_cheaper_large_enough_and_opens_no_more_than_there_is(day, seed):
    for grade in {each["grade"] for each in day["blanks"]}:
        job = Job(day, grade, Prices.of(day))
        plan = shelves(job)[0]
        for aim in thought_of(job, plan, seed)[1] if plan else ():
            assert aim.gain > 1
            assert 0 < aim.fullness <= 1
            assert gives(aim.pieces) + aim.left == gives(aim.apart)
            others = [piece for piece in plan if piece not in aim.apart]
            used = Counter(piece.source.name for piece in others + aim.pieces)
            assert all(each.limit is None or used[each.name] <= each.limit for each in job.sources)
            grown = sum(volume(job.lies[n][0][1]) * count for n, count in gives(aim.apart).items())
            assert grown <= sum(volume(piece.source.core) for piece in aim.pieces)
