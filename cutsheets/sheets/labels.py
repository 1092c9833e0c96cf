"""Labels on a grid: one after the other, row by row, from the label that is the first one left on the sheet."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from cutsheets.errors import CutsheetError
from cutsheets.sheets.labelgrids import Cell, LabelGrid
from cutsheets.sheets.page import Pen

Label = Callable[[Pen, Cell], None]


def draw_labels(pen: Pen, grid: LabelGrid, labels: Sequence[Label], start: int = 1) -> None:
    """Draw labels on the pen's page and those after it, the first one at place `start` of the first sheet, from 1.

    Raises CutsheetError `sheet-empty` and `label-start`.
    """
    if not labels:
        raise CutsheetError("sheet-empty", "There is nothing to print labels of; choose at least one.")
    if not 1 <= start <= grid.per_page:
        raise CutsheetError(
            "label-start", f"A sheet of this kind has the labels 1 to {grid.per_page}; there is no label {start}."
        )
    cells = list(grid.cells())
    for place, draw in enumerate(labels, start - 1):
        if place >= grid.per_page and place % grid.per_page == 0:
            pen.next_page()
        draw(pen, cells[place % grid.per_page])
