"""The repeat sheet, read from its picture: one page, its code twice, never a size to cut to."""

from dataclasses import replace
from datetime import datetime
from itertools import combinations

import pypdfium2.raw as pdfium
import pytest
from shapely.geometry import box

from cutsheets.drawings.outline import outline_scene
from cutsheets.kinds.shapes import read_section
from cutsheets.sheets.repeatsheet import RepeatSheet, repeat_sheet_pdf
from tests.cutsheets.paper_reader import codes, document, ink_box, letters, picture, quiet_zones_are_white, words

CORNER = {"section": [[0, 0], [2, 0], [2, 1], [4.5, 3], [8, 9], [8, 10], [0, 10]], "bare": "wall"}
SECTION = read_section(CORNER, "in")
SHEET = RepeatSheet(
    number=14, code="TP-14", name="Crown cornice", revision="B", unit="in", size=(8 * 25.4, 10 * 25.4),
    sides=("deep", "high"), picture=lambda text: outline_scene(SECTION, "in", numbered=False, text=text),
    usual=("Usually cut as: moulding, wall face bare.", "Usual coat: Base and mesh, cure 24 h."),
    shop="Tern Point Foam Works", printed=datetime(2026, 11, 28, 14, 2), printed_by="Mina O.", grade="Firm 1.5",
    pattern="two",
)  # fmt: skip
UGLY = replace(
    SHEET, number=1234567, code="ORNAMENTAL-CORNICE-1", revision="AB", grade="", print_number=12, shop="Ż" * 60,
    name="Ein sehr langer Name eines Profils das ganz oben am Haus um alle Ecken herumläuft",
    usual=("Usually cut as: moulding.", "No usual coat.", "Note: " + "W" * 190), printed_by="W" * 30,
)  # fmt: skip
BOTH = pytest.mark.parametrize("paper", ["letter", "a4"])


@BOTH
@pytest.mark.parametrize("sheet", [SHEET, UGLY], ids=["usual", "ugly"])
@pytest.mark.parametrize("resolution", [203, 300, 600])
def test_the_code_stands_on_the_one_page_twice_and_is_read(sheet, paper, resolution):
    [page] = document(repeat_sheet_pdf(sheet, paper))
    assert [code.text for code in codes(page, resolution)] == [sheet.barcode] * 2


@BOTH
def test_quiet_zones_and_margins_are_clear(paper):
    [page] = document(repeat_sheet_pdf(SHEET, paper))
    assert quiet_zones_are_white(page)
    assert min(ink_box(page)) > 11


@BOTH
@pytest.mark.parametrize("sheet", [SHEET, UGLY], ids=["usual", "ugly"])
def test_no_text_lies_on_another_or_below_nine_points(sheet, paper):
    data = repeat_sheet_pdf(sheet, paper)
    shapes = document(data)[0].get_objects(filter=(pdfium.FPDF_PAGEOBJ_TEXT,))
    boxes = [box(*shape.get_bounds()) for shape in shapes]
    assert not [1 for a, b in combinations(boxes, 2) if a.buffer(-0.3).intersects(b)]
    assert all(size >= 8.98 and embedded for size, embedded in letters(data))


@BOTH
def test_it_says_what_it_is_and_what_it_is_not_for(paper):
    [text] = words(repeat_sheet_pdf(SHEET, paper))
    for part in (
        "TP-14", "Crown cornice", "Firm 1.5", "8 deep × 10 high", "Never cut to this", "BP14BK", "print 1",
    ):  # fmt: skip
        assert part in text
    assert "blank" not in text.lower()


def test_the_drawing_has_the_scale_that_the_sheet_says():
    """The wall face is 10 in long: it is the longest upright run of ink of the section, to a hundredth of an inch."""
    [page] = document(repeat_sheet_pdf(SHEET))
    [text] = words(repeat_sheet_pdf(SHEET))
    scale = int(text.split("scale 1 : ")[1].split()[0])
    sheet = picture(page, 300)
    middle = sheet.crop((300, 600, sheet.width // 2, 2800))
    columns = (middle.crop((x, 0, x + 1, middle.height)).tobytes() for x in range(middle.width))
    longest = max(max(map(len, column.split(b"\xff"))) for column in columns)
    coat = 3.2 / 72 * 300  # half a black edge above, half a one below
    assert longest == pytest.approx(10 * 300 / scale + coat, abs=3)


def test_the_same_sheet_is_the_same_file():
    assert repeat_sheet_pdf(SHEET) == repeat_sheet_pdf(SHEET)
