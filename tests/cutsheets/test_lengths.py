from functools import lru_cache
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cutsheets.errors import CutsheetError
from cutsheets.planning.lengths import MOST_KINDS, MOST_STICKS, sticks_from_lengths

INCH = 25_400
FOOT = 12 * INCH
# The worked example of the Wikipedia article "Cutting stock problem": rolls of 5600 mm, widths and how many of each.
WIDTHS = [(1380, 22), (1520, 25), (1560, 12), (1710, 14), (1820, 18), (1880, 18), (1930, 20), (2000, 10), (2050, 12),
          (2100, 14), (2140, 16), (2150, 18), (2200, 20)]  # fmt: skip


def check(lengths, demand, kerf, done):
    """Check an answer by plain arithmetic: fits, counts, stock on hand, cost."""
    given = [0] * len(demand)
    opened = [0] * len(lengths)
    for pattern in done.patterns:
        assert pattern.times > 0
        used = sum(count * stick for count, (stick, _) in zip(pattern.gives, demand, strict=True))
        assert used + (sum(pattern.gives) - 1) * kerf <= lengths[pattern.length][0]
        opened[pattern.length] += pattern.times
        given = [have + count * pattern.times for have, count in zip(given, pattern.gives, strict=True)]
    assert given == [qty for _, qty in demand]
    assert all(copies is None or n <= copies for n, (_, copies, _) in zip(opened, lengths, strict=True))
    assert done.cost == sum(n * cost for n, (_, _, cost) in zip(opened, lengths, strict=True))
    assert done.bound <= done.cost


@pytest.mark.parametrize(("lengths", "demand", "rolls"), [
    # "The optimal answer requires 73 master rolls"
    ([(5600, None, 1)], WIDTHS, 73),
    # Chvátal, Linear Programming (1983), chapter 13: rolls of 100 in; 453 rolls (memory)
    ([(100, None, 1)], [(45, 97), (36, 610), (31, 395), (14, 211)], 453),
])  # fmt: skip
def test_published_examples_are_solved_and_proven(lengths, demand, rolls):
    done = sticks_from_lengths(lengths, demand, 0)
    check(lengths, demand, 0, done)
    assert (done.cost, done.bound, done.is_proven) == (rolls, rolls, True)


def test_the_kerf_is_lost_between_sticks_and_not_at_the_ends():
    # arithmetic: 2 · 48 in and one kerf are 96 1/8 in; 2 · 47 15/16 in and one kerf are 96 in
    for stick, rolls in ((48 * INCH, 2), (48 * INCH - 1587, 2), (48 * INCH - 1588, 1)):
        assert sticks_from_lengths([(8 * FOOT, None, 1)], [(stick, 2)], 3175).cost == rolls
    assert sticks_from_lengths([(8 * FOOT, None, 1)], [(4 * FOOT, 2)], 0).cost == 1


def test_a_remnant_is_opened_before_new_foam_and_only_as_often_as_there_is_one():
    lengths = [(16 * FOOT, None, 1000), (5 * FOOT, 1, 100)]
    done = sticks_from_lengths(lengths, [(5 * FOOT, 4)], 3175)
    check(lengths, [(5 * FOOT, 4)], 3175, done)
    assert (done.cost, done.is_proven) == (1100, True)


def test_two_stock_lengths_are_mixed_where_that_is_cheapest():
    # three of 7 ft: one length of 16 ft gives two, one of 8 ft the third; 8 + 8 + 8 ft costs 1500
    done = sticks_from_lengths([(8 * FOOT, None, 500), (16 * FOOT, None, 900)], [(7 * FOOT, 3)], 3175)
    assert (done.cost, done.is_proven) == (1400, True)


def test_no_more_lengths_are_opened_than_needed_though_they_cost_nothing():
    done = sticks_from_lengths([(8 * FOOT, None, 0)], [(2 * FOOT, 3)], 3175)
    assert [pattern.times for pattern in done.patterns] == [1]


def test_nothing_wanted_costs_nothing():
    assert sticks_from_lengths([(100, None, 7)], [(10, 0)], 1).patterns == ()


@pytest.mark.parametrize(("lengths", "demand", "fault"), [
    ([(100, None, 1)], [(50, 1), (101, 1)], ("stick-too-long", "demand[1]")),
    ([(100, 0, 1), (60, None, 1)], [(70, 1)], ("stick-too-long", "demand[0]")),
    ([], [(70, 1)], ("stick-too-long", "demand[0]")),
    ([(100, 2, 1)], [(60, 3)], ("lengths-short", "lengths")),
])  # fmt: skip
def test_what_cannot_be_cut_is_refused(lengths, demand, fault):
    with pytest.raises(CutsheetError) as refused:
        sticks_from_lengths(lengths, demand, 3)
    assert (refused.value.code, refused.value.where) == fault


NAN = float("nan")
GOOD = {"lengths": [(100, None, 7), (60, 2, 5)], "demand": [(50, 1), (30, 4)], "kerf": 3}
# what is given → the code, and the place that is named
FAULTS = [
    ("lengths", [(100, None, 7), (0, 1, 5)], "range", "lengths[1]"),
    ("lengths", [(-100, None, 7)], "range", "lengths[0]"),
    ("lengths", [(NAN, None, 7)], "whole", "lengths[0]"),
    ("lengths", [(100.0, None, 7)], "whole", "lengths[0]"),
    ("lengths", [(10**30, None, 7)], "range", "lengths[0]"),
    ("lengths", [(100, -1, 7)], "range", "lengths[0]"),
    ("lengths", [(100, NAN, 7)], "whole", "lengths[0]"),
    ("lengths", [(100, 10**30, 7)], "range", "lengths[0]"),
    ("lengths", [(100, None, -7)], "range", "lengths[0]"),
    ("lengths", [(100, None, NAN)], "whole", "lengths[0]"),
    ("lengths", [(100, None, 7)] * (MOST_KINDS + 1), "list-size", "lengths"),
    ("demand", [(50, 1), (0, 4)], "range", "demand[1]"),
    ("demand", [(-50, 1)], "range", "demand[0]"),
    ("demand", [(NAN, 1)], "whole", "demand[0]"),
    ("demand", [(float("inf"), 1)], "whole", "demand[0]"),
    ("demand", [(True, 1)], "whole", "demand[0]"),
    ("demand", [("50", 1)], "whole", "demand[0]"),
    ("demand", [(50, -1)], "range", "demand[0]"),
    ("demand", [(50, 1.0)], "whole", "demand[0]"),
    ("demand", [(50, MOST_STICKS + 1)], "range", "demand[0]"),
    ("demand", [(50, MOST_STICKS), (30, 1)], "too-many", "demand"),
    ("demand", [(50, 1)] * (MOST_KINDS + 1), "list-size", "demand"),
    ("kerf", -1, "range", "kerf"),
    ("kerf", NAN, "whole", "kerf"),
    ("kerf", 0.5, "whole", "kerf"),
]


@pytest.mark.parametrize(("name", "value", "code", "where"), FAULTS)
def test_faulty_sticks_and_lengths_are_refused_with_code_and_place(name, value, code, where):
    assert sticks_from_lengths(**GOOD).cost == 7 + 7
    with pytest.raises(CutsheetError) as refused:
        sticks_from_lengths(**GOOD | {name: value})
    assert (refused.value.code, refused.value.where) == (code, where)


def least(lengths, demand, kerf):
    """Return the least cost by trying everything, None where there is too little stock: for a few sticks only."""

    @lru_cache(None)
    def cheapest(wanted, copies):
        if not any(wanted):
            return 0
        answers = []
        for s, (length, _, cost) in enumerate(lengths):
            if copies[s]:
                fewer = (*copies[:s], copies[s] - 1, *copies[s + 1 :])
                answers += [cost + rest for left in set(cuts(wanted, length + kerf, 0))
                            if (rest := cheapest(left, fewer)) is not None]  # fmt: skip
        return min(answers, default=None)

    def cuts(wanted, room, first):
        took = False
        for i in range(first, len(wanted)):
            if wanted[i] and demand[i][0] + kerf <= room:
                took = True
                left = (*wanted[:i], wanted[i] - 1, *wanted[i + 1 :])
                yield from cuts(left, room - demand[i][0] - kerf, i)
        if not took or first:
            yield wanted

    most = sum(qty for _, qty in demand)
    return cheapest(tuple(qty for _, qty in demand), tuple(most if n is None else n for _, n, _ in lengths))


STOCK = st.tuples(st.integers(30, 100), st.sampled_from([None, None, 1, 2]), st.integers(1, 12))


@settings(max_examples=80, deadline=None)
@given(st.lists(STOCK, min_size=1, max_size=3), st.lists(st.tuples(st.integers(5, 60), st.integers(1, 3)), min_size=1,
       max_size=3), st.integers(0, 4))  # fmt: skip
def test_no_way_of_cutting_a_few_sticks_is_cheaper(lengths, demand, kerf):
    try:
        done = sticks_from_lengths(lengths, demand, kerf)
    except CutsheetError:
        assert least(lengths, demand, kerf) is None
        return
    check(lengths, demand, kerf, done)
    assert done.bound <= least(lengths, demand, kerf) <= done.cost
    if done.is_proven:
        assert done.cost == least(lengths, demand, kerf)


@pytest.mark.parametrize("seed", range(6))
def test_days_of_a_shop_are_proven_and_with_several_stock_lengths_nearly(seed):
    rng = Random(seed)
    sizes = rng.sample(range(20 * INCH, 60 * INCH, INCH // 8), 8)
    demand = [(size, rng.randint(1, 12)) for size in sizes]
    one = [(8 * FOOT, None, 500)]
    several = [*one, (16 * FOOT, None, 960), (70 * INCH, 2, 180)]
    first, second = (sticks_from_lengths(lengths, demand, 3175) for lengths in (one, several))
    check(one, demand, 3175, first)
    check(several, demand, 3175, second)
    assert first.is_proven
    assert second.cost <= min(first.cost, 1.02 * second.bound)
