"""Workers of the tests: one in the test's own process that does what waits, and real ones in others."""

import os
import subprocess
import sys
import time
from urllib.parse import quote

from django.db import connection
from django_tasks_db.models import DBTaskResult
from source_tree import ROOT

from orders import planning
from orders.management.commands.worker import queue_worker

PATIENCE = 60  # seconds: a worker starts slowly where the machine is busy with other tests


def work_the_queue():
    """Make every plan that waits; inside a test's own transaction nothing was put into the queue before."""
    planning.requeue_lost()
    for waiting in DBTaskResult.objects.ready():
        waiting.claim("test")
        queue_worker().run_task(waiting)
        assert waiting.status == "SUCCESSFUL", waiting.traceback


def start_worker():
    """Return a running worker process on the database of the tests."""
    ours = {**os.environ, "DATABASE_URL": database_url(), "BLOCKYARD_NO_BOOTSTRAP": "1"}
    return subprocess.Popen([sys.executable, "manage.py", "worker"], cwd=ROOT, env=ours)


def wait_for(answer, what):
    """Wait until `answer()` is not empty, and return it."""
    end = time.monotonic() + PATIENCE
    while time.monotonic() < end:
        if found := answer():
            return found
        time.sleep(0.1)
    raise AssertionError(f"nothing came of waiting for {what}")


def database_url():
    at = connection.settings_dict
    if connection.vendor == "sqlite":
        return f"sqlite:///{at['NAME']}"
    who = f"{at['USER']}:{at['PASSWORD']}@" if at["PASSWORD"] else f"{at['USER']}@"
    port = f":{at['PORT']}" if at["PORT"] else ""
    return f"postgres://{who}{quote(at['HOST'], safe='')}{port}/{at['NAME']}"
