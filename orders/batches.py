"""Many sheets at once: which, in which order, and whether a request draws them itself or a worker does.

What a worker draws is kept for a day in the row of its batch, which every server can read; each of its sheets is a
print of its own. A paper that cannot be printed is left out, and the page says why.
"""

from __future__ import annotations

import logging
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from datetime import timedelta
from functools import partial
from typing import Literal

from django.db import transaction
from django.db.models import F, Min, Q
from django.tasks import TaskResultStatus, task
from django.utils import timezone

from cutsheets.errors import CutsheetError
from cutsheets.sheets.batch import Sheet, batch_pdf
from orders.models import Batch, CuttingRun, Line, Order, Print, RunSource
from orders.queued import DEATHS, LOST, is_stuck, open_tasks
from orders.travellers import saw_sheet_of, traveller_of
from shop.acts import Act
from shop.models import ShopRules
from shop.refusals import Refused

log = logging.getLogger(__name__)
Paper = tuple[str, int]  # what is printed, and the number of its order or plan
State = Batch.State
AT_ONCE = 8  # lines and opened pieces that a request draws itself: the slowest kinds take some 0.13 s of work each
KEPT = timedelta(days=1)
WENT_WRONG = "Drawing went wrong; the reason is in the log of the worker. Print the sheets again."
WORKERS_DIED = "The worker died each time it drew these sheets; see its log. Print fewer at once."


class _Taken(Exception):
    """Another worker draws this batch now."""


@dataclass(frozen=True, slots=True)
class Drawn:
    """Sheets in one PDF, and a sentence for each paper that was left out."""

    pdf: bytes
    left_out: list[str]


def papers_of_orders(orders: Iterable[Order]) -> list[Paper]:
    """Return the travellers of some orders as the floor takes them: what is needed first, comes first."""
    ordered = sorted(orders, key=lambda order: (order.due is None, order.due, order.number))
    return [(Print.Sheet.TRAVELLER.value, order.number) for order in ordered]


def papers_of_plan(run: CuttingRun) -> list[Paper]:
    """Return all sheets of a plan: its saw sheets, then the travellers of its orders as their blanks are sawn."""
    planned = RunSource.objects.filter(run=run).exclude(state=RunSource.State.OUT)
    numbers = (
        planned.filter(blanks__blank__live=True)
        .values_list("blanks__blank__line__order__number")
        .annotate(first=Min("position"))
        .order_by("first", "blanks__blank__line__order__number")
    )
    return [
        (Print.Sheet.SAW_SHEET.value, run.number),
        *((Print.Sheet.TRAVELLER.value, number) for number, _ in numbers),
    ]


def is_long(papers: Iterable[Paper]) -> bool:
    """Return whether drawing these may take longer than a request should wait."""
    papers = list(papers)
    lines = Line.objects.filter(order__number__in=_numbers(papers, Print.Sheet.TRAVELLER)).count()
    opened = RunSource.objects.filter(run__number__in=_numbers(papers, Print.Sheet.SAW_SHEET)).count()
    return lines + opened > AT_ONCE


def draw(title: str, papers: Iterable[Paper], act: Act, tell: Callable[[int], None] | None = None) -> Drawn:
    """Return the papers in one PDF, and keep each print; `tell` hears how many are drawn.

    Refused with `nothing-printed` where none of them can be printed.
    """
    left_out: list[str] = []
    rules = ShopRules.current()
    sheets = _sheets(papers, act, left_out, tell or (lambda _: None))
    try:
        return Drawn(batch_pdf(sheets, title=title, shop=rules.name, page=rules.paper), left_out)
    except CutsheetError as error:
        said = [] if left_out and error.code == "batch-empty" else [error.message]
        raise Refused("nothing-printed", " ".join([*left_out, *said])) from error


def start(title: str, papers: list[Paper], act: Act) -> Batch:
    """Return a batch that a worker will draw."""
    batch = Batch.objects.create(title=title, papers=papers, by=act.by, at=act.at)
    transaction.on_commit(partial(draw_in_worker.enqueue, batch.pk))
    return batch


def keep_drawn(title: str, papers: list[Paper], drawn: Drawn, act: Act) -> Batch:
    """Return a batch that was drawn at once, for its page to say what was left out."""
    return Batch.objects.create(
        title=title, papers=papers, by=act.by, at=act.at, state=State.MADE, done=len(papers), pdf=drawn.pdf,
        left_out=drawn.left_out,
    )  # fmt: skip


def standing(batch: Batch) -> Literal["working", "waiting", "nobody"]:
    """Return how a batch that is not made yet gets on: is it drawn, does it wait its turn, or is there no worker."""
    if Batch.objects.filter(pk=batch.pk, alive_at__gte=timezone.now() - LOST).exists():
        return "working"
    return "nobody" if is_stuck() else "waiting"


def requeue_lost() -> None:
    """Put back into the queue what a dead worker was drawing; give up what killed its workers again and again."""
    lost = Batch.objects.filter(_unclaimed(), state=State.WAITING)
    if not lost:
        return
    tasks = open_tasks(draw_in_worker)
    for pk in lost.values_list("pk", flat=True):
        if tasks[TaskResultStatus.RUNNING, pk] >= DEATHS:
            lost.filter(pk=pk).update(state=State.FAILED, left_out=[WORKERS_DIED])
        elif not tasks[TaskResultStatus.READY, pk]:
            draw_in_worker.enqueue(pk)


def forget_old() -> None:
    """Delete the batches whose time is over; their prints stay."""
    Batch.objects.filter(at__lt=timezone.now() - KEPT).delete()


@task
def draw_in_worker(pk: int) -> None:
    """Draw a batch, unless another worker does; what went wrong is told to the log."""
    now = timezone.now()
    if Batch.objects.filter(_unclaimed(), pk=pk, state=State.WAITING).update(alive_at=now, done=0) != 1:
        return
    batch = Batch.objects.get(pk=pk)
    try:
        _write(batch, **_outcome(batch))
    except _Taken:
        log.warning("%s is drawn by another worker now", batch)


def _outcome(batch: Batch) -> dict:
    """Return what becomes of a batch: the columns that say so."""
    try:
        drawn = draw(batch.title, batch.papers, Act(batch.by), tell=lambda done: _write(batch, done=done))
    except Refused as refusal:
        return {"state": State.FAILED, "left_out": [refusal.sentence]}
    except _Taken:
        raise
    except Exception:
        log.exception("%s was not drawn", batch)
        return {"state": State.FAILED, "left_out": [WENT_WRONG]}
    return {"state": State.MADE, "pdf": drawn.pdf, "left_out": drawn.left_out}


def _sheets(
    papers: Iterable[Paper], act: Act, left_out: list[str], tell: Callable[[int], None]
) -> Iterator[Sheet]:  # fmt: skip
    """Yield what each paper prints; those that are refused go to `left_out`."""
    for done, (sheet, number) in enumerate(papers, 1):
        try:
            yield _sheet(sheet, number, act)
        except Refused as refusal:
            left_out.append(refusal.sentence)
        tell(done)


def _sheet(sheet: str, number: int, act: Act) -> Sheet:
    if sheet == Print.Sheet.SAW_SHEET:
        return saw_sheet_of(CuttingRun.objects.select_related("grade").get(number=number), act)
    return traveller_of(Order.objects.select_related("customer").get(number=number), act)


def _write(batch: Batch, **columns) -> None:
    """Write something about a batch and that its worker lives; stop where it is this worker's no more."""
    now = timezone.now()
    mine = Batch.objects.filter(pk=batch.pk, state=State.WAITING, alive_at=batch.alive_at)
    if mine.update(**columns, alive_at=now) != 1:
        raise _Taken
    batch.alive_at = now


def _numbers(papers: Iterable[Paper], of: Print.Sheet) -> list[int]:
    return [number for sheet, number in papers if sheet == of]


def _unclaimed() -> Q:
    return Q(alive_at=None) | Q(alive_at__lt=timezone.now() - LOST)


def waiting_orders() -> list[Order]:
    """Return the released orders that are not done, soonest first, as the page of a batch lists them."""
    out = Order.objects.filter(state=Order.State.RELEASED, held=False, done_at=None).select_related("customer")
    return list(out.order_by(F("due").asc(nulls_last=True), "number"))
