"""The worker of the tests: does what waits in the queue here and now, in the process of the test."""

from django_tasks_db.models import DBTaskResult

from orders import planning
from orders.management.commands.worker import queue_worker


def work_the_queue():
    """Make every plan that waits; inside a test's own transaction nothing was put into the queue before."""
    planning.requeue_lost()
    for waiting in DBTaskResult.objects.ready():
        waiting.claim("test")
        queue_worker().run_task(waiting)
        assert waiting.status == "SUCCESSFUL", waiting.traceback
