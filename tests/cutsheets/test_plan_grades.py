"""Several grades in one plan share the search; blanks without foam are named with the reason."""

import pytest

from cutsheets.planning import plan
from tests.cutsheets.plan_days import ANY, blank, block, inches, instance

BLOCK = block(inches(96, 48, 48), "B48")


def test_a_grade_at_its_bound_leaves_its_rounds_to_the_others():
    """Forty bars that fill a block at once, and bricks that fill theirs by volume and yet never do."""
    day = instance(
        blank("BAR", [60, 1, 1], 40), blank("BRICK", [1, 2, 4], 27, grade="2.0", rot=ANY),
        stock=[block([60, 8, 5], "B"), block([6, 6, 6], "P", grade="2.0")],
        min_remnant={"dims": [60, 60, 60], "volume": 0},
    )  # fmt: skip
    asked = []
    plan(day, iterations=60, stop=lambda: bool(asked.append(1)))
    assert len(asked) >= 30  # a round may fill several boxes; the bars' share is nine tenths


WHY = {
    "too long for any block": (blank("A", inches(97, 5, 5), 2, rot=ANY), "fits-nothing"),
    "too high as it must lie": (blank("A", inches(48, 12, 90), 2), "fits-no-lie"),
    "of a grade that is not on the rack": (blank("A", inches(9, 5, 5), 2, grade="9.0"), "fits-nothing"),
    "more than the foam holds": (blank("A", inches(96, 48, 48), 2), "no-foam-left"),
}


@pytest.mark.parametrize(("wanted", "why"), WHY.values(), ids=WHY)
def test_a_blank_without_foam_is_left_out_with_the_reason(wanted, why):
    day = instance(wanted, blank("B", inches(4, 4, 4), 1), stock=[BLOCK | {"limit": 1}])
    left = {each.blank: each.why for each in plan(day, iterations=5).left_out}
    assert left["A"] == why


@pytest.mark.parametrize("stock", [[], [BLOCK | {"limit": 0}]])
def test_with_no_foam_at_all_every_blank_is_left_out(stock):
    result = plan(instance(blank("A", inches(9, 5, 5), 2), blank("B", inches(4, 4, 4), 1), stock=stock), iterations=5)
    assert {(each.blank, each.qty) for each in result.left_out} == {("A", 2), ("B", 1)}
    assert (result.plan["pieces"], result.score, result.bound.blocks) == ([], 0, 0)


def test_a_plan_at_its_bound_ends_the_search_at_once():
    """Two cubes out of a block of two, and nothing left to keep: no round can find anything."""
    day = instance(blank("A", [10, 10, 10], 2), stock=[block([20, 10, 10], price=1000)])
    asked = []
    result = plan(day, iterations=50, stop=lambda: bool(asked.append(1)))
    assert result.bound.is_reached(result.score)
    assert len(asked) < 10  # on the way to the plain plan; a search asks in each of its 50 rounds
