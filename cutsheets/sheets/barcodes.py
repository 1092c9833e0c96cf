"""Code 128 on paper: exact bars, a quiet zone where nothing is printed, the same text below.

Rules of the symbol (ISO/IEC 15417): quiet zone of at least 10 modules on both sides, height at least 15 % of the width.
A module is a whole number of printer dots. On a page it is 0.508 mm = 20 mil: 6 dots at 300 dpi, 12 at 600 dpi, and 4
at 203 dpi to within 1.5 %. A tag takes the largest of its printer's MODULES that it has room for. The least is 0.254 mm
= 10 mil at 300 and 600 dpi; at 203 dpi it is 3 dots = 0.375 mm = 14.8 mil, for 2 dots are less than 10 mil.

python-barcode only says which modules are dark; its own picture writers round to pixels and are not used. Texts begin
with a letter: version 0.16.1 drops a leading pair of digits 99.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import groupby
from typing import Literal

from barcode.codex import Code128
from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas

from cutsheets.drawings.lettering import FONTS, font, text_width
from cutsheets.errors import CutsheetError

Dpi = Literal[203, 300, 600]  # dots an inch of the printer of tags and labels
DOT = 72 / 300  # pt
MODULE = 6 * DOT
DOTS: dict[Dpi, tuple[int, ...]] = {203: (4, 3), 300: (6, 5, 4, 3), 600: (12, 11, 10, 9, 8, 7, 6)}
MODULES = {dpi: tuple(dots * 72 / dpi for dots in many) for dpi, many in DOTS.items()}  # of a tag, largest first
QUIET = 10  # modules, each side
LEAST_HEIGHT = 10 * mm
LEAST_SHARE = 0.15  # of the width, quiet zones counted
TEXT_SIZE, LEAST_TEXT = 12.0, 9.0
SPREAD = 1.6  # between the characters of the text, so that they are read one by one
TEXT_ROOM = TEXT_SIZE + 2.0


def modules(text: str) -> str:
    """Return the modules of a Code 128 symbol from start to stop, 1 for dark.

    >>> modules("BY4182CU")[:11], len(modules("BY4182CU"))
    ('11010010000', 123)
    """
    return str(Code128(text).build()[0])


@dataclass(frozen=True, slots=True)
class Barcode:
    """A symbol on a page: text, lower left corner of its first bar, height of its bars and module, in points."""

    text: str
    x: float
    y: float
    height: float
    module: float = MODULE

    @property
    def width(self) -> float:
        """Return the width of the bars, without quiet zones."""
        return bars_width(self.text, self.module)

    @property
    def quiet_box(self) -> tuple[float, float, float, float]:
        """Return (left, bottom, right, top): nothing but the bars may be printed in here."""
        quiet = QUIET * self.module
        return (self.x - quiet, self.y, self.x + self.width + quiet, self.y + self.height)

    def bars(self) -> Iterator[tuple[float, float]]:
        """Yield left end and width of each dark bar."""
        place = 0
        for dark, run in groupby(modules(self.text)):
            count = len(list(run))
            if dark == "1":
                yield (self.x + place * self.module, count * self.module)
            place += count


def bars_width(text: str, module: float = MODULE) -> float:
    """Return how wide the bars of a text come out, points."""
    return len(modules(text)) * module


def symbol_width(text: str, module: float = MODULE) -> float:
    """Return how wide the bars and both quiet zones are, points."""
    return bars_width(text, module) + 2 * QUIET * module


def least_height(text: str, module: float = MODULE) -> float:
    """Return the least height of the bars, points."""
    return max(LEAST_HEIGHT, LEAST_SHARE * symbol_width(text, module))


def module_for(text: str, width: float, dpi: Dpi = 300) -> float:
    """Return the printer's largest module, points, at which a text and its quiet zones fit a tag's width.

    Raises CutsheetError `barcode-too-wide`.
    """
    for module in MODULES[dpi]:
        if symbol_width(text, module) <= width:
            return module
    least = symbol_width(text, MODULES[dpi][-1]) / mm
    raise CutsheetError(
        "barcode-too-wide",
        f"The bars of {text} need {least:.0f} mm with the white beside them, and there are {width / mm:.0f} mm; "
        "take a larger label.",
    )


def draw_barcode(canvas: Canvas, code: Barcode, *, words: bool = True) -> None:
    """Draw the bars as one path, and below them the text that they say."""
    path = canvas.beginPath()
    for left, width in code.bars():
        path.rect(left, code.y, width, code.height)
    canvas.saveState()
    canvas.setFillGray(0)
    canvas.drawPath(path, stroke=0, fill=1)
    if words:
        _draw_words(canvas, code)
    canvas.restoreState()


def _draw_words(canvas: Canvas, code: Barcode) -> None:
    """Draw the text in the middle below the bars, as long as they are at most, if 9 pt allow it."""
    name = FONTS["strong"][0]
    font(name)
    spread = SPREAD * (len(code.text) - 1)
    size = max(LEAST_TEXT, min(TEXT_SIZE, (code.width - spread) / text_width(code.text, "strong", 1.0)))
    long = text_width(code.text, "strong", size) + spread
    canvas.setFont(name, size)
    canvas.drawString(code.x + (code.width - long) / 2, code.y - TEXT_SIZE, code.text, charSpace=SPREAD)
