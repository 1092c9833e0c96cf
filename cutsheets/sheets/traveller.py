"""The traveller: one order on paper, a page or more for each line.

The page folds in half. Above the fold stands only the blank, in the saw hand's words; below it only the foam, in the
cutter's; the finished size is one sentence that says it is not to be cut. The order number and the sheet letter stand
top left and bottom right, the barcode top right and bottom left, on every page.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from functools import partial
from itertools import zip_longest

from cutsheets.codes import make_sheet_code
from cutsheets.days import say_day, say_moment
from cutsheets.errors import CutsheetError
from cutsheets.sheets.cuthalf import CutPage, cut_pages, draw_cut_half
from cutsheets.sheets.facepage import draw_face_page, face_pages
from cutsheets.sheets.furniture import barcode_at_foot, order_number, print_words, title_block
from cutsheets.sheets.page import BOLD, FRAME, HAIR, LEFT, NO_BREAK, NOTE, WIDTH, WORDS, PageSize, Pen, Type
from cutsheets.sheets.sawhalf import draw_saw_half, saw_pages
from cutsheets.sheets.values import OPERATIONS, TravellerLine, TravellerSheet
from cutsheets.solids import Blank
from cutsheets.units import Unit

__all__ = ["OPERATIONS", "TravellerLine", "TravellerSheet", "draw_traveller", "traveller_pdf"]

LETTER = 50.0  # the box of the sheet letter
WIRED, COATED = ("Cut",), ("Coat", "Cured")  # operations that not every line has
FOOT = 108.0  # from the lower edge: operations, barcode and title block stand in here
OPERATION = 44.0
TITLE_LEFT = LEFT + 288


def traveller_pdf(sheet: TravellerSheet, page: PageSize = "letter") -> bytes:
    """Return the traveller as a PDF: the same bytes for the same sheet. Raises CutsheetError `sheet-empty`."""
    pen = Pen(page, title=f"Traveller {sheet.name}", author=sheet.shop, subject=f"{sheet.job}, {sheet.customer}")
    draw_traveller(pen, sheet)
    return pen.finish()


def draw_traveller(pen: Pen, sheet: TravellerSheet) -> None:
    """Draw the pages of a traveller, the first of them on this one. Raises CutsheetError `sheet-empty`."""
    if not sheet.lines or not all(line.worked.blanks for line in sheet.lines):
        raise CutsheetError("sheet-empty", "A traveller needs lines with blanks to cut; complete the order first.")
    pen.bookmark(f"Traveller {sheet.name}")
    groups = [(line,) for line in sheet.lines] if sheet.each_line else [sheet.lines]
    for place, lines in enumerate(groups):
        if place:
            pen.next_page()
        _draw(pen, sheet, lines)


def _draw(pen: Pen, sheet: TravellerSheet, lines: Sequence[TravellerLine]) -> None:
    """Draw one traveller, of all lines or of one, its pages counted from 1."""
    code = make_sheet_code(sheet.number, sheet.revision, lines[0].number if sheet.each_line else None)
    pages = [(line, draw) for line in lines for draw in _bodies(line, sheet.unit, pen.height)]
    for number, (line, draw) in enumerate(pages, 1):
        if number > 1:
            pen.next_page()
        if line is not pages[number - 2][0] or number == 1:
            pen.bookmark(f"Line {line.worked.mark}: {line.what}", 1)
        _header(pen, sheet, line, code)
        draw(pen)
        _foot(pen, sheet, line, code, f"{number} of {len(pages)}")


def _bodies(line: TravellerLine, unit: Unit, high: float) -> Iterator[Callable[[Pen], None]]:
    """Yield what draws each page of a line between header and foot: folded ones, then its faces with many sections."""
    halves = zip_longest(saw_pages(line), cut_pages(line, unit, high, FOOT), fillvalue=None)
    for saw, cut in halves:
        yield partial(_folded, line=line, unit=unit, saw=saw, cut=cut)
    for faces in face_pages(line, unit, high, FOOT):
        yield partial(draw_face_page, line=line, unit=unit, faces=faces, foot=FOOT)


def _folded(pen: Pen, line: TravellerLine, unit: Unit, saw: tuple[Blank, ...] | None, cut: CutPage | None) -> None:
    draw_saw_half(pen, line, unit, saw or ())
    draw_cut_half(pen, line, unit, cut or CutPage(()), foot=FOOT)


def _header(pen: Pen, sheet: TravellerSheet, line: TravellerLine, code: str) -> None:
    """Draw order number, sheet letter, days and barcode, then whose job and which line this is."""
    x, end = order_number(pen, sheet.number, sheet.revision, code, side=LETTER, foot=79)
    pen.text(x - 12 - LETTER / 2, 90, "sheet", NOTE, "middle")
    if sheet.needed:
        pen.text(x, 38, "needed", NOTE)
        day = say_day(sheet.needed)
        pen.text(x, 58, day, Type("strong", 19.0).fitted((day,), end - x))
    if sheet.ship:
        pen.text(x, 75, f"ship {say_day(sheet.ship)}", WORDS.fitted((f"ship {say_day(sheet.ship)}",), end - x))
    pen.block(LEFT, 110, sheet.job, Type("strong", 18.0), width=WIDTH, most=1)
    words = f"Line {line.worked.mark}: {line.what}. {sheet.customer}"
    kind = Type("text", 12.0).fitted((words,), WIDTH)
    one_line = kind.width((words,)) <= WIDTH
    pen.block(LEFT, 127 if one_line else 122, words, kind, width=WIDTH, most=1 if one_line else 2)


def _foot(pen: Pen, sheet: TravellerSheet, line: TravellerLine, code: str, page: str) -> None:
    """Draw operations and barcode at the left, the title block at the right."""
    top = pen.height - FOOT + 2
    _operations(pen, _gone_through(line, sheet.operations), line, top)
    barcode_at_foot(pen, code)
    for number, words in enumerate(("scan", "before", "you cut")):
        pen.text(TITLE_LEFT - 12, top + OPERATION + 19 + 12 * number, words, BOLD, "end")
    replaces = f"sheet {sheet.replaces}" if sheet.replaces else "none"
    by = f"{say_moment(sheet.printed)}, {sheet.printed_by.replace(' ', NO_BREAK)}"
    name = f"{sheet.name} line {line.worked.mark}" if sheet.each_line else sheet.name
    first = (("order and sheet", name, 0.42), ("page", page, 0.28), ("replaces", replaces, 0.3))
    second = ((f"printed, {print_words(sheet.print_number)}", by, 0.6), ("shop", sheet.shop, 0.4))
    title_block(pen, TITLE_LEFT, pen.height - 96, (first, second))


def _gone_through(line: TravellerLine, operations: Sequence[str]) -> list[str]:
    """Return the operations that a line goes through: no coat on bare foam, no wire on a panel."""
    not_here = {*([] if line.coat_mm else COATED), *([] if line.worked.quantities.wire_length else WIRED)}
    return [name for name in operations if name not in not_here]


def _operations(pen: Pen, operations: Sequence[str], line: TravellerLine, top: float) -> None:
    """Draw a cell for each operation: its name, a box for the count with what is due, a box for initials."""
    wide = (TITLE_LEFT - LEFT - 12) / max(1, len(operations))
    box = (wide - 9) / 2
    pen.box(LEFT, top, wide * len(operations), OPERATION, FRAME)
    for place, name in enumerate(operations):
        x = LEFT + place * wide
        if place:
            pen.line(x, top, x, top + OPERATION)
        pen.text(x + 4, top + 11, name, BOLD.fitted((name,), wide - 6))
        due = f"of {line.blanks if name == OPERATIONS[0] else line.pieces}"
        for left in (x + 3, x + 6 + box):
            pen.box(left, top + 15, box, 16, HAIR)
        pen.text(x + 3, top + 41, due, NOTE)
        pen.text(x + wide - 3, top + 41, "by", NOTE, "end")
