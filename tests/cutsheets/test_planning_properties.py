"""What holds for every plan of any small day: it can be sawn, and lies between the bound and the plain shelves."""

import json
from itertools import pairwise

from hypothesis import assume, given, settings
from hypothesis import strategies as st

from cutsheets.planning import plan
from cutsheets.planning.check import check
from tests.cutsheets.plan_days import any_instance, opened_price, without

TINY = 1e-6
some = settings(max_examples=40, deadline=None)
one_type = st.lists(
    st.fixed_dictionaries(
        {"id": st.just("b"), "grade": st.just("G"), "size": st.lists(st.integers(3, 40), min_size=3, max_size=3),
         "qty": st.integers(1, 30), "rot": st.just(["LWH", "WLH"])}
    ), min_size=1, max_size=1,
)  # fmt: skip


def assert_sound(day, result):
    """The plan passes the checker, is never better than the bound and never worse than the plain shelves."""
    verdict = check(without(day, result.left_out), result.plan)
    assert verdict.faults == []
    assert result.bound.price <= opened_price(day, result.plan) + TINY
    assert result.bound.blocks <= verdict.stats.new_blocks
    assert result.bound.score <= result.score + TINY
    assert result.score <= result.plain_score + TINY
    stats = verdict.stats
    assert stats.opened == stats.blanks + stats.kept + stats.waste + stats.kerf


@some
@given(any_instance())
def test_every_plan_can_be_sawn_and_lies_between_the_bound_and_the_plain_shelves(day):
    assert_sound(day, plan(day, iterations=8))


@some
@given(any_instance(kerf=st.just(0)))
def test_a_wire_without_kerf_gives_sound_plans(day):
    assert_sound(day, plan(day, iterations=8))


@some
@given(any_instance(kerf=st.just(40), allow_edge_shave=st.booleans()))
def test_a_kerf_larger_than_most_blanks_gives_sound_plans(day):
    assert_sound(day, plan(day, iterations=8))


@some
@given(any_instance(kerf=st.sampled_from([3, 6]), allow_edge_shave=st.just(False)))
def test_skins_thinner_than_the_kerf_give_sound_plans_on_a_saw_that_may_not_cut_air(day):
    assert_sound(day, plan(day, iterations=8))


@some
@given(any_instance(blanks=one_type))
def test_one_size_only_gives_sound_plans(day):
    assert_sound(day, plan(day, iterations=8))


@some
@given(any_instance(), st.integers(0, 3))
def test_the_same_seed_gives_the_same_plan_to_the_last_letter(day, seed):
    one, two = (json.dumps(plan(day, iterations=6, seed=seed).plan) for _ in range(2))
    assert one == two


@some
@given(any_instance())
def test_more_rounds_never_give_a_dearer_plan(day):
    scores = [plan(day, iterations=rounds).score for rounds in (0, 3, 12)]
    assert all(more <= fewer for fewer, more in pairwise(scores))


def renamed(day):
    """The same day with another name for every piece of foam and every blank."""
    return day | {
        key: [{**each, "id": f"{each['id']}, renamed"} for each in day[key]] for key in ("stock", "remnants", "blanks")
    }


@some
@given(any_instance())
def test_other_names_change_nothing_but_the_names(day):
    one, two = plan(day, iterations=6), plan(renamed(day), iterations=6)
    assert json.dumps(one.plan["pieces"]).count('"axis"') == json.dumps(two.plan["pieces"]).count('"axis"')
    assert (one.score, one.bound, one.stats) == (two.score, two.bound, two.stats)


def with_racked(day, letter):
    """The same day with the ids of remnants counted up behind another letter."""
    return day | {"remnants": [{**each, "id": f"{letter}{n}"} for n, each in enumerate(day["remnants"])]}


@some
@given(any_instance())
def test_a_remnant_with_the_id_of_a_block_is_not_mixed_up_with_it(day):
    one, two = plan(with_racked(day, "R"), iterations=20), plan(with_racked(day, "S"), iterations=20)
    assert [{**piece, "source": piece["source"].replace("remnant:R", "remnant:S")} for piece in one.plan["pieces"]] == (
        two.plan["pieces"]
    )
    assert (one.score, one.bound, one.left_out) == (two.score, two.bound, two.left_out)


@some
@given(any_instance(), st.randoms(use_true_random=False))
def test_the_order_in_which_blanks_are_listed_changes_no_plan(day, chance):
    shuffled = list(day["blanks"])
    chance.shuffle(shuffled)
    distinct = {(tuple(each["size"]), tuple(each["rot"]), each["qty"], each["grade"]) for each in shuffled}
    assume(len(distinct) == len(shuffled))
    one, two = plan(day, iterations=6), plan(day | {"blanks": shuffled}, iterations=6)
    assert one.plan == two.plan


@some
@given(any_instance(remnants=st.just([])))
def test_foam_that_runs_out_leaves_blanks_out_by_name_and_the_rest_is_sound(day):
    for stock in day["stock"]:
        stock["limit"] = 1
    result = plan(day, iterations=4)
    ordered = {each["id"]: each["qty"] for each in day["blanks"]}
    assert all(0 < left.qty <= ordered[left.blank] for left in result.left_out)
    assert_sound(day, result)
