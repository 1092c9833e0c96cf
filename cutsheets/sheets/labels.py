"""Labels on a grid: one after the other, row by row, from the label that is the first one left on the sheet.

What a label has no room for stands on one or more labels right after it, whole, with whose it is and which of how many.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from cutsheets.errors import CutsheetError
from cutsheets.sheets.labelgrids import Cell, LabelGrid
from cutsheets.sheets.page import BOLD, HAIR, LEADING, NOTE, Pen

HEAD = 18.0  # of a label that goes on: whose it is, and a rule

Rest = tuple[str, ...]  # paragraphs that a label had no room for, whole


@dataclass(frozen=True, slots=True)
class Label:
    """A label: whose it is in words, and what draws it in a cell and returns what it had no room for.

    `left`: points at the left of the label that goes on, for the hole of one that is tied on.
    """

    name: str
    draw: Callable[[Pen, Cell], Rest]
    left: float = 0.0


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
    cells = _cells(pen, grid, start)
    for label in labels:
        rest = label.draw(pen, next(cells))
        rows = list(_rows(grid, label.left, rest))
        for number, lines in enumerate(rows, 2):
            _go_on(pen, next(cells), label.left, f"{label.name}, continued, {number} of {len(rows) + 1}", lines)


def _cells(pen: Pen, grid: LabelGrid, start: int) -> Iterator[Cell]:
    """Yield one label after the other, on a new page where the one before is full."""
    cells = list(grid.cells())
    yield from cells[start - 1 :]
    while True:
        pen.next_page()
        yield from cells


def _rows(grid: LabelGrid, left: float, rest: Rest) -> Iterator[list[str]]:
    """Yield the lines of each label that the rest takes."""
    wide = min(cell.width for cell in grid.cells()) - left
    most = int((min(cell.height for cell in grid.cells()) - HEAD) // (NOTE.size * LEADING))
    lines = [line for paragraph in rest for line in NOTE.lines(paragraph, wide)]
    for first in range(0, len(lines), most):
        yield lines[first : first + most]


def _go_on(pen: Pen, cell: Cell, left: float, title: str, lines: list[str]) -> None:
    """Draw a label with what the one before it had no room for."""
    x, right = cell.x + left, cell.x + cell.width
    pen.text(x, cell.y + BOLD.size, title, BOLD.fitted((title,), right - x))
    pen.line(x, cell.y + HEAD - 3, right, cell.y + HEAD - 3, HAIR)
    for row, line in enumerate(lines, 1):
        pen.text(x, cell.y + HEAD + (row * LEADING - 0.22) * NOTE.size, line, NOTE)
