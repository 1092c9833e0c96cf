"""Corners typed or pasted, one a line: `5 1/2, 0`, with arcs between them by bulge or radius.

x and y stand apart by a semicolon, a tab, a comma, or blanks where only one reading is possible. A third value says
that the way to the next corner is an arc: `bulge 0.4142` (the tangent of a quarter of the included angle, as in DXF)
or `r 2`. Both are positive where the arc turns left, counter-clockwise, and negative where it turns right. A radius
always means the shorter of the two arcs. Empty lines are left out, and so is everything after `#`.
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass

from cutsheets.errors import CutsheetError
from cutsheets.solids import Point
from cutsheets.tracing.curves import bulged
from cutsheets.tracing.drawn import CHORD, FARTHEST
from cutsheets.units import Unit, read_coordinate, say

MOST_LINES = 2000
LONGEST_LINE = 200
LARGEST_BULGE = 100.0  # 99.4 % of a full circle; beyond it is a slip of the finger
BARELY = 1e-9  # of the chord: a radius that is half the chord but for noise is a half circle

_ARC = re.compile(r"[,;\s]+(bulge|b|radius|r)\s*[=:]?\s*(\S.*)$", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class _Row:
    """One line of the text: what it says of the point and of the arc after it, and how to speak of it."""

    text: str
    line: int
    place: str
    unit: Unit

    def refused(self, code: str, said: str) -> CutsheetError:
        return CutsheetError(code, f"Line {self.line}: {said}", self.place)

    def length(self, value: str) -> float:
        try:
            return float(read_coordinate(value, self.unit, self.place))
        except CutsheetError as error:
            raise self.refused(error.code, error.message) from None


def read_points(
    text: str, unit: Unit, where: str = "points", *, closed: bool = True, chord: float = CHORD
) -> tuple[Point, ...]:
    r"""Return the corners, and the points of the arcs between them, mm.

    `closed`: the last corner goes on to the first. Raises CutsheetError `points` (a line that is no corner),
    `points-arc` (an arc that cannot be), `points-size`, those of `read_coordinate`; the place is the corner's number
    from 0, the sentence names the line.

    >>> read_points("0, 0\n5 1/2, 0  # the base\n5 1/2; 3\n", "in")
    ((0.0, 0.0), (139.7, 0.0), (139.7, 76.2))
    """
    rows = _rows(text, unit, where)
    corners = [_corner(row) for row in rows]
    if not closed and corners[-1][1]:
        raise rows[-1].refused("points-arc", "the last point has no next one, so no arc begins there.")
    points: list[Point] = []
    for row, (here, arc), (there, _) in zip(rows, corners, [*corners[1:], corners[0]], strict=True):
        points += bulged(here, there, _bulge(row, arc, math.dist(here, there)), chord)[:-1]
    return tuple(points)


def _rows(text: str, unit: Unit, where: str) -> list[_Row]:
    """Return the lines that say something."""
    said = [(i, line.partition("#")[0].strip()) for i, line in enumerate(text.splitlines(), 1)]
    said = [(i, line) for i, line in said if line]
    if not said:
        raise CutsheetError("points", "There are no points here; write one corner a line, as in 5 1/2, 0.", where)
    if len(said) > MOST_LINES:
        raise CutsheetError("points-size", f"There are {len(said)} points here; write {MOST_LINES} at most.", where)
    return [_Row(line, number, f"{where}[{i}]", unit) for i, (number, line) in enumerate(said)]


def _corner(row: _Row) -> tuple[Point, tuple[str, str] | None]:
    """Return the point of a line, and the arc after it: its letter, b or r, and its value."""
    if len(row.text) > LONGEST_LINE:
        raise row.refused("points", "this is too long for a point; write it as in 5 1/2, 0.")
    found = _ARC.search(row.text)
    x, y = map(row.length, _fields(row, row.text[: found.start()] if found else row.text))
    if max(abs(x), abs(y)) > FARTHEST:
        raise row.refused("length-range", "this lies more than 100 m out; check its unit.")
    return (x, y), (found[1][0].lower(), found[2]) if found else None


def _fields(row: _Row, text: str) -> Sequence[str]:
    """Return the texts of x and y."""
    separator = next((sign for sign in (";", "\t", ",") if sign in text), None)
    if separator:
        fields = [field.strip() for field in text.split(separator)]
        if len(fields) == 2 and all(fields):
            return fields
        raise row.refused("points", f"“{text[:40]}” has not two values; write x and y as in 5 1/2, 0.")
    words = text.split()
    pairs = [(" ".join(words[:i]), " ".join(words[i:])) for i in range(1, len(words))]
    possible = [pair for pair in pairs if all(_reads(value, row.unit) for value in pair)]
    if len(possible) == 1 and not _reads(text, row.unit):
        return possible[0]
    said = "can be read in two ways" if possible else "is no point"
    raise row.refused("points", f"“{text[:40]}” {said}; write x and y as in 5 1/2, 0.")


def _reads(value: str, unit: Unit) -> bool:
    try:
        read_coordinate(value, unit)
    except CutsheetError:
        return False
    return True


def _bulge(row: _Row, arc: tuple[str, str] | None, across: float) -> float:
    """Return the bulge of the way to the next corner, 0 for a straight one."""
    if not arc:
        return 0.0
    if not across:
        raise row.refused("points-arc", "an arc needs another point to go to; the next one is the same.")
    letter, value = arc
    if letter == "b":
        return _number(row, value)
    radius, half = row.length(value), across / 2
    if abs(radius) < half * (1 - BARELY):
        least = say(half, row.unit, "up")
        raise row.refused("points-arc", f"a radius of {value} does not reach the next point; take {least} or more.")
    # half the included angle has the sine half/r; the bulge is the tangent of half of that
    return math.copysign(math.tan(math.asin(min(1.0, half / abs(radius))) / 2), radius)


def _number(row: _Row, value: str) -> float:
    try:
        bulge = float(value.replace("−", "-"))
    except ValueError:
        bulge = math.nan
    if not abs(bulge) <= LARGEST_BULGE:
        raise row.refused("points-arc", f"“{value[:40]}” is no bulge; write 0.4142 for a quarter circle, 1 for a half.")
    return bulge
