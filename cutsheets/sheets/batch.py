"""Many sheets in one file, a bookmark for each, in the order in which they are given."""

from __future__ import annotations

from collections.abc import Iterable

from cutsheets.errors import CutsheetError
from cutsheets.sheets.page import PageSize, Pen
from cutsheets.sheets.sawsheet import draw_saw_sheet
from cutsheets.sheets.traveller import draw_traveller
from cutsheets.sheets.values import SawSheet, TravellerSheet

Sheet = SawSheet | TravellerSheet


def batch_pdf(sheets: Iterable[Sheet], *, title: str, shop: str, page: PageSize = "letter") -> bytes:
    """Return the sheets in one PDF; each is drawn as it comes. Raises CutsheetError `batch-empty` where none comes."""
    pen = Pen(page, title=title, author=shop, subject="Sheets for the floor")
    number = 0
    for number, sheet in enumerate(sheets, 1):
        if number > 1:
            pen.next_page()
        pen.bookmark(name_of(sheet))
        _draw(pen, sheet)
    if not number:
        raise CutsheetError("batch-empty", "There is nothing to print; choose an order or a plan.")
    return pen.finish()


def name_of(sheet: Sheet) -> str:
    """Return what a sheet is called: "Saw sheet 118", "Traveller 4182 C"."""
    return f"Saw sheet {sheet.plan}" if isinstance(sheet, SawSheet) else f"Traveller {sheet.name}"


def _draw(pen: Pen, sheet: Sheet) -> None:
    if isinstance(sheet, SawSheet):
        draw_saw_sheet(pen, sheet)
    else:
        draw_traveller(pen, sheet)
