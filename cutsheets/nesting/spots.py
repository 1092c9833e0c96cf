"""Spots on a face where one more copy of an outline goes between those that lie there."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np
import shapely
from shapely import affinity
from shapely.geometry import Point, Polygon, box
from shapely.geometry.base import BaseGeometry

from cutsheets.nesting.interlock import Lie, Part, Shapes
from cutsheets.nesting.nofit import turned


def added(
    shapes: Shapes, parts: Sequence[Part], room: tuple[float, float], lies: Iterable[Lie], most: int | None = None
) -> list[Part]:
    """Return the parts and as many more as go beside them one by one, lowest first; `most` of them at most."""
    face = list(parts)
    middle, radius = _widest(shapes)
    if min(room) < 2 * radius:
        return face
    free = box(radius, radius, room[0] - radius, room[1] - radius).difference(_near_disc(shapes, face, radius))
    lies = sorted(set(lies))
    while not free.is_empty and (most is None or len(face) < most):
        spots = [spot for lie in lies if (spot := _spot(shapes, face, room, lie, _moved(free, middle, lie)))]
        if not spots:
            break
        best = min(spots, key=lambda part: (part.y + shapes.bounds((part.turn, part.mirrored))[3], part.x))
        face.append(best)
        free = free.difference(_near_disc(shapes, [best], radius))
    return face


def _widest(shapes: Shapes) -> tuple[Point, float]:
    """Return the middle and the radius of the largest disc inside the outline: it must find room first."""
    line = shapely.maximum_inscribed_circle(Polygon(shapes.ring))
    return Point(line.coords[0]), line.length * (1 - 1e-3)


def _near_disc(shapes: Shapes, parts: Sequence[Part], radius: float) -> BaseGeometry:
    """Return where the middle of such a disc is too near to a part; a little less than that."""
    return shapely.union_all([polygon(shapes, part).buffer(radius + shapes.kerf, quad_segs=4) for part in parts])


def polygon(shapes: Shapes, part: Part) -> Polygon:
    """Return the true outline of a part where it lies."""
    return Polygon(turned(shapes.ring, part.turn, part.mirrored) + np.array([part.x, part.y]))


def _moved(free: BaseGeometry, middle: Point, lie: Lie) -> BaseGeometry:
    """Return where the origin of a part may go when the middle of its disc must lie in `free`."""
    ((x, y),) = turned(np.array(middle.coords), *lie)
    return affinity.translate(free, -x, -y)


def _spot(
    shapes: Shapes, face: Sequence[Part], room: tuple[float, float], lie: Lie, region: BaseGeometry
) -> Part | None:
    """Return the lowest place in a region for one more part in this lie, None where there is none."""
    left, low, right, high = shapes.bounds(lie)
    inside = (-left, -low, room[0] - right, room[1] - high)
    if inside[0] > inside[2] or inside[1] > inside[3]:
        return None
    region = region.intersection(box(*inside))
    if region.is_empty:
        return None
    reach = box(*region.bounds)
    near = [affinity.translate(shapes.near((each.turn, each.mirrored), lie), each.x, each.y) for each in face]
    taken = shapely.union_all([each for each in near if each.intersects(reach)])
    corners = shapely.get_coordinates(region.difference(taken))
    if not len(corners):
        return None
    x, y = min(map(tuple, corners), key=lambda corner: (round(corner[1], 6), corner[0]))
    return Part(*lie, float(x), float(y))
