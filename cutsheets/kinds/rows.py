"""Shapes laid in a row on slabs: letters keep the spacing of their line, other shapes lie a gap apart.

A row that is longer than the room on a slab goes on on the next one, or in a row above; a shape is never divided.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import shapely
from shapely import affinity

from cutsheets.kinds.outlines import Shape
from cutsheets.kinds.pictures import Rect
from cutsheets.runs import NOISE

BoundsOf = Callable[[Shape], Rect]  # the box round a shape's foam, from its origin


@dataclass(frozen=True, slots=True)
class Laid:
    """One shape where its origin lies on the slab, mm from the slab's lower left corner, turned counter-clockwise."""

    shape: Shape
    x: float
    y: float
    turn: float = 0.0


@dataclass(frozen=True, slots=True)
class Slab:
    """Shapes on one slab, its size, and the box round the shapes. `nested`: not in rows."""

    laid: tuple[Laid, ...]
    length: float
    height: float
    box: Rect
    nested: bool = False


def placed(face: shapely.MultiPolygon, one: Laid) -> shapely.MultiPolygon:
    """Return a face from a shape's origin where the shape lies on its slab."""
    turned = affinity.rotate(face, one.turn, origin=(0.0, 0.0)) if one.turn else face
    return affinity.translate(turned, one.x, one.y)


def lay(
    shapes: Sequence[Shape], bounds: BoundsOf, *, gap: float, margin: float, longest: float,
    stacked: bool,
) -> list[Slab]:  # fmt: skip
    """Return the slabs for shapes laid from left to right; each shape by itself must fit `longest` mm.

    `stacked`: all rows lie on one slab, one above the other. Slabs of a row are equally high.
    """
    rows = _broken(_row(shapes, bounds, gap), bounds, longest - 2 * margin)
    heights = [max(laid.y + bounds(laid.shape)[3] for laid in row) for row in rows]
    if not stacked:
        return [_slab(row, bounds, max(heights), margin) for row in rows]
    raised, base = [], 0.0
    for row, height in zip(rows, heights, strict=True):
        raised += [Laid(laid.shape, laid.x, laid.y + base) for laid in row]
        base += height + gap
    return [_slab(raised, bounds, base - gap, margin)]


def _row(shapes: Sequence[Shape], bounds: BoundsOf, gap: float) -> list[Laid]:
    """Return the shapes on one endless row whose lowest points lie at 0."""
    lowest = min(bounds(shape)[1] for shape in shapes)
    row, free = [], 0.0
    for number, shape in enumerate(shapes):
        left, low, right, _ = bounds(shape)
        if shape.x is not None:
            row.append(Laid(shape, shape.x + gap * number, -lowest))
        else:
            row.append(Laid(shape, free - left, -low))
            free += right - left + gap
    return row


def _broken(row: Sequence[Laid], bounds: BoundsOf, room: float) -> list[list[Laid]]:
    """Return a row broken wherever it would be longer than `room`, each part begun at 0."""
    rows: list[list[Laid]] = []
    start = 0.0
    for laid in row:
        left, _, right, _ = bounds(laid.shape)
        if not rows or laid.x + right - start > room + NOISE:
            start = laid.x + left
            rows.append([])
        rows[-1].append(Laid(laid.shape, laid.x - start, laid.y))
    return rows


def _slab(row: Sequence[Laid], bounds: BoundsOf, height: float, margin: float) -> Slab:
    """Return the slab round a row, with the margin on all four sides."""
    left = min(one.x + bounds(one.shape)[0] for one in row)
    right = max(one.x + bounds(one.shape)[2] for one in row)
    laid = tuple(Laid(one.shape, one.x - left + margin, one.y + margin) for one in row)
    box = (margin, margin, right - left + margin, height + margin)
    return Slab(laid, right - left + 2 * margin, height + 2 * margin, box)
