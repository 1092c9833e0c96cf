"""A draft: a checked plan out of what stands free on the rack. It reserves nothing."""

from __future__ import annotations

from collections.abc import Callable, Collection
from dataclasses import asdict, dataclass, replace
from time import monotonic
from typing import Any

from django.db import IntegrityError, transaction
from django.db.models import Max

from cutsheets.planning import PlanResult
from cutsheets.planning import plan as solve
from cutsheets.planning.check import check
from cutsheets.stock import Instance, Plan
from orders.layout import size_words
from orders.models import CuttingRun
from shop.acts import Act
from shop.models import Grade, ShopRules, Station
from shop.refusals import Refused

from .asked import Asked
from .keeping import Kept, kept_pieces
from .rack import Rack, rack_of
from .wanted import Wanted, demand

TRIES = 20  # more than people who begin a plan at once: each failed try means that somebody else got a number


@dataclass(frozen=True, slots=True)
class Draft:
    """A checked plan as a run keeps it."""

    instance: Instance
    plan: Plan
    figures: dict[str, Any]

    def columns(self) -> dict[str, Any]:
        """Return the values of the columns of a run."""
        return {"instance": self.instance, "plan": self.plan, "figures": self.figures}


@dataclass(frozen=True, slots=True)
class Effort:
    """How a plan is looked for, and who listens meanwhile.

    `iterations` instead of the seconds asked for give the same plan on every machine. `tell` is handed the best draft
    so far, `stop` is asked whether that is enough.
    """

    seed: int = 0
    iterations: int | None = None
    tell: Callable[[Draft], None] | None = None
    stop: Callable[[], bool] | None = None


def make_plan(
    grade: Grade, act: Act, *, seconds: int | None = None, seed: int = 0, iterations: int | None = None,
    order_numbers: Collection[int] | None = None,
) -> CuttingRun:  # fmt: skip
    """Return a draft that is made here and now, without a worker; refused as `find_draft`, then nothing is written."""
    numbers = None if order_numbers is None else tuple(order_numbers)
    run = new_run(grade, Asked(seconds or ShopRules.current().plan_seconds, numbers), act)
    draft = find_draft(run, Effort(seed, iterations))
    run.instance, run.plan, run.figures = draft.instance, draft.plan, draft.figures
    return save_numbered(run)


def new_run(grade: Grade, asked: Asked, act: Act, follows: CuttingRun | None = None) -> CuttingRun:
    """Return a run that is not saved yet; refused with `no-saw`."""
    saw = Station.objects.filter(code=asked.saw, kind=Station.Kind.SAW, active=True).first()
    if asked.saw and saw is None:
        raise Refused("no-saw", f"There is no saw “{asked.saw}” in use; choose one of the shop's saws.")
    return CuttingRun(grade=grade, saw=saw, asked=asked.as_json(), follows=follows, made_by=act.by, made_at=act.at)


def save_numbered(run: CuttingRun) -> CuttingRun:
    """Save a new run under the next free number."""
    for _ in range(TRIES):
        run.number = (CuttingRun.objects.aggregate(last=Max("number"))["last"] or 0) + 1
        try:
            with transaction.atomic():
                run.save(force_insert=True)
        except IntegrityError:
            continue
        return run
    raise Refused("no-number", "Many plans are begun at this moment; make the plan again.")


def prepared(run: CuttingRun) -> tuple[Wanted, Kept]:
    """Return the blanks that a run is asked for, as they are wanted now, and what it keeps of the plan before.

    Refused with `nothing-wanted`, or with `keep-old` where a piece cannot stay as it was planned.
    """
    asked = Asked.of(run)
    wanted = demand(run.grade, asked.instead_of)
    if asked.orders is not None:
        wanted = [row for row in wanted if row[0].line.order.number in asked.orders]
    if not wanted:
        sentence = f"No order waits for blanks of {run.grade}; release one or let one go on first."
        raise Refused("nothing-wanted", sentence)
    return wanted, kept_pieces(run, rack_of(run, wanted))


def find_draft(run: CuttingRun, effort: Effort) -> Draft:
    """Return a checked draft that gives every blank which a run is asked for out of what is on the rack.

    Refused as `prepared`, or with `no-foam` where a blank fits nothing or the rack does not hold them all.
    Nothing is locked meanwhile: planning takes seconds.
    """
    wanted, kept = prepared(run)
    search = _Search(Asked.of(run), kept, effort)
    result = search.result()
    if result.left_out:
        raise _no_foam(run.grade, wanted, kept.rack, result)
    return search.draft(result)


class _Search:
    """The search for one plan: what is planned, and how its answer becomes a draft of all that is asked for."""

    def __init__(self, asked: Asked, kept: Kept, effort: Effort) -> None:
        self.asked, self.kept, self.rack, self.effort = asked, kept, kept.rack, effort
        self.began = monotonic()
        self.whole: PlanResult | None = None
        if kept.pieces or asked.first:
            self.whole = solve(kept.rack.instance, iterations=0, seed=effort.seed)

    def result(self) -> PlanResult:
        """Return the best plan found of what is not kept; remnants to use first cost next to nothing."""
        rest = self.kept.rest()
        cheap = [each | {"price": 1} if each["id"] in self.asked.first else each for each in rest["remnants"]]
        return solve(
            rest | {"remnants": cheap}, seconds=self.asked.seconds, iterations=self.effort.iterations,
            seed=self.effort.seed, stop=self.effort.stop, tell=self.tell,
        )  # fmt: skip

    def tell(self, result: PlanResult) -> None:
        if self.effort.tell and not result.left_out:
            self.effort.tell(self.draft(result))

    def draft(self, result: PlanResult) -> Draft:
        """Return the draft, with the figures of the whole at true prices."""
        plan, tags = self.kept.with_rest(result.plan)
        if self.whole is not None:
            result = self._refigured(plan, self.whole)
        seconds = round(monotonic() - self.began, 2)
        same = {"tags": tags, "blanks": self.rack.blanks, "seed": self.effort.seed, "seconds": seconds}
        return Draft(self.rack.instance, plan, same | _figures(result))

    def _refigured(self, plan: Plan, whole: PlanResult) -> PlanResult:
        """Return a plan as the result of planning the whole; refused where the kept pieces cannot be sawn any more."""
        verdict = check(self.rack.instance, plan)
        if not verdict.ok:
            sentence = f"{', '.join(self.asked.keep)} cannot stay as planned: {verdict.faults[0].message} Plan again."
            raise Refused("keep-old", sentence)
        return replace(whole, plan=plan, stats=verdict.stats, score=verdict.stats.score, left_out=())


def _figures(result: PlanResult) -> dict[str, Any]:
    """Return what the page says about a plan: scores in cents, the bound, volumes in cubic micrometres, yields."""
    stats = result.stats
    return {
        "score": result.score, "plain_score": result.plain_score, "bound": asdict(result.bound),
        "stats": asdict(stats), "plain_stats": asdict(result.plain_stats),
        "yield_gross": stats.yield_gross, "yield_net": stats.yield_net,
        "plain_yield_gross": result.plain_stats.yield_gross, "plain_yield_net": result.plain_stats.yield_net,
    }  # fmt: skip


def _no_foam(grade: Grade, wanted: Wanted, rack: Rack, result: PlanResult) -> Refused:
    """Return the refusal that names the blanks without foam, and what to do."""
    sizes = {blank.pk: size_words(blank) for blank, _ in wanted}
    missing = [f"{row.qty} of {row.blank}, {sizes[rack.blanks[row.blank]]}" for row in result.left_out]
    sentence = (
        f"The rack does not hold {'; '.join(missing)}. Receive blocks of {grade}, or leave an order out of the plan."
    )
    return Refused(
        "no-foam", sentence, missing=missing, orders=sorted({row.blank.split()[0] for row in result.left_out})
    )
