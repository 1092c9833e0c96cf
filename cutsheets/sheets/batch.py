"""Many sheets in one file, bookmarks for each, in the order in which they are given."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Any

from cutsheets.errors import CutsheetError
from cutsheets.sheets.coatsheet import CoatSheet, draw_coat_sheet
from cutsheets.sheets.cutsheet import CutSheet, draw_cut_sheet
from cutsheets.sheets.packingslip import PackingSlip, draw_packing_slip
from cutsheets.sheets.packlist import PackList, draw_pack_list
from cutsheets.sheets.page import PageSize, Pen
from cutsheets.sheets.sawsheet import draw_saw_sheet
from cutsheets.sheets.traveller import draw_traveller
from cutsheets.sheets.values import SawSheet, TravellerSheet

Sheet = SawSheet | TravellerSheet | CutSheet | CoatSheet | PackList | PackingSlip
DRAW: dict[type, Callable[[Pen, Any], None]] = {
    SawSheet: draw_saw_sheet, TravellerSheet: draw_traveller, CutSheet: draw_cut_sheet, CoatSheet: draw_coat_sheet,
    PackList: draw_pack_list, PackingSlip: draw_packing_slip,
}  # fmt: skip
FLOOR = "Sheets for the floor"


def batch_pdf(sheets: Iterable[Sheet], *, title: str, shop: str, page: PageSize = "letter") -> bytes:
    """Return the sheets in one PDF; each is drawn as it comes. Raises CutsheetError `batch-empty` where none comes.

    The file is about a job where all its sheets are of one order: a packing slip goes to the customer.
    """
    pen = Pen(page, title=title, author=shop, subject=FLOOR)
    number, about = 0, set[str]()
    for number, sheet in enumerate(sheets, 1):
        if number > 1:
            pen.in_full()
            pen.next_page()
        DRAW[type(sheet)](pen, sheet)
        about.add(_about(sheet))
    if not number:
        raise CutsheetError("batch-empty", "There is nothing to print; choose an order or a plan.")
    if len(about) == 1:
        pen.set_subject(*about)
    return pen.finish()


def _about(sheet: Sheet) -> str:
    """Return whose sheet this is; a saw sheet is of many orders."""
    if isinstance(sheet, SawSheet):
        return FLOOR
    whose = sheet if isinstance(sheet, TravellerSheet) else sheet.head
    return f"{whose.job}, {whose.customer}"
