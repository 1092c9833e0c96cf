"""Closed cross-sections: checked when they are read, then measured.

x is the projection from the wall, y is up; edge i runs from point i to point i + 1, as the points were typed.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from shapely import LineString, Polygon
from shapely.validation import explain_validity

from cutsheets.errors import CutsheetError
from cutsheets.solids import Face, Point, Section

SAME = 1e-6  # mm: points nearer than this are one point


def make_section(
    points: Sequence[Point], bare: frozenset[int] | None = None, where: str = "section", *, on_wall: bool = True
) -> Section:
    """Return a checked section; a clockwise one is turned. `bare` None leaves the edges on the wall (x = 0) bare.

    Numbers in `bare` count the edges as typed. `on_wall` False: the part lies on no wall, and x may be below 0.
    Raises CutsheetError `section-open` (fewer than three points), `section-wall` (beyond the wall), `section-points`
    (the same point twice), `section-crossing`, `section-flat`, `section-edge` (no such edge).
    """
    if len(points) < 3:
        raise CutsheetError("section-open", "A section needs three points or more to close; add the others.", where)
    _no_point_twice(points, where)
    if on_wall and min(x for x, _ in points) < 0:
        raise CutsheetError(
            "section-wall", "x is the projection from the wall, so it is never below 0; move it.", where
        )
    polygon = Polygon(points)
    if polygon.convex_hull.area < SAME:
        raise CutsheetError("section-flat", "This section encloses nothing; check its points.", where)
    if not polygon.is_valid:
        raise CutsheetError("section-crossing", _crossing(points, polygon), where)
    count = len(points)
    edges = _wall_edges(points) if bare is None else bare
    for edge in edges:
        if not 0 <= edge < count:
            raise CutsheetError("section-edge", f"There is no edge {edge}; they count from 0 to {count - 1}.", where)
    if polygon.exterior.is_ccw:
        return Section(tuple(points), frozenset(edges))
    turned = (points[0], *reversed(points[1:]))
    return Section(turned, frozenset(count - 1 - edge for edge in edges), turned=True)


def edge_ends(points: Sequence[Point]) -> Iterator[tuple[Point, Point]]:
    """Yield the two ends of every edge, the last of which closes the section."""
    return zip(points, [*points[1:], points[0]], strict=True)


def measure(points: Sequence[Point], coated_girth: float = 0.0) -> Face:
    """Return what a section measures: size over all, area and centroid by the shoelace formula, mm."""
    polygon = Polygon(points)
    left, low, right, high = polygon.bounds
    centre = polygon.centroid
    return Face(
        outline=tuple(points), width=right - left, height=high - low, area=polygon.area,
        centroid_x=centre.x, coated_girth=coated_girth, centroid_y=centre.y,
    )  # fmt: skip


def perimeter(points: Sequence[Point]) -> float:
    """Return the length all round, mm."""
    return math.fsum(math.dist(start, end) for start, end in edge_ends(points))


def _wall_edges(points: Sequence[Point]) -> set[int]:
    """Return the edges that lie on the wall face."""
    return {i for i, (start, end) in enumerate(edge_ends(points)) if abs(start[0]) < SAME and abs(end[0]) < SAME}


def _no_point_twice(points: Sequence[Point], where: str) -> None:
    for i, (start, end) in enumerate(edge_ends(points)):
        if math.dist(start, end) < SAME:
            remedy = "leave it out: the section closes itself" if i == len(points) - 1 else "leave one out"
            raise CutsheetError("section-points", f"Point {i} is the same as the one after it; {remedy}.", where)


def _crossing(points: Sequence[Point], polygon: Polygon) -> str:
    """Return a sentence that names two edges which cross or touch, or the first trouble that the library finds."""
    edges = [LineString(edge) for edge in edge_ends(points)]
    for i, first in enumerate(edges):
        for j in range(i + 2, len(edges)):
            if (i, j) != (0, len(edges) - 1) and first.intersects(edges[j]):
                return f"Edge {i} and edge {j} cross or touch each other; move a point of one of them."
    return f"The section crosses itself ({explain_validity(polygon)}); check its points."
