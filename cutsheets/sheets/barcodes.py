"""Code 128 on paper: exact bars, a quiet zone where nothing is printed, the same text below.

Rules of the symbol (ISO/IEC 15417): quiet zone of at least 10 modules on both sides, height at least 15 % of the width.
The module is 0.508 mm = 1.44 pt, a whole number of printer dots: 6 at 300 dpi, 12 at 600 dpi, and 4 at 203 dpi to
within 1.5 %. python-barcode only says which modules are dark; its own picture writers round to pixels and are not used.
Texts begin with a letter: version 0.16.1 drops a leading pair of digits 99.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import groupby

from barcode.codex import Code128
from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas

from cutsheets.drawings.lettering import FONTS, font, text_width

MODULE = 0.508 * mm
QUIET = 10  # modules, each side
LEAST_HEIGHT = 10 * mm
LEAST_SHARE = 0.15  # of the width, quiet zones counted
TEXT_SIZE = 12.0
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
    """A symbol on a page: text, lower left corner of its first bar and height of its bars, in points."""

    text: str
    x: float
    y: float
    height: float

    @property
    def width(self) -> float:
        """Return the width of the bars, without quiet zones."""
        return bars_width(self.text)

    @property
    def quiet_box(self) -> tuple[float, float, float, float]:
        """Return (left, bottom, right, top): nothing but the bars may be printed in here."""
        return (self.x - QUIET * MODULE, self.y, self.x + self.width + QUIET * MODULE, self.y + self.height)

    def bars(self) -> Iterator[tuple[float, float]]:
        """Yield left end and width of each dark bar."""
        place = 0
        for dark, run in groupby(modules(self.text)):
            count = len(list(run))
            if dark == "1":
                yield (self.x + place * MODULE, count * MODULE)
            place += count


def bars_width(text: str) -> float:
    """Return how wide the bars of a text come out, points."""
    return len(modules(text)) * MODULE


def least_height(text: str) -> float:
    """Return the least height of the bars, points."""
    return max(LEAST_HEIGHT, LEAST_SHARE * (bars_width(text) + 2 * QUIET * MODULE))


def draw_barcode(canvas: Canvas, code: Barcode, *, words: bool = True) -> None:
    """Draw the bars as one path, and below them the text that they say."""
    path = canvas.beginPath()
    for left, width in code.bars():
        path.rect(left, code.y, width, code.height)
    canvas.saveState()
    canvas.setFillGray(0)
    canvas.drawPath(path, stroke=0, fill=1)
    if words:
        name = FONTS["strong"][0]
        font(name)
        long = text_width(code.text, "strong", TEXT_SIZE) + SPREAD * (len(code.text) - 1)
        canvas.setFont(name, TEXT_SIZE)
        canvas.drawString(code.x + (code.width - long) / 2, code.y - TEXT_SIZE, code.text, charSpace=SPREAD)
    canvas.restoreState()
