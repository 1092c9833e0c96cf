"""The upper half of a traveller: blanks in a heavy frame, and nothing else that could be sawn.

Long × wide × high stand in one size, as large as the widest row allows; at most three sizes a page, so that they are
read from the fence. Sizes are rounded up: a blank may be a hair too big, never too small.
"""

from __future__ import annotations

from dataclasses import replace

from cutsheets.drawings.lettering import CAP, Parts
from cutsheets.drawings.runs import name_marks
from cutsheets.sheets.furniture import UNIT_WORD, blank_line, pencil_boxes, sides, stripe
from cutsheets.sheets.page import BOLD, CLEAR, HAIR, LEAST, LEFT, MARKS, NOTE, RIGHT, WIDTH, WORDS, Pen, Type
from cutsheets.sheets.values import TravellerLine
from cutsheets.solids import Blank
from cutsheets.units import KG_PER_POUND, Unit, board_feet

ROWS = 3  # sizes a page
TOP = 138.0  # where the half begins, below the header
LARGEST = 62.0
BOXES = 20.0  # room for the pencil boxes of a row
SIGN = (84.0, 26.0)
HEAVY = 2.8  # the frame
PIECE, COUNT, SIZES = LEFT + 7, LEFT + 104, LEFT + 168  # left ends of the columns
EDGE = RIGHT - 8  # where they end
GIVES = LEFT + 168  # where it stands how many pieces a big blank gives, behind its few pencil boxes
TIMES = 0.75  # room for a ×, in heights of the figures


def saw_pages(line: TravellerLine) -> list[tuple[Blank, ...]]:
    """Return the blanks of a line, page by page."""
    blanks = line.worked.blanks
    return [blanks[first : first + ROWS] for first in range(0, len(blanks), ROWS)]


def draw_saw_half(pen: Pen, line: TravellerLine, unit: Unit, rows: tuple[Blank, ...]) -> None:
    """Draw the half above the fold; without rows it says where they are."""
    fold = pen.height / 2
    pen.sign(LEFT, TOP, "SAW", width=SIGN[0], height=SIGN[1])
    pen.text(LEFT + SIGN[0] + 10, TOP + 18, f"Cut blanks to this, {UNIT_WORD[unit]}", Type("strong", 15.0))
    stripe(pen, LEFT + 276, TOP, line.worked.grade, line.pattern)
    pen.box(LEFT + HEAVY / 2, TOP + 33, WIDTH - HEAVY, fold - 33 - TOP - 33, HEAVY)
    if rows:
        _rows(pen, unit, rows, TOP + 37, fold - 36)
    else:
        words = f"All blanks of line {line.worked.mark} stand on the pages before this one."
        pen.block(PIECE, TOP + 70, words, Type("strong", 16.0), width=EDGE - PIECE)
    _totals(pen, line, unit, fold - 32)
    _fold(pen, fold)


def _rows(pen: Pen, unit: Unit, rows: tuple[Blank, ...], top: float, bottom: float) -> None:
    head = top + 11
    figures = [sides(blank.size, unit, "up") for blank in rows]
    high = min((bottom - head - 3) / len(rows), 100.0)
    unit_widths = [max(Type("figures", 1.0).width(row[axis]) for row in figures) for axis in range(3)]
    # fractions take a smaller share of larger figures, so the width at size 1 is a little too careful
    size = min(LARGEST, (high - BOXES - 5) / 0.96, (EDGE - SIZES) / (sum(unit_widths) + 2 * TIMES))
    kind = Type("figures", size)
    widths = [max(kind.width(row[axis]) for row in figures) for axis in range(3)]
    spare = (EDGE - SIZES - sum(widths)) / 2
    lefts = [SIZES, SIZES + widths[0] + spare, SIZES + sum(widths[:2]) + 2 * spare]
    pen.text(PIECE, head, "piece", WORDS)
    pen.text(COUNT, head, "count", WORDS)
    for left, wide, word in zip(lefts, widths, ("long", "wide", "high"), strict=True):
        pen.text(left + wide / 2, head, word, BOLD, "middle")
    for place, (blank, figure) in enumerate(zip(rows, figures, strict=True)):
        y = head + 3 + place * high
        if place:
            pen.line(LEFT, y, RIGHT, y)
        base = y + 4 + size * 0.82
        pen.line(SIZES - 12, y + 4, SIZES - 12, y + high - BOXES, HAIR)  # a count is no size
        _piece(pen, blank, base, size)
        for axis in range(3):
            pen.text(lefts[axis] + widths[axis] / 2, base, figure[axis], kind, "middle")
            if axis:
                pen.text(lefts[axis] - spare / 2, base, "×", Type("figures", size * 0.6), "middle")
        if blank.gives > 1:
            pencil_boxes(pen, PIECE, y + high - BOXES + 2, blank.qty, width=GIVES - PIECE - 12)
            pen.text(GIVES, y + high - BOXES + 13, f"each gives {blank.gives} pieces at the wire", BOLD)
        else:
            pencil_boxes(pen, PIECE, y + high - BOXES + 2, blank.qty, width=EDGE - PIECE - (150 if place == 0 else 0))
        if place == 0:
            pen.text(EDGE, y + high - BOXES + 13, "slash when started, fill when done", NOTE, "end")


def _piece(pen: Pen, blank: Blank, base: float, size: float) -> None:
    """Draw the marks and the count of a row; many marks go over several lines."""
    marks, room = name_marks(blank.marks), COUNT - PIECE - 8
    wanted = replace(MARKS, size=min(25.0, size)).fitted((marks,), room, least=13.0)
    for kind in (wanted, replace(wanted, size=LEAST)):
        most = 1 + int((size * 0.82 + 3 - CAP * kind.size) / (kind.size * 1.1))  # below the line above
        fitted, lines = kind.paragraph(marks, room, most)
        if not lines[-1].endswith("…"):
            break
    pen.fit(kind, marks, room, most)
    for back, text in enumerate(reversed(lines)):
        pen.text(PIECE, base - back * fitted.size * 1.1, text, fitted)
    count: Parts = (str(blank.qty),)
    pen.text(COUNT, base, count, Type("figures", size * 0.7).fitted(count, SIZES - COUNT - 20))


def _totals(pen: Pen, line: TravellerLine, unit: Unit, y: float) -> None:
    """Draw the foot of the half: how much foam this is, where it is planned, and lines for the pencil."""
    amounts = line.worked.quantities
    qty = sum(blank.qty for blank in line.worked.blanks)
    count = "1 blank" if qty == 1 else f"{qty} blanks"
    mass = amounts.core_mass / amounts.core_volume * amounts.blank_volume if amounts.core_volume else 0.0
    if unit == "in":
        words = f"{count}, {board_feet(amounts.blank_volume):,.1f} bf, {mass / float(KG_PER_POUND):,.1f} lb"
    else:
        words = f"{count}, {amounts.blank_volume / 1e9:,.3f} m³, {mass:,.1f} kg"
    done = pen.text(LEFT, y + 14, words, BOLD)
    room = 340 - done
    if WORDS.width((line.saw_from,)) <= room:
        pen.text(LEFT + done + 12, y + 14, line.saw_from, WORDS)
    else:
        pen.block(LEFT + done + 12, y + 11, line.saw_from, NOTE, width=room, most=2)
    blank_line(pen, LEFT + 352, y + 14, "sawn by", 84)
    blank_line(pen, LEFT + 442, y + 14, "short or over", RIGHT - LEFT - 442)


def _fold(pen: Pen, y: float) -> None:
    """Draw where the page folds: dashed, a crow's foot at the edge."""
    pen.text(LEFT - 27, y - 4, "fold", NOTE)
    pen.dashed(LEFT - 27, pen.width - CLEAR, y)
    for side in (-7, 7):
        pen.line(14, y + side, 24, y, HAIR * 2)
