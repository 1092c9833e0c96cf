"""What stands on every sheet of the shop floor: barcode, grade stripe, pencil boxes, title block."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from cutsheets.drawings.lettering import CAP, Parts, length_parts, times
from cutsheets.drawings.stripe import Pattern, stripe_scene
from cutsheets.sheets.barcodes import MODULE, QUIET, TEXT_ROOM, Barcode, bars_width, draw_barcode, least_height
from cutsheets.sheets.page import CLEAR, FRAME, HAIR, LEADING, LEFT, MARKS, NOTE, RIGHT, RULE, SMALL, Pen, Type
from cutsheets.solids import Box, Worked
from cutsheets.units import Rounding, Unit

BOX = 13.0  # a pencil box
GAP, GROUP = 3.5, 6.0  # between boxes, and after five more
STEPS = (1, 5, 10, 20, 50, 100, 200, 500, 1000)
MOST_MARKS = 12  # lines of marks above a row
UNIT_WORD: dict[Unit, str] = {"in": "inches", "mm": "mm"}
DASHED = {"turned": ", axis, stubs", "cutout": ", slits"}  # beside the blank
CAUTIONS = (
    "Hot wire fumes: exhaust on, air the room; keep within the limits of 29 CFR 1910.1000 and local rules. "
    "Fresh foam gives off pentane: no flame, no spark, no smoking. Guards stay on. "
    "Follow local codes and the machine maker's instructions."
)
INDOORS = (
    "For indoors: foam there needs the covering that the local building code asks for; ask the office before it leaves."
)


@dataclass(frozen=True, slots=True)
class Item:
    """Something in a column that flows: its height, how it is drawn at (x, y), and whether it is a row of a table."""

    height: float
    draw: Callable[[Pen, float, float], None]
    row: bool = False


def stacked(items: Sequence[Item]) -> Item:
    """Return items as one that no page breaks."""

    def draw(pen: Pen, x: float, y: float) -> None:
        for item in items:
            item.draw(pen, x, y)
            y += item.height

    return Item(sum(item.height for item in items), draw)


def with_marks_above(marks: str, width: float, row: Item) -> Item:
    """Return a row below its marks, which have no room in their column: they take the whole width of the row."""
    largest = MARKS.fitted((marks,), width)
    kind, lines = largest.paragraph(marks, width, MOST_MARKS)
    deep = len(lines) * kind.size * LEADING

    def draw(pen: Pen, x: float, y: float) -> None:
        pen.block(x, y + kind.size, marks, largest, width=width, most=MOST_MARKS)
        row.draw(pen, x, y + deep)

    return Item(deep + row.height, draw, row.row)


def print_words(number: int) -> str:
    """Return the how-manieth print of a sheet this is.

    >>> print_words(1), print_words(2)
    ('print 1', 'reprint 2')
    """
    return f"print {number}" if number == 1 else f"reprint {number}"


def sides(size: Box, unit: Unit, rounding: Rounding = "nearest") -> tuple[Parts, Parts, Parts]:
    """Return long, wide and high, ready to be set."""
    long, wide, high = (length_parts(side, unit, rounding) for side in (size.l, size.w, size.h))
    return (long, wide, high)


def finished_size(worked: Worked, unit: Unit) -> Parts:
    """Return the finished size of a line in words."""
    size, loose = worked.finished, worked.loose
    if loose:
        high, thick = length_parts(loose.high, unit), length_parts(loose.thick, unit)
        return (f"{loose.of} ", *high, " high, ", *thick, " thick")
    if isinstance(size, Box):
        return times(*sides(size, unit))
    return (*length_parts(size.width, unit), " deep × ", *length_parts(size.height, unit), " high")


def dashed_words(worked: Worked) -> str:
    """Return what is dashed in the pictures of a line."""
    lines = any(view.lines for view in worked.views if not view.numbers)
    return f"dashed: blank{DASHED.get(worked.kind, ', axes, joints') if lines else ''}"


def order_number(pen: Pen, number: int, revision: str, code: str, *, side: float, foot: float) -> tuple[float, float]:
    """Draw order number, sheet letter and barcode along the top; return where the rest of that line begins and ends.

    `side`: of the box round the letter, which stands on the line `foot`; the other sizes follow from it.
    """
    end = RIGHT - 2 * QUIET * MODULE - bars_width(code) - 8
    barcode_at_right(pen, code, 27, 50)
    digits = (str(number),)
    x = LEFT + pen.text(LEFT, foot, digits, Type("figures", 1.44 * side).fitted(digits, end - LEFT - side - 118)) + 10
    pen.box(x, foot - side, side, side, 2.4)
    letter = Type("figures", 0.8 * side).fitted((revision,), 0.84 * side)
    pen.text(x + side / 2, foot - side / 2 + CAP * letter.size / 2, revision, letter, "middle")
    return x + side + 12, end


def barcode_at_right(pen: Pen, text: str, y: float, height: float) -> Barcode:
    """Draw the code so that its quiet zone ends at the right margin; y is the top of the bars."""
    return _barcode(pen, text, RIGHT - QUIET * MODULE - bars_width(text), y, height)


def barcode_at_foot(pen: Pen, text: str) -> Barcode:
    """Draw the code as low on the page as a printer reaches, its quiet zone beginning at the left margin."""
    high = least_height(text)
    return _barcode(pen, text, LEFT + QUIET * MODULE, pen.bottom - TEXT_ROOM - high, high)


def _barcode(pen: Pen, text: str, x: float, y: float, height: float) -> Barcode:
    code = Barcode(text, x, pen.height - y - max(height, least_height(text)), max(height, least_height(text)))
    draw_barcode(pen.canvas, code)
    return code


def stripe(pen: Pen, left: float, y: float, grade: str, pattern: Pattern) -> None:
    """Draw the grade's stripe out to the right edge, and its name in a box upon it; 26 pt high."""
    right = pen.width - CLEAR
    pen.scene(stripe_scene(pattern, right - left, 18, frame=False), left, y + 4, right - left, 18)
    kind, (name, *_) = pen.fit(Type("strong", 17.0).fitted((grade,), right - left - 70), grade, right - left - 60, 1)
    wide = kind.width((name,)) + 26
    start = left + min(30.0, (right - left - wide) / 2)
    pen.canvas.setFillGray(1)
    pen.canvas.rect(start, pen.height - y - 26, wide, 26, stroke=0, fill=1)
    pen.box(start, y, wide, 26, FRAME)
    pen.text(start + 13, y + (26 + CAP * kind.size) / 2, name, kind)


def pencil_boxes(pen: Pen, x: float, y: float, qty: int, *, width: float, size: float = BOX) -> None:
    """Draw one box a piece, a gap after five; more than fit stand for 5, 10 … pieces each, and that is said."""
    room = int((width + GROUP) // (5 * (size + GAP) + GROUP) * 5)
    words = {step: f"each box is {step}" for step in STEPS}
    step = next((step for step in STEPS if -(-qty // step) <= (room if step == 1 else room - 5)), STEPS[-1])
    place = x
    for number in range(-(-qty // step)):
        place = x + number * (size + GAP) + (number // 5) * GROUP
        pen.box(place, y, size, size)
    if step > 1:
        pen.text(place + size + 6, y + size - 3, words[step], NOTE)


def title_block(pen: Pen, left: float, y: float, rows: Sequence[Sequence[tuple[str, str, float]]]) -> None:
    """Draw two rows of thin cells, small name above, bold value; a cell is (name, value, share of the row's width)."""
    wide = RIGHT - left
    heights = (40.0, 42.0)
    top = y
    for row, high in zip(rows, heights, strict=True):
        x = left
        for name, value, share in row:
            pen.text(x + 5, y + 11, name, NOTE)
            room = wide * share - 10  # as much is clear at its end as before it
            first = row is rows[0]
            kind = Type("strong", 17.0).fitted((value,), room) if first else Type("strong", 10.5)
            # what is cut below is no news: whose shop it is, who printed it
            one = kind.whole(value, room, 1)
            kind, lines = pen.fit(kind, value, room, 1 if one else 2) if first else kind.paragraph(value, room, 2)
            for place, line in enumerate(lines):
                pen.text(x + 5, y + (high - 9 if first and one else 24) + place * kind.size * LEADING, line, kind)
            x += wide * share
            if x < RIGHT - 1:
                pen.line(x, y, x, y + high, HAIR)
        y += high
        pen.line(left, y, RIGHT, y, RULE)
    pen.box(left, top, wide, y - top, FRAME)


def blank_line(pen: Pen, x: float, y: float, name: str, width: float) -> None:
    """Draw a line to write on, its small name before it."""
    done = pen.text(x, y, name, SMALL) + 5
    pen.line(x + done, y + 2, x + width, y + 2)
