"""The front door of planning: blanks and stock in, a checked cutting plan out. A faulty plan is never returned."""

from __future__ import annotations

import math
import time
from collections import Counter
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace
from itertools import permutations
from random import Random

from cutsheets.planning.bounds import Bound, Floor
from cutsheets.planning.budget import Budget
from cutsheets.planning.check import Stats, check
from cutsheets.planning.fewer import within
from cutsheets.planning.grids import grids
from cutsheets.planning.layout import Job, Opened, cost, given
from cutsheets.planning.prices import Prices
from cutsheets.planning.sawing import Search
from cutsheets.planning.trees import tree
from cutsheets.stock import Instance, Plan, PlanPiece

Stop = Callable[[], bool]
TELL_EVERY = 1.0  # seconds at least between two plans that are told
FIRST = 0.5  # seconds at most, for one grade, to look for a plan that leaves out less than the plain one
BEFORE = 0.2  # share of the time that this may take for all grades, and then their bounds
FEWER_CUTS = 0.4  # share of the search for a full plan within the cuts allowed, before blanks are left out


@dataclass(frozen=True, slots=True)
class LeftOut:
    """Blanks that the plan does not give, and why.

    `fits-nothing`: no foam of the grade is large enough; `fits-no-lie`: some would be if the blank might lie otherwise;
    `not-from`: some is, but the blank is kept for other foam; `beyond-saw`: the saw cannot cut it out of any;
    `beyond-stages`: it can, but the direction of the cuts would change too often; `no-foam-left`: others took the foam;
    `beyond-cuts`: others took the cuts that are allowed.
    """

    blank: str
    qty: int
    why: str


@dataclass(frozen=True, slots=True)
class PlanResult:
    """A checked plan: its score in cents beside the plain planner's and the bound, its figures, what is left out."""

    plan: Plan
    score: float
    plain_score: float
    plain_stats: Stats
    bound: Bound
    stats: Stats
    left_out: tuple[LeftOut, ...]


Tell = Callable[[PlanResult], None]


def plan(
    instance: Instance,
    *,
    seconds: float | None = 10.0,
    iterations: int | None = None,
    seed: int = 0,
    stop: Stop | None = None,
    tell: Tell | None = None,
) -> PlanResult:
    """Return the best plan found for every grade of an instance; what has no place is named in `left_out`.

    `iterations` instead of `seconds` gives the same plan on every machine; `stop` is asked between two of them, and
    `tell` is handed the best plan so far when it is better than the last one told, once a second at most. `stop` is
    asked before the search too: the plain plan is the least that is returned. The answer comes at most a second after
    `seconds`, where these are enough for the plain plan and its check (5,000 blanks: a second of the processor).
    """
    began = time.monotonic()
    before = None if iterations is not None else max(FIRST, BEFORE * (seconds or 0))
    work = _Work(instance, seed, Budget(before, stop=stop))
    checked = time.monotonic()
    work.check_plain()
    if iterations is None and seconds is not None:
        now = time.monotonic()
        seconds -= now - began + now - checked  # the last plan will be checked too
    listened = _Told(work.result, work.cost, tell, stop)
    whole = Budget(None if iterations is not None else seconds, iterations, listened)
    if work.too_many_cuts():
        fewer = replace(_share_of(whole, FEWER_CUTS), stop=stop)  # there is nothing to tell yet
        _improve(work.searches, work.floors, fewer)
        whole.used += fewer.used
    work.keep_cuts(replace(_share_of(whole, 1.0), stop=stop).stopped)
    _improve(work.searches, work.floors, whole)
    return work.result()


class _Work:
    """The searches of an instance, one a grade, with their bounds."""

    def __init__(self, instance: Instance, seed: int, before: Budget) -> None:
        self.instance = instance
        self.searches: list[Search] = []
        self.checked: tuple[list[list[Opened]], Plan, Stats] | None = None
        grades = sorted({blank["grade"] for blank in instance["blanks"]})
        for grade in grades:
            job = Job(instance, grade, Prices.of(instance))
            first = None if before.seconds is None else min(FIRST, before.seconds / len(grades))
            search = Search(job, Random(f"{seed}/{grade}"), replace(before, seconds=first))  # noqa: S311 - a search, no secret
            self.searches.append(search)
        self.floors = self._floors(replace(before).stopped)  # its time begins now
        self.plain: Stats | None = None

    def _floors(self, late: Stop) -> list[Floor]:
        """Return the bounds of all grades; those that have no more time are by volume."""
        return [Floor(search.job, search.demand, late) for search in self.searches]

    def check_plain(self) -> None:
        """Work out the figures of the plain plan, where it is within the cuts allowed."""
        most, plain = self.instance["max_cuts"], [search.plain for search in self.searches]
        if most is None or _cuts(plain) <= most:
            _, self.plain = self._written(plain)

    def cost(self) -> float:
        """Return the score of the best plan so far."""
        return sum(cost(search.best) for search in self.searches)

    def too_many_cuts(self) -> bool:
        """Return whether the best plan so far takes more cuts than the instance allows."""
        most = self.instance["max_cuts"]
        return most is not None and _cuts(search.best for search in self.searches) > most

    def keep_cuts(self, late: Stop) -> None:
        """Leave blanks out until the cuts are within the limit, and share those that remain between the grades."""
        most = self.instance["max_cuts"]
        if most is None:
            return
        if self.too_many_cuts():
            for search, pieces in zip(self.searches, self._fewer(late), strict=True):
                search.leave_out(pieces)
            self.floors = self._floors(late)
            self.check_plain()
        spare = most - _cuts(search.best for search in self.searches)
        blanks = max(1, sum(search.demand.total() for search in self.searches))
        for search in self.searches:
            search.most_cuts = _cuts([search.best]) + spare * search.demand.total() // blanks

    def _fewer(self, late: Stop) -> list[list[Opened]]:
        """Return as many blanks as the cuts allow, out of plans for all of them or for one of each."""
        plans = [
            (s.job, [s.best, *(grids(s.job, wanted, Counter()) for wanted in (s.demand, Counter(list(s.demand))))])
            for s in self.searches
        ]
        return within(plans, self.instance["max_cuts"] or 0, late)

    def result(self) -> PlanResult:
        """Return the best plan so far."""
        best = [search.best for search in self.searches]
        written, stats = self._written(best)
        plain = self.plain or stats
        return PlanResult(
            plan=written,
            score=stats.score,
            plain_score=plain.score,
            plain_stats=plain,
            bound=sum((floor.bound for floor in self.floors), Bound()),
            stats=stats,
            left_out=tuple(self._left_out(best)),
        )

    def _left_out(self, answer: list[list[Opened]]) -> list[LeftOut]:
        return [each for s, pieces in zip(self.searches, answer, strict=True) for each in _left_out(s, pieces)]

    def _written(self, answer: list[list[Opened]]) -> tuple[Plan, Stats]:
        """Return the plan of these pieces and its figures; a fault of the planner never leaves this function.

        The last answer is kept: no plan is checked twice in a row.
        """
        if self.checked and self.checked[0] == answer:
            return self.checked[1:]
        pieces = _pieces(self.instance, [(s.job, opened) for s, opened in zip(self.searches, answer, strict=True)])
        written: Plan = {"format": "blockyard-plan-1", "instance": self.instance["name"], "pieces": pieces}
        verdict = check(_reduced(self.instance, self._left_out(answer)), written)
        if not verdict.ok:
            raise AssertionError(f"the planner made a faulty plan: {verdict.faults[0]}")
        self.checked = answer, written, verdict.stats
        return self.checked[1:]


@dataclass
class _Told:
    """The stop of a search that tells of better plans in passing."""

    result: Callable[[], PlanResult]
    score: Callable[[], float]
    tell: Tell | None
    stop: Stop | None
    told: float = float("inf")
    at: float = 0.0

    def __call__(self) -> bool:
        now = time.monotonic()
        if self.tell is not None and now - self.at >= TELL_EVERY and self.score() < self.told:
            self.told, self.at = self.score(), now
            self.tell(self.result())
        return self.stop is not None and self.stop()


def _improve(searches: list[Search], floors: list[Floor], whole: Budget) -> None:
    """Share the budget between the grades by how many blanks each has, those nearest to their bound first.

    What a grade that reaches its bound does not use goes to those after it. No grade is searched twice: so more rounds
    only go further on the same way, and never give a dearer plan.
    """
    todo = sorted(zip(searches, floors, strict=True), key=lambda pair: cost(pair[0].best) - pair[1].bound.score)
    for number, (search, floor) in enumerate(todo):
        blanks = sum(other.demand.total() for other, _ in todo[number:])
        budget = _share_of(whole, search.demand.total() / blanks if blanks else 0.0)
        search.improve(budget, floor)
        whole.used += budget.used


def _share_of(budget: Budget, share: float) -> Budget:
    """Return a share of what is left of a budget."""
    seconds = None if budget.until is None else max(0.0, budget.until - time.monotonic()) * share
    rounds = None if budget.rounds is None else math.ceil((budget.rounds - budget.used) * share)
    return Budget(seconds, rounds, budget.stop)


def _left_out(search: Search, pieces: list[Opened]) -> Iterator[LeftOut]:
    """Yield the blanks that some pieces do not give; the search has placed all that there is foam for."""
    job, missing = search.job, search.job.demand - given(pieces)
    for number in sorted(missing):
        name, no_foam = job.instance["blanks"][number]["id"], min(search.left[number], missing[number])
        if no_foam:
            yield LeftOut(name, no_foam, _why(job, number))
        if missing[number] > no_foam:
            yield LeftOut(name, missing[number] - no_foam, "beyond-cuts")


def _why(job: Job, number: int) -> str:
    """Return why there is no foam for a blank: the first condition without which there would be some."""
    if job.has_source(number):
        return "no-foam-left"
    blank = job.instance["blanks"][number]
    allowed = [source for source in job.sources if job.may_give(source, number)]
    grown = [(a + job.kerf, b + job.kerf, c + job.kerf) for a, b, c in permutations(blank["size"])]
    lies = [size for _, size in job.lies[number]]
    if any(job.fits_in(size, source.core) for source in allowed for size in lies):
        any_stages: Instance = {**job.instance, "max_stages": None}
        return "beyond-stages" if Job(any_stages, job.grade, job.prices).has_source(number) else "beyond-saw"
    if any(job.fits_in(size, source.core) for source in job.sources for size in lies):
        return "not-from"
    if any(job.fits_in(size, source.core) for source in job.sources for size in grown):
        return "fits-no-lie"
    return "fits-nothing"


def _reduced(instance: Instance, left_out: list[LeftOut]) -> Instance:
    """Return the instance less the blanks that are left out: what the plan is checked against."""
    missing: Counter[str] = Counter()
    for each in left_out:
        missing[each.blank] += each.qty
    blanks = [{**blank, "qty": blank["qty"] - missing[blank["id"]]} for blank in instance["blanks"]]
    return {**instance, "blanks": blanks}  # type: ignore[typeddict-item]


def _cuts(plan: Iterable[list[Opened]]) -> int:
    return sum(piece.cuts for pieces in plan for piece in pieces)


def _pieces(instance: Instance, answers: list[tuple[Job, list[Opened]]]) -> list[PlanPiece]:
    """Return the opened pieces as the plan has them: remnants first, then blocks, the fullest first."""
    rack = {remnant["id"] for remnant in instance["remnants"]}
    tags = (tag for tag in (f"N{number}" for number in range(1, 1_000_000)) if tag not in rack)
    numbers: dict[str, int] = {}
    pieces: list[PlanPiece] = []
    for job, opened in answers:
        for piece in sorted(opened, key=lambda p: (not p.source.is_remnant, p.source.name, -p.blank_volume)):
            name = piece.source.name
            numbers[name] = numbers.get(name, 0) + 1
            source = name if piece.source.is_remnant else f"{name}#{numbers[name]}"
            pieces.append({"source": source, "tree": tree(job, piece, tags)})
    return pieces
