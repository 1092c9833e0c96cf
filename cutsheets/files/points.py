"""Corners typed or pasted, one a line: `5 1/2, 0`, with arcs between them by bulge or radius.

x and y stand apart by a semicolon, a tab, a comma, or blanks where only one reading is possible. A third value says
that the way to the next corner is an arc: `bulge 0.4142` (the tangent of a quarter of the included angle, as in DXF)
or `r 2`. Both are positive where the arc turns left, counter-clockwise, and negative where it turns right. A radius
always means the shorter of the two arcs. Empty lines are left out, and so is everything after `#`.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Sequence

from cutsheets.errors import CutsheetError
from cutsheets.solids import Point
from cutsheets.tracing.curves import bulged
from cutsheets.tracing.drawn import CHORD, FARTHEST, out_of_range
from cutsheets.units import Unit, read_coordinate, say

MOST_LINES = 2000
LONGEST_LINE = 200
LARGEST_BULGE = 100.0  # 99.4 % of a full circle; beyond it is a slip of the finger
BARELY = 1e-9  # of the chord: a radius that is half the chord but for noise is a half circle

_ARC = re.compile(r"[,;\s]+(bulge|b|radius|r)\s*[=:]?\s*(\S.*)$", re.IGNORECASE)

Corner = tuple[Point, float, str]  # the point, the bulge of the way to the next, its place


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
    corners = list(_corners(text, unit, where))
    if not corners:
        raise CutsheetError("points", "There are no points here; write one corner a line, as in 5 1/2, 0.", where)
    if not closed and corners[-1][1]:
        raise CutsheetError("points-arc", "The last point has no next one, so no arc begins there.", corners[-1][2])
    points = []
    for (here, turn, _), (there, _, _) in zip(corners, [*corners[1:], corners[0]], strict=True):
        points += bulged(here, there, turn, chord)[:-1]
    return tuple(points)


def _corners(text: str, unit: Unit, where: str) -> Iterator[Corner]:
    """Yield the corners with the bulges that they begin."""
    rows = [(i + 1, row.partition("#")[0].strip()) for i, row in enumerate(text.splitlines())]
    rows = [(number, row) for number, row in rows if row]
    if len(rows) > MOST_LINES:
        raise CutsheetError("points-size", f"There are {len(rows)} points here; write {MOST_LINES} at most.", where)
    read = [_row(row, number, unit, f"{where}[{i}]") for i, (number, row) in enumerate(rows)]
    for i, (point, arc) in enumerate(read):
        number, place = rows[i][0], f"{where}[{i}]"
        yield point, _turn(arc, (point, read[(i + 1) % len(read)][0]), unit, f"Line {number}: ", place), place


def _row(row: str, number: int, unit: Unit, where: str) -> tuple[Point, tuple[str, str]]:
    """Return the point of one line and what it says of the arc after it."""
    if len(row) > LONGEST_LINE:
        raise CutsheetError("points", f"Line {number} is too long for a point; write it as in 5 1/2, 0.", where)
    arc = ("", "")
    if found := _ARC.search(row):
        arc, row = (found[1].lower()[0], found[2]), row[: found.start()]
    x, y = _fields(row, number, unit, where)
    point = (_coordinate(x, number, unit, where), _coordinate(y, number, unit, where))
    if max(map(abs, point)) > FARTHEST:
        raise out_of_range(*point).at(where)
    return point, arc


def _fields(row: str, number: int, unit: Unit, where: str) -> Sequence[str]:
    """Return the texts of x and y."""
    for separator in (";", "\t", ","):
        if separator in row:
            fields = [field.strip() for field in row.split(separator)]
            if len(fields) == 2 and all(fields):
                return fields
            raise _refused(row, number, f"has {len(fields)} values", where)
    words = row.split()
    pairs = [(" ".join(words[:i]), " ".join(words[i:])) for i in range(1, len(words))]
    possible = [pair for pair in pairs if all(_reads(value, unit) for value in pair)]
    if len(possible) == 1 and not _reads(row, unit):
        return possible[0]
    raise _refused(row, number, "can be read in two ways" if possible else "is no point", where)


def _refused(row: str, number: int, said: str, where: str) -> CutsheetError:
    return CutsheetError("points", f"Line {number}, “{row[:40]}”, {said}; write x and y as in 5 1/2, 0.", where)


def _reads(value: str, unit: Unit) -> bool:
    try:
        read_coordinate(value, unit)
    except CutsheetError:
        return False
    return True


def _coordinate(value: str, number: int, unit: Unit, where: str) -> float:
    try:
        return float(read_coordinate(value, unit, where))
    except CutsheetError as error:
        raise CutsheetError(error.code, f"Line {number}: {error.message}", where) from None


def _turn(arc: tuple[str, str], ends: tuple[Point, Point], unit: Unit, line: str, where: str) -> float:
    """Return the bulge of the way between two corners, 0 for a straight one."""
    kind, value = arc
    if not kind:
        return 0.0
    across = math.dist(*ends)
    if not across:
        raise CutsheetError("points-arc", f"{line}an arc needs another point to go to; this is the same.", where)
    if kind == "b":
        return _bulge(value, line, where)
    radius = float(read_coordinate(value, unit, where))
    half = across / 2
    if abs(radius) < half * (1 - BARELY):
        raise CutsheetError(
            "points-arc",
            f"{line}a radius of {value} is too small to reach the next point; take {say(half, unit, 'up')} or more.",
            where,
        )
    # half the included angle has the sine half/r; the bulge is the tangent of half of that
    return math.copysign(math.tan(math.asin(min(1.0, half / abs(radius))) / 2), radius)


def _bulge(value: str, line: str, where: str) -> float:
    try:
        bulge = float(value.replace("−", "-"))
    except ValueError:
        bulge = math.nan
    if not abs(bulge) <= LARGEST_BULGE:
        raise CutsheetError(
            "points-arc", f"{line}“{value[:40]}” is no bulge; write 0.4142 for a quarter circle, 1 for a half.", where
        )
    return bulge
