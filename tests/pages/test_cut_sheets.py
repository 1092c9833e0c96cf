"""The button for cut sheets on the page of an order, and the scan of what it prints."""

from cutsheets.codes import make_sheet_code
from orders.models import Print


def test_the_button_opens_the_sheets_of_all_lines_or_of_one(office, released):
    mark = released.lines.first().mark
    for data in ({}, {"line": mark}):
        answer = office.post(f"/orders/{released.number}/cut-sheets/", data)
        assert answer["Content-Type"] == "application/pdf"
    assert Print.objects.filter(sheet="cut-sheet", of=f"line {mark}").count() == 2


def test_the_page_of_a_released_order_offers_each_line(office, released, words):
    said = words(office.get(f"/orders/{released.number}/"))
    assert "Cut sheets" in said
    assert all(f"Line {line.mark}" in said for line in released.lines.all())


def test_a_line_that_is_not_there_is_told_on_the_page(office, released, words):
    answer = office.post(f"/orders/{released.number}/cut-sheets/", {"line": "ZZ"}, follow=True)
    assert "has no line ZZ" in words(answer)


def test_a_scan_of_the_sheet_of_a_line_opens_its_blanks(floor, released):
    line = released.lines.last()
    raw = make_sheet_code(released.number, "A", line.position)
    answer = floor.post("/station/saw-1/scan/", {"raw": raw})
    assert answer.status_code == 302
    assert f"pick={line.blanks.filter(live=True).first().pk}" in answer["Location"]
