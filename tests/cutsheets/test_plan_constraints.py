"""Every real constraint of a shop, one day each on which a planner that forgot it would be found out."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cutsheets.planning import plan
from cutsheets.planning.check import check, leaves
from tests.cutsheets.plan_days import ANY, any_instance, blank, block, instance, remnant, without

SMALL = {"dims": [5, 5, 5], "volume": 0}
CUBE = block([40, 40, 40], price=1000)


def planned(*blanks, stock=(CUBE,), **keys):
    """The plan of a day; a remnant has no side below 5."""
    day = instance(*blanks, stock=stock, **({"min_remnant": SMALL} | keys))
    result = plan(day, iterations=40)
    assert check(without(day, result.left_out), result.plan).ok
    return result


def blocks(*blanks, **keys):
    """How many new blocks the plan of a day opens; nothing is left out."""
    result = planned(*blanks, **keys)
    assert result.left_out == ()
    return result.stats.new_blocks


def why(result):
    return {each.blank: (each.qty, each.why) for each in result.left_out}


def test_the_kerf_is_lost_between_blanks_and_not_at_the_faces():
    assert blocks(blank("A", [20, 20, 20], 8)) == 1
    assert blocks(blank("A", [20, 20, 20], 8), kerf=1) == 8
    assert blocks(blank("A", [20, 20, 20], 8), kerf=2, stock=[block([42, 42, 42])]) == 1


def test_no_blank_lies_in_the_skin_of_a_new_block():
    assert blocks(blank("A", [20, 40, 40], 2), stock=[CUBE]) == 1
    assert blocks(blank("A", [20, 38, 38], 2), stock=[CUBE | {"skin": [[0, 1], [1, 1], [1, 1]]}]) == 2


def test_blocks_are_cut_as_they_were_measured():
    """Two blocks of a nominal 40, one measured 39: only the other gives the blank of 40."""
    stock = [block([39, 40, 40], "SHORT", price=900, limit=1), block([40, 40, 40], "FULL", price=1000, limit=1)]
    result = planned(blank("A", [40, 40, 40], 1), blank("B", [39, 40, 40], 1), stock=stock)
    assert {piece["source"]: piece["tree"]["blank"] for piece in result.plan["pieces"]} == {
        "stock:FULL#1": "A", "stock:SHORT#1": "B",
    }  # fmt: skip


def test_grades_are_not_mixed():
    halves = blank("A", [20, 40, 40], 1), blank("B", [20, 40, 40], 1, grade="2.0")
    assert blocks(*halves, stock=[CUBE, block([40, 40, 40], "H", grade="2.0")]) == 2


def test_a_blank_lies_only_as_it_may():
    """On its flat 40 × 30 × 20 goes twice into the cube, and on its edge too; standing up it would go four times."""
    flat = [block([60, 40, 40], price=1000)]
    assert blocks(blank("A", [40, 30, 20], 4, rot=ANY), stock=flat) == 1
    assert blocks(blank("A", [40, 30, 20], 4), stock=flat) == 2
    grain = planned(blank("A", [40, 20, 45], 1), stock=[block([45, 40, 40])])
    assert why(grain) == {"A": (1, "fits-no-lie")}


def test_cuts_change_direction_no_more_often_than_allowed():
    """A slab, a bar and two strips out of one cube: down, across, down again. With one change less it takes two."""
    wanted = [blank("SLAB", [40, 40, 20], 1), blank("BAR", [40, 20, 20], 1), blank("STRIP", [40, 20, 10], 2)]
    free = planned(*wanted)
    assert (free.stats.new_blocks, free.stats.stages) == (1, 3)
    tight = planned(*wanted, max_stages=2)
    assert (tight.stats.new_blocks, tight.stats.stages) == (2, 2)


def test_a_plan_makes_no_more_cuts_than_allowed():
    """Two bars out of the small block take one cut; out of the cheap large one they take more."""
    dear = [block([40, 40, 40], f"DEAR{n}", price=5000) for n in range(3)]
    stock = [block([40, 40, 40], "CHEAP", price=800), block([40, 20, 20], "BAR", price=900), *dear]
    free = planned(blank("A", [40, 10, 20], 2), stock=stock)
    tight = planned(blank("A", [40, 10, 20], 2), stock=stock, max_cuts=1)
    assert (free.stats.cuts > 1, tight.stats.cuts) == (True, 1)


def test_no_offcut_below_the_smallest_is_kept():
    kept = planned(blank("A", [30, 40, 40], 1))
    assert kept.stats.remnants_kept == 1
    assert planned(blank("A", [30, 40, 40], 1), min_remnant={"dims": [11, 11, 11], "volume": 0}).stats.kept == 0
    assert planned(blank("A", [30, 40, 40], 1), min_remnant={"dims": [1, 1, 1], "volume": 16_001}).stats.kept == 0


def test_a_blank_kept_for_a_block_comes_out_of_that_block_although_another_is_cheaper():
    stock = [CUBE, block([40, 40, 40], "DEAR", price=5000)]
    result = planned(blank("A", [20, 20, 20], 1, **{"from": ["DEAR"]}), blank("B", [20, 20, 20], 1), stock=stock)
    assert [piece["source"] for piece in result.plan["pieces"]] == ["stock:DEAR#1"]
    names = {leaf.name for leaf in leaves(instance(stock=stock), "stock:DEAR#1", result.plan["pieces"][0]["tree"])}
    assert {"A", "B"} <= names


def test_a_blank_kept_for_foam_that_is_too_small_is_left_out_by_name():
    result = planned(
        blank("A", [20, 20, 20], 2, **{"from": ["R"]}), remnants=[remnant("R", [19, 40, 40], 5)],
    )  # fmt: skip
    assert why(result) == {"A": (2, "not-from")}


def test_a_block_locked_out_is_not_opened():
    assert why(planned(blank("A", [20, 20, 20], 1), stock=[])) == {"A": (1, "fits-nothing")}
    assert why(planned(blank("A", [20, 20, 20], 1), stock=[CUBE | {"limit": 0}])) == {"A": (1, "no-foam-left")}


def test_a_block_cut_partly_is_used_before_a_new_one():
    assert blocks(blank("A", [20, 20, 20], 4), remnants=[remnant("REST", [40, 40, 20], 250)]) == 0


def test_no_more_blocks_of_one_size_are_opened_than_there_are():
    stock = [CUBE | {"limit": 2}, block([40, 40, 40], "DEAR", price=5000)]
    result = planned(blank("A", [40, 40, 40], 3), stock=stock)
    assert sorted(piece["source"] for piece in result.plan["pieces"]) == ["stock:BLK#1", "stock:BLK#2", "stock:DEAR#1"]


def test_the_saw_first_cuts_what_it_reaches():
    """Blanks 40 × 10 × 10 from a block 40 × 40 × 40: a saw of 30 high never gets through it, one of 40 does."""
    assert blocks(blank("A", [40, 10, 10], 16), saw={"height": 40, "length": 40}) == 1
    result = planned(blank("A", [40, 10, 10], 16), saw={"height": 30, "length": None})
    assert why(result) == {"A": (16, "beyond-saw")}


def test_a_long_block_is_cut_across_first_where_the_saw_is_too_short_to_rip_it():
    stock = [block([80, 20, 20], "LONG", price=10), block([40, 20, 20], "SHORT", price=2000)]
    result = planned(blank("A", [40, 10, 20], 4), stock=stock, saw={"height": None, "length": 40})
    assert [piece["source"] for piece in result.plan["pieces"]] == ["stock:LONG#1"]
    assert result.plan["pieces"][0]["tree"]["axis"] == "x"


SAW = st.fixed_dictionaries({
    "height": st.sampled_from([None, 20, 45, 70]), "length": st.sampled_from([None, 60, 80, 100]),
})  # fmt: skip


@settings(max_examples=60, deadline=None)
@given(any_instance(saw=SAW), st.data())
def test_any_saw_and_any_foam_kept_for_any_blank_give_sound_plans(day, data):
    names = [each["id"] for each in day["stock"] + day["remnants"]]
    for each in day["blanks"] if names else []:
        if data.draw(st.booleans()):
            each["from"] = data.draw(st.lists(st.sampled_from(names), min_size=1, max_size=2, unique=True))
    result = plan(day, iterations=6)
    assert check(without(day, result.left_out), result.plan).ok
    assert result.bound.score <= result.score + 1e-6 <= result.plain_score + 2e-6


@pytest.mark.parametrize("kerf", [0, 1, 3])
def test_a_saw_that_reaches_everything_changes_no_plan(kerf):
    day = instance(blank("A", [13, 9, 8], 11, rot=ANY), stock=[CUBE], kerf=kerf, min_remnant=SMALL)
    with_saw = day | {"saw": {"height": 40, "length": 40}}
    assert plan(with_saw, iterations=20).plan == plan(day, iterations=20).plan
