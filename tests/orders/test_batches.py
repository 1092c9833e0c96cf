"""Many sheets at once: in which order, by whom they are drawn, and what becomes of a batch whose worker dies."""

from datetime import date, timedelta

import pypdfium2
import pytest
from django.utils import timezone
from django_tasks_db.models import DBTaskResult
from planning_queue import start_worker, wait_for, work_the_queue

from orders import batches, entry, moves, papers, planning
from orders.demo import small_shop
from orders.models import Batch, Order, Print
from orders.papers import Paper
from orders.queued import DEATHS, LOST
from shop import account
from shop.acts import Act
from shop.models import CoatSystem

BLOCK = (2_463_800, 1_244_600, 939_800)  # 97 × 49 × 37 in
STICKS = {"section": [[0, 0], [5, 0], [5, 7], [0, 7]], "pieces": [{"length": 40, "qty": 8}]}


def marks(pdf):
    """Return the bookmarks of the sheets, with their pages."""
    found = pypdfium2.PdfDocument(bytes(pdf)).get_toc()
    return [(mark.get_title(), mark.get_dest().get_index()) for mark in found if mark.level == 0]


def make_order(shop, act, *, due=None, lines=1, **asked):
    order = entry.create_order({"customer": shop.customer, "job": "Pier café", "due": due}, act)
    for _ in range(lines):
        line = {"grade": shop.grades["Firm 1.5"], "spec": STICKS, **asked}
        entry.save_line(order, line, act, version=order.version)
        order.refresh_from_db()
    moves.release(order, act)
    return Order.objects.get(pk=order.pk)


@pytest.fixture
def two(shop, mina):
    """Two released orders; the second is needed first."""
    return [make_order(shop, mina, due=date(2026, 12, day)) for day in (18, 4)]


def travellers_of(orders):
    return [Paper("traveller", order.number) for order in orders]


def kinds(papers, number):
    """Return what is printed of an order, in order."""
    return [paper.sheet for paper in papers if paper.number == number]


def test_what_is_needed_first_comes_first(shop, two, mina):
    someday = make_order(shop, mina)
    assert papers.travellers_of([someday, *two]) == travellers_of([two[1], two[0], someday])


def test_each_traveller_is_a_print_of_its_own_with_a_bookmark(two, mina):
    drawn = batches.draw("Two", papers.travellers_of(two), mina)
    assert [title for title, _ in marks(drawn.pdf)] == [f"Traveller {two[1]} A", f"Traveller {two[0]} A"]
    assert sorted(Print.objects.values_list("order__number", "number")) == [(two[0].number, 1), (two[1].number, 1)]


def test_all_sheets_of_orders_come_order_by_order_and_a_coat_sheet_only_where_there_is_coat(two, shop, mina):
    coated = make_order(shop, mina, due=date(2026, 12, 1), coat="1/8")
    asked = papers.sheets_of_orders([*two, coated])
    assert list(dict.fromkeys(paper.number for paper in asked)) == [coated.number, two[1].number, two[0].number]
    assert kinds(asked, coated.number) == ["traveller", "cut-sheet", "coat-sheet", "pack-list"]
    assert kinds(asked, two[0].number) == ["traveller", "cut-sheet", "pack-list"]
    drawn = batches.draw("All", asked, mina)
    assert drawn.left_out == []
    assert [title for title, _ in marks(drawn.pdf)][:4] == [
        f"{sheet} {coated} A" for sheet in ("Traveller", "Cut sheet A", "Coat sheet", "Pack list")
    ]


def test_the_sheets_of_a_plan_begin_with_the_saw_and_go_on_order_by_order(shop, two, mina):
    account.receive("K-0001", shop.grades["Firm 1.5"], BLOCK, mina)
    run = planning.accept(planning.make_plan(shop.grades["Firm 1.5"], mina, iterations=1), mina)
    asked = papers.sheets_of_plan(run)
    assert asked == [
        ("saw-sheet", run.number, None),
        *(Paper(sheet, order.number) for order in two for sheet in ("traveller", "cut-sheet", "pack-list")),
    ]
    found = [title for title, _ in marks(batches.draw("Plan", asked, mina).pdf)]
    assert found[:2] == [f"Saw sheet {run.number}", f"Traveller {two[0]} A"]
    assert len(found) == len(asked)


def test_each_line_has_a_bookmark_for_its_cut_sheet_with_its_mark_as_it_is(shop, mina):
    order = make_order(shop, mina, lines=2)
    drawn = batches.draw("Cut", [Paper("cut-sheet", order.number)], mina)
    assert [title for title, _ in marks(drawn.pdf)] == [f"Cut sheet {mark} {order} A" for mark in "AB"]


def test_a_reason_is_told_once_however_many_sheets_it_keeps_back(two, mina):
    moves.hold(two[0], "deposit not in.", mina)
    drawn = batches.draw("All", papers.sheets_of_orders(two), mina)
    assert len(drawn.left_out) == 1


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


@pytest.mark.parametrize("sheet", ["cut-sheet", "coat-sheet", "pack-list", "packing-slip", "label"])
def test_other_sheets_of_many_lines_are_no_work_for_a_request_either(shop, two, mina, sheet):
    long = make_order(shop, mina, lines=batches.AT_ONCE + 1)
    assert batches.is_long([Paper(sheet, long.number)])
    assert not batches.is_long([Paper(sheet, two[0].number)])


def test_a_worker_draws_what_waits_and_counts_as_it_goes(two, mina, django_capture_on_commit_callbacks):
    with django_capture_on_commit_callbacks(execute=True):
        batch = batches.start("Two", travellers_of(two), mina)
    assert batches.standing(batch) == "waiting"
    work_the_queue()
    batch.refresh_from_db()
    assert (batch.state, batch.done) == ("made", 2)
    assert len(marks(batch.pdf)) == 2
    assert {row.by for row in Print.objects.all()} == {mina.by}


def test_a_worker_draws_what_was_asked_of_a_sheet(shop, mina):
    mesh = CoatSystem.objects.get(name__startswith="Base")
    order = make_order(shop, mina, lines=2, coat="1/8", coat_system=mesh)
    asked = [Paper("coat-sheet", order.number, {"coated": "2026-11-23T14:12:00-05:00"})]
    labels = [Paper("label", order.number, {"grid": "tag-4x3", "start": 1})]
    drawn = [batches.start("Sheets", each, mina) for each in (asked, labels)]
    for batch in drawn:
        batches.draw_in_worker.func(batch.pk)
        batch.refresh_from_db()
    coat, label = (pypdfium2.PdfDocument(bytes(batch.pdf)) for batch in drawn)
    assert "Coated Mon 23 Nov 2026 14:12" in coat[0].get_textpage().get_text_range()
    assert label[0].get_size() == (288, 216)


def test_of_two_workers_one_draws_a_batch(two, mina):
    batch = batches.start("Two", travellers_of(two), mina)
    Batch.objects.filter(pk=batch.pk).update(alive_at=timezone.now())
    batches.draw_in_worker.func(batch.pk)
    assert not Print.objects.exists()
    assert batches.standing(batch) == "working"


def test_a_worker_that_was_given_up_writes_nothing_any_more(two, mina, monkeypatch):
    batch = batches.start("Two", travellers_of(two), mina)
    real = papers.OF_ORDER["traveller"]

    def slow(order, act):
        Batch.objects.filter(pk=batch.pk).update(alive_at=timezone.now() + timedelta(hours=1))
        return real(order, act)

    monkeypatch.setitem(papers.OF_ORDER, "traveller", slow)
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
    monkeypatch.setitem(papers.OF_ORDER, "traveller", lambda order, act: 1 / 0)
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
