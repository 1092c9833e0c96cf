"""Pages of a whole order outside the saw and the wire: whose it is above, parts that flow, who printed it below.

The order number and the sheet letter stand top left and bottom right, the barcode top right and bottom left, on every
page. A part that goes on to the next page has its name and its columns there again.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import date, datetime
from functools import partial

from cutsheets.codes import make_sheet_code
from cutsheets.days import say_day, say_moment
from cutsheets.sheets.furniture import (
    Item,
    barcode_at_foot,
    blank_line,
    order_number,
    print_words,
    title_block,
    with_marks_above,
)
from cutsheets.sheets.page import FRAME, LEADING, LEFT, MARKS, NO_BREAK, NOTE, WIDTH, WORDS, PageSize, Pen, Type
from cutsheets.units import Unit

NAMES = 85.0  # job and customer stand below this
FOOT = 98.0  # from the lower edge: barcode, pencil lines and title block stand in here
TITLE_LEFT = LEFT + 288
PART = Type("strong", 14.0)
KEPT = 2  # rows that stay together where a page breaks
MOST_LINES = 8  # of marks in one row; more go on in rows of their own
Draw = Callable[[Pen, float, float], None]
NOTHING = Item(0.0, lambda pen, x, y: None)
AFTER = replace(NOTHING, height=10.0)  # below a part


@dataclass(frozen=True, slots=True)
class OrderHead:
    """Whose order it is, at which sheet letter, and who printed what when: as in a traveller.

    `line`: the number of its line, where the sheet is for one alone.
    """

    number: int
    revision: str
    customer: str
    job: str
    shop: str
    unit: Unit
    printed: datetime
    printed_by: str
    print_number: int = 1
    needed: date | None = None
    reference: str = ""
    line: int | None = None

    @property
    def name(self) -> str:
        """Return order number and sheet letter ("4182 C")."""
        return f"{self.number} {self.revision}"

    @property
    def code(self) -> str:
        """Return what the barcode says."""
        return make_sheet_code(self.number, self.revision, self.line)

    def pen(self, page: PageSize, what: str) -> Pen:
        """Return a pen for a file of its own."""
        return Pen(page, title=f"{what} {self.name}", author=self.shop, subject=f"{self.job}, {self.customer}")


@dataclass(frozen=True, slots=True)
class Part:
    """A part of a sheet: its name, what stands once below it, the names of its columns, its rows."""

    name: str
    rows: tuple[Item, ...]
    intro: Item = NOTHING
    columns: Item = NOTHING


@dataclass(frozen=True, slots=True)
class _Block:
    """Items that stay on one page; what stands above them where they begin one, and where something is before them."""

    items: tuple[Item, ...]
    at_top: tuple[Item, ...] = ()
    below: tuple[Item, ...] = ()


@dataclass(frozen=True, slots=True)
class Sheet:
    """What every page of a sheet has: its kind, its words white on black, what is written by hand, its cautions."""

    kind: str
    sign: str
    lead: str
    by_hand: tuple[str, str]
    cautions: str = ""


def draw_order(pen: Pen, head: OrderHead, sheet: Sheet, parts: Iterable[Part]) -> None:
    """Draw the parts on as many pages as they need, from the page that the pen is at."""
    top, low = room_of(pen, head, sheet)
    pages = pages_of(parts, low - top)
    for number, items in enumerate(pages, 1):
        if number > 1:
            pen.next_page()
        name = f"{sheet.kind[0].upper()}{sheet.kind[1:]} {head.name}"  # the mark of a line stays as it is
        pen.bookmark(f"{name}, page {number} of {len(pages)}" if number > 1 else name, min(1, number - 1))
        _header(pen, head, sheet)
        y = top
        for item in items:
            item.draw(pen, LEFT, y)
            y += item.height
        if sheet.cautions:
            pen.block(LEFT, low + 11, sheet.cautions, NOTE, width=WIDTH)
        _foot(pen, head, sheet, f"{number} of {len(pages)}")


def room_of(pen: Pen, head: OrderHead, sheet: Sheet) -> tuple[float, float]:
    """Return where the parts of a page begin, below its names, and where its cautions begin."""
    cautions = NOTE.lines(sheet.cautions, WIDTH) if sheet.cautions else []
    return _names(head)[-1][0] + 44, pen.height - FOOT - len(cautions) * NOTE.size * LEADING - 4


def table(columns: dict[str, float]) -> Item:
    """Return the names of columns above a rule; the figures are how far right of the edge each begins."""

    def draw(pen: Pen, x: float, y: float) -> None:
        for name, right in columns.items():
            pen.text(x + right, y + 10, name, NOTE)
        pen.line(x, y + 13, x + WIDTH, y + 13)

    return Item(14.0, draw)


def words(text: str, kind: Type = WORDS, *, width: float = WIDTH) -> Iterator[Item]:
    """Yield a paragraph line by line, so that it may go on to the next page."""
    for line in kind.lines(text, width) if text else ():
        yield Item(kind.size * LEADING, partial(_line, text=line, kind=kind))


def marks_rows(marks: str, width: float, high: float, draw: Draw) -> Iterator[Item]:
    """Yield a row that begins with marks, wrapped, and below it rows of what marks are left; `draw` draws the rest."""
    if MARKS.breaks(marks, width):
        yield with_marks_above(marks, WIDTH, *marks_rows("", width, high, draw))
        return
    kind, lines = MARKS.fitted((marks,), width, least=11.0).paragraph(marks, width, len(marks) + 1)
    for first in range(0, len(lines), MOST_LINES):
        held = lines[first : first + MOST_LINES]
        tall = max(0.0 if first else high, len(held) * kind.size * 1.15 + 6)
        yield Item(tall, _marks(held, kind, tall, NOTHING.draw if first else draw), row=True)


def pages_of(parts: Iterable[Part], room: float) -> list[list[Item]]:
    """Return the items of each page. No page begins or ends with a single row of a part, unless rows are too high."""
    pages: list[list[Item]] = [[]]
    for block in _blocks(parts, room):
        if pages[-1] and _height((*pages[-1], *block.below, *block.items)) > room:
            pages.append([])
        pages[-1] += (*(block.below if pages[-1] else block.at_top), *block.items)
    return pages


def _blocks(parts: Iterable[Part], room: float) -> Iterator[_Block]:
    """Yield what stays together of each part; a row that is a part alone stays with the last rows before it."""
    held: list[_Block] = []
    for part in parts:
        blocks = _blocks_of(part, room)
        if held and len(part.rows) == 1 and not part.intro.height:
            joined = replace(held[-1], items=(*held[-1].items, *blocks[0].below, *blocks[0].items))
            if _height((*joined.at_top, *joined.items)) <= room:
                held[-1] = joined
                continue
        yield from held
        held = blocks
    yield from held


def _blocks_of(part: Part, room: float) -> list[_Block]:
    """Return a part in pieces that no page breaks: its head with the first rows, single rows, the last rows."""
    head = (part_name(part.name), part.intro, part.columns)
    goes_on = (part_name(f"{part.name}, continued"), part.columns)
    first, last = (part.rows[:KEPT], part.rows[-KEPT:]) if len(part.rows) >= 2 * KEPT else (part.rows, ())
    if max(_height((*head, *first)), _height((*goes_on, *last))) > room:
        first, last = part.rows[:1], ()
    middle = part.rows[len(first) : len(part.rows) - len(last)]
    rows = [*((row,) for row in middle), *([last] if last else [])]
    return [_Block((*head, *first), below=(AFTER,)), *(_Block(row, at_top=goes_on) for row in rows)]


def _height(items: Iterable[Item]) -> float:
    return sum(item.height for item in items)


def part_name(name: str) -> Item:
    """Return the name of a part below a rule."""
    kind, lines = PART.paragraph(name, WIDTH, 3)

    def draw(pen: Pen, x: float, y: float) -> None:
        pen.line(x, y, x + WIDTH, y, FRAME)
        pen.fit(PART, name, WIDTH, 3)
        for number, line in enumerate(lines):
            pen.text(x, y + 16 + number * kind.size * LEADING, line, kind)

    return Item(8 + len(lines) * kind.size * LEADING, draw)


def _line(pen: Pen, x: float, y: float, *, text: str, kind: Type) -> None:
    pen.text(x, y + kind.size, text, kind)


def _marks(lines: list[str], kind: Type, tall: float, rest: Draw) -> Draw:
    def draw(pen: Pen, x: float, y: float) -> None:
        for number, line in enumerate(lines):
            pen.text(x, y + 14.5 + number * kind.size * 1.15, line, kind)
        rest(pen, x, y)
        pen.line(x, y + tall - 1, x + WIDTH, y + tall - 1)

    return draw


def _header(pen: Pen, head: OrderHead, sheet: Sheet) -> None:
    """Draw order number, sheet letter, day and barcode, then whose job this is and what the sheet is for."""
    x, end = order_number(pen, head.number, head.revision, head.code, side=41, foot=71)
    if head.needed:
        pen.text(x, 40, "needed", NOTE)
        day = say_day(head.needed)
        pen.text(x, 59, day, Type("strong", 18.0).fitted((day,), end - x))
    for y, line, kind in _names(head):
        pen.text(LEFT, y, line, kind)
    for text, largest in _texts(head):
        pen.fit(largest, text, WIDTH, 2)  # what is cut stands whole behind the sheet
    wide = Type("strong", 20.0).width((sheet.sign,)) + 24
    pen.sign(LEFT, y + 10, sheet.sign, width=wide, height=26)
    pen.block(LEFT + wide + 10, y + 28, sheet.lead, Type("strong", 14.0), width=WIDTH - wide - 10, most=1)


def _texts(head: OrderHead) -> tuple[tuple[str, Type], ...]:
    reference = f", their order {head.reference}" if head.reference else ""
    return ((head.job, Type("strong", 16.0)), (head.customer + reference, Type("text", 12.0)))


def _names(head: OrderHead) -> list[tuple[float, str, Type]]:
    """Return job and customer, two lines at most for each, with the baseline and the type of each line."""
    placed: list[tuple[float, str, Type]] = []
    y = NAMES
    for text, largest in _texts(head):
        kind, lines = largest.paragraph(text, WIDTH, 2)
        for place, line in enumerate(lines):
            y += kind.size * LEADING if place else largest.size * LEADING  # small ones do not move up into the barcode
            placed.append((y, line, kind))
    return placed


def _foot(pen: Pen, head: OrderHead, sheet: Sheet, page: str) -> None:
    """Draw pencil lines and barcode at the left, the title block at the right."""
    top = pen.height - FOOT + 2
    for number, name in enumerate(sheet.by_hand):
        blank_line(pen, LEFT, top + 12 + 17 * number, name, TITLE_LEFT - LEFT - 14)
    barcode_at_foot(pen, head.code)
    by = f"{say_moment(head.printed)}, {head.printed_by.replace(' ', NO_BREAK)}"
    first = (("order and sheet", head.name, 0.38), ("page", page, 0.24), ("sheet", sheet.kind, 0.38))
    second = ((f"printed, {print_words(head.print_number)}", by, 0.6), ("shop", head.shop, 0.4))
    title_block(pen, TITLE_LEFT, top, (first, second))
