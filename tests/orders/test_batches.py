"""Many sheets at once: in which order, by whom they are drawn, and what becomes of a batch whose worker dies."""

from datetime import date, timedelta

import pypdfium2
import pytest
from django.utils import timezone
from django_tasks_db.models import DBTaskResult
from planning_queue import start_worker, wait_for, work_the_queue

from orders import batches, entry, moves, planning
from orders.demo import small_shop
from orders.models import Batch, Order, Print
from orders.queued import DEATHS, LOST
from shop import account
from shop.acts import Act

BLOCK = (2_463_800, 1_244_600, 939_800)  # 97 × 49 × 37 in
STICKS = {"section": [[0, 0], [5, 0], [5, 7], [0, 7]], "pieces": [{"length": 40, "qty": 8}]}


def marks(pdf):
    """Return the bookmarks of the sheets, with their pages."""
    found = pypdfium2.PdfDocument(bytes(pdf)).get_toc()
    return [(mark.get_title(), mark.get_dest().get_index()) for mark in found if mark.level == 0]


def make_order(shop, act, *, due=None, lines=1, job="Pier café"):
    order = entry.create_order({"customer": shop.customer, "job": job, "due": due}, act)
    for _ in range(lines):
        line = {"grade": shop.grades["Firm 1.5"], "spec": STICKS}
        entry.save_line(order, line, act, version=order.version)
        order.refresh_from_db()
    moves.release(order, act)
    return Order.objects.get(pk=order.pk)


@pytest.fixture
def two(shop, mina):
    """Two released orders; the second is needed first."""
    return [make_order(shop, mina, due=date(2026, 12, day)) for day in (18, 4)]


def travellers_of(orders):
    return [("traveller", order.number) for order in orders]


def test_what_is_needed_first_comes_first(shop, two, mina):
    someday = make_order(shop, mina)
    papers = batches.papers_of_orders([someday, *two])
    assert papers == travellers_of([two[1], two[0], someday])


def test_each_traveller_is_a_print_of_its_own_with_a_bookmark(two, mina):
    drawn = batches.draw("Two", batches.papers_of_orders(two), mina)
    assert [title for title, _ in marks(drawn.pdf)] == [f"Traveller {two[1]} A", f"Traveller {two[0]} A"]
    assert sorted(Print.objects.values_list("order__number", "number")) == [(two[0].number, 1), (two[1].number, 1)]


def test_the_sheets_of_a_plan_begin_with_the_saw(shop, two, mina):
    account.receive("K-0001", shop.grades["Firm 1.5"], BLOCK, mina)
    run = planning.accept(planning.make_plan(shop.grades["Firm 1.5"], mina, iterations=1), mina)
    papers = batches.papers_of_plan(run)
    assert papers == [("saw-sheet", run.number), *travellers_of(two)]
    assert marks(batches.draw("Plan", papers, mina).pdf)[0] == (f"Saw sheet {run.number}", 0)


def test_what_cannot_be_printed_is_left_out_and_said(two, mina):
    moves.hold(two[0], "deposit not in.", mina)
    drawn = batches.draw("Two", travellers_of(two), mina)
    assert [title for title, _ in marks(drawn.pdf)] == [f"Traveller {two[1]} A"]
    assert [str(two[0]) in sentence for sentence in drawn.left_out] == [True]


def test_nothing_at_all_is_refused_with_the_reason(two, mina, refused):
    moves.hold(two[0], "deposit not in.", mina)
    refusal = refused("nothing-printed", batches.draw, "One", travellers_of(two[:1]), mina)
    assert "on hold" in refusal.sentence
    assert "choose an order" not in refusal.sentence
    assert not Print.objects.exists()


def test_a_request_draws_only_what_is_quick(shop, two, mina):
    assert not batches.is_long(travellers_of(two))
    long = make_order(shop, mina, lines=batches.AT_ONCE)
    assert batches.is_long(travellers_of([long, two[0]]))


def test_a_worker_draws_what_waits_and_counts_as_it_goes(two, mina, django_capture_on_commit_callbacks):
    with django_capture_on_commit_callbacks(execute=True):
        batch = batches.start("Two", travellers_of(two), mina)
    assert batches.standing(batch) == "waiting"
    work_the_queue()
    batch.refresh_from_db()
    assert (batch.state, batch.done) == ("made", 2)
    assert len(marks(batch.pdf)) == 2
    assert {row.by for row in Print.objects.all()} == {mina.by}


def test_of_two_workers_one_draws_a_batch(two, mina):
    batch = batches.start("Two", travellers_of(two), mina)
    Batch.objects.filter(pk=batch.pk).update(alive_at=timezone.now())
    batches.draw_in_worker.func(batch.pk)
    assert not Print.objects.exists()
    assert batches.standing(batch) == "working"


def test_a_worker_that_was_given_up_writes_nothing_any_more(two, mina, monkeypatch):
    batch = batches.start("Two", travellers_of(two), mina)
    real = batches.traveller_of

    def slow(order, act):
        Batch.objects.filter(pk=batch.pk).update(alive_at=timezone.now() + timedelta(hours=1))
        return real(order, act)

    monkeypatch.setattr(batches, "traveller_of", slow)
    batches.draw_in_worker.func(batch.pk)
    batch.refresh_from_db()
    assert (batch.state, batch.pdf, batch.done) == ("waiting", None, 0)


def test_a_batch_whose_worker_died_is_drawn_by_the_next(two, mina):
    batch = batches.start("Two", travellers_of(two), mina)
    Batch.objects.filter(pk=batch.pk).update(alive_at=timezone.now() - LOST - timedelta(seconds=1))
    batches.requeue_lost()
    work_the_queue()
    batch.refresh_from_db()
    assert batch.state == "made"


def test_a_batch_that_kills_its_workers_is_given_up(two, mina):
    batch = batches.start("Two", travellers_of(two), mina)
    for _ in range(DEATHS):
        batches.requeue_lost()
        DBTaskResult.objects.ready().get().claim("dies")
    batches.requeue_lost()
    batch.refresh_from_db()
    assert batch.state == "failed"
    assert "Print fewer" in batch.left_out[0]


def test_without_a_worker_the_page_is_told(two, mina):
    batch = batches.start("Two", travellers_of(two), mina)
    batches.requeue_lost()
    DBTaskResult.objects.update(enqueued_at=timezone.now() - timedelta(minutes=1))
    assert batches.standing(batch) == "nobody"


def test_what_goes_wrong_is_told_without_a_trace(two, mina, monkeypatch, caplog):
    monkeypatch.setattr(batches, "traveller_of", lambda order, act: 1 / 0)
    batch = batches.start("Two", travellers_of(two), mina)
    batches.draw_in_worker.func(batch.pk)
    batch.refresh_from_db()
    assert (batch.state, batch.left_out) == ("failed", [batches.WENT_WRONG])
    assert "ZeroDivisionError" in caplog.text


def test_a_batch_is_forgotten_after_a_day_but_its_prints_are_not(two, mina):
    drawn = batches.draw("Two", travellers_of(two), mina)
    old = batches.keep_drawn("Two", travellers_of(two), drawn, mina)
    new = batches.keep_drawn("Two", travellers_of(two), drawn, mina)
    Batch.objects.filter(pk=old.pk).update(at=timezone.now() - batches.KEPT - timedelta(seconds=1))
    batches.forget_old()
    assert list(Batch.objects.all()) == [new]
    assert Print.objects.count() == 2


@pytest.mark.django_db(transaction=True)
def test_the_worker_of_the_shop_draws_a_batch():
    shop = small_shop()
    mina = Act(shop.people["mina"])
    batch = batches.start("One", travellers_of([make_order(shop, mina)]), mina)
    worker = start_worker()
    try:
        made = wait_for(lambda: Batch.objects.filter(pk=batch.pk, state="made").first(), "the batch")
    finally:
        worker.terminate()
        worker.wait(30)
    assert len(marks(made.pdf)) == 1
