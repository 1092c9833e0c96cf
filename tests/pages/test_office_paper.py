"""Quote, confirmation and the day's report from their pages."""

import re

import pypdfium2
import pytest
from django.utils import timezone

from orders.models import Print


def said(answer) -> str:
    assert answer["Content-Type"] == "application/pdf"
    return " ".join(page.get_textpage().get_text_range() for page in pypdfium2.PdfDocument(answer.content))


def test_a_draft_is_quoted_until_the_day_that_was_typed(office, draft, words):
    assert "Print the quote" in words(office.get(f"/orders/{draft.number}/"))
    paper = said(office.post(f"/orders/{draft.number}/quote/", {"until": "2199-12-31"}))
    assert "holds until Tue 31 Dec 2199" in paper
    assert Print.objects.get().sheet == "quote"


@pytest.mark.parametrize(("until", "sentence"), [
    ("", "Say until when"), ("32 Dec", "Enter a valid date"), ("2001-01-01", "a day to come"),
])  # fmt: skip
def test_a_quote_without_a_day_to_come_is_told(office, draft, words, until, sentence):
    assert sentence in words(office.post(f"/orders/{draft.number}/quote/", {"until": until}, follow=True))
    assert not Print.objects.exists()


def test_a_released_order_is_confirmed_and_not_quoted(office, released, words):
    page = words(office.get(f"/orders/{released.number}/"))
    assert "Order confirmation" in page
    assert "Print the quote" not in page
    assert f"{released.number} A" in said(office.post(f"/orders/{released.number}/confirmation/"))


def test_a_draft_is_not_confirmed(office, draft, words):
    assert "release it" in words(office.post(f"/orders/{draft.number}/confirmation/", follow=True))


def test_the_floor_sees_no_money(floor, draft, released, words):
    page = words(floor.get(f"/orders/{released.number}/"))
    assert "Order confirmation" not in page
    assert "quote" not in page.lower()


def test_the_day_is_printed_from_its_page(manager, words):
    today = timezone.localdate()
    assert "Print the report" in words(manager.get("/day/"))
    assert "No foam moved" in said(manager.post(f"/day/{today}/report/"))
    assert manager.post("/day/2199-01-01/report/").status_code == 404
    assert words(manager.get("/prints/")).count(f"day report {today}") == 1


def test_the_office_reads_what_a_price_is_made_of(office, draft):
    page = office.get(f"/orders/{draft.number}/").content.decode()
    assert re.search(r"Line A: foam in blanks, [\d.]+ ft³ at 2.60 a cubic foot, [\d.]+; work at the wire", page)
