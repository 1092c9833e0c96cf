"""The list of orders: finding, filtering, paging, and what each row says."""

from datetime import timedelta

import pytest
from django.utils import timezone

from cutsheets.codes import make_sheet_code
from orders import entry, moves
from orders.models import Blank, Customer, Piece


@pytest.fixture
def library(shop, mina):
    customer = Customer.objects.create(name="Wickett Library Trustees")
    return entry.create_order({"customer": customer, "job": "Porch", "customer_ref": "PO 2207-B"}, mina)


def numbers(answer):
    return [row["order"].number for row in answer.context["rows"]]


@pytest.mark.parametrize("find", ["4102", "wickett", "PORCH", "2207", "library porch"])
def test_an_order_is_found_by_its_number_customer_job_or_their_order(office, draft, library, find):
    assert numbers(office.get("/orders/", {"q": find})) == [library.number]


@pytest.mark.parametrize("find", ["a", "cornice"])
def test_an_order_is_found_by_the_mark_or_the_words_of_a_line(office, draft, library, find):
    assert draft.number in numbers(office.get("/orders/", {"q": find}))


def test_what_is_nowhere_is_said_and_the_way_back_is_shown(office, draft, words):
    assert "No order with “bell tower”" in words(office.get("/orders/", {"q": "bell tower"}))


def test_a_scanned_sheet_opens_its_order(office, released):
    answer = office.get("/orders/", {"q": make_sheet_code(released.number, "A")})
    assert answer.headers["Location"] == f"/orders/{released.number}/"


def test_orders_are_filtered_by_their_word(office, released, library):
    assert numbers(office.get("/orders/", {"word": "draft"})) == [library.number]
    assert numbers(office.get("/orders/", {"word": "released"})) == [released.number]


def test_an_order_past_its_day_is_late_until_it_is_done(office, released, library, mina):
    yesterday = timezone.localdate() - timedelta(days=1)
    released.due = library.due = yesterday
    released.save()
    library.save()
    moves.cancel(library, "no money", mina)
    answer = office.get("/orders/", {"word": "late"})
    assert numbers(answer) == [released.number]
    assert ", late" in answer.content.decode()


def test_each_row_says_how_many_are_sawn_and_cut(office, released, words):
    Blank.objects.filter(qty=5).update(sawn=3, cut=1)
    Piece.objects.filter(position=0).update(cut=1)
    row = words(office.get("/orders/"))
    assert "in work" in row
    assert "3 of 6" in row
    assert "1 of 6" in row


def test_the_list_asks_the_database_as_often_for_fifty_orders_as_for_one(
    office, shop, mina, django_assert_max_num_queries
):
    def many(count):
        for number in range(count):
            entry.create_order({"customer": shop.customer, "job": f"Gable {number}"}, mina)

    many(1)
    with django_assert_max_num_queries(12) as few:
        office.get("/orders/")
    many(60)
    with django_assert_max_num_queries(len(few)):
        office.get("/orders/")


def test_the_next_page_keeps_what_was_looked_for(office, shop, mina):
    for number in range(55):
        entry.create_order({"customer": shop.customer, "job": f"Gable {number}"}, mina)
    first = office.get("/orders/", {"q": "gable"})
    assert len(first.context["rows"]) == 50
    assert "?q=gable&amp;page=2" in first.content.decode()
    assert len(office.get("/orders/", {"q": "gable", "page": "2"}).context["rows"]) == 5


def test_an_empty_shop_is_told_what_to_do_first(office, words):
    assert "No orders yet. Take down the first one" in words(office.get("/"))


def test_the_floor_reads_the_list_but_takes_no_orders_down(floor, draft, words):
    assert "New order" not in words(floor.get("/orders/"))


def test_old_paper_scanned_in_the_office_opens_its_order_and_says_what_changed(office, released, mina, words):
    entry.save_line(released, {"coat": "1/4"}, mina, version=released.version, line=released.lines.get())
    page = words(office.get("/orders/", {"q": make_sheet_code(released.number, "A")}, follow=True))
    assert f"Sheet A of order {released.number} is old. Tear it up: sheet B is in force." in page
    assert "is now" in page
    assert "is old" not in words(office.get("/orders/", {"q": make_sheet_code(released.number, "B")}, follow=True))
