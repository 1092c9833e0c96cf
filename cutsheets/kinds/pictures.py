"""What the views of several kinds share: rectangles, and the dimensions of the three sizes beside each other."""

from __future__ import annotations

from collections.abc import Iterable

from cutsheets.solids import Point, Ring, Size, Sized

Rect = tuple[float, float, float, float]  # left, low, right, high


def rectangle(rect: Rect) -> Ring:
    """Return the four corners, counter-clockwise."""
    left, low, right, high = rect
    return (left, low), (right, low), (right, high), (left, high)


def rect_round(points: Iterable[Point]) -> Rect:
    """Return the rectangle round points."""
    xs, ys = zip(*points, strict=True)
    return min(xs), min(ys), max(xs), max(ys)


def middle(rect: Rect) -> Point:
    """Return the middle of a rectangle."""
    left, low, right, high = rect
    return (left + right) / 2, (low + high) / 2


def round_middle(rect: Rect, width: float, height: float) -> Rect:
    """Return a rectangle of this size round the middle of another: a blank round its part."""
    x, y = middle(rect)
    return x - width / 2, y - height / 2, x + width / 2, y + height / 2


def three_sizes(foam: Rect, finished: Rect, blank: Rect) -> tuple[Size, ...]:
    """Return width and height of each size, set round the blank; a finished size that is the foam's is left out.

    Widths lie below, foam first; the foam's height is at the left, the others at the right.
    """
    rows: list[tuple[Rect, Sized]] = [(foam, "foam"), (finished, "finished"), (blank, "blank")]
    if finished == foam:
        del rows[1]
    edge_left, edge_low, edge_right, _ = blank
    sizes = []
    for row, ((left, low, right, high), of) in enumerate(rows):
        sizes.append(Size((left, edge_low), (right, edge_low), of, -1.0 - row))
        beside = edge_right if row else edge_left
        sizes.append(Size((beside, low), (beside, high), of, -float(row) if row else 1.0))
    return tuple(sizes)
