"""What the coat takes off: the foam section inside the finished one.

Every coated edge moves inwards by the coat's thickness along its own normal, bare edges stay, and corners are kept
sharp: a foam corner is where the two moved edge lines meet. A face of slope s so loses t·√(1 + s²) of its height.
A curve is a row of short edges; where the coat takes more than one of them at its end, the next one meets the corner.
Rule: common practice, no source; the offset itself is plane geometry.
"""

from __future__ import annotations

import math

from shapely import Polygon

from cutsheets.errors import CutsheetError
from cutsheets.sections import SAME, edge_ends
from cutsheets.solids import Point, Section

STRAIGHT = 1e-9  # sine of the turn below which two edges count as one straight line
CURVED = math.cos(math.radians(20))  # edges that turn by less are chords of a curve; by more they are a detail

Line = tuple[Point, Point]  # a point and the unit direction


def foam_outline(section: Section, coat: float, where: str = "section") -> tuple[Point, ...]:
    """Return the points of the foam section, counter-clockwise, mm.

    Where a coated and a bare edge lie in one line the coat ends in a square step, which adds a point.
    Raises CutsheetError `coat-swallows-edge` (of a detail or a whole curve; named by its typed number) or
    `coat-splits-section`.

    >>> foam_outline(Section(((0, 0), (50, 0), (50, 30), (0, 30)), bare=frozenset({3})), 3)
    ((0.0, 3.0), (47.0, 3.0), (47.0, 27.0), (0.0, 27.0))
    """
    if not coat:
        return section.points
    lines = [
        _moved(start, end, 0.0 if i in section.bare else coat)
        for i, (start, end) in enumerate(edge_ends(section.points))
    ]
    corners = _corners(section, lines, where)
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


def _corners(section: Section, lines: list[Line], where: str) -> list[tuple[Point, ...]]:
    """Return the corners of the foam, of those edges that the coat leaves; the most swallowed one goes first."""
    kept = list(range(len(lines)))
    long = [math.dist(start, end) for start, end in edge_ends(section.points)]
    while True:
        corners = [_corner(lines[kept[i - 1]], lines[edge]) for i, edge in enumerate(kept)]  # where edge i begins
        left = [_along(corners[i - 1], corner, lines[kept[i - 1]][1]) for i, corner in enumerate(corners)]
        worst = min(range(len(kept)), key=lambda i: left[i] / long[kept[i - 1]])
        if left[worst] >= SAME:
            return corners
        before, edge, after = (lines[kept[worst - k]][1] for k in (2, 1, 0))
        if max(_cosine(before, edge), _cosine(edge, after)) < CURVED:
            raise _swallowed(section, kept[worst - 1], where)
        del kept[worst - 1]


def _along(begin: tuple[Point, ...], end: tuple[Point, ...], direction: Point) -> float:
    """Return how far it is from one corner of the foam to the next, below 0 where the edge between is swallowed."""
    (ax, ay), (bx, by) = begin[-1], end[0]
    return (bx - ax) * direction[0] + (by - ay) * direction[1]


def _cosine(a: Point, b: Point) -> float:
    return a[0] * b[0] + a[1] * b[1]


def _moved(start: Point, end: Point, by: float) -> Line:
    """Return a point and the unit direction of an edge moved inwards: to the left of its direction."""
    length = math.dist(start, end)
    dx, dy = (end[0] - start[0]) / length, (end[1] - start[1]) / length
    return (start[0] - dy * by, start[1] + dx * by), (dx, dy)


def _corner(before: Line, after: Line) -> tuple[Point, ...]:
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
