"""What the coat takes off: the foam section inside the finished one.

Every coated edge moves inwards by the coat's thickness along its own normal, bare edges stay, and corners are kept
sharp: a foam corner is where the two moved edge lines meet. A face of slope s so loses t·√(1 + s²) of its height.
Rule: common practice, no source; the offset itself is plane geometry.
"""

from __future__ import annotations

import math

from shapely import Polygon

from cutsheets.errors import CutsheetError
from cutsheets.sections import SAME, edge_ends
from cutsheets.solids import Point, Section

STRAIGHT = 1e-9  # sine of the turn below which two edges count as one straight line


def foam_outline(section: Section, coat: float, where: str = "section") -> tuple[Point, ...]:
    """Return the points of the foam section, counter-clockwise, mm.

    Where a coated and a bare edge lie in one line the coat ends in a square step, which adds a point.
    Raises CutsheetError `coat-swallows-edge` or `coat-splits-section`, the edge named by its typed number.

    >>> foam_outline(Section(((0, 0), (50, 0), (50, 30), (0, 30)), bare=frozenset({3})), 3)
    ((0.0, 3.0), (47.0, 3.0), (47.0, 27.0), (0.0, 27.0))
    """
    if not coat:
        return section.points
    count = len(section.points)
    lines = [
        _moved(start, end, 0.0 if i in section.bare else coat)
        for i, (start, end) in enumerate(edge_ends(section.points))
    ]
    corners = [_corner(lines[i - 1], lines[i]) for i in range(count)]  # corner i: where edge i begins
    for i, (_, direction) in enumerate(lines):
        start, end = corners[i][-1], corners[(i + 1) % count][0]
        if (end[0] - start[0]) * direction[0] + (end[1] - start[1]) * direction[1] < SAME:
            raise _swallowed(section, i, where)
    outline = tuple(point for corner in corners for point in corner)
    if not Polygon(outline).is_valid:
        raise CutsheetError(
            "coat-splits-section",
            "The coat is thicker than a neck of this section and would cut it in two; take a thinner coat.",
            where,
        )
    return outline


def coated_girth(section: Section) -> float:
    """Return the length of the coated edges of the finished section, mm."""
    return math.fsum(
        math.dist(start, end) for i, (start, end) in enumerate(edge_ends(section.points)) if i not in section.bare
    )


def _moved(start: Point, end: Point, by: float) -> tuple[Point, Point]:
    """Return a point and the unit direction of an edge moved inwards: to the left of its direction."""
    length = math.dist(start, end)
    dx, dy = (end[0] - start[0]) / length, (end[1] - start[1]) / length
    return (start[0] - dy * by, start[1] + dx * by), (dx, dy)


def _corner(before: tuple[Point, Point], after: tuple[Point, Point]) -> tuple[Point, ...]:
    """Return the point where two moved edges meet; two points where they are parallel and apart."""
    (px, py), (dx, dy) = before
    (qx, qy), (ex, ey) = after
    sine = dx * ey - dy * ex
    if abs(sine) < STRAIGHT:
        along = (qx - px) * dx + (qy - py) * dy
        end = (px + along * dx, py + along * dy)
        return ((qx, qy),) if math.dist(end, (qx, qy)) < SAME else (end, (qx, qy))
    along = ((qx - px) * ey - (qy - py) * ex) / sine
    return ((px + along * dx, py + along * dy),)


def _swallowed(section: Section, edge: int, where: str) -> CutsheetError:
    number = section.typed_edge(edge)
    return CutsheetError(
        "coat-swallows-edge",
        f"The coat leaves nothing of edge {number}: take a thinner coat, or name the edges beside it as bare.",
        where,
    )
