"""Where the pages of a sheet break: no page holds one row alone, whatever the number of rows."""

import re
from dataclasses import replace

import pytest

from cutsheets.sheets.coatsheet import CoatSheet, coat_sheet_pdf
from cutsheets.sheets.cuthalf import cut_pages
from cutsheets.sheets.cutsheet import cut_sheets_pdf
from cutsheets.sheets.furniture import Item
from cutsheets.sheets.orderpage import Part, pages_of
from cutsheets.sheets.packing import PackedLine
from cutsheets.sheets.packlist import PackList, pack_list_pdf
from cutsheets.sheets.traveller import FOOT
from tests.cutsheets.packed_orders import HARD, HEAD, STEPPED
from tests.cutsheets.paper_reader import words
from tests.cutsheets.paper_samples import CORNICE_LINE
from tests.cutsheets.test_cutsheet import of_kind

MOST = 46  # rows: two pages and more of every sheet
HIGH = (792, 841.9)  # points of Letter and A4
DEEP = [[0, 0], [9, 0], [9, 11], [0, 11]]
OUTSIDE = {"outside": 90}
WALL = "Base coat and mesh 1/8. Wall face bare. Cure 48 h."
ROW = r"\bA\d+ 1 "  # a mark and its count


def sticks(count):
    """Return a line of so many lengths, a row each."""
    pieces = [{"length": 40 + n, "qty": 1} for n in range(count)]
    return {"kind": "moulding", "section": STEPPED, "bare": "wall", "coat": "3/16", "pieces": pieces}


def packed(count):
    return PackedLine(replace(CORNICE_LINE, worked=of_kind(**sticks(count)).line.worked).worked, "Band", HARD)


PRINTS = {
    "coat sheet": lambda n, page: coat_sheet_pdf(CoatSheet(HEAD, (packed(n),)), page),
    "pack list": lambda n, page: pack_list_pdf(PackList(HEAD, (packed(n),), 12), page),
    "cut sheet": lambda n, page: cut_sheets_pdf([of_kind(**sticks(n))], page),
}


@pytest.mark.parametrize("page", ["letter", "a4"])
@pytest.mark.parametrize("name", PRINTS)
def test_no_page_holds_one_row_of_a_table_alone(name, page):
    for count in range(2, MOST):
        rows = [len(re.findall(ROW, text)) for text in words(PRINTS[name](count, page))]
        assert sum(rows) >= count
        assert 1 not in rows, (count, rows)


@pytest.mark.parametrize("high", HIGH)
def test_no_half_of_a_traveller_holds_one_row_alone(high):
    for count in range(2, MOST):
        line = of_kind(**sticks(count)).line
        rows = [sum(item.row for item in page.beside) for page in cut_pages(line, "in", high, FOOT)]
        assert sum(rows) == count
        assert 1 not in rows, (count, rows)


def test_a_porch_of_three_walls_with_its_checks_and_a_note_is_one_page_on_letter():
    """The longest line of the shop that was two pages for want of two points."""
    runs = [
        {"name": "front", "wall": 216, "left": OUTSIDE, "right": OUTSIDE},
        {"name": "sides", "wall": 78, "left": "cap", "right": OUTSIDE},
        {"name": "sides", "wall": 78, "left": OUTSIDE, "right": "cap"},
    ]
    worked = of_kind(kind="moulding", section=DEEP, bare="wall", coat="1/8", runs=runs).line.worked
    line = replace(CORNICE_LINE, worked=worked, coat=WALL, note="match the old cornice on the street side")
    assert len(cut_pages(line, "in", min(HIGH), FOOT)) == 1


def heights(*parts, room=100.0):
    """Return how many rows each page holds of parts given by the heights of their rows."""

    def item(height):
        return Item(height, lambda pen, x, y: None, row=True)

    made = [Part(f"Part {number}", tuple(map(item, rows))) for number, rows in enumerate(parts)]
    return [sum(one.row for one in page) for page in pages_of(made, room)]


def test_what_fits_stays_on_one_page():
    assert heights([10, 10, 10]) == [3]


def test_a_part_of_one_row_takes_the_row_before_it_along():
    assert heights([10] * 6, [10]) == [4, 3]


def test_three_rows_stay_together():
    assert heights([10] * 4, [10] * 3) == [4, 3]


def test_rows_as_high_as_a_page_stand_alone_rather_than_nowhere():
    assert heights([70, 70, 70]) == [1, 1, 1]
