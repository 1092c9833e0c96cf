"""The section of a line: wall at the left, foam white, coat as a dense band, blank dashed, waste hatched.

Two looks. `office` shows the three sizes beside each other: foam in chalk, finished and blank in ink. `cutter` shows
the foam and nothing else to measure, with a thick edge where coat will come: nobody can cut a finished size from it.
A line without a section (a panel) is shown as a box.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Literal

from cutsheets.drawings.lettering import length_parts
from cutsheets.drawings.scene import Dimension, Polygon, Polyline, Scene, Shape, rectangle
from cutsheets.solids import Box, Face, Point, Worked
from cutsheets.units import Unit

Look = Literal["office", "cutter"]
Rect = tuple[float, float, float, float]
TOUCHING = 1e-3  # mm: an edge of the foam this near to the finished outline has no coat


def profile_scene(worked: Worked, unit: Unit, *, look: Look = "office", text: float | None = None) -> Scene:
    """Return the dimensioned section of a line; `text` is the height of its figures in mm of the drawing."""
    foam, finished = worked.foam, worked.finished
    if isinstance(foam, Box):
        return Scene(tuple(_box(foam, unit, text)))
    if isinstance(finished, Box):
        raise TypeError("a section of foam belongs to a section of the finished part")
    blank = _blank_rect(foam, worked.blanks[0].size)
    size = text or max(blank[2] - blank[0], blank[3] - blank[1]) / 14
    shapes: list[Shape] = [*_ground(foam, finished, blank, size, look)]
    shapes += _office_sizes(foam, finished, blank, unit, size) if look == "office" else []
    shapes += _cutter_sizes(foam, blank, unit, size) if look == "cutter" else []
    return Scene(tuple(shapes))


def coated_edges(foam: Face, finished: Face) -> tuple[tuple[Point, Point], ...]:
    """Return the edges of the foam outline on which coat will lie."""
    edges = zip(foam.outline, foam.outline[1:] + foam.outline[:1], strict=True)
    return tuple((a, b) for a, b in edges if _distance(((a[0] + b[0]) / 2, (a[1] + b[1]) / 2), finished) > TOUCHING)


def _ground(foam: Face, finished: Face, blank: Rect, size: float, look: Look) -> Iterator[Shape]:
    """Yield everything but the figures, from the back to the front."""
    rect = rectangle(*blank)
    if look == "office":
        yield Polygon((rect, foam.outline), role=None, hatch=0.4 * size)
    wall = min(x for x, _ in finished.outline)
    yield Polygon((rectangle(wall - 0.8 * size, blank[1], wall, blank[3]),), role=None, hatch=0.35 * size)
    yield Polyline(((wall, blank[1]), (wall, blank[3])), "wall")
    if look == "office":
        yield Polygon((finished.outline, foam.outline), fill="coat", role=None)
        yield Polygon((finished.outline,), role="outline")
    yield Polygon((foam.outline,), fill="foam", role="chalk", weight="frame")
    if look == "cutter":
        for edge in coated_edges(foam, finished):
            yield Polyline(edge, "coat", "coat")
    yield Polygon((rect,), role="blank", dash=True)


def _office_sizes(foam: Face, finished: Face, blank: Rect, unit: Unit, size: float) -> Iterator[Shape]:
    """Yield foam at the left and first below, finished next, blank farthest out."""
    inner, outer = _rect(foam), _rect(finished)
    left, bottom, right, top = blank
    gap = 1.7 * size
    foam_wide, foam_high = length_parts(foam.width, unit), length_parts(foam.height, unit)
    done_wide, done_high = length_parts(finished.width, unit), length_parts(finished.height, unit)
    blank_wide, blank_high = length_parts(right - left, unit, "up"), length_parts(top - bottom, unit, "up")
    yield Dimension((left, inner[1]), (left, inner[3]), 1.3 * gap, foam_high, size, "chalk")
    yield Dimension((inner[0], bottom), (inner[2], bottom), -gap, foam_wide, size, "chalk")
    yield Dimension((outer[0], bottom), (outer[2], bottom), -2 * gap, done_wide, size)
    yield Dimension((left, bottom), (right, bottom), -3 * gap, blank_wide, size)
    yield Dimension((right, outer[1]), (right, outer[3]), -1.2 * gap, done_high, size)
    yield Dimension((right, bottom), (right, top), -2.9 * gap, blank_high, size)


def _cutter_sizes(foam: Face, blank: Rect, unit: Unit, size: float) -> Iterator[Shape]:
    """Yield the foam's depth below and its height at the right: the only two figures."""
    left, bottom, right, top = _rect(foam)
    yield Dimension((left, blank[1]), (right, blank[1]), -1.5 * size, length_parts(foam.width, unit), size, "chalk")
    yield Dimension((blank[2], bottom), (blank[2], top), -1.5 * size, length_parts(foam.height, unit), size, "chalk")


def _box(box: Box, unit: Unit, text: float | None) -> Iterator[Shape]:
    """Yield a box in slanting view, its thin sides thickened so that they can be seen."""
    most = max(box.l, box.w, box.h)
    size = text or most / 14
    long, wide, high = (max(side, most / 5) for side in (box.l, box.w, box.h))
    slant = 0.5 * wide * math.sqrt(0.5)
    front, back = rectangle(0, 0, long, high), rectangle(slant, slant, long + slant, high + slant)
    top = (front[3], front[2], back[2], back[3])
    side = (front[1], back[1], back[2], front[2])
    for face in (top, side, front):
        yield Polygon((face,), fill="foam", role="chalk", weight="frame")
    yield Dimension(front[0], front[1], -1.6 * size, length_parts(box.l, unit), size, "chalk")
    yield Dimension(front[0], front[3], 1.6 * size, length_parts(box.h, unit), size, "chalk")
    yield Dimension(front[3], back[3], 1.2 * size, length_parts(box.w, unit), size, "chalk")


def _blank_rect(foam: Face, size: Box) -> Rect:
    """Return the blank round the foam, the same amount over on both sides."""
    left, bottom, right, top = _rect(foam)
    x, y = max(0.0, size.w - (right - left)) / 2, max(0.0, size.h - (top - bottom)) / 2
    return (left - x, bottom - y, right + x, top + y)


def _rect(face: Face) -> Rect:
    xs, ys = [x for x, _ in face.outline], [y for _, y in face.outline]
    return (min(xs), min(ys), max(xs), max(ys))


def _distance(point: Point, face: Face) -> float:
    """Return how far a point is from the outline of a face."""
    edges = zip(face.outline, face.outline[1:] + face.outline[:1], strict=True)
    return min(_to_edge(point, a, b) for a, b in edges)


def _to_edge(point: Point, a: Point, b: Point) -> float:
    dx, dy = b[0] - a[0], b[1] - a[1]
    long = dx * dx + dy * dy
    share = max(0.0, min(1.0, ((point[0] - a[0]) * dx + (point[1] - a[1]) * dy) / long)) if long else 0.0
    return math.dist(point, (a[0] + share * dx, a[1] + share * dy))
