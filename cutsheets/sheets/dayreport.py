"""The day's foam on paper: what lay on the saw, what came, what was opened, and where all of it went.

Volumes are whole cubic micrometres and are printed in board feet; the balance is worked out before they are rounded.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from functools import partial

from cutsheets.drawings.stripe import Pattern, stripe_scene
from cutsheets.sheets.furniture import Item
from cutsheets.sheets.office import HEADING, Head, Section, draw_sections, rule, say_full_day, words
from cutsheets.sheets.page import BOLD, FRAME, HAIR, LEFT, NOTE, RIGHT, WORDS, PageSize, Pen, Type
from cutsheets.units import board_feet

UM3_PER_MM3 = 10**9
COLUMNS = (
    ("opening", ("on saw,", "opening")), ("received", ("", "received")), ("issued", ("", "issued")),
    ("good", ("", "good")), ("miscut", ("", "miscut")), ("back", ("remnants", "back")), ("waste", ("saw", "waste")),
    ("closing", ("on saw,", "closing")), ("missing", ("not", "found")),
)  # fmt: skip
NAME = 92.0  # room for the name of a grade
WIDE = (RIGHT - LEFT - NAME) / len(COLUMNS)
FIGURE = Type("strong", 10.5)
GOOD, MISCUT = RIGHT - 70, RIGHT  # where the columns of the orders end
STRIPE = (40.0, 14.0)


@dataclass(frozen=True, slots=True)
class GradeDay:
    """One grade of foam on one day; `opening` and `closing` are what lay on the saws at its two midnights."""

    grade: str
    pattern: Pattern | None = None
    opening: int = 0
    received: int = 0
    issued: int = 0
    good: int = 0
    miscut: int = 0
    back: int = 0
    waste: int = 0
    closing: int = 0

    @property
    def missing(self) -> int:
        """Return what the day cannot explain: 0 when the foam balances."""
        return self.opening + self.issued - self.good - self.miscut - self.back - self.waste - self.closing


@dataclass(frozen=True, slots=True)
class OrderDay:
    """What an order took of a grade on that day."""

    order: str
    job: str
    grade: str
    good: int
    miscut: int


@dataclass(frozen=True, slots=True)
class DayReport:
    """The foam of a day. `state`: open or closed, when and by whom; `look_at`: sentences; the rest as in any sheet."""

    day: date
    state: str
    shop: str
    grades: tuple[GradeDay, ...]
    orders: tuple[OrderDay, ...]
    look_at: tuple[str, ...]
    printed: datetime
    printed_by: str
    print_number: int = 1


def day_report_pdf(report: DayReport, page: PageSize = "letter") -> bytes:
    """Return the report as a PDF: the same bytes for the same report."""
    foot = (
        "Board feet. Issued and what lay on the saw at opening = good + miscut + remnants back + saw waste + what lies "
        "on the saw at closing. Rounded for printing only: the account itself is exact."
    )
    name = f"{report.day.day} {report.day:%b %Y}"
    head = Head("Day's foam", name, report.shop, report.printed, report.printed_by, report.print_number, foot)
    pen = Pen(page, title=f"Day's foam {report.day}", author=report.shop, subject=report.state)
    draw_sections(pen, head, tuple(_sections(report)))
    return pen.finish()


def bf(volume: int, places: int = 1) -> str:
    """Return cubic micrometres as board feet.

    >>> bf(12 * 304_800**3)
    '144.0'
    """
    return f"{board_feet(volume / UM3_PER_MM3):,.{places}f}"


def _sections(report: DayReport) -> Iterator[Section]:
    yield Section((*words(f"{say_full_day(report.day)}: {report.state}", HEADING), rule(FRAME)))
    if not report.grades:
        yield Section(tuple(words("No foam moved on this day.")))
    else:
        shown = [*report.grades, _all_foam(report.grades)] if len(report.grades) > 1 else report.grades
        yield Section(tuple(Item(30.0, partial(_grade, row=row)) for row in shown), Item(30.0, _columns))
        yield Section(tuple(item for row in report.grades for item in words(_balance(row))), _title("The balance"))
    if report.orders:
        yield Section(tuple(item for order in report.orders for item in _order(order)), Item(36.0, _order_columns))
    if report.look_at:
        sentences = tuple(item for sentence in report.look_at for item in words(sentence))
        yield Section(sentences, _title("To look at"))
    yield Section((Item(40.0, _signed),))


def _all_foam(grades: Sequence[GradeDay]) -> GradeDay:
    names = [name for name, _ in COLUMNS if name != "missing"]
    return GradeDay("All foam", **{name: sum(getattr(row, name) for row in grades) for name in names})


def _balance(row: GradeDay) -> str:
    """Return the balance of a grade in words, to a thousandth of a board foot."""
    came = f"{bf(row.opening, 3)} on the saw + {bf(row.issued, 3)} issued"
    went = (
        f"{bf(row.good, 3)} good + {bf(row.miscut, 3)} miscut + {bf(row.back, 3)} back + {bf(row.waste, 3)} waste + "
        f"{bf(row.closing, 3)} on the saw"
    )
    found = f"{bf(row.missing, 3)} bf not found." if row.missing else "nothing is missing."
    return f"{row.grade}: {came} {'against' if row.missing else '='} {went}; {found}"


def _title(text: str) -> Item:
    return Item(28.0, partial(_titled, text=text))


def _titled(pen: Pen, x: float, y: float, *, text: str) -> None:
    pen.text(x, y + 22, text, HEADING)


def _columns(pen: Pen, x: float, y: float) -> None:
    for place, (_, lines) in enumerate(COLUMNS, 1):
        for line, text in enumerate(lines):
            pen.text(x + NAME + place * WIDE, y + 12 + 11 * line, text, NOTE, "end")
    pen.line(x, y + 29, RIGHT, y + 29, FRAME)


def _grade(pen: Pen, x: float, y: float, *, row: GradeDay) -> None:
    if row.pattern:
        pen.scene(stripe_scene(row.pattern, *STRIPE), x, y + 1, *STRIPE)
    pen.block(x, y + 25, row.grade, Type("strong", 10.5).fitted((row.grade,), NAME), width=NAME, most=1)
    for place, (name, _) in enumerate(COLUMNS, 1):
        value = (bf(getattr(row, name)),)
        pen.text(x + NAME + place * WIDE, y + 25, value, FIGURE.fitted(value, WIDE - 4), "end")
    pen.line(x, y + 29.5, RIGHT, y + 29.5, HAIR)


def _order_columns(pen: Pen, x: float, y: float) -> None:
    pen.text(x, y + 28, "Orders that took foam", HEADING)
    pen.text(GOOD, y + 28, "good", NOTE, "end")
    pen.text(MISCUT, y + 28, "miscut", NOTE, "end")
    pen.line(x, y + 34, RIGHT, y + 34, FRAME)


def _order(order: OrderDay) -> Iterator[Item]:
    *first, last = words(f"{order.order}  {order.job}, {order.grade}", width=RIGHT - LEFT - 150)
    yield from first
    yield Item(last.height + 3, partial(_order_row, row=last, order=order))


def _order_row(pen: Pen, x: float, y: float, *, row: Item, order: OrderDay) -> None:
    row.draw(pen, x, y)
    pen.text(GOOD, y + WORDS.size, bf(order.good), BOLD, "end")
    pen.text(MISCUT, y + WORDS.size, bf(order.miscut), BOLD, "end")
    pen.line(x, y + row.height + 1, RIGHT, y + row.height + 1, HAIR)


def _signed(pen: Pen, x: float, y: float) -> None:
    done = pen.text(x, y + 30, "looked through by", NOTE) + 6
    pen.line(x + done, y + 32, x + 260, y + 32)
