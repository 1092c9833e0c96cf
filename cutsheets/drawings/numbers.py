"""Where the number of a cut stands on the drawing of a slab: on its line where that is free, else beside it.

A rip has its number outside the slab, at the right or the left end of its line; a cross cut in the middle of its line,
or beside it with a short leader. Numbers never cover each other as long as there is any free place in reach.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from cutsheets.drawings.scene import Bounds
from cutsheets.solids import Point

APART = 1.3  # of the text size: centres of two numbers, so that their circles just clear each other
OUT = 0.65  # of the text size: a number outside the slab stands clear of its edge
STEPS = 5  # how many circles away from its line a number may stand
SHARES = (0.5, 0.25, 0.75, 0.125, 0.875)  # of a line, where a number stands on it


def number_spot(
    line: tuple[Point, Point], slab: Point, size: float, *, marks: Sequence[Point], labels: Sequence[Bounds]
) -> Point:
    """Return where the number of a cut stands, near its line from bottom left to top right; the slab begins at (0, 0).

    `marks` are the numbers that stand already, `labels` what must stay readable.
    """
    spots = list(_spots(line, slab, size))

    def room(spot: Point) -> float:
        """Return how far the nearest thing is beyond what is needed; below 0 they touch."""
        to_marks = min((math.dist(spot, mark) for mark in marks), default=math.inf) - APART * size
        to_labels = min((_beyond(spot, label) for label in labels), default=math.inf) - APART / 2 * size
        return min(to_marks, to_labels)

    return next((spot for spot in spots if room(spot) >= 0), None) or max(spots, key=room)


def beside(spot: Point, size: float, *, marks: Sequence[Point]) -> Point:
    """Return the first place at or to the right of a spot that is clear of the numbers which stand already."""
    x, y = spot
    while any(math.dist((x, y), mark) < APART * size for mark in marks):
        x += APART * size
    return x, y


def leader(line: tuple[Point, Point], spot: Point) -> tuple[Point, Point] | None:
    """Return a line from a cut to its number, where that stands off the cut."""
    (x0, y0), (x1, y1) = line
    on = (min(max(spot[0], x0), x1), min(max(spot[1], y0), y1))
    return (on, spot) if math.dist(on, spot) > 0 else None


def _spots(line: tuple[Point, Point], slab: Point, size: float) -> Iterator[Point]:
    """Yield the places for a number, the best first."""
    (x0, y0), (x1, y1) = line
    away = [OUT * size + n * APART * size for n in range(STEPS)]
    on_line = [(x0 + (x1 - x0) * share, y0 + (y1 - y0) * share) for share in SHARES]
    if y0 == y1:
        ends = [(x1 + by, y0) for by in away if x1 == slab[0]], [(x0 - by, y0) for by in away if x0 == 0]
        for right, left, on in zip(*(_padded(each) for each in (*ends, on_line)), strict=True):
            yield from (spot for spot in (right, left, on) if spot)
        return
    outside = [(x0, -by) for by in away[:2] if y0 == 0] + [(x0, y1 + by) for by in away[:2] if y1 == slab[1]]
    across = (y0, y1) == (0, slab[1])  # its number stays out of the rips' way
    yield from outside + on_line[:1] if across else on_line[:1] + outside
    yield from on_line[1:]
    for n in range(1, STEPS + 1):
        yield from ((x0 + side * n * APART * size, (y0 + y1) / 2) for side in (-1, 1))


def _padded(spots: list[Point]) -> list[Point | None]:
    return [*spots, *([None] * (STEPS - len(spots)))]


def _beyond(spot: Point, box: Bounds) -> float:
    """Return how far a point is from a box."""
    left, bottom, right, top = box
    return math.hypot(max(left - spot[0], 0.0, spot[0] - right), max(bottom - spot[1], 0.0, spot[1] - top))
