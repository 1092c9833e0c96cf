"""Travellers of many orders: ticked on a page, drawn at once or by a worker; a page without scripts says how far."""

import time

import pypdfium2
import pytest
from floor_shop import BAND, CORNICE, theatre
from planning_queue import work_the_queue

from orders import batches, moves, travellers
from orders.models import Batch, Print

SHEETS = {
    "cut-sheets": {}, "coat-sheet": {"coated": "2026-11-23T14:12"}, "pack-list": {}, "packing-slip": {},
    "bundle-labels": {"grid": "tag-4x3", "start": "1"},
}  # fmt: skip
LONG = (("TP-22", BAND),) * (batches.AT_ONCE + 1)


@pytest.fixture
def two(shop):
    return [theatre(shop, job=job, lines=(("TP-22", BAND),)) for job in ("Pier café", "Mill Row")]


@pytest.fixture
def long(shop, office, django_capture_on_commit_callbacks):
    """The page of a batch that a worker has to draw."""
    order = theatre(shop, lines=LONG)
    with django_capture_on_commit_callbacks(execute=True):
        return office.post(f"/orders/{order.number}/traveller/")


def test_orders_without_paper_are_ticked_already(office, two, mina):
    travellers.print_traveller(two[0], mina)
    page = office.get("/prints/batch/").content.decode()
    assert f'value="{two[0].number}" aria-label="print {two[0].number}">' in page
    assert f'value="{two[1].number}" aria-label="print {two[1].number}" checked>' in page


def test_the_ticked_orders_come_in_one_file(office, two):
    answer = office.post("/prints/batch/", {"order": [order.number for order in two]})
    assert answer["Content-Type"] == "application/pdf"
    assert len(pypdfium2.PdfDocument(answer.content)) == 2
    assert Print.objects.count() == 2
    assert not Batch.objects.exists()


def test_all_sheets_of_the_ticked_orders_come_in_one_file(office, two):
    answer = office.post("/prints/batch/", {"order": [two[0].number], "all": "1"})
    toc = pypdfium2.PdfDocument(answer.content).get_toc()
    assert [mark.get_title().split(" ")[0] for mark in toc if mark.level == 0] == ["Traveller", "Cut", "Coat", "Pack"]
    assert "All sheets: of each order the traveller" in office.get("/prints/batch/").content.decode()


def test_nothing_ticked_or_nonsense_is_told(office, two, words):
    for posted in ({}, {"order": ["x", "999999", "-1"]}):
        assert "Tick the orders whose sheets" in words(office.post("/prints/batch/", posted, follow=True))


def test_an_order_held_meanwhile_is_left_out_and_the_rest_is_printed(office, two, mina, words, monkeypatch):
    waiting = batches.waiting_orders()
    moves.hold(two[0], "deposit not in.", mina)
    monkeypatch.setattr(batches, "waiting_orders", lambda: waiting)
    page = office.post("/prints/batch/", {"order": [order.number for order in two]}, follow=True)
    assert f"Left out: Order {two[0].number} is on hold" in words(page)
    assert office.get(f"/prints/batch/{Batch.objects.get().pk}/sheets.pdf").content.startswith(b"%PDF")


def test_a_long_traveller_is_no_wait(long, office, words):
    assert long.status_code == 302
    page = office.get(long["Location"])
    assert "Papers drawn 0 of 1" in words(page)
    assert "A paper is one sheet of an order or a plan and may have several pages." in words(page)
    assert "waiting for its turn" in words(page)
    assert b'http-equiv="refresh"' in page.content
    assert b"<script" not in page.content.split(b"</head>")[1]


@pytest.mark.parametrize(("name", "data"), SHEETS.items())
def test_other_sheets_of_a_long_order_are_no_wait_either(shop, office, words, name, data):
    order = theatre(shop, lines=LONG)
    answer = office.post(f"/orders/{order.number}/{name}/", data)
    assert answer["Location"].startswith("/prints/batch/")
    assert not Print.objects.exists()
    batches.draw_in_worker.func(Batch.objects.get().pk)
    assert "Open the file" in words(office.get(answer["Location"]))


def test_when_it_is_drawn_the_page_offers_the_file_and_asks_no_more(long, office, words):
    assert office.get(f"{long['Location']}sheets.pdf").status_code == 404
    work_the_queue()
    page = office.get(long["Location"])
    assert "Open the file" in words(page)
    assert b'http-equiv="refresh"' not in page.content
    assert len(pypdfium2.PdfDocument(office.get(f"{long['Location']}sheets.pdf").content)) >= len(LONG)


@pytest.mark.parametrize(("name", "data"), [("traveller", {}), *SHEETS.items()])
def test_no_request_draws_for_longer_than_two_seconds(shop, office, name, data):
    """Processor time, since the machine may be busy: the most that a request draws itself."""
    order = theatre(shop, lines=(("TP-14", CORNICE),) * batches.AT_ONCE)
    begun = time.process_time()
    assert office.post(f"/orders/{order.number}/{name}/", data)["Content-Type"] == "application/pdf"
    assert time.process_time() - begun < 2
