"""A draft: a checked plan out of what stands free on the rack. It reserves nothing."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import asdict
from time import perf_counter
from typing import Any

from django.db import transaction
from django.db.models import Max

from cutsheets.planning import PlanResult
from cutsheets.planning import plan as solve
from orders.layout import size_words
from orders.models import CuttingRun
from orders.rack import Rack, Wanted, rack_of
from shop.acts import Act
from shop.models import Grade, ShopRules
from shop.refusals import Refused

from .wanted import demand


def make_plan(
    grade: Grade, act: Act, *, seconds: float | None = None, seed: int = 0, iterations: int | None = None,
    order_numbers: Collection[int] | None = None,
) -> CuttingRun:  # fmt: skip
    """Return a checked draft that gives every wanted blank of a grade (of these orders) out of what is on the rack.

    Refused with `nothing-wanted`, or with `no-foam` where a blank fits nothing or the rack does not hold them all.
    Nothing is locked meanwhile: planning takes seconds.
    """
    wanted = [row for row in demand(grade) if order_numbers is None or row[0].line.order.number in order_numbers]
    if not wanted:
        raise Refused("nothing-wanted", f"No order waits for blanks of {grade}; release one or let one go on first.")
    rack = rack_of(grade, wanted, f"{grade}, {act.day}")
    if seconds is None:
        seconds = ShopRules.current().plan_seconds
    started = perf_counter()
    result = solve(rack.instance, seconds=seconds, iterations=iterations, seed=seed)
    if result.left_out:
        raise _no_foam(grade, wanted, rack, result)
    figures = {"tags": rack.tags, "blanks": rack.blanks, "seconds": round(perf_counter() - started, 2), "seed": seed}
    with transaction.atomic():
        return CuttingRun.objects.create(
            number=_next_number(), grade=grade, instance=rack.instance, plan=result.plan,
            figures=figures | _figures(result), made_by=act.by, made_at=act.at,
        )  # fmt: skip


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


def _next_number() -> int:
    return (CuttingRun.objects.aggregate(last=Max("number"))["last"] or 0) + 1
