"""What a plan costs is worked out a second time from what it opens, cuts and keeps."""

import pytest
from hypothesis import given, settings

from cutsheets.planning import plan
from cutsheets.planning.check import check, leaves
from cutsheets.planning.layout import Job, cost
from cutsheets.planning.prices import CUBIC_FOOT, Prices
from cutsheets.planning.shelves import shelves
from cutsheets.stock import volume
from tests.cutsheets.plan_days import any_instance, blank, block, inches, instance, opened_price, remnant, without

some = settings(max_examples=40, deadline=None)
CUT, KEEP = 15, 50  # cents, a shop's own (common practice, no source)


def kept(day, piece):
    """(grade, volume) of every remnant that a piece leaves."""
    name = piece["source"].split(":")[1].split("#")[0]
    foam = next(each for each in day["stock"] + day["remnants"] if each["id"] == name)
    placed = leaves(day, piece["source"], piece["tree"])
    return [(foam["grade"], volume(leaf.size)) for leaf in placed if leaf.kind == "remnant"]


@some
@given(any_instance())
def test_the_score_is_what_is_opened_and_cut_less_what_is_kept(day):
    result = plan(day, iterations=8)
    remnants = [each for piece in result.plan["pieces"] for each in kept(day, piece)]
    keeping = sum(Prices().kept(foam, Prices().cheapest(day, grade)) for grade, foam in remnants)
    spent = opened_price(day, result.plan) + CUT * result.stats.cuts
    assert result.score == pytest.approx(spent + keeping, abs=1e-6)


@some
@given(any_instance())
def test_a_wire_of_twice_the_kerf_never_beats_the_bound_of_the_thin_one(day):
    thick = day | {"kerf": 2 * day["kerf"]}
    result = plan(thick, iterations=4)
    thin = plan(without(day, result.left_out), iterations=0)
    assert thin.left_out or thin.bound.price <= opened_price(thick, result.plan)


@pytest.mark.parametrize(("feet", "share"), [(1, 0.25), (3.99, 0.25), (4, 0.35), (12, 0.45), (32, 0.5), (400, 0.5)])
def test_a_large_remnant_is_worth_a_larger_share_of_new_foam_and_never_more_than_half(feet, share):
    credit = KEEP - Prices().kept(round(feet * CUBIC_FOOT), 100.0)
    assert credit == pytest.approx(feet * 100 * share)


def test_one_large_remnant_is_worth_more_than_two_halves_of_it():
    whole, half = (Prices().kept(feet * CUBIC_FOOT, 260.0) for feet in (8, 4))
    assert whole < 2 * half


def test_new_foam_is_priced_by_the_cheapest_block_of_the_grade():
    foot = [304_800] * 3
    stock = [
        block(foot, price=300),
        block([*foot[:2], 609_600], "TALL", price=500),
        block(foot, "H", grade="2.0", price=9),
    ]
    day = instance(stock=stock)
    assert [Prices().cheapest(day, grade) for grade in ("1.0", "2.0", "3.0")] == [250, 9, 0]


def test_prices_come_from_the_instance_and_are_the_usual_ones_without():
    own = {"cut": 20, "keep": 5, "credit": [(1.5, 0.1), (None, 0.4)]}
    prices = Prices.of(instance(prices=own))
    assert (prices.cut, prices.keep) == (20, 5)
    assert [prices.kept(feet * CUBIC_FOOT, 100.0) for feet in (1, 2)] == [5 - 10, 5 - 80]
    assert Prices.of(instance()) == Prices(cut=15, keep=50)


def test_a_plan_in_dearer_cuts_costs_more_by_every_cut():
    day = instance(blank("A", inches(12, 12, 12), 4), stock=[block(inches(96, 48, 48))])
    usual = plan(day, iterations=0)
    dear = plan(day | {"prices": {"cut": 1015, "keep": 50, "credit": [(None, 0)]}}, iterations=0)
    free = plan(day | {"prices": {"cut": 15, "keep": 50, "credit": [(None, 0)]}}, iterations=0)
    assert dear.score - free.score == 1000 * usual.stats.cuts


def whole_plan(*pieces):
    return {
        "format": "blockyard-plan-1", "instance": "day",
        "pieces": [{"source": source, "tree": tree} for source, tree in pieces],
    }  # fmt: skip


def split(axis, at, lo, hi):
    return {"axis": axis, "at": at, "lo": lo, "hi": hi}


def test_the_cost_of_a_plan_by_hand_worked_out_by_hand():
    """A block of 8 ft³ for 800 c, a remnant of 4 ft³ for 200 c; kept: 5 ft³ of the block, 1 ft³ of the remnant.

    800 + 200, four cuts at 15 c, two remnants at 50 c, less 5 × 100 × 0.35 and 1 × 100 × 0.25 of credit
    (the shop's usual factors: common practice, no source).
    """
    foot = 304_800
    a, b = {"blank": "A", "rot": "LWH"}, {"blank": "B", "rot": "LWH"}
    day = instance(
        blank("A", [foot, foot, 3 * foot], 1), blank("B", [foot, foot, foot], 3),
        stock=[block([8 * foot, foot, foot], price=800)], remnants=[remnant("R", [foot, foot, 4 * foot], 200)],
        min_remnant={"dims": [foot] * 3, "volume": 0},
    )  # fmt: skip
    row = split("x", foot, b, split("x", foot, b, split("x", foot, b, {"remnant": "N1"})))
    written = whole_plan(("stock:BLK#1", row), ("remnant:R", split("z", 3 * foot, a, {"remnant": "N2"})))
    verdict = check(day, written)
    assert verdict.faults == []
    assert verdict.stats.price == 1000
    assert verdict.stats.score == pytest.approx(1000 + 4 * 15 + 2 * 50 - 175 - 25)


@some
@given(any_instance())
def test_the_search_reckons_with_the_same_cost_as_the_checker(day):
    """What the shelves leave out is planned another way: the plain plan is then not theirs alone."""
    found = [shelves(job) for job in (Job(day, grade, Prices.of(day)) for grade in ("G", "H"))]
    plain = sum(cost(pieces) for pieces, _ in found)
    left_out = any(+left for _, left in found)
    assert plan(day, iterations=0).plain_score == pytest.approx(plain, abs=1e-6) or left_out
