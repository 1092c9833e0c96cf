"""Two acts at once: the one that took its key first may be there last, and is seen then all the same."""

from threading import Event, Thread

import pytest
from django.db import connection, transaction
from django.utils import timezone

from orders.models import Move
from shop.live import newest

pytestmark = pytest.mark.django_db(transaction=True)
PATIENCE = 20  # seconds


@pytest.fixture
def late(order):
    """Return a function that commits a move whose key is lower than that of a move which everybody sees."""
    if connection.vendor == "postgresql":
        yield from _two_transactions(order)
    else:
        last = Move.objects.order_by("pk").last().pk
        move(order, pk=last + 2)
        yield lambda: move(order, pk=last + 1)


def move(order, **more):
    return Move.objects.create(order=order, action="start", happened_at=timezone.now(), **more)


def _two_transactions(order):
    """Leave a move in a transaction that stays open, and a second one, committed, behind it."""
    written, go = Event(), Event()

    def slow():
        try:
            with transaction.atomic():
                move(order)
                written.set()
                go.wait(PATIENCE)
        finally:
            connection.close()

    thread = Thread(target=slow)
    thread.start()
    assert written.wait(PATIENCE)
    move(order)

    def commit():
        go.set()
        thread.join(PATIENCE)

    yield commit
    commit()


@pytest.mark.parametrize("all_orders", [True, False])
def test_a_move_that_is_committed_behind_a_later_one_is_seen(order, late, all_orders):
    number = 0 if all_orders else order.number
    before = newest(number)
    highest = Move.objects.order_by("pk").last().pk
    late()
    assert Move.objects.order_by("pk").last().pk == highest
    assert newest(number) != before
    assert newest(number) == newest(number)
