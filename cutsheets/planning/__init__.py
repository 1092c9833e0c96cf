"""The front door of planning: blanks and stock in, a checked cutting plan out. A faulty plan is never returned."""

from __future__ import annotations

import math
import time
from collections.abc import Callable
from dataclasses import dataclass
from itertools import permutations
from random import Random

from cutsheets.errors import CutsheetError
from cutsheets.planning.bounds import Bound, lower_bound
from cutsheets.planning.check import Stats, check
from cutsheets.planning.layout import Job, Opened
from cutsheets.planning.prices import Prices
from cutsheets.planning.sawing import Budget, Search, cost
from cutsheets.planning.trees import tree
from cutsheets.stock import Instance, Plan, PlanPiece

Stop = Callable[[], bool]
TELL_EVERY = 1.0  # seconds at least between two plans that are told
FIRST = 0.5  # seconds at most to look for a plan that leaves out less than the plain one


@dataclass(frozen=True, slots=True)
class LeftOut:
    """Blanks that the plan does not give, and why.

    `fits-nothing`: no foam of the grade is large enough; `fits-no-lie`: some would be if the blank might lie otherwise;
    `not-from`: some is, but the blank is kept for other foam; `beyond-saw`: the saw cannot cut it out of any;
    `no-foam-left`: others took the foam.
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
    """Return the best plan found for every grade of an instance; what has no foam is named in `left_out`.

    `iterations` instead of `seconds` gives the same plan on every machine; `stop` is asked between two of them, and
    `tell` is handed the best plan so far when it is better than the last one told, once a second at most.
    Raises CutsheetError `max-cuts` or `max-stages` where no plan that was found keeps the instance's limits.
    """
    left_out: list[LeftOut] = []
    searches, bounds = [], []
    began = time.monotonic()
    for grade in sorted({blank["grade"] for blank in instance["blanks"]}):
        job = Job(instance, grade, Prices.of(instance))
        first = Budget(None if iterations is not None else FIRST)
        search = Search(job, Random(f"{seed}/{grade}"), first)  # noqa: S311 - a search, no secret
        left_out += _left_out(job, search)
        searches.append(search)
        bounds.append(lower_bound(job, search.demand))
    reduced = _without(instance, left_out)
    checked = time.monotonic()
    plain = _checked(reduced, [(search.job, search.plain) for search in searches])
    if iterations is None and seconds is not None:
        now = time.monotonic()
        seconds -= now - began + now - checked  # the last plan will be checked too

    def result() -> PlanResult:
        best = _checked(reduced, [(search.job, search.best) for search in searches])
        if best.over is not None:
            best = plain
        if best.over is not None:
            raise best.over
        return PlanResult(
            plan=best.plan,
            score=best.stats.score,
            plain_score=plain.stats.score,
            plain_stats=plain.stats,
            bound=sum(bounds, Bound()),
            stats=best.stats,
            left_out=tuple(left_out),
        )

    listened = _Told(result, lambda: sum(cost(search.best) for search in searches), tell, stop)
    _improve(searches, bounds, Budget(None if iterations is not None else seconds, iterations, listened))
    return result()


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


def _improve(searches: list[Search], bounds: list[Bound], whole: Budget) -> None:
    """Share the budget between the grades by how many blanks each has, those nearest to their bound first.

    What a grade that reaches its bound does not use goes to those after it. No grade is searched twice: so more rounds
    only go further on the same way, and never give a dearer plan.
    """
    todo = sorted(zip(searches, bounds, strict=True), key=lambda pair: cost(pair[0].best) - pair[1].score)
    for number, (search, bound) in enumerate(todo):
        blanks = sum(other.demand.total() for other, _ in todo[number:])
        budget = _share_of(whole, search.demand.total() / blanks if blanks else 0.0)
        search.improve(budget, bound)
        whole.used += budget.used


def _share_of(budget: Budget, share: float) -> Budget:
    """Return a share of what is left of a budget."""
    seconds = None if budget.until is None else max(0.0, budget.until - time.monotonic()) * share
    rounds = None if budget.rounds is None else math.ceil((budget.rounds - budget.used) * share)
    return Budget(seconds, rounds, budget.stop)


def _left_out(job: Job, search: Search) -> list[LeftOut]:
    blanks = job.instance["blanks"]
    return [LeftOut(blanks[n]["id"], count, _why(job, n)) for n, count in sorted(search.left.items()) if count]


def _why(job: Job, number: int) -> str:
    """Return why there is no foam for a blank: the first condition without which there would be some."""
    blank = job.instance["blanks"][number]
    if job.has_source(number):
        return "no-foam-left"
    allowed = [source for source in job.sources if job.may_give(source, number)]
    grown = [(a + job.kerf, b + job.kerf, c + job.kerf) for a, b, c in permutations(blank["size"])]
    lies = [size for _, size in job.lies[number]]
    if any(job.fits_in(size, source.core) for source in allowed for size in lies):
        return "beyond-saw"
    if any(job.fits_in(size, source.core) for source in job.sources for size in lies):
        return "not-from"
    if any(job.fits_in(size, source.core) for source in job.sources for size in grown):
        return "fits-no-lie"
    return "fits-nothing"


def _without(instance: Instance, left_out: list[LeftOut]) -> Instance:
    """Return the instance less the blanks that are left out: what the plan is checked against."""
    missing = {each.blank: each.qty for each in left_out}
    blanks = [{**blank, "qty": blank["qty"] - missing.get(blank["id"], 0)} for blank in instance["blanks"]]
    return {**instance, "blanks": blanks}  # type: ignore[typeddict-item]


@dataclass(frozen=True, slots=True)
class _Checked:
    """A plan that can be sawn; `over` says which limit of the instance it does not keep."""

    plan: Plan
    stats: Stats
    over: CutsheetError | None = None


def _checked(instance: Instance, answers: list[tuple[Job, list[Opened]]]) -> _Checked:
    """Return the plan of these pieces and its figures; a fault of the planner never leaves this function."""
    written: Plan = {"format": "blockyard-plan-1", "instance": instance["name"], "pieces": _pieces(instance, answers)}
    verdict = check(instance, written)
    over = None
    for fault in verdict.faults:
        if fault.code not in ("max-cuts", "max-stages"):
            raise AssertionError(f"the planner made a faulty plan: {fault}")
        remedy = "No plan within the limit was found; raise it."
        over = CutsheetError(fault.code, f"{fault.message} {remedy}", fault.where)
    return _Checked(written, verdict.stats, over)


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
