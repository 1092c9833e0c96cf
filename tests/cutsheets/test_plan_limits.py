"""Limits: reach of the saw, changes of direction and cuts are kept with skin too, and what they forbid is named."""

import json
from collections import Counter

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cutsheets.__main__ import main
from cutsheets.planning import plan
from cutsheets.planning.check import check
from cutsheets.planning.fewer import within
from cutsheets.planning.grids import grids
from cutsheets.planning.layout import Job
from cutsheets.planning.prices import Prices
from cutsheets.planning.trees import tree
from tests.cutsheets.hand_plans import fewest_cuts
from tests.cutsheets.plan_days import ANY, any_instance, blank, block, inches, instance, remnant, without

EIGHTH = 3_175
SMALL = {"dims": [5, 5, 5], "volume": 0}
CRUST = [inches(0.5, 0.5)] * 3
CRUSTED = block(inches(97, 48, 36), skin=CRUST)
SHORT = blank("A", inches(30, 20, 10), 8, rot=ANY)
CUBES = instance(blank("A", [20, 20, 20], 8), stock=[block([40, 40, 40], price=1000)], min_remnant=SMALL)


def planned(day, iterations=40):
    """The plan of a day, which passes the check."""
    result = plan(day, iterations=iterations)
    assert check(without(day, result.left_out), result.plan).faults == []
    return result


def why(result):
    return {(each.blank, each.qty, each.why) for each in result.left_out}


# Saw and skin -----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("high", "long"), [(37, None), (36, None), (None, 60), (37, 60), (36, 48)])
def test_a_block_with_skin_beyond_the_saw_is_cut_across_first_and_its_pieces_are_trimmed(high, long):
    saw = {"height": high and inches(high)[0], "length": long and inches(long)[0]}
    result = planned(instance(SHORT, stock=[CRUSTED], kerf=EIGHTH, saw=saw))
    assert result.left_out == ()
    assert result.stats.new_blocks == 1


def test_a_saw_that_never_gets_through_the_block_leaves_its_blanks_out():
    saw = {"height": inches(35)[0], "length": None}
    assert why(planned(instance(SHORT, stock=[CRUSTED], kerf=EIGHTH, saw=saw))) == {("A", 8, "beyond-saw")}


def test_skin_comes_off_in_the_order_that_the_saw_allows():
    """A face of 42 × 40 is beyond the saw, one of 40 × 40 is not: the skin along z must come off first."""
    stock = [block([40, 40, 42], skin=[[1, 1], [0, 0], [1, 1]])]
    result = planned(instance(blank("A", [38, 40, 40], 1), stock=stock, saw={"height": None, "length": 40}))
    assert result.left_out == ()
    assert result.plan["pieces"][0]["tree"]["axis"] == "z"


def test_skin_counts_to_the_reach_of_the_saw():
    stock = [block([40, 12, 12], skin=[[0, 0], [1, 1], [1, 1]])]
    day = instance(blank("A", [20, 10, 10], 2), stock=stock)
    assert planned(day | {"saw": {"height": 12, "length": 20}}).left_out == ()
    assert why(planned(day | {"saw": {"height": 11, "length": 20}})) == {("A", 2, "beyond-saw")}


# Changes of direction ---------------------------------------------------------------------------------------------


@pytest.mark.parametrize("stages", [3, 4, 5, 6])
def test_skin_on_six_faces_takes_no_change_of_direction_of_its_own(stages):
    result = planned(instance(SHORT, stock=[CRUSTED], kerf=EIGHTH, max_stages=stages))
    assert (result.left_out, result.stats.new_blocks, result.stats.stages <= stages) == ((), 1, True)


def test_slabs_are_trimmed_and_cut_in_one_direction():
    stock = [block([40, 40, 42], skin=[[0, 0], [0, 0], [1, 1]])]
    result = planned(instance(blank("SLAB", [40, 40, 10], 4), stock=stock, max_stages=1))
    assert (result.left_out, result.stats.stages, result.stats.new_blocks) == ((), 1, 1)


def test_blanks_that_need_more_changes_of_direction_are_named_and_the_others_planned():
    stock = [block([40, 40, 40], price=1000)]
    wanted = blank("SLAB", [40, 40, 10], 3), blank("BAR", [40, 10, 10], 2), blank("CUBE", [10, 10, 10], 5)
    result = planned(instance(*wanted, stock=stock, max_stages=2))
    assert why(result) == {("CUBE", 5, "beyond-stages")}
    assert result.stats.stages == 2


def test_a_saw_and_few_changes_of_direction_are_kept_at_once():
    saw = {"height": inches(37)[0], "length": None}
    result = planned(instance(SHORT, stock=[CRUSTED], kerf=EIGHTH, saw=saw, max_stages=3))
    assert (result.left_out, result.stats.stages) == ((), 3)


# Cuts -------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("cuts", "placed"), [(0, 0), (2, 0), (3, 2), (4, 4), (6, 6), (7, 8), (20, 8)])
def test_as_many_blanks_are_cut_as_the_cuts_allow_and_the_rest_is_named(cuts, placed):
    """A slab, a bar and two cubes take three cuts, the other bar one more, the other slab three more."""
    result = planned(CUBES | {"max_cuts": cuts})
    assert why(result) == ({("A", 8 - placed, "beyond-cuts")} if placed < 8 else set())
    assert result.stats.cuts <= cuts


def test_skin_goes_away_with_trim_where_cuts_are_few():
    """One blank in a corner has six faces to be cut, three more blanks in its row take one cut each."""
    day = instance(blank("A", inches(20, 20, 10), 9), stock=[CRUSTED], kerf=EIGHTH)
    assert why(planned(day | {"max_cuts": 5})) == {("A", 9, "beyond-cuts")}
    assert why(planned(day | {"max_cuts": 6})) == {("A", 8, "beyond-cuts")}
    assert why(planned(day | {"max_cuts": 8})) == {("A", 6, "beyond-cuts")}


def test_grades_share_the_cuts_as_they_need_them():
    wanted = blank("WHOLE", [40, 40, 40], 3), blank("HALF", [40, 40, 20], 2, grade="2.0")
    stock = [block([40, 40, 40]), block([40, 40, 40], "H", grade="2.0")]
    assert planned(instance(*wanted, stock=stock, max_cuts=1)).left_out == ()


def test_what_has_no_foam_and_what_has_no_cuts_is_told_apart():
    day = CUBES | {"blanks": [*CUBES["blanks"], blank("LONG", [41, 1, 1], 2)], "max_cuts": 4}
    assert why(planned(day)) == {("A", 4, "beyond-cuts"), ("LONG", 2, "fits-nothing")}


def test_a_blank_short_of_foam_and_of_cuts_is_named_with_both_numbers():
    day = CUBES | {"stock": [block([40, 40, 40], limit=1)], "blanks": [blank("A", [20, 20, 20], 9)], "max_cuts": 4}
    assert why(planned(day)) == {("A", 1, "no-foam-left"), ("A", 4, "beyond-cuts")}


def test_two_small_blanks_are_cut_rather_than_a_large_one():
    """Two cuts give the bar, which is over half of the block, or two thin slabs."""
    stock = [block([40, 40, 40], limit=1)]
    day = instance(blank("BAR", [40, 30, 30], 1), blank("SLAB", [40, 40, 3], 2), stock=stock, max_cuts=2)
    assert why(planned(day)) == {("BAR", 1, "beyond-cuts")}


def test_grids_give_all_blanks_that_limits_allow_foam_of_their_own():
    """Where there is no time for better: each size by itself, the cubes of one block in seven cuts."""
    day = CUBES | {"blanks": [*CUBES["blanks"], blank("SLAB", [40, 40, 15], 5)], "max_stages": 3}
    job = Job(day, "1.0", Prices.of(day))
    pieces = grids(job, job.demand, Counter())
    assert sum((Counter(dict(piece.gives)) for piece in pieces), Counter()) == job.demand
    assert sorted(piece.cuts for piece in pieces) == [1, 2, 2, 7]
    assert len({id(piece) for piece in pieces}) == len(pieces)


def test_when_it_is_late_the_first_plan_alone_is_cut_down_to_the_cuts_allowed():
    job = Job(CUBES, "1.0", Prices.of(CUBES))
    full = grids(job, job.demand, Counter())
    some = grids(job, Counter({0: 2}), Counter())
    counts = [sum(n for piece in within([(job, [some, full])], 7, late)[0] for _, n in piece.gives)
              for late in (lambda: True, lambda: False)]  # fmt: skip
    assert counts == [2, 8]


def test_a_remnant_of_the_size_of_a_blank_needs_no_cut():
    day = CUBES | {"remnants": [remnant("R", [20, 20, 20], 5000)], "max_cuts": 0}
    assert why(planned(day)) == {("A", 7, "beyond-cuts")}


def test_the_command_ends_with_3_and_names_what_the_cuts_do_not_suffice_for(tmp_path, capsys):
    path = tmp_path / "day.json"
    path.write_text(json.dumps(CUBES | {"max_cuts": 4}))
    assert main(["plan", str(path), "--seconds", "0.2"]) == 3
    answer = json.loads(capsys.readouterr().out)
    assert answer["left_out"] == [{"blank": "A", "qty": 4, "why": "beyond-cuts"}]


def test_skin_goes_away_with_waste_on_either_side_of_a_blank():
    """Skin, a sliver of waste, then the blank: two cuts along x, and one for each other face with skin."""
    day = instance(
        blank("A", [20, 10, 10], 1), stock=[block([50, 14, 14], skin=[[2, 2]] * 3)], max_cuts=9,
        min_remnant={"dims": [90, 90, 90], "volume": 0},
    )  # fmt: skip
    job = Job(day, "1.0", Prices.of(day))
    piece = job.opened(job.sources[0], ("cut", 0, 1, ("free",), ("cut", 0, 20, ("blank", 0, "LWH"), ("free",))))
    written = {"source": "stock:BLK#1", "tree": tree(job, piece, iter(()))}
    verdict = check(day, {"format": "blockyard-plan-1", "instance": "day", "pieces": [written]})
    assert (verdict.faults, verdict.stats.cuts, piece.cuts) == ([], 6, 6)


# Any day ----------------------------------------------------------------------------------------------------------

SAW = st.fixed_dictionaries({
    "height": st.sampled_from([None, 15, 25, 40, 70]), "length": st.sampled_from([None, 30, 45, 60, 100]),
})  # fmt: skip
STAGES = st.sampled_from([None, 0, 1, 2, 3, 4, 6])
some = settings(max_examples=150, deadline=None)


def freed(day, each, *, unlimited):
    """The fewest cuts of a plan by hand for one blank, or None; `unlimited`: out of foam that never runs out."""
    foam = day["stock"] + day["remnants"]
    found = [fewest_cuts(day, source, each) for source in foam if not unlimited or source.get("limit", 1) is None]
    return min((cuts for cuts in found if cuts is not None), default=None)


@some
@given(any_instance(saw=SAW, max_stages=STAGES))
def test_nothing_is_left_out_that_a_plan_by_hand_gives(day):
    reasons = {(left.blank, left.why) for left in planned(day, iterations=4).left_out}
    for each in day["blanks"]:
        if freed(day, each, unlimited=True) is not None:
            assert not [left for left in reasons if left[0] == each["id"]]
        if freed(day, each, unlimited=False) is not None:
            assert reasons & {(each["id"], "beyond-saw"), (each["id"], "beyond-stages")} == set()


@some
@given(any_instance(max_cuts=st.integers(0, 12), saw=SAW, max_stages=STAGES))
def test_few_cuts_give_at_least_the_blank_that_takes_fewest(day):
    result = planned(day, iterations=4)
    assert result.stats.cuts <= day["max_cuts"]
    for each in day["blanks"]:
        cuts = freed(day, each, unlimited=True)
        if cuts is not None and cuts <= day["max_cuts"]:
            assert result.plan["pieces"]


@some
@given(any_instance(max_cuts=st.sampled_from([None, 4, 9, 30]), saw=SAW, max_stages=STAGES))
def test_with_limits_the_same_seed_gives_the_same_plan_and_the_bound_stays_below_it(day):
    one, two = plan(day, iterations=6), plan(day, iterations=6)
    assert (one.plan, one.left_out) == (two.plan, two.left_out)
    assert one.bound.score <= one.score + 1e-6 <= one.plain_score + 2e-6
