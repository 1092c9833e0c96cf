"""The queue of long work as the database has it: what waits there, what a worker has, what nobody takes up."""

from __future__ import annotations

from collections import Counter
from datetime import timedelta

from django.utils import timezone
from django_tasks_db.models import DBTaskResult

from orders.models import Batch, CuttingRun

LOST = timedelta(seconds=30)  # without a report: the worker is taken for dead, and its work goes back into the queue
PATIENCE = timedelta(seconds=10)  # what waits longer in the queue has no worker
DEATHS = 3  # of workers at one piece of work, before it is given up


def open_tasks(task) -> Counter[tuple[str, int]]:
    """Return how often a task stands in the queue unfinished, by its status and the row that it is for."""
    rows = DBTaskResult.objects.filter(task_path=task.module_path, finished_at=None)
    return Counter((status, asked["args"][0]) for status, asked in rows.values_list("status", "args_kwargs"))


def is_stuck() -> bool:
    """Return whether something waits so long, while nobody reports any work, that there cannot be a worker."""
    overdue = DBTaskResult.objects.ready().filter(enqueued_at__lt=timezone.now() - PATIENCE)
    alive = {"alive_at__gte": timezone.now() - LOST}
    plans = CuttingRun.objects.filter(state=CuttingRun.State.PLANNING, **alive)
    batches = Batch.objects.filter(state=Batch.State.WAITING, **alive)
    return overdue.exists() and not plans.exists() and not batches.exists()
