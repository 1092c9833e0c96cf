"""Make the plans and batches of sheets that people ask for: one process, or more where the database is PostgreSQL."""

import sys
import time
from _thread import interrupt_main
from signal import SIGTERM
from threading import Thread

from django.core.management.base import BaseCommand
from django.db import close_old_connections
from django.tasks import DEFAULT_TASK_BACKEND_ALIAS, DEFAULT_TASK_QUEUE_NAME
from django.utils.crypto import get_random_string
from django_tasks_db.management.commands.db_worker import Worker

from orders import batches, planning

EVERY = 1.0  # seconds between two looks into an empty queue
TIDY_EVERY = 3600.0  # seconds


class Planner(Worker):
    """A worker that gives back what it plans when it is asked to end; asked twice, it ends at once."""

    def shutdown(self, signum, frame):
        planning.leaving.set()
        self.running = False
        self.reset_signals()


class Command(BaseCommand):
    help = "Make plans and batches of sheets in the background, until Ctrl+C or SIGTERM; what is half done waits again."

    def add_arguments(self, parser):
        parser.add_argument("--with-parent", action="store_true", help="end when standard input is closed")

    def handle(self, *, with_parent, **options):
        planner = queue_worker()
        planner.configure_signals()
        if with_parent:
            Thread(target=end_with_parent, daemon=True).start()
        tidied = -TIDY_EVERY
        while planner.running:
            if time.monotonic() - tidied >= TIDY_EVERY:
                planning.forget_finished_tasks()
                batches.forget_old()
                tidied = time.monotonic()
            close_old_connections()
            planning.requeue_lost()
            batches.requeue_lost()
            if planning.is_anything_queued():
                planner.run()  # all that waits, one after the other
            if planner.running:
                time.sleep(EVERY)


def queue_worker() -> Planner:
    """Return a worker that does what waits in the queue and comes back when it is empty."""
    return Planner(
        queue_names=[DEFAULT_TASK_QUEUE_NAME], excluded_queue_names=[], interval=0, batch=True, max_tasks=None,
        backend_name=DEFAULT_TASK_BACKEND_ALIAS, startup_delay=False, worker_id=get_random_string(32),
    )  # fmt: skip


def end_with_parent() -> None:
    """Wait until the process that started this one is gone, however it ended, then end too."""
    sys.stdin.read()
    interrupt_main(SIGTERM)
