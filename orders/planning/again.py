"""An accepted plan that does not fit any more: what changed since, and a new plan for the rest of it.

What is sawn stays, and what lies open on a saw goes on as planned. A new plan is looked for as if the waiting pieces of
the old one were free; they stay reserved until the new plan is accepted, which ends the old one in one transaction.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, replace

from django.db.models import F, Sum

from orders.layout import size_words
from orders.models import Blank, CuttingRun, Move, Order, RunBlank, RunSource
from orders.sawing import replaced_by
from shop.acts import Act
from shop.models import StockMove
from shop.refusals import Refused

from .asked import Asked
from .rack import blank_id, free_pieces
from .wanted import coming, demand
from .working import start_plan

State = CuttingRun.State
ADDS = ("release", "revise", "resume", "cut-miscut", "undo")  # moves after which an order may wait for more blanks


@dataclass(frozen=True, slots=True)
class Change:
    """Something that an accepted plan does not know of.

    `code`: "unwanted" (it gives blanks that nobody waits for), "foam" (a piece of it is not as planned), "wanted"
    (more of its own blanks are due), "later" (blanks of its grade came later and wait in no plan).
    """

    code: str
    sentence: str


def replan(run: CuttingRun, act: Act, asked: Asked | None = None) -> CuttingRun:
    """Return a run that a worker will plan: all that is wanted now, out of what is free now or waits of this plan.

    `asked`: None is what was asked of this plan, less what is not free any more.
    It takes over when it is accepted; until then this plan stays in force. Refused with `plan-over` for a plan that
    never was in force or has a successor, with `nothing-wanted` where what lies open gives all that is wanted.
    """
    run.refresh_from_db()
    if run.state not in (State.ACCEPTED, State.DONE) or replaced_by(run):
        raise Refused("plan-over", f"Plan {run.number} is {run.get_state_display()}; make a new plan instead.")
    asked = replace(asked or _as_before(run), instead_of=run.number)
    return start_plan(run.grade, asked, act, follows=run)


def _as_before(run: CuttingRun) -> Asked:
    there = set(free_pieces(run.grade, run.number).values_list("tag", flat=True))
    asked = Asked.of(run)
    out, first = (tuple(tag for tag in tags if tag in there) for tags in (asked.out, asked.first))
    return replace(asked, orders=None, keep=(), out=out, first=first)


def changes_since(run: CuttingRun) -> list[Change]:
    """Return why an accepted plan does not fit any more, or what one that is over has left to be planned."""
    if run.state == State.ACCEPTED:
        return [*_unwanted(run), *_foam(run), *_due_again(run), *_came_later(run)]
    again = list(_due_again(run)) if run.state == State.DONE and not replaced_by(run) else []
    return [*_foam(run), *again] if again else []


def _unwanted(run: CuttingRun) -> Iterator[Change]:
    """Yield the blanks that the plan still gives and for which nobody waits."""
    planned = coming()
    ours = RunBlank.objects.filter(source__run=run, qty__gt=F("sawn") + F("miscut"))
    ours = ours.filter(source__state__in=(RunSource.State.WAITING, RunSource.State.ON_SAW))
    blanks = Blank.objects.filter(pk__in=ours.values("blank")).select_related("line__order").order_by("pk")
    for blank in blanks:
        order, gives = blank.line.order, planned[blank.pk]
        what = f"{gives} of {blank_id(blank)}, {size_words(blank)}"
        if order.state == Order.State.CANCELLED:
            yield Change("unwanted", f"Order {order} is cancelled: {what}, are planned.")
        elif order.held:
            yield Change("unwanted", f"Order {order} is on hold: {what}, are planned.")
        elif not blank.live:
            yield Change("unwanted", f"Order {order} has a newer sheet, without this size: {what}, are planned.")
        elif gives > blank.to_saw:
            yield Change("unwanted", f"Order {order} waits for {blank.to_saw}: {what}, are planned.")


def _foam(run: CuttingRun) -> Iterator[Change]:
    """Yield the pieces that were left out at the saw, with the reason that was given there."""
    for source in run.sources.filter(state=RunSource.State.OUT).select_related("piece"):
        found = source.piece.moves.filter(kind__in=(StockMove.Kind.CORRECTION, StockMove.Kind.SCRAP)).last()
        yield Change("foam", f"{source.piece} is not as planned: {found.reason.rstrip('.')}.")


def _due_again(run: CuttingRun) -> Iterator[Change]:
    """Yield the blanks of a plan of which more are wanted than the plans give."""
    ruined = dict(RunBlank.objects.filter(source__run=run).values_list("blank").order_by().annotate(Sum("miscut")))
    for blank, qty in demand(run.grade):
        if blank.pk in ruined:
            why = f" ({ruined[blank.pk]} ruined at the saw)" if ruined[blank.pk] else ""
            waits = "waits" if qty == 1 else "wait"
            yield Change("wanted", f"{qty} more of {blank_id(blank)}, {size_words(blank)}, {waits} in no plan{why}.")


def _came_later(run: CuttingRun) -> Iterator[Change]:
    """Yield the orders that came or changed since a plan was accepted, and are not in it."""
    planned = set(RunBlank.objects.filter(source__run=run).values_list("blank", flat=True))
    waiting: Counter[Order] = Counter()
    for blank, qty in demand(run.grade):
        if blank.pk not in planned:
            waiting[blank.line.order] += qty
    moves = Move.objects.filter(action__in=ADDS, recorded_at__gt=run.accepted_at or run.made_at, order__in=waiting)
    moved = set(moves.values_list("order", flat=True))
    for order, qty in waiting.items():
        if order.pk in moved:
            yield Change("later", f"{qty} blank{'s' if qty != 1 else ''} of order {order} in no plan yet.")
