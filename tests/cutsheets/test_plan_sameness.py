"""What must not matter to a plan: the unit of its lengths, the names, the order in which blanks are listed."""

import json
from collections import Counter
from random import Random

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from cutsheets.planning import plan
from cutsheets.planning.bounds import Floor
from cutsheets.planning.layout import Job
from cutsheets.planning.prices import Prices
from tests.cutsheets.plan_days import ANY, any_instance, blank, block, inches, instance, remnant

some = settings(max_examples=30, deadline=None)
SMALL = {"dims": [20, 30, 40], "volume": 0}
DAYS = {
    "equal volumes": instance(
        blank("A", [100, 60, 20], 7, rot=ANY), blank("B", [100, 40, 30], 5, rot=ANY), blank("C", [50, 48, 50], 5),
        stock=[block([300, 150, 100], price=1000)], remnants=[remnant("R", [210, 120, 40], 100)], kerf=2,
        min_remnant=SMALL,
    ),
    "skins and limits": instance(
        blank("A", [60, 40, 20], 9, rot=ANY), blank("B", [90, 15, 12], 20), blank("C", [33, 22, 11], 30, rot=ANY),
        stock=[block([200, 120, 100], price=900, skin=[[5, 5], [4, 4], [4, 0]]), block([220, 60, 60], "S", limit=2)],
        remnants=[remnant("R", [110, 60, 40], 40)], kerf=3, min_remnant=SMALL,
    ),
    "inches": instance(
        blank("A", inches(71.5, 6, 4), 12, rot=["LWH", "LHW"]), blank("B", inches(47.5, 12, 5), 9, rot=ANY),
        blank("C", inches(22.5, 22.5, 7), 8, rot=["LWH", "WLH"]),
        stock=[block(inches(96, 48, 48)), block(inches(96, 48, 24), "HALF", price=17_638)], kerf=3_175,
        remnants=[remnant("R", inches(60, 30, 12), 3_200)],
    ),
}  # fmt: skip


def times(day, factor):
    """The same day in smaller units: every length is so many times as large, every price what it was."""

    def larger(lengths):
        return [length * factor for length in lengths]

    kinds = {kind: [{**each, "size": larger(each["size"])} for each in day[kind]]
             for kind in ("stock", "remnants", "blanks")}  # fmt: skip
    for each in kinds["stock"]:
        each["skin"] = [larger(pair) for pair in each["skin"]]
    useful = {"dims": larger(day["min_remnant"]["dims"]), "volume": day["min_remnant"]["volume"] * factor**3}
    credit = [(4 * factor**3, 0.25), (12 * factor**3, 0.35), (None, 0.45)]
    prices = {"cut": 15, "keep": 5, "credit": credit}
    return day | kinds | {"kerf": day["kerf"] * factor, "min_remnant": useful, "prices": prices}


def larger_tree(node, factor):
    if node is None or "axis" not in node:
        return node
    return node | {"at": node["at"] * factor, **{side: larger_tree(node[side], factor) for side in ("lo", "hi")}}


@pytest.mark.parametrize("factor", [2, 1000])
@pytest.mark.parametrize("day", DAYS.values(), ids=DAYS)
def test_lengths_in_a_smaller_unit_give_the_same_plan(day, factor):
    one, two = plan(times(day, 1), iterations=120), plan(times(day, factor), iterations=120)
    grown = [piece | {"tree": larger_tree(piece["tree"], factor)} for piece in one.plan["pieces"]]
    assert grown == two.plan["pieces"]
    assert (two.score, two.bound.price) == pytest.approx((one.score, one.bound.price))


@pytest.mark.parametrize("iterations", [0, 40])
@pytest.mark.parametrize("day", DAYS.values(), ids=DAYS)
def test_blanks_listed_in_another_order_give_the_same_plan(day, iterations):
    one = plan(day, iterations=iterations)
    for seed in range(3):
        shuffled = Random(seed).sample(day["blanks"], len(day["blanks"]))
        two = plan(day | {"blanks": shuffled}, iterations=iterations)
        assert (one.plan, one.plain_score) == (two.plan, two.plain_score)


def test_blanks_that_differ_only_in_the_foam_they_may_come_out_of_may_be_listed_in_any_order():
    free, bound = blank("A", [50, 40, 30], 6, rot=ANY), blank("B", [50, 40, 30], 6, rot=ANY, **{"from": ["R"]})
    foam = {"stock": [block([130, 90, 70], price=1000)], "remnants": [remnant("R", [150, 130, 60], 100)]}
    one, two = (plan(instance(*blanks, kerf=2, **foam), iterations=30) for blanks in ((free, bound), (bound, free)))
    assert one.plan == two.plan


def test_equal_blanks_listed_in_another_order_change_places_and_nothing_else():
    same = [blank(name, [50, 40, 30], 4, rot=ANY) for name in "PQ"]
    foam = {"stock": [block([130, 90, 70], price=1000)], "kerf": 2}
    one, two = (plan(instance(*blanks, **foam), iterations=30) for blanks in (same, same[::-1]))
    other = json.dumps(two.plan["pieces"]).translate(str.maketrans("PQ", "QP"))
    assert json.dumps(one.plan["pieces"]) == other


def renamed(day, suffix):
    kinds = {kind: [{**each, "id": f"{each['id']}{suffix}"} for each in day[kind]] for kind in ("stock", "blanks")}
    rack = [{**each, "id": f"R{number}{suffix}"} for number, each in enumerate(day["remnants"])]
    return day | kinds | {"remnants": rack, "name": f"day{suffix}"}


@some
@given(any_instance())
def test_other_names_give_the_same_plan_in_other_names(day):
    one, two = (plan(renamed(day, suffix), iterations=12) for suffix in (" old", " new"))
    assert json.dumps(one.plan).replace(" old", " new") == json.dumps(two.plan)
    assert [each.blank.replace(" old", " new") for each in one.left_out] == [each.blank for each in two.left_out]


@some
@given(any_instance(kerf=st.just(1), remnants=st.just([])), st.integers(1, 4))
def test_a_thicker_kerf_never_needs_less_of_one_kind_of_foam_by_volume(day, thicker):
    """Grown by k, a blank takes the share (a + k) ÷ (A + k) of a side, which rises with k where it fits."""
    assume(day["stock"])
    foam = day["stock"][0] | {"skin": [[0, 0]] * 3, "limit": None}
    thin, thick = (day | {"stock": [foam], "kerf": kerf} for kerf in (1, 1 + thicker))
    jobs = [Job(each, foam["grade"], Prices.of(each)) for each in (thin, thick)]
    fitting = Counter({number: count for number, count in jobs[1].demand.items() if jobs[1].has_source(number)})
    one, two = (Floor(job, fitting, lambda: True).bound for job in jobs)
    assert one.price <= two.price + 1e-6
    assert one.blocks <= two.blocks
