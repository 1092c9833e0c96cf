"""Badges: the name of a person as large as the label allows, and the code that names him at a station.

Whoever holds a badge is taken for its person: its code is printed once and kept nowhere.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import partial

from cutsheets.drawings.lettering import CAP
from cutsheets.errors import CutsheetError
from cutsheets.sheets.barcodes import QUIET, TEXT_ROOM, Barcode, Dpi, draw_barcode, least_height, module_for
from cutsheets.sheets.labelgrids import GRIDS, Cell, LabelGrid
from cutsheets.sheets.labels import Label, Rest, draw_labels
from cutsheets.sheets.page import LEADING, NOTE, RULE, Pen, Type

LARGEST = 40.0  # of a name, points
GAP = 4.0
SHOP = Type("text", 11.0)
LEAST_CELL = (200.0, 88.0)
BADGE_GRIDS = {
    name: grid
    for name, grid in GRIDS.items()
    if all(cell.width >= LEAST_CELL[0] and cell.height >= LEAST_CELL[1] for cell in grid.cells())
}


@dataclass(frozen=True, slots=True)
class Badge:
    """The badge of a person: the name, and what its bars say."""

    name: str
    code: str


def badges_pdf(badges: Sequence[Badge], grid: LabelGrid, *, start: int = 1, shop: str = "", dpi: Dpi = 300) -> bytes:
    """Return badges as a PDF on a grid of labels, the first one at label `start`: the same bytes for the same badges.

    Raises CutsheetError `sheet-empty`, `label-start`, `label-too-small`, `barcode-too-wide`.
    """
    if grid.name not in BADGE_GRIDS:
        raise CutsheetError("label-too-small", f"A badge does not fit {grid.words}; take a larger label.")
    pen = Pen(grid.page, title="Badges", author=shop, subject=", ".join(badge.name for badge in badges))
    labels = [Label(badge.name, partial(draw_badge, badge=badge, shop=shop, dpi=dpi)) for badge in badges]
    draw_labels(pen, grid, labels, start)
    return pen.finish()


def draw_badge(pen: Pen, cell: Cell, *, badge: Badge, shop: str, dpi: Dpi) -> Rest:
    """Draw a badge: shop and name above, the bars below; a name that is too long ends in “…”, and no label follows."""
    pen.bookmark(f"Badge {badge.name}", 0)
    module = module_for(badge.code, cell.width, dpi)
    high = max(least_height(badge.code, module), 0.3 * cell.height)
    top = cell.y + cell.height - TEXT_ROOM - high - GAP
    y = cell.y + (SHOP.size if shop else 0)
    pen.label(cell.x, cell.y + CAP * SHOP.size, shop, SHOP, width=cell.width)
    name, lines = _name(badge.name, cell.width, top - GAP - y)
    for row, line in enumerate(lines):
        pen.text(cell.x, y + (CAP + 0.15 + row * LEADING) * name.size, line, name)
    pen.line(cell.x, top, cell.x + cell.width, top, RULE)
    foot = pen.height - cell.y - cell.height + TEXT_ROOM
    draw_barcode(pen.canvas, Barcode(badge.code, cell.x + QUIET * module, foot, high, module))
    return ()


def _name(text: str, width: float, height: float) -> tuple[Type, list[str]]:
    """Return the largest type and the lines in which a name fits a room."""
    size = LARGEST
    while size > NOTE.size and len(Type("strong", size).lines(text, width)) * size * LEADING > height:
        size = max(NOTE.size, size - 1)
    return Type("strong", size).paragraph(text, width, max(1, int(height // (size * LEADING))))
