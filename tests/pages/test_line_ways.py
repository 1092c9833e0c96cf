"""The page of both ways of a line: asked for, shown side by side, one chosen."""

import pytest
from django.urls import reverse

from orders import ways
from shop.models import Station


@pytest.fixture
def line(draft):
    return draft.lines.get()


@pytest.fixture
def office(client, shop):
    client.force_login(shop.people["mina"], backend="django.contrib.auth.backends.ModelBackend")
    return client


def address(name, line):
    return reverse(name, args=[line.order.number, line.pk])


def test_the_order_page_leads_to_the_ways_of_a_straight_line(office, line):
    page = office.get(reverse("order", args=[line.order.number])).content.decode()
    assert address("order-line-ways", line) in page


def test_nothing_is_compared_before_somebody_asks(office, line):
    assert "Compare the two ways" in office.get(address("order-line-ways", line)).content.decode()
    office.post(address("order-line-ways-compare", line))
    page = office.get(address("order-line-ways", line)).content.decode()
    assert "being compared" in page
    assert 'hx-trigger="every 1s"' in page


def test_both_ways_stand_side_by_side_and_one_is_chosen(office, line):
    ways.compare_in_worker.func(line.pk)
    page = office.get(address("order-line-ways", line)).content.decode()
    for words in ("is recommended", "A blank for every piece", "Many out of one face", "Saw cuts", "Cost of this line"):
        assert words in page
    line.order.refresh_from_db()
    chosen = office.post(address("order-line-ways", line), {"way": "gang", "version": line.order.version}, follow=True)
    assert "many pieces out of one face" in chosen.content.decode()
    line.refresh_from_db()
    assert line.way == "gang"


def test_a_way_chosen_on_an_old_page_is_refused(office, line):
    ways.compare_in_worker.func(line.pk)
    answer = office.post(address("order-line-ways", line), {"way": "gang", "version": 0})
    assert answer.status_code == 409
    line.refresh_from_db()
    assert line.way == "each"


def test_handling_that_the_shop_has_no_minutes_for_is_left_out_and_said(office, line):
    ways.compare_in_worker.func(line.pk)
    page = office.get(address("order-line-ways", line)).content.decode()
    assert ("Handling, minutes" in page) != ("Handling is not counted" in page)
    line.refresh_from_db()
    handled = any(way["handling_minutes"] for way in (line.gang["compared"]["each"], line.gang["compared"]["gang"]))
    assert ("Handling, minutes" in page) == handled


def test_a_share_is_said_alike_in_the_sentence_and_in_the_table(office, line):
    ways.compare_in_worker.func(line.pk)
    page = office.get(address("order-line-ways", line)).content.decode()
    said = office.get(address("order-line-ways", line)).context["said"]
    for way in ("each", "gang"):
        share = f"{100 * said[way]['yielded']:.1f} %"
        assert page.count(share) >= 2


def test_a_shop_with_several_saws_chooses_one_and_the_page_says_which(office, line):
    assert 'name="saw"' not in office.get(address("order-line-ways", line)).content.decode()
    Station.objects.create(code="saw-9", name="Long saw", kind="saw")
    assert 'name="saw"' in office.get(address("order-line-ways", line)).content.decode()
    office.post(address("order-line-ways-compare", line), {"saw": "saw-9"})
    ways.compare_in_worker.func(line.pk)
    page = office.get(address("order-line-ways", line)).content.decode()
    assert "planned alike for Long saw" in page
    assert "Compare the two ways again" in page
    assert office.post(address("order-line-ways-compare", line), {"saw": "saw-7"}).status_code == 409
