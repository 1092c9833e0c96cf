"""The cheapest choice among pieces that were seen: enough blanks and no more, no foam opened that is not there."""

from collections import Counter

import pytest

from cutsheets.planning.choosing import Patterns
from tests.cutsheets.bars import CUT, bar_job, cut_up, gives, number

RACK = [("R", 60, 100)]


def chosen(job, seen, plan, seconds=None):
    patterns = Patterns(job)
    for piece in seen:
        patterns.add(piece)
    return patterns.cheapest(job.demand, plan, seconds)


def names(pieces):
    return sorted(piece.source.id for piece in pieces)


@pytest.mark.parametrize("seconds", [None, 10.0])
def test_one_full_bar_is_chosen_before_two_half_empty_ones(seconds):
    job = bar_job((40, 1), (60, 1))
    plan = [cut_up(job, "BAR", 40), cut_up(job, "BAR", 60)]
    found = chosen(job, [cut_up(job, "BAR", 40, 60)], plan, seconds)
    assert names(found) == ["BAR"]
    assert found[0].cost == 1000 + CUT
    assert gives(found) == job.demand


def test_a_plan_that_nothing_seen_is_better_than_stays():
    job = bar_job((40, 2))
    plan = [cut_up(job, "BAR", 40, 40)]
    found = chosen(job, [cut_up(job, "BAR", 40)], plan)
    assert [(piece.layout, piece.cost) for piece in found] == [(plan[0].layout, plan[0].cost)]


def test_a_remnant_is_chosen_once_however_cheap_it_is():
    job = bar_job((60, 3), rack=RACK)
    plan = [cut_up(job, "BAR", 60) for _ in range(3)]
    found = chosen(job, [cut_up(job, "R", 60)], plan)
    assert names(found) == ["BAR", "BAR", "R"]
    assert gives(found) == job.demand


def test_a_pattern_is_chosen_as_often_as_it_is_needed():
    job = bar_job((25, 12))
    plan = [cut_up(job, "BAR", 25) for _ in range(12)]
    found = chosen(job, [cut_up(job, "BAR", 25, 25, 25, 25)], plan)
    assert [piece.gives for piece in found] == [((number(job, 25), 4),)] * 3


def test_blanks_that_are_given_too_often_stay_in_the_foam():
    job = bar_job((30, 5))
    plan = [cut_up(job, "BAR", 30) for _ in range(5)]
    found = chosen(job, [cut_up(job, "BAR", 30, 30, 30)], plan)
    assert len(found) == 2
    assert gives(found) == job.demand


def test_of_two_pieces_that_give_the_same_the_cheaper_one_is_kept():
    job = bar_job((30, 2))
    part, bar = ("blank", number(job, 30), "LWH"), cut_up(job, "BAR", 30, 30)
    askew = job.opened(bar.source, ("cut", 0, 70, ("cut", 0, 30, part, ("cut", 0, 10, ("free",), part)), ("free",)))
    assert askew.gives == bar.gives
    assert askew.cost > bar.cost
    for seen in ([askew, bar], [bar, askew]):
        assert [piece.layout for piece in chosen(job, seen, [])] == [bar.layout]


def test_there_is_no_choice_where_what_was_seen_does_not_give_all_blanks():
    job = bar_job((30, 2), (40, 1))
    assert chosen(job, [cut_up(job, "BAR", 30, 30)], []) is None


def test_a_blank_that_was_left_out_since_does_not_hinder_a_choice():
    job = bar_job((40, 1), (60, 1))
    patterns = Patterns(job)
    patterns.add(cut_up(job, "BAR", 40, 60))
    found = patterns.cheapest(Counter({number(job, 60): 1}), [], None)
    assert gives(found) == {number(job, 60): 1}
