"""What holds for every plan, tried on many small days."""

import json
from collections import Counter
from copy import deepcopy

import pytest
from hypothesis import assume, example, given, settings
from hypothesis import strategies as st

from cutsheets.planning.check import leaves
from cutsheets.planning.prices import Prices
from cutsheets.stock import volume
from tests.cutsheets.plan_cases import (
    blank,
    block,
    cut_blanks,
    days,
    instance,
    nodes,
    opened_price,
    ordered,
    planned,
    source_of,
    without,
)

few = settings(max_examples=40, deadline=None)


@few
@given(days())
@example(instance([blank("A", (9, 9, 9), 1)], [block((20, 20, 20), skin=2)], kerf=3, allow_edge_shave=False))
@example(instance([blank("A", (2, 2, 2), 6)], [block((30, 30, 30), skin=1)], kerf=20))
def test_a_plan_is_valid_and_never_better_than_the_bounds_nor_worse_than_the_plain_one(case):
    result = planned(case, iterations=15)
    assert result.bound.score <= result.score <= result.plain_score
    assert result.bound.price <= opened_price(case, result.plan)
    assert result.bound.blocks <= result.stats.new_blocks


@few
@given(days())
def test_every_blank_is_cut_or_named_as_left_out(case):
    result = planned(case, iterations=5)
    left = Counter({each.blank: each.qty for each in result.left_out})
    assert cut_blanks(result.plan) + left == ordered(case)
    assert all(each.qty > 0 for each in result.left_out)


@few
@given(days())
def test_the_score_is_what_the_plan_costs(case):
    result = planned(case, iterations=10)
    assert result.score == pytest.approx(priced(case, result), abs=1e-6)


def priced(case, result):
    """The score of a plan worked out from the checker's figures and the sizes of what is kept."""
    prices, total = Prices(), opened_price(case, result.plan) + 15 * result.stats.cuts
    for piece in result.plan["pieces"]:
        per_foot = prices.cheapest(case, source_of(case, piece)["grade"])
        kept = [leaf.size for leaf in leaves(case, piece["source"], piece["tree"]) if leaf.kind == "remnant"]
        total += sum(prices.kept(volume(size), per_foot) for size in kept)
    return total


@few
@given(days(), st.integers(0, 3))
def test_the_same_seed_and_rounds_give_the_same_bytes(case, seed):
    one, two = (planned(deepcopy(case), iterations=12, seed=seed) for _ in range(2))
    assert json.dumps(one.plan) == json.dumps(two.plan)
    assert one == two


@few
@given(days())
def test_more_rounds_never_give_a_worse_plan(case):
    scores = [planned(case, iterations=rounds).score for rounds in (0, 2, 8, 20)]
    assert scores == sorted(scores, reverse=True)


@few
@given(days(), st.randoms(use_true_random=False))
def test_other_ids_change_nothing_but_ids(case, random):
    other = deepcopy(case)
    named = other["stock"] + other["remnants"] + other["blanks"]
    numbers = random.sample(range(100, 200), len(named))
    new = {each["id"]: f"no. {number}" for each, number in zip(named, numbers, strict=True)}
    for each in named:
        each["id"] = new[each["id"]]
    one, two = planned(case, iterations=10), planned(other, iterations=10)
    assert one.score == two.score
    assert trees(one.plan, new) == trees(two.plan, {})


def trees(written, new):
    """The pieces of a plan without numbers and tags, ids replaced, in an order of their own."""
    found = []
    for piece in deepcopy(written)["pieces"]:
        for node in nodes(piece["tree"]):
            if "remnant" in node:
                node["remnant"] = ""
            elif "blank" in node:
                node["blank"] = new.get(node["blank"], node["blank"])
        name = piece["source"].split(":")[1].split("#")[0]
        found.append((new.get(name, name), json.dumps(piece["tree"])))
    return sorted(found)


@few
@given(days())
def test_a_wire_of_twice_the_kerf_never_beats_the_bound_of_the_thin_one(case):
    thick = {**case, "kerf": 2 * case["kerf"]}
    result = planned(thick, iterations=5)
    thin = planned(without(case, result.left_out), iterations=0)
    assume(not thin.left_out)
    assert thin.bound.price <= opened_price(thick, result.plan)
