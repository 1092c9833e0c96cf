"""Tags of foam: a remnant's that goes back on the rack, a block's when it comes off the truck.

The grade's stripe runs down the left, its name stands at the top; the size is as large as the tag allows and rounded
down: a tag never promises foam that is not there. Drawn on a page of its own or as one label among others.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from functools import partial

from cutsheets.codes import StockKind, make_stock_code
from cutsheets.drawings.lettering import CAP, times
from cutsheets.drawings.pdf import draw_scene
from cutsheets.drawings.stripe import Pattern, stripe_scene
from cutsheets.errors import CutsheetError
from cutsheets.sheets.barcodes import (
    MODULES,
    QUIET,
    TEXT_ROOM,
    Barcode,
    Dpi,
    draw_barcode,
    least_height,
    module_for,
    symbol_width,
)
from cutsheets.sheets.furniture import print_words, sides
from cutsheets.sheets.labelgrids import GRIDS, Cell, LabelGrid
from cutsheets.sheets.labels import Label, Rest, draw_labels
from cutsheets.sheets.page import FRAME, LEADING, LEAST, NO_BREAK, NOTE, RULE, Pen, Type
from cutsheets.solids import Box
from cutsheets.units import Unit

__all__ = ["TAG_GRIDS", "StockTag", "draw_tag", "tags_pdf"]

BARS = 0.62  # of the body's width, at most, where the printer's modules allow it
LEAST_FACTS = 56.0  # beside the bars, in any case: a day in one line
GRADE_LINES = 3
HOLE = 24.0  # at the left of a tag that is tied on
STRIPE, GAP = 22.0, 7.0
WORDS_HIGH = 12.0  # long, wide, high
ASCENT, DESCENT = 0.8, 0.22  # of the highest and the lowest letters, em
STACK = 1.02  # height of a figure with its fraction, em
FACTS = Type("text", 11.0)
LEAST_CELL = (260.0, 128.0)
# Grids whose labels have room for a tag.
TAG_GRIDS = {
    name: grid
    for name, grid in GRIDS.items()
    if all(cell.width >= LEAST_CELL[0] and cell.height >= LEAST_CELL[1] for cell in grid.cells())
}


@dataclass(frozen=True, slots=True)
class StockTag:
    """A block or a remnant on the rack: `day` it came or was put back, `parent` the tag of what it was cut from."""

    kind: StockKind
    number: int
    name: str
    grade: str
    pattern: Pattern
    size: Box
    unit: Unit
    day: date
    parent: str = ""
    lot: str = ""
    mould_date: date | None = None
    place: str = ""
    print_number: int = 1

    @property
    def code(self) -> str:
        """Return what the bars say."""
        return make_stock_code(self.kind, self.number)

    @property
    def facts(self) -> str:
        """Return where it came from, its lot, its days and its place."""
        came = "put back" if self.kind == "remnant" else "received"
        known = (
            print_words(self.print_number) if self.print_number > 1 else "",
            f"remnant of {self.parent}" if self.parent else "", f"lot {self.lot}" if self.lot else "",
            f"moulded {_day(self.mould_date)}" if self.mould_date else "", f"{came} {_day(self.day)}", self.place,
        )  # fmt: skip
        return ", ".join(filter(None, known))


def _day(day: date) -> str:
    """Return a day with its year, in one line: a remnant may lie for long."""
    return f"{day.day} {day:%b} {day.year}".replace(" ", NO_BREAK)


def tags_pdf(tags: Sequence[StockTag], grid: LabelGrid, *, start: int = 1, shop: str = "", dpi: Dpi = 300) -> bytes:
    """Return tags as a PDF on a grid of labels, the first one at label `start`: the same bytes for the same tags.

    The bars are drawn in whole dots of a printer of `dpi`.

    Raises CutsheetError `sheet-empty`, `label-start`, `label-too-small`, `barcode-too-wide`.
    """
    if grid.name not in TAG_GRIDS:
        raise CutsheetError("label-too-small", f"A tag does not fit {grid.words}; take 4 × 2 in, A7 or larger.")
    title = f"Tag {tags[0].name}" if len(tags) == 1 else f"{len(tags)} tags"
    pen = Pen(grid.page, title=title, author=shop, subject=", ".join(tag.name for tag in tags))
    tied = grid.per_page == 1
    labels = [Label(tag.name, partial(draw_tag, tag=tag, tied=tied, dpi=dpi), HOLE * tied) for tag in tags]
    draw_labels(pen, grid, labels, start)
    return pen.finish()


def draw_tag(pen: Pen, cell: Cell, *, tag: StockTag, tied: bool = False, dpi: Dpi = 300) -> Rest:
    """Draw a tag: its number and grade, its size, its code and where it came from; `tied` with a place for the hole.

    Returns what it has no room for.
    """
    pen.bookmark(f"Tag {tag.name}", 0)
    x = cell.x + (HOLE if tied else 0)
    if tied:
        _hole(pen, cell)
    _stripe_down(pen, tag.pattern, x, cell)
    body = Cell(x + STRIPE + GAP, cell.y, cell.x + cell.width - x - STRIPE - GAP, cell.height)
    (top, grade), (bottom, facts) = _head(pen, body, tag), _foot(pen, body, tag, dpi)
    _size(pen, Cell(body.x, top, body.width, bottom - top), tag)
    return grade + facts


def _hole(pen: Pen, cell: Cell) -> None:
    pen.canvas.saveState()
    pen.canvas.setDash(3, 2)
    pen.canvas.setLineWidth(RULE)
    pen.canvas.circle(cell.x + 9, pen.height - cell.y - cell.height / 2, 8)
    pen.canvas.restoreState()


def _stripe_down(pen: Pen, pattern: Pattern, x: float, cell: Cell) -> None:
    """Draw the grade's stripe from the top to the foot of a label, between two rules."""
    pen.canvas.saveState()
    pen.canvas.translate(x + STRIPE - 2, pen.height - cell.y - cell.height)
    pen.canvas.rotate(90)
    scene = stripe_scene(pattern, cell.height, STRIPE - 4, frame=False)
    draw_scene(pen.canvas, scene, x=0, y=0, w=cell.height, h=STRIPE - 4)
    pen.canvas.restoreState()
    for edge in (x, x + STRIPE):
        pen.line(edge, cell.y, edge, cell.y + cell.height, RULE)


def _head(pen: Pen, body: Cell, tag: StockTag) -> tuple[float, Rest]:
    """Draw the tag's number at the left, the grade at the right; return where the next row begins, and what is cut."""
    number = Type("figures", 0.2 * body.height / CAP).fitted((tag.name,), 0.5 * body.width)
    high = CAP * number.size
    room = body.width - pen.text(body.x, body.y + high, tag.name, number) - 10
    kind = Type("strong", 0.8 * number.size).fitted((tag.grade,), room)
    grade, lines = kind.paragraph(tag.grade, room, GRADE_LINES)
    y = body.y + (high if len(lines) == 1 else ASCENT * grade.size)
    for row, line in enumerate(lines):
        pen.text(body.x + body.width, y + row * grade.size * LEADING, line, grade, "end")
    y = max(body.y + high + 5, y + ((len(lines) - 1) * LEADING + DESCENT) * grade.size + 2)
    pen.line(body.x, y, body.x + body.width, y, FRAME)
    return y, () if kind.whole(tag.grade, room, GRADE_LINES) else (f"grade: {tag.grade}",)


def _foot(pen: Pen, body: Cell, tag: StockTag, dpi: Dpi) -> tuple[float, Rest]:
    """Draw the code, beside it where the foam came from; return where the row above ends, and what is cut."""
    module, most = _beside(body, tag, dpi)
    room = body.width - symbol_width(tag.code, module)
    kind, lines = FACTS.paragraph(tag.facts, room, most)
    high = max(least_height(tag.code, module), 0.2 * body.height)
    tall = max(high + TEXT_ROOM, len(lines) * kind.size * LEADING)
    top = body.y + body.height - tall - 5
    pen.line(body.x, top, body.x + body.width, top, FRAME)
    foot = pen.height - body.y - body.height + TEXT_ROOM
    draw_barcode(pen.canvas, Barcode(tag.code, body.x + QUIET * module, foot, high, module))
    for row, line in enumerate(lines):
        y = top + 5 + kind.size * (CAP + row * LEADING)
        pen.text(body.x + body.width - room, y, line, kind)
    return top, () if FACTS.whole(tag.facts, room, most) else (tag.facts,)


def _beside(body: Cell, tag: StockTag, dpi: Dpi) -> tuple[float, int]:
    """Return the module of the code, and the most lines of the words beside it.

    The module is the largest that leaves the words their room; where all are too large, there is one line more.
    """
    usual = int(0.35 * body.height / (LEAST * LEADING))
    widths = {module: symbol_width(tag.code, module) for module in MODULES[dpi]}
    narrow = [module for module, width in widths.items() if width <= BARS * body.width]
    narrow = narrow or [module_for(tag.code, body.width - LEAST_FACTS, dpi)]
    for most in (usual, usual + 1):
        for module in narrow:
            if FACTS.whole(tag.facts, body.width - widths[module], most):
                return module, most
    return narrow[-1], usual + 1


def _size(pen: Pen, row: Cell, tag: StockTag) -> None:
    """Draw long × wide × high as large as the row allows, and the three words below."""
    figures = sides(tag.size, tag.unit, "down")
    parts = times(*figures)
    band = row.height - WORDS_HIGH - 8
    kind = Type("figures", band / STACK)
    for _ in range(2):  # smaller figures have larger fractions
        kind = kind.fitted(parts, row.width)
    baseline = row.y + 4 + (band + CAP * kind.size) / 2
    place = row.x + (row.width - kind.width(parts)) / 2
    pen.text(place, baseline, parts, kind)
    for figure, word in zip(figures, (f"long, {tag.unit}", f"wide, {tag.unit}", f"high, {tag.unit}"), strict=True):
        pen.text(place + kind.width(figure) / 2, baseline + (STACK - CAP) / 2 * kind.size + 9, word, NOTE, "middle")
        place += kind.width((*figure, " × "))
