"""The repeat sheet of a profile: one page for a folder, whose code starts a new order line of that profile.

It shows the finished shape and says so: nothing is cut from it.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime

from cutsheets.codes import make_profile_code
from cutsheets.days import say_moment
from cutsheets.drawings.lettering import CAP, length_parts, times
from cutsheets.drawings.scene import Scene
from cutsheets.drawings.stripe import Pattern
from cutsheets.sheets.barcodes import MODULE, QUIET, bars_width
from cutsheets.sheets.furniture import (
    UNIT_WORD,
    barcode_at_foot,
    barcode_at_right,
    blank_line,
    print_words,
    stripe,
    title_block,
)
from cutsheets.sheets.page import BOLD, FRAME, LEFT, MIXED, NO_BREAK, NOTE, RIGHT, WIDTH, WORDS, PageSize, Pen, Type
from cutsheets.sheets.scaled import draw_scaled, to_scale
from cutsheets.units import Unit

__all__ = ["RepeatSheet", "draw_repeat_sheet", "repeat_sheet_pdf"]

TOP = 108.0  # below the header
FOOT = 98.0  # from the lower edge: barcode and title block
PENCIL = 70.0  # lines to write on, above the foot
SIZE = 30.0  # the finished size in its frame
TITLE_LEFT = LEFT + 288
FIGURES = 15.0  # on the drawing
HOW = (
    "To order it again: scan this code in the office, or type it into the find field. On the page of an open order it "
    "starts a line of this profile; anywhere else it asks for which order."
)


@dataclass(frozen=True, slots=True)
class RepeatSheet:
    """A revision of a profile: `number` is its place in the library, `size` the finished one over all, mm.

    `sides` are the words of the size (deep, high), `usual` says how it is usually cut and coated, and `picture` draws
    the finished shape with text of that many mm.
    """

    number: int
    code: str
    name: str
    revision: str
    unit: Unit
    size: tuple[float, float]
    sides: tuple[str, str]
    picture: Callable[[float], Scene]
    usual: tuple[str, ...]
    shop: str
    printed: datetime
    printed_by: str
    print_number: int = 1
    grade: str = ""
    pattern: Pattern = "one"

    @property
    def barcode(self) -> str:
        """Return what the bars say."""
        return make_profile_code(self.number, self.revision)

    @property
    def title(self) -> str:
        """Return the profile and its revision ("TP-14 rev B")."""
        return f"{self.code} rev {self.revision}"


def repeat_sheet_pdf(sheet: RepeatSheet, page: PageSize = "letter") -> bytes:
    """Return the repeat sheet as a PDF: the same bytes for the same sheet."""
    pen = Pen(page, title=f"Repeat sheet {sheet.title}", author=sheet.shop, subject=sheet.name)
    draw_repeat_sheet(pen, sheet)
    return pen.finish()


def draw_repeat_sheet(pen: Pen, sheet: RepeatSheet) -> None:
    """Draw the one page of a repeat sheet."""
    pen.bookmark(f"Repeat sheet {sheet.title}", 0)
    _header(pen, sheet)
    y = _usual(pen, sheet, TOP)
    low = pen.height - FOOT - PENCIL - SIZE - 24
    room = (WIDTH, low - y - 26)
    drawing = to_scale(sheet.picture, room, FIGURES)
    draw_scaled(pen, drawing, LEFT, y + 8, room)
    pen.text(RIGHT, low - 6, f"finished shape, {drawing.words}", NOTE, "end")
    _finished(pen, sheet, low)
    _pencil(pen, pen.height - FOOT - PENCIL)
    _foot(pen, sheet)


def _header(pen: Pen, sheet: RepeatSheet) -> None:
    """Draw the profile's code, its revision and its barcode, then its name."""
    end = RIGHT - 2 * QUIET * MODULE - bars_width(sheet.barcode) - 8
    barcode_at_right(pen, sheet.barcode, 27, 50)
    x = LEFT + pen.label(LEFT, 76, sheet.code, Type("figures", 64.0), width=end - LEFT - 60) + 10
    pen.box(x, 29, 46, 46, 2.4)
    letter = Type("figures", 36.0).fitted((sheet.revision,), 40)
    pen.text(x + 23, 52 + CAP * letter.size / 2, sheet.revision, letter, "middle")
    pen.text(x + 23, 86, "revision", NOTE, "middle")
    pen.block(LEFT, TOP, sheet.name, Type("strong", 18.0), width=WIDTH, most=1)


def _usual(pen: Pen, sheet: RepeatSheet, y: float) -> float:
    """Draw the usual foam, then how the profile is usually cut and coated; return where the drawing may begin."""
    y += 10
    pen.text(LEFT, y + 17, "usual foam" if sheet.grade else "no usual foam: say which with the order", BOLD)
    if sheet.grade:
        stripe(pen, LEFT + 80, y, sheet.grade, sheet.pattern)
    y += 42
    for words in sheet.usual:
        y = pen.block(LEFT, y, words, WORDS, width=WIDTH, most=5)
    pen.line(LEFT, y - 6, RIGHT, y - 6, FRAME)
    return y


def _finished(pen: Pen, sheet: RepeatSheet, y: float) -> None:
    """Draw the finished size in a frame of its own, with what it is not."""
    pen.box(LEFT, y, WIDTH, SIZE, FRAME)
    figures = zip(sheet.size, sheet.sides, strict=True)
    size = times(*((*length_parts(side, sheet.unit), f" {name}") for side, name in figures))
    words = ("Finished, over all, ", UNIT_WORD[sheet.unit], ":  ", *size)
    done = pen.text(LEFT + 10, y + 20, words, MIXED)
    warning = "For ordering only. Never cut to this."
    pen.text(RIGHT - 10, y + 20, warning, BOLD.fitted((warning,), WIDTH - done - 40), "end")


def _pencil(pen: Pen, y: float) -> None:
    """Draw what to do with this sheet, and lines for the pencil."""
    pen.block(LEFT, y, HOW, WORDS, width=WIDTH, most=2)
    half = (WIDTH - 20) / 2
    for row, names in enumerate((("used for", "kept by"), ("note", ""))):
        blank_line(pen, LEFT, y + 36 + 20 * row, names[0], half if names[1] else WIDTH)
        if names[1]:
            blank_line(pen, LEFT + half + 20, y + 36 + 20 * row, names[1], half)


def _foot(pen: Pen, sheet: RepeatSheet) -> None:
    barcode_at_foot(pen, sheet.barcode)
    by = f"{say_moment(sheet.printed)}, {sheet.printed_by.replace(' ', NO_BREAK)}"
    first = (("profile and revision", sheet.title, 0.7), ("page", "1 of 1", 0.3))
    second = ((f"printed, {print_words(sheet.print_number)}", by, 0.6), ("shop", sheet.shop, 0.4))
    title_block(pen, TITLE_LEFT, pen.height - FOOT + 2, (first, second))
