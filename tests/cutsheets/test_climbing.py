"""A climb: dear blanks go first, free foam is moved until it makes one rest, and a stuck climb gives way to another."""

from collections import Counter
from random import Random

from cutsheets.planning import climbing, plan, sawing
from cutsheets.planning.bounds import Floor
from cutsheets.planning.budget import Budget
from cutsheets.planning.building import PLAIN, Builder
from cutsheets.planning.climbing import Climb
from cutsheets.planning.layout import FREE, Job, cost
from cutsheets.planning.prices import Prices
from cutsheets.planning.shelves import shelves
from cutsheets.planning.worths import Worths
from tests.cutsheets.bars import CUT, bar_job, cut_up, number, source
from tests.cutsheets.plan_days import ANY, blank, block, inches, instance


def many_sizes(sizes, qty):
    """Blanks of invented sizes, a few of them nearly as large as half a block."""
    rng = Random(60)
    drawn = [(rng.uniform(6, 90), rng.uniform(2, 30), rng.uniform(2, 20)) for _ in range(sizes)]
    blanks = [blank(f"b{n}", inches(*size), qty, rot=ANY) for n, size in enumerate(drawn)]
    return instance(*blanks, stock=[block(inches(96, 48, 48))], kerf=3_175)


def climb_of(job, pieces, demand=None):
    builder = Builder(job, Random(0), Budget())
    demand = demand or job.demand
    return Climb(builder, demand, pieces, Floor(job, demand, lambda: False), lambda plan: 0)


def test_a_blank_out_of_badly_filled_foam_goes_sooner_in_the_next_plan():
    job = bar_job((50, 2), (60, 1))
    worths = Worths(job)
    before = worths[number(job, 60)] / worths[number(job, 50)]
    worths.learn([cut_up(job, "BAR", 50, 50), cut_up(job, "BAR", 60)])
    assert worths[number(job, 60)] / worths[number(job, 50)] > 1.3 * before


def test_foam_without_a_price_teaches_nothing():
    job = bar_job((50, 1), rack=[("R", 60, 0)], prices={"cut": 0, "keep": 0, "credit": [(None, 0.0)]})
    worths = Worths(job)
    before = dict(worths)
    worths.learn([cut_up(job, "R", 50)])
    assert worths == before


def test_whole_plans_that_learn_from_each_other_are_cheaper_than_the_best_looking_blank_first():
    job = Job(many_sizes(60, 20), "1.0", Prices())
    climb = climb_of(job, shelves(job)[0])
    greedy = climb.builder.build(Counter(job.demand), [], PLAIN)
    while climb.idle < climbing.MOST_IDLE:
        climb.step()
    assert cost(climb.plan) < 0.885 * cost(greedy)


def test_a_walk_of_mends_moves_free_foam_until_it_is_in_one_piece():
    job = bar_job((20, 3))
    foam, short = source(job, "BAR"), ("blank", number(job, 20), "LWH")
    scattered = ("cut", 0, 20, short, ("cut", 0, 20, FREE, ("cut", 0, 20, short, ("cut", 0, 20, FREE, short))))
    climb = climb_of(job, [job.opened(foam, scattered)])
    walked = climb.wander()
    assert cost(walked) == 1000 + 3 * CUT == cost(climb.plan) - CUT


def test_a_plan_is_compared_with_its_free_foam_in_order():
    """Foam is free above two blanks: two rests are dearer than one and some waste, one rest of both is cheaper."""
    keep = {"dims": [10, 10, 10], "volume": 0}
    day = instance(blank("B", [40, 10, 30], 2), stock=[block([80, 10, 40])], min_remnant=keep)
    job = Job(day, "1.0", Prices(cut=CUT, keep=50, shares=((float("inf"), 0.0),)))
    one, foam = ("blank", 0, "LWH"), job.sources[0]
    loose, waste = ("cut", 2, 30, one, FREE), ("cut", 2, 30, one, ("waste",))
    climb = climb_of(job, [job.opened(foam, ("cut", 0, 40, loose, waste))])
    dearer = job.opened(foam, ("cut", 0, 40, loose, loose))
    assert dearer.cost == cost(climb.plan) + 50
    climb.restart, climb.idle = lambda: [dearer], climbing.MOST_IDLE
    while not climb.spent["restart"]:
        climb.step()
    assert cost(climb.plan) == dearer.cost - 50 - CUT


def test_a_search_that_is_asked_again_goes_on_from_its_best_plan(monkeypatch):
    job = Job(many_sizes(8, 3), "1.0", Prices())
    search, floor, begun = sawing.Search(job, Random(0), Budget()), Floor(job, job.demand), []
    search.improve(Budget(rounds=40), floor)
    best = search.best
    monkeypatch.setattr(sawing, "Climb", lambda *given: begun.append(given[2]) or Climb(*given))
    search.improve(Budget(rounds=40), floor)
    assert cost(best) < cost(search.plain)
    assert begun[0] is best


def test_a_climb_that_is_stuck_gives_way_to_another_and_its_plan_is_kept(monkeypatch):
    begun = []
    monkeypatch.setattr(climbing, "STUCK_AFTER", 300)
    monkeypatch.setattr(climbing, "STUCK", 0.0)
    monkeypatch.setattr(sawing, "Climb", lambda *given: begun.append(Climb(*given)) or begun[-1])
    results = [plan(many_sizes(8, 3), iterations=rounds).score for rounds in (100, 1_000, 2_000)]
    assert len(begun) > 3
    assert results == sorted(results, reverse=True)
