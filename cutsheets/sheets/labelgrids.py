"""The common grids of labels, as a table: how many, how large, how far apart, how far from the corner of the sheet.

Grids are named by their measures, as open specifications give them; a tag printer's page of one label is a grid of
one. Common practice, no source: measure a sheet of yours before the first print, and print that on plain paper.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from reportlab.lib.units import inch, mm

from cutsheets.errors import CutsheetError
from cutsheets.sheets.page import CLEAR, SIZES, Paper

DRIFT = 2.0 * mm  # a label is fed and cut that much off its place, common practice, no source


@dataclass(frozen=True, slots=True)
class Cell:
    """A rectangle of a page from its upper left corner, y downwards, points."""

    x: float
    y: float
    width: float
    height: float


@dataclass(frozen=True, slots=True)
class LabelGrid:
    """A page of equal labels, lengths in units of `unit` points.

    `size` is (width, height) of a label, `pitch` from one label's corner to the next (across, down), `margin` to the
    corner of the first one (left, top).
    """

    name: str
    words: str
    page: Paper
    columns: int
    rows: int
    size: tuple[float, float]
    pitch: tuple[float, float]
    margin: tuple[float, float]
    unit: float

    @property
    def per_page(self) -> int:
        """Return how many labels a page has."""
        return self.columns * self.rows

    def cells(self) -> Iterator[Cell]:
        """Yield where each label may be printed on, row by row: within its edges, and where every printer reaches."""
        wide, high = SIZES[self.page]
        clear = CLEAR if self.per_page > 1 else DRIFT  # a tag printer reaches to the edge
        for number in range(self.per_page):
            row, column = divmod(number, self.columns)
            x = (self.margin[0] + column * self.pitch[0]) * self.unit
            y = (self.margin[1] + row * self.pitch[1]) * self.unit
            left, top = max(x + DRIFT, clear), max(y + DRIFT, clear)
            right = min(x + self.size[0] * self.unit - DRIFT, wide - clear)
            bottom = min(y + self.size[1] * self.unit - DRIFT, high - clear)
            yield Cell(left, top, right - left, bottom - top)


GRIDS = {
    grid.name: grid
    for grid in (
        LabelGrid("tag-4x2", "tag 4 × 2 in", "4x2", 1, 1, (4, 2), (4, 2), (0, 0), inch),
        LabelGrid("tag-4x3", "tag 4 × 3 in", "4x3", 1, 1, (4, 3), (4, 3), (0, 0), inch),
        LabelGrid("tag-4x6", "label 4 × 6 in", "4x6", 1, 1, (4, 6), (4, 6), (0, 0), inch),
        LabelGrid("tag-a7", "tag A7, 105 × 74 mm", "a7", 1, 1, (105, 74), (105, 74), (0, 0), mm),
        LabelGrid("letter-2x2", "Letter, 4 of 4 × 5 in", "letter", 2, 2, (4, 5), (4, 5), (0.25, 0.5), inch),
        LabelGrid("letter-2x3", "Letter, 6 of 4 × 3 1/3 in", "letter", 2, 3, (4, 10 / 3), (4.1875, 10 / 3),
                  (0.15625, 0.5), inch),
        LabelGrid("letter-2x5", "Letter, 10 of 4 × 2 in", "letter", 2, 5, (4, 2), (4.1875, 2), (0.15625, 0.5), inch),
        LabelGrid("letter-2x7", "Letter, 14 of 4 × 1 1/3 in", "letter", 2, 7, (4, 4 / 3), (4.1875, 4 / 3),
                  (0.15625, 5 / 6), inch),
        LabelGrid("letter-2x10", "Letter, 20 of 4 × 1 in", "letter", 2, 10, (4, 1), (4.1875, 1), (0.15625, 0.5), inch),
        LabelGrid("letter-3x10", "Letter, 30 of 2 5/8 × 1 in", "letter", 3, 10, (2.625, 1), (2.75, 1),
                  (0.1875, 0.5), inch),
        LabelGrid("a4-2x2", "A4, 4 of 105 × 148 mm", "a4", 2, 2, (105, 148), (105, 148), (0, 0.5), mm),
        LabelGrid("a4-2x3", "A4, 6 of 99.1 × 93.1 mm", "a4", 2, 3, (99.1, 93.1), (101.6, 93.1), (4.65, 8.85), mm),
        LabelGrid("a4-2x4", "A4, 8 of 99.1 × 67.7 mm", "a4", 2, 4, (99.1, 67.7), (101.6, 67.7), (4.65, 13.1), mm),
        LabelGrid("a4-2x4-a7", "A4, 8 of A7, 105 × 74 mm", "a4", 2, 4, (105, 74), (105, 74), (0, 0.5), mm),
        LabelGrid("a4-2x5", "A4, 10 of 99.1 × 57 mm", "a4", 2, 5, (99.1, 57), (101.6, 57), (4.65, 6), mm),
        LabelGrid("a4-2x7", "A4, 14 of 99.1 × 38.1 mm", "a4", 2, 7, (99.1, 38.1), (101.6, 38.1), (4.65, 15.15), mm),
        LabelGrid("a4-3x7", "A4, 21 of 63.5 × 38.1 mm", "a4", 3, 7, (63.5, 38.1), (66.04, 38.1), (7.21, 15.15), mm),
        LabelGrid("a4-3x8", "A4, 24 of 70 × 37 mm", "a4", 3, 8, (70, 37), (70, 37), (0, 0.5), mm),
    )
}  # fmt: skip


def grid_named(name: str) -> LabelGrid:
    """Return a grid of the table. Raises CutsheetError `grid-unknown`."""
    if name not in GRIDS:
        raise CutsheetError("grid-unknown", f"“{name[:40]}” is no grid of labels here; choose one of the list.")
    return GRIDS[name]
