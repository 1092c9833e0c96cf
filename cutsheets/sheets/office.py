"""Paper of the office: a head, rows that flow over pages, and who printed it. Nobody scans it, so it has no barcode."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from functools import partial

from cutsheets.days import say_day, say_moment
from cutsheets.drawings.lettering import Figure, Parts
from cutsheets.sheets.furniture import Item, print_words, title_block
from cutsheets.sheets.page import BOLD, FRAME, LEADING, LEFT, NO_BREAK, NOTE, RIGHT, WIDTH, WORDS, Pen, Type

TOP = 104.0  # below the head
FOOT = 108.0  # from the lower edge: what holds for the whole paper, and the title block
TITLE_LEFT = LEFT + 288
MEASURES = Type("text", 13.0, share=0.7)  # words with lengths: digits of a fraction come out at 9 pt
HEADING = Type("strong", 14.0)
FRACTIONS = 3.0  # more room below a line of them, so that two stay apart
AMOUNT = 125.0  # room for a sum with its currency
NAMES = 76.0  # room for the small names of what stands first
FRACTION = re.compile(r"(?:(\d+)-)?(\d+)/(\d+)")


@dataclass(frozen=True, slots=True)
class Head:
    """What a paper of the office is: its kind ("Quote"), its name ("4182-7"), whose it is, who printed it and when.

    `foot`: what holds for the whole paper, repeated on every page.
    """

    kind: str
    name: str
    shop: str
    printed: datetime
    printed_by: str
    print_number: int
    foot: str


@dataclass(frozen=True, slots=True)
class Section:
    """Rows that belong together; the title stands above them again where they go on over the page.

    `whole`: it begins on a new page rather than be parted, if one page holds it.
    """

    rows: tuple[Item, ...]
    title: Item | None = None
    whole: bool = False

    @property
    def height(self) -> float:
        """Return how high it is in one piece."""
        return sum(item.height for item in (*self.rows, *([self.title] if self.title else [])))


def draw_sections(pen: Pen, head: Head, sections: Sequence[Section]) -> None:
    """Draw the sections over as many pages as they need, head and foot on each of them."""
    pages = _paged(sections, pen.height - TOP - FOOT)
    pen.bookmark(f"{head.kind} {head.name}")
    for number, items in enumerate(pages, 1):
        if number > 1:
            pen.next_page()
        _head(pen, head, f"page {number} of {len(pages)}")
        y = TOP
        for item in items:
            item.draw(pen, LEFT, y)
            y += item.height
        _foot(pen, head, f"{number} of {len(pages)}")


def facts(rows: Sequence[tuple[str, str]]) -> Section:
    """Return what a paper is about, a small name before each; what is not known is left out."""
    items = [item for name, value in rows if value for item in _fact(name, value)]
    return Section((*items, rule(FRAME)))


def words(text: str, kind: Type = WORDS, *, x: float = 0.0, width: float = WIDTH) -> Iterator[Item]:
    """Yield the lines of a text, each a row; `x` from the left margin. Of MEASURES the fractions are stacked."""
    for line in kind.lines(text, width - x):
        parts = stacked(line) if kind is MEASURES else (line,)
        apart = FRACTIONS if any(isinstance(part, Figure) for part in parts) else 0.0
        yield Item(kind.size * LEADING + apart, partial(_line, parts=parts, kind=kind, x=x))


def priced(text: str, amount: str, kind: Type = WORDS, *, x: float = 0.0) -> Iterator[Item]:
    """Yield the lines of a text with an amount at the right of the last one."""
    *first, last = words(text, kind, x=x, width=WIDTH - AMOUNT)
    yield from first
    yield Item(last.height, partial(_amount, row=last, amount=amount, kind=kind))


def rule(weight: float, room: float = 8.0) -> Item:
    """Return a rule across the page."""
    return Item(room, partial(_rule, weight=weight, room=room))


def stacked(text: str) -> Parts:
    """Return a text with its lengths as figures.

    >>> stacked("9-1/2 in")
    (Figure(whole=9, num=1, den=2), ' in')
    """
    parts: list[str | Figure] = []
    end = 0
    for found in FRACTION.finditer(text):
        parts += [text[end : found.start()], Figure(int(found[1] or 0), int(found[2]), int(found[3]))]
        end = found.end()
    return tuple(part for part in (*parts, text[end:]) if part)


def say_full_day(day: date) -> str:
    """Return a day with its year.

    >>> say_full_day(date(2026, 12, 3))
    'Thu 3 Dec 2026'
    """
    return f"{say_day(day)} {day.year}"


def _paged(sections: Sequence[Section], room: float) -> list[list[Item]]:
    """Return the rows of each page; a title never stands without a row."""
    pages: list[list[Item]] = [[]]
    left = room
    for section in sections:
        title = [section.title] if section.title else []
        if section.whole and left < section.height <= room:
            left = 0.0
        for place, row in enumerate(section.rows):
            here = [row] if place else [*title, row]
            if sum(item.height for item in here) > left:
                pages.append([])
                left, here = room, [*title, row]
            pages[-1] += here
            left -= sum(item.height for item in here)
    return pages


def _fact(name: str, value: str) -> Iterator[Item]:
    for place, row in enumerate(words(value, HEADING, x=NAMES)):
        yield row if place else Item(row.height, partial(_named, row=row, name=name))


def _named(pen: Pen, x: float, y: float, *, row: Item, name: str) -> None:
    pen.text(x, y + HEADING.size, name, NOTE)
    row.draw(pen, x, y)


def _line(pen: Pen, left: float, y: float, *, parts: Parts, kind: Type, x: float) -> None:
    pen.text(left + x, y + kind.size, parts, kind)


def _amount(pen: Pen, x: float, y: float, *, row: Item, amount: str, kind: Type) -> None:
    row.draw(pen, x, y)
    pen.text(RIGHT, y + kind.size, amount, kind, "end")


def _rule(pen: Pen, x: float, y: float, *, weight: float, room: float) -> None:
    pen.line(x, y + room / 2, RIGHT, y + room / 2, weight)


def _head(pen: Pen, head: Head, page: str) -> None:
    """Draw the name of the paper, largest, then its kind, its page and the shop."""
    wide = pen.text(LEFT, 82, head.name, Type("figures", 60.0).fitted((head.name,), 300)) + 14
    pen.text(LEFT + wide, 60, head.kind, Type("strong", 20.0).fitted((head.kind,), WIDTH - wide))
    pen.text(LEFT + wide, 80, page, BOLD)
    pen.block(LEFT + wide, 36, head.shop, Type("strong", 13.0), width=WIDTH - wide, most=1)
    pen.line(LEFT, 94, RIGHT, 94, FRAME)


def _foot(pen: Pen, head: Head, page: str) -> None:
    """Draw what holds for the whole paper at the left, the title block at the right."""
    top = pen.height - FOOT + 10
    pen.line(LEFT, top - 4, RIGHT, top - 4, FRAME)
    pen.block(LEFT, top + 9, head.foot, NOTE, width=TITLE_LEFT - LEFT - 14, most=7)
    by = f"{say_moment(head.printed)}, {head.printed_by.replace(' ', NO_BREAK)}"
    first = ((head.kind.lower(), head.name, 0.62), ("page", page, 0.38))
    second = ((f"printed, {print_words(head.print_number)}", by, 0.6), ("shop", head.shop, 0.4))
    title_block(pen, TITLE_LEFT, top, (first, second))
