"""Plans that a worker makes: put into the queue by a page, looked for in a process of its own, kept or given up.

A run that is being planned belongs to the worker whose time stands in `alive_at`. Every write of that worker asks for
the time it wrote last, so that a run taken over by another one, or thrown away meanwhile, is never written again.
"""

from __future__ import annotations

import logging
from dataclasses import dataclass, field
from datetime import timedelta
from functools import partial
from threading import Event
from time import monotonic

from django.db import transaction
from django.db.models import Q
from django.tasks import TaskResultStatus, task
from django.utils import timezone
from django_tasks_db.models import DBTaskResult

from cutsheets.errors import CutsheetError
from orders.models import CuttingRun
from orders.queued import DEATHS, LOST, is_stuck, open_tasks
from shop.acts import Act
from shop.models import Grade
from shop.refusals import Refused

from .asked import Asked
from .making import Draft, Effort, find_draft, new_run, prepared, save_numbered

log = logging.getLogger(__name__)
State, Wish = CuttingRun.State, CuttingRun.Wish
EVERY = 1.0  # seconds between two reports of a worker
SILENT = timedelta(seconds=6)  # without a report: the page says so, though the worker may only be slow
KEPT = timedelta(days=1)  # how long the queue remembers what is over
WENT_WRONG = "Planning went wrong; the reason is in the log of the worker. Make the plan again."
WORKERS_DIED = (
    "The worker died each time it made this plan, perhaps for want of memory; see its log. Plan fewer orders at once."
)
leaving = Event()  # set when this process was asked to end: what it plans goes back into the queue


def start_plan(grade: Grade, asked: Asked, act: Act, follows: CuttingRun | None = None) -> CuttingRun:
    """Return a run that a worker will plan; refused as `prepared`. `follows`: the plan that it is to improve on."""
    run = new_run(grade, asked, act, follows)
    run.state = State.PLANNING
    prepared(run)
    save_numbered(run)
    transaction.on_commit(partial(plan_in_worker.enqueue, run.pk))
    return run


def keep(run: CuttingRun) -> None:
    """Let the worker stop and keep the best plan so far, or the first one that it finds."""
    _change(run, wish=Wish.KEEP)


def cancel(run: CuttingRun) -> None:
    """Throw away a run that is being planned; its worker finds out within a second."""
    _change(run, state=State.VOID, wish=Wish.CANCEL, instance={}, plan={}, figures={})


def requeue_lost() -> None:
    """Put back into the queue what was being planned by a worker that died, and what never got there.

    A run that stands there twice is still planned once: the second task finds it taken. One whose workers died again
    and again (the machine has too little memory for it) is given up.
    """
    lost = CuttingRun.objects.filter(_unclaimed(), state=State.PLANNING)
    if not lost:
        return
    tasks = open_tasks(plan_in_worker)
    for pk in lost.values_list("pk", flat=True):
        if tasks[TaskResultStatus.RUNNING, pk] >= DEATHS:
            lost.filter(pk=pk).update(state=State.FAILED, refusal=WORKERS_DIED)
        elif not tasks[TaskResultStatus.READY, pk]:
            plan_in_worker.enqueue(pk)


def is_anything_queued() -> bool:
    """Return whether anything waits in the queue: a plan, two ways to compare, a batch of sheets."""
    return DBTaskResult.objects.ready().exists()


def forget_finished_tasks() -> None:
    """Delete old tasks that are over, and those that died with their worker."""
    old = DBTaskResult.objects.filter(enqueued_at__lt=timezone.now() - KEPT)
    old.exclude(status=TaskResultStatus.READY).delete()


def standing(run: CuttingRun) -> str:
    """Return how a run that is being planned gets on.

    It is `working`, `silent` (its worker has said nothing for some seconds and is given up after LOST), `waiting` for
    its turn, or `nobody` works at all.
    """
    alive = Q(alive_at__gte=timezone.now() - LOST)
    if CuttingRun.objects.filter(alive, pk=run.pk).exists():
        return "working" if CuttingRun.objects.filter(pk=run.pk, alive_at__gte=timezone.now() - SILENT) else "silent"
    return "nobody" if is_stuck() else "waiting"


@task
def plan_in_worker(pk: int) -> None:
    """Make the plan of a run, unless another worker has it."""
    work(pk)


def work(pk: int, *, iterations: int | None = None) -> None:
    """Plan a run that waits: leave a draft, or the reason why there is none. What went wrong is told to the log."""
    report = _claim(pk)
    if report is None:
        return
    if report.run.wish == Wish.KEEP and report.run.plan:
        report.write(state=State.DRAFT)  # kept while its worker was dead
        return
    try:
        draft = find_draft(report.run, Effort(_seed(report.run), iterations, report.tell, report.stop))
    except Refused as refusal:
        report.write(state=State.FAILED, refusal=refusal.sentence)
    except CutsheetError as error:  # its place is one in the file that a planner reads, not one that a manager sees
        report.write(state=State.FAILED, refusal=error.message)
    except Exception:
        log.exception("%s was not made", report.run)
        report.write(state=State.FAILED, refusal=WENT_WRONG)
    else:
        if not report.handed_back:
            report.write(state=State.DRAFT, **draft.columns())
        elif report.write(alive_at=None):
            plan_in_worker.enqueue(pk)


@dataclass
class _Report:
    """What a worker says of its run, once a second, and what it hears meanwhile."""

    run: CuttingRun
    began: float = field(default_factory=monotonic)
    said: float = 0.0
    best: Draft | None = None
    enough: bool = False
    handed_back: bool = False

    def tell(self, draft: Draft) -> None:
        self.best = draft

    def stop(self) -> bool:
        """Return whether the search is over; about once a second write what it found and ask what is wished."""
        if not self.enough and monotonic() - self.said >= EVERY:
            self.enough = not self._say() or self._is_enough()
            self.said = monotonic()
        return self.enough

    def _say(self) -> bool:
        """Write the best draft so far, and for how long it was looked for; return whether the run is still ours."""
        news = self.best.columns() if self.best else {"figures": self.run.figures}
        self.best, self.run.figures = None, news["figures"] | {"seconds": round(monotonic() - self.began, 1)}
        return self.write(**news | {"figures": self.run.figures})

    def _is_enough(self) -> bool:
        self.handed_back = leaving.is_set()
        return self.handed_back or CuttingRun.objects.filter(pk=self.run.pk, wish=Wish.KEEP).exists()

    def write(self, **columns) -> bool:
        """Write something about the run and that its worker lives; return false where it is this worker's no more."""
        mine = CuttingRun.objects.filter(pk=self.run.pk, state=State.PLANNING, alive_at=self.run.alive_at)
        columns = {"alive_at": timezone.now()} | columns
        if mine.update(**columns) != 1:
            return False
        self.run.alive_at = columns["alive_at"]
        return True


def _seed(run: CuttingRun) -> int:
    """Return where the search begins: another place than that of the plan before, which is to be improved on."""
    return run.follows.figures.get("seed", 0) + 1 if run.follows else 0


def _claim(pk: int) -> _Report | None:
    """Take a run that nobody plans; of two workers one gets it."""
    now = timezone.now()
    if CuttingRun.objects.filter(_unclaimed(), pk=pk, state=State.PLANNING).update(alive_at=now) != 1:
        return None
    return _Report(CuttingRun.objects.select_related("grade", "follows").get(pk=pk))


def _unclaimed() -> Q:
    return Q(alive_at=None) | Q(alive_at__lt=timezone.now() - LOST)


def _change(run: CuttingRun, **columns) -> None:
    if CuttingRun.objects.filter(pk=run.pk, state=State.PLANNING).update(**columns) != 1:
        raise Refused("not-planning", f"Plan {run.number} is not being planned any more; look at it again.")
    run.refresh_from_db()
