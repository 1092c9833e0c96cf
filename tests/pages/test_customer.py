"""Customers: entered once, found again, with their orders."""

import pytest

from orders.models import Customer


@pytest.fixture
def osgood(shop):
    return shop.customer


def test_a_customer_is_added_and_opened(office, shop):
    answer = office.post("/customers/new/", {"name": "  Finch &  Moor ", "phone": "555-0142"})
    finch = Customer.objects.get(name="Finch & Moor")
    assert answer.headers["Location"] == f"/customers/{finch.pk}/"


def test_a_customer_is_not_entered_twice_in_other_letters(office, osgood, words):
    answer = office.post("/customers/new/", {"name": osgood.name.upper()})
    assert answer.status_code == 422
    assert "on the list already" in words(answer)


def test_what_is_known_of_a_customer_can_be_changed(office, osgood):
    office.post(f"/customers/{osgood.pk}/", {"name": osgood.name, "contact": "Dale Osgood", "notes": "bare backs"})
    osgood.refresh_from_db()
    assert osgood.notes == "bare backs"


def test_a_refused_change_keeps_the_old_name_at_the_head_of_the_page(office, osgood):
    Customer.objects.create(name="Finch & Moor")
    answer = office.post(f"/customers/{osgood.pk}/", {"name": "Finch & Moor"})
    assert "<h1>Osgood &amp; Lyle Builders</h1>" in answer.content.decode()


def test_the_page_of_a_customer_lists_their_orders(office, osgood, draft, words):
    page = words(office.get(f"/customers/{osgood.pk}/"))
    assert f"{draft.number} Bramhall Street Theatre, front draft" in page


@pytest.mark.parametrize("find", ["osgood", "dale", "LYLE builders"])
def test_a_customer_is_found_by_name_or_contact(office, osgood, find):
    Customer.objects.create(name="Finch & Moor")
    page = office.get("/customers/", {"find": find}).context["page"]
    assert [customer.name for customer in page] == [osgood.name]


def test_a_name_with_marks_of_its_own_is_shown_as_text(office, shop):
    office.post("/customers/new/", {"name": "<b>Bold & Co</b>"})
    assert "<b>Bold" not in office.get("/customers/").content.decode()
