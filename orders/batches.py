"""Many sheets at once: whether a request draws them itself or a worker does, and what becomes of them.

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
from django.db.models import F, Q
from django.tasks import TaskResultStatus, task
from django.utils import timezone

from cutsheets.errors import CutsheetError
from cutsheets.sheets.batch import Sheet, batch_pdf
from orders.models import Batch, Order, Print
from orders.packing import print_bundle_labels
from orders.papers import Paper, sheets_of, work_of
from orders.queued import DEATHS, LOST, is_stuck, open_tasks
from shop.acts import Act
from shop.models import ShopRules
from shop.refusals import Refused

log = logging.getLogger(__name__)
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


def is_long(papers: Iterable[Paper]) -> bool:
    """Return whether drawing these may take longer than a request should wait."""
    return work_of(papers) > AT_ONCE


def draw(title: str, papers: list[Paper], act: Act, tell: Callable[[int], None] | None = None) -> Drawn:
    """Return the papers in one PDF, and keep each print; `tell` hears how many are drawn.

    Labels come alone. Refused with `nothing-printed` where none of the papers can be printed.
    """
    if labels := [paper for paper in papers if paper.sheet == Print.Sheet.LABEL]:
        return Drawn(_labels(*labels, act), [])
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
        papers = [Paper(*row) for row in batch.papers]
        drawn = draw(batch.title, papers, Act(batch.by), tell=lambda done: _write(batch, done=done))
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
    """Yield what each paper prints; why some are refused goes to `left_out`, each reason once."""
    for done, paper in enumerate(papers, 1):
        try:
            yield from sheets_of(paper, act)
        except Refused as refusal:
            if refusal.sentence not in left_out:
                left_out.append(refusal.sentence)
        tell(done)


def _labels(paper: Paper, act: Act) -> bytes:
    """Return labels, which have pages of another size and so a file of their own."""
    order = Order.objects.select_related("customer").get(number=paper.number)
    return print_bundle_labels(order, act, **paper.asked or {})


def _write(batch: Batch, **columns) -> None:
    """Write something about a batch and that its worker lives; stop where it is this worker's no more."""
    now = timezone.now()
    mine = Batch.objects.filter(pk=batch.pk, state=State.WAITING, alive_at=batch.alive_at)
    if mine.update(**columns, alive_at=now) != 1:
        raise _Taken
    batch.alive_at = now


def _unclaimed() -> Q:
    return Q(alive_at=None) | Q(alive_at__lt=timezone.now() - LOST)


def waiting_orders() -> list[Order]:
    """Return the released orders that are not done, soonest first, as the page of a batch lists them."""
    out = Order.objects.filter(state=Order.State.RELEASED, held=False, done_at=None).select_related("customer")
    return list(out.order_by(F("due").asc(nulls_last=True), "number"))
