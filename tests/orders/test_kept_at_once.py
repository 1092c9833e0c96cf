"""The same kept acts from many threads at once, and the page's own late requests among them: each is taken once."""

from datetime import timedelta

import pytest
from django.utils import timezone

from orders import kept, moves
from orders.demo import small_shop
from orders.kept import Kept
from orders.models import Clash, Move
from shop import account
from shop.acts import Act
from tests.orders.test_concurrency import at_once

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def shop(transactional_db):
    return small_shop()


@pytest.fixture
def batch(blank, order, opened):
    """Seven counts of two, of which four can be taken, the second taken back at the end."""
    start = timezone.now() - timedelta(seconds=30)
    fields = {"blank": str(blank.pk), "qty": "2", "order": str(order.number)}
    counts = [Kept(f"count-number-{number}", "count", start + timedelta(seconds=number), fields) for number in range(7)]
    return [*counts, Kept("undo-number-1", "undo", timezone.now(), {"undoes": counts[1].id})]


def states(batch, bo):
    return {reply.id: reply.state for reply in kept.take(batch, bo.station, there=timezone.now(), by=bo.by)}


def test_a_batch_that_many_tabs_send_at_once_is_taken_once(batch, blank, opened, bo):
    answers = at_once(lambda _: states(batch, bo))
    blank.refresh_from_db()
    done = [name for answer in answers for name, state in answer.items() if state == "done"]
    assert sorted(done) == ["count-number-0", "count-number-1", "count-number-2", "count-number-3", "undo-number-1"]
    assert blank.sawn == 6
    assert Clash.objects.count() == 3
    assert account.left_on_saw(opened.piece) == opened.piece.volume - 6 * blank.volume


def test_no_act_is_both_taken_and_refused_when_the_pages_own_request_comes_late(batch, blank, bo):
    def send(number):
        if number % 2:
            return states(batch, bo)
        one = batch[number // 2 % 7]
        return moves.count_sawn(blank, 2, Act(bo.by, bo.station, one.at, one.id))

    at_once(send)
    blank.refresh_from_db()
    taken = set(Move.objects.filter(action="saw").values_list("scan_id", flat=True))
    refused = set(Clash.objects.values_list("scan_id", flat=True))
    assert taken & refused == set()
    assert len(taken) >= 4
    assert {one.id for one in batch} <= taken | refused | {"undo-number-1"}
    assert blank.sawn <= 8


def test_what_two_managers_have_done_after_all_at_once_is_done_once(batch, shop, order, blank, bo, mina):
    moves.hold(order, "the town says no", mina)
    assert states(batch[:1], bo) == {"count-number-0": "clash"}
    moves.resume(order, mina)
    clash, raf = Clash.objects.get(), Act(shop.people["raf"])
    answers = at_once(lambda _: kept.take_after_all(clash, raf))
    blank.refresh_from_db()
    assert answers.count("settled") == len(answers) - 1
    assert (blank.sawn, Move.objects.filter(action="saw").count()) == (2, 1)
    clash.refresh_from_db()
    assert clash.settled_how == "done after all"
