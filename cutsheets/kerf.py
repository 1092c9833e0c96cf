"""Beside an outline: the band that the wire melts away or that a skin will fill, and the path of the wire.

The wire's middle runs half a kerf outside the part, and inside its holes, so that the part keeps its size (plane
geometry). Corners stay sharp: the path turns where the two moved edges meet.
"""

from __future__ import annotations

from typing import cast

import numpy as np
import shapely
from numpy.typing import ArrayLike
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry
from shapely.geometry.polygon import orient

from cutsheets.errors import CutsheetError
from cutsheets.solids import Figure, Outline, Ring

STRAIGHT = 1e-9  # sine of the turn below which two edges count as one straight line


def wire_path(outline: Outline, kerf: float, where: str = "outlines") -> Outline:
    """Return the path of the wire's middle round an outline and in its holes, mm; a section is an outline too.

    Raises CutsheetError `kerf` where the wire is wider than a gap or a hole.

    >>> wire_path(Outline(((0, 0), (6, 0), (6, 2), (0, 2))), 0.0625).outer
    ((-0.03125, -0.03125), (6.03125, -0.03125), (6.03125, 2.03125), (-0.03125, 2.03125))
    """
    if not kerf:
        return outline
    part = Polygon(outline.outer, outline.holes)
    # one piece, since every band lies along the part
    grown = cast(Polygon, shapely.union_all([part, *(band(ring, -kerf / 2) for ring in outline.rings)]))
    path = Outline(ring_of(grown), tuple(_points(hole.coords) for hole in orient(grown).interiors))
    if len(path.holes) != len(outline.holes) or _closed_gap(part, grown, path, kerf):
        raise CutsheetError(
            "kerf", "The wire is wider than a gap or a hole of this outline; widen it, or close it.", where
        )
    return path


def wire_figures(kerf: float) -> tuple[Figure, ...]:
    """Return the kerf, and how far outside the foam the middle of the wire runs."""
    return (
        Figure("kerf", "wire kerf", kerf, "fine"),
        Figure("offset", "wire outside the foam by", kerf / 2, "fine"),
    )


def path_figure(section: Ring, kerf: float) -> Figure:
    """Return the size over all of the wire's path round a section of foam; raises CutsheetError `kerf`."""
    xs, ys = zip(*wire_path(Outline(section), kerf, "section").outer, strict=True)
    size = (max(xs) - min(xs), max(ys) - min(ys))
    return Figure("path", "path of the wire, over all", size, "fine")


def _closed_gap(part: Polygon, grown: Polygon, path: Outline, kerf: float) -> bool:
    """Return whether the wire on its path leaves more beside the part than the rounding of a corner."""
    left = grown.difference(shapely.union_all([part, *(band(ring, kerf / 2) for ring in path.rings)]))
    return max(shapely.area(shapely.get_parts(left)), default=0.0) > (kerf / 2) ** 2


def band(ring: Ring, width: float) -> BaseGeometry:
    """Return the band of `width` mm along a ring, at the left of its direction (below 0: at the right).

    Where the ring turns away from the band the moved edges are drawn on until they meet: a sharp corner.
    """
    start = np.array(ring, float)
    along = np.roll(start, -1, axis=0) - start
    along /= np.hypot(*along.T)[:, None]
    beside = width * np.column_stack((-along[:, 1], along[:, 0]))
    before = np.roll(along, 1, axis=0)
    turn = before[:, 0] * along[:, 1] - before[:, 1] * along[:, 0]
    cosine = (before * along).sum(axis=1)
    opens = turn * np.sign(width) < STRAIGHT
    reach = np.where(opens, 1 + cosine, 1.0)[:, None]
    corner = (np.roll(beside, 1, axis=0) + beside) / reach
    first = start + np.where(opens[:, None], corner, beside)
    last = start + np.where(opens[:, None], corner, np.roll(beside, 1, axis=0))  # of the edge that ends here
    ends = np.roll(start, -1, axis=0), np.roll(last, -1, axis=0)
    return shapely.union_all(shapely.polygons(np.stack((start, *ends, first), axis=1)))


def ring_of(polygon: Polygon) -> Ring:
    """Return the outer ring of a polygon, counter-clockwise, without a repeated last point, its lowest left first."""
    points = _points(orient(polygon).exterior.coords)
    first = points.index(min(points))
    return (*points[first:], *points[:first])


def _points(coords: ArrayLike) -> Ring:
    return tuple((float(x), float(y)) for x, y in np.asarray(coords)[:-1])
