"""The buttons for coat sheet, pack list, labels and packing slip on the page of an order."""

import pytest

from orders import moves
from orders.models import Print

ASKED = {
    "coat-sheet": {"coated": "2026-11-23T14:12"}, "pack-list": {}, "bundle-labels": {"grid": "tag-4x3", "start": "1"},
    "packing-slip": {},
}  # fmt: skip


@pytest.mark.parametrize("name", ASKED)
def test_each_button_opens_its_sheet_beside_the_page(office, released, name):
    answer = office.post(f"/orders/{released.number}/{name}/", ASKED[name])
    assert answer["Content-Type"] == "application/pdf"
    assert answer["Content-Disposition"].startswith("inline")
    assert Print.objects.count() == 1


def test_the_page_of_a_released_order_has_all_four_and_that_of_a_draft_none(office, draft, mina, words):
    page = f"/orders/{draft.number}/"
    assert "Packing slip" not in words(office.get(page))
    moves.release(draft, mina)
    said = words(office.get(page))
    for button in ("Print the coat sheet", "Pack list", "Print the labels", "Packing slip"):
        assert button in said


def test_the_floor_has_no_paper_to_print(floor, released, words):
    assert "Packing slip" not in words(floor.get(f"/orders/{released.number}/"))


@pytest.mark.parametrize(
    ("name", "data", "said"),
    [
        ("coat-sheet", {"coated": "tomorrow"}, "Type day and time of the coat"),
        ("bundle-labels", {"grid": "letter-3x10", "start": "1"}, "Choose the labels on the list."),
        ("bundle-labels", {"grid": "letter-2x3", "start": "0"}, "Type a whole number from 1 to 100."),
        ("bundle-labels", {"grid": "letter-2x3", "start": "9"}, "there is no label 9"),
    ],
)
def test_what_cannot_be_printed_is_told_on_the_page_of_the_order(office, released, words, name, data, said):
    answer = office.post(f"/orders/{released.number}/{name}/", data, follow=True)
    assert said in words(answer)
    assert not Print.objects.exists()


def test_a_kept_print_is_on_the_list(office, released, words):
    office.post(f"/orders/{released.number}/packing-slip/")
    assert f"packing slip {released.number} A" in words(office.get("/prints/"))
