"""Any mixture of kept acts of two stations, with repeats and lost replies: counts stay right, nothing is lost."""

from datetime import timedelta

import pytest
from django.db import transaction
from django.utils import timezone
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from orders import kept
from orders.kept import Kept
from orders.models import Clash, Move, RunBlank, Scan
from orders.workflow import COUNTS
from shop import account

HERE = {"sawn": "saw-1", "cut": "cutter-1"}
KINDS = ("sawn", "cut", "miscut", "undo", "scan", "start", "pause")
acts = st.tuples(st.sampled_from(KINDS), st.integers(0, 5), st.integers(0, 11))
batches = st.lists(st.lists(acts, min_size=1, max_size=6), min_size=1, max_size=6)


@pytest.fixture
def stations(shop):
    return shop.stations


@given(batches, st.randoms(use_true_random=False))
@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_whatever_arrives_counts_are_right_and_nothing_is_lost(bo, order, blank, piece, opened, stations, made, random):
    with transaction.atomic():
        queues = queued(made, blank, piece, order)
        replies = send_all(queues, stations, bo, random)
        sent = {act.id for queue in queues.values() for act in queue}
        every_act_is_there_once(sent, replies)
        counts_are_those_of_the_moves(blank, piece)
        foam_balances(opened)
        transaction.set_rollback(True)


def queued(made, blank, piece, order):
    """Return the queue of each station: its acts with ids of their own, an undo naming one of its earlier counts."""
    queues = {"saw-1": [], "cutter-1": []}
    start = timezone.now() - timedelta(minutes=5)
    of_order = {"order": str(order.number), "reason": "Break"}
    for number, (kind, qty, which) in enumerate(act for batch in made for act in batch):
        at_cutter = kind == "cut" or (kind != "sawn" and which % 2)
        queue = queues["cutter-1" if at_cutter else "saw-1"]
        what = {"piece": str(piece.pk)} if at_cutter else {"blank": str(blank.pk)}
        counts = [act.id for act in queue if act.kind in ("count", "miscut")] or ["nothing-at-all"]
        fields = {
            "undo": {"undoes": counts[which % len(counts)]},
            "scan": {"raw": "BY4101A9"}, "start": of_order, "pause": of_order,
        }.get(kind, what | {"qty": str(qty), "reason": "wire broke"})  # fmt: skip
        sent_as = {"sawn": "count", "cut": "count"}.get(kind, kind)
        queue.append(Kept(f"act-number-{number}", sent_as, start + timedelta(seconds=number), fields))
    return queues


def send_all(queues, stations, bo, random):
    """Send both queues piece by piece, now and then again what was sent before; return every reply by its id."""
    replies = {}
    left = {code: 0 for code, queue in queues.items() if queue}
    while left:
        code = random.choice(sorted(left))
        begin, end = max(0, left[code] - random.choice([0, 0, 2])), left[code] + random.randint(1, 3)
        for reply in kept.take(queues[code][begin:end], stations[code], there=timezone.now(), by=bo.by):
            replies.setdefault(reply.id, []).append(reply.state)
        left[code] = end
        if end >= len(queues[code]):
            del left[code]
    return replies


def every_act_is_there_once(sent, replies):
    done = (*COUNTS, "undo", "start", "pause")
    moves = Move.objects.exclude(scan_id=None).filter(action__in=done).values_list("scan_id", flat=True)
    taken_back = Clash.objects.exclude(taken_back_by="").values_list("taken_back_by", flat=True)
    there = [
        *moves, *Scan.objects.values_list("scan_id", flat=True), *Clash.objects.values_list("scan_id", flat=True),
        *taken_back,
    ]  # fmt: skip
    assert sorted(there) == sorted(sent)
    assert set(replies) == sent
    for states in replies.values():
        assert states[0] in ("done", "clash")
        assert "done" not in states[1:]


def counts_are_those_of_the_moves(blank, piece):
    blank.refresh_from_db()
    piece.refresh_from_db()

    def total(action):
        undone = Move.objects.filter(undoes__action=action)
        return sum(Move.objects.filter(action=action).values_list("qty", flat=True)) + sum(
            undone.values_list("qty", flat=True)
        )

    assert (blank.sawn, piece.cut) == (total("saw"), total("cut"))
    assert (blank.saw_miscut, blank.wire_miscut) == (total("saw-miscut"), total("cut-miscut"))
    assert 0 <= piece.cut + blank.wire_miscut <= blank.sawn
    assert 0 <= piece.cut <= piece.qty
    [gives] = RunBlank.objects.all()
    assert gives.sawn + gives.miscut <= gives.qty


def foam_balances(opened):
    [day] = account.day_figures(timezone.localdate())
    assert day.unaccounted == 0
    assert account.left_on_saw(opened.piece) >= 0
