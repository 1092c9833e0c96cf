"""How many requests the live server is working on, so that a test can end when the last one has been answered.

A page that has been left, or its service worker, may have asked for something a moment before; its answer is still read
out of the database while the end of the test empties it, and PostgreSQL ends one of the two as a deadlock.
"""

import threading
from contextlib import contextmanager

from django.core.signals import request_finished, request_started

PATIENCE = 30.0  # s


class RequestsInHand:
    """The count of requests that have been started and not finished, of all threads."""

    def __init__(self):
        self._count = 0
        self._changed = threading.Condition()

    def _started(self, **kwargs):
        with self._changed:
            self._count += 1

    def _finished(self, **kwargs):
        with self._changed:
            self._count -= 1
            self._changed.notify_all()

    @contextmanager
    def counted(self):
        """Count from here on; signals hold their receivers weakly, and this object holds them."""
        request_started.connect(self._started)
        request_finished.connect(self._finished)
        try:
            yield self
        finally:
            request_started.disconnect(self._started)
            request_finished.disconnect(self._finished)

    def wait_for_none(self) -> bool:
        """Wait until nothing is in hand; return False where something still is after PATIENCE."""
        with self._changed:
            return self._changed.wait_for(lambda: self._count <= 0, PATIENCE)
