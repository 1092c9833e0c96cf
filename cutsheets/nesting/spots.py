"""Spots on a face where one more copy of an outline goes between those that lie there."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np
import shapely
from shapely import affinity
from shapely.geometry import Point, Polygon, box
from shapely.geometry.base import BaseGeometry
from shapely.strtree import STRtree

from cutsheets.nesting.interlock import Lie, Part, Shapes
from cutsheets.nesting.nofit import shifted, turned, united

FINE = 0.02  # of the radius of that disc: so much simpler may an outline be that it must find room beside


def added(
    shapes: Shapes, parts: Sequence[Part], room: tuple[float, float], lies: Iterable[Lie], most: int | None = None
) -> list[Part]:
    """Return the parts and as many more as go beside them one by one, lowest first; `most` of them at most."""
    face = list(parts)
    free = _free(shapes, face, room, sorted(set(lies)))
    while free and (most is None or len(face) < most):
        best = min(
            (Part(*lie, x, y) for lie, region in free.items() for x, y in shapely.get_coordinates(region).tolist()),
            key=lambda part: (round(part.y + shapes.bounds((part.turn, part.mirrored))[3], 6), part.x),
        )
        face.append(best)
        free = {lie: rest for lie, region in free.items() if not (rest := _less(shapes, region, lie, [best])).is_empty}
    return face


def _free(
    shapes: Shapes, face: Sequence[Part], room: tuple[float, float], lies: Sequence[Lie]
) -> dict[Lie, BaseGeometry]:
    """Return where the origin of one more part may lie, for each lie in which there is such a place."""
    middle, radius = shapes.widest
    if min(room) < 2 * radius:
        return {}
    discs = box(radius, radius, room[0] - radius, room[1] - radius).difference(_near_disc(shapes, face, radius))
    found: dict[Lie, BaseGeometry] = {}
    for lie in lies:
        left, low, right, high = shapes.bounds(lie)
        if right - left <= room[0] and high - low <= room[1]:
            inside = box(-left, -low, room[0] - right, room[1] - high)
            region = _less(shapes, _moved(discs, middle, lie).intersection(inside), lie, face)
            if not region.is_empty:
                found[lie] = region
    return found


def _less(shapes: Shapes, region: BaseGeometry, lie: Lie, parts: Sequence[Part]) -> BaseGeometry:
    """Return a region less the places where a part in this lie is too near to one of these."""
    if region.is_empty:
        return region
    near = [shapes.near((part.turn, part.mirrored), lie) for part in parts]
    spots = np.array([(part.x, part.y) for part in parts]).reshape(-1, 2)
    left, low, right, high = (shapely.bounds(near).reshape(-1, 4) + np.tile(spots, 2)).T
    pieces = STRtree(shapely.get_parts(region))  # most of a region are specks far apart
    meeting = np.unique(pieces.query(shapely.box(left, low, right, high))[0])
    return region.difference(united(shifted([near[n] for n in meeting], spots[meeting]))) if len(meeting) else region


def _near_disc(shapes: Shapes, parts: Sequence[Part], radius: float) -> BaseGeometry:
    """Return where the middle of such a disc is too near to a part; a little less than that."""
    fine = FINE * radius
    around = {
        lie: polygon(shapes, Part(*lie)).simplify(fine).buffer(radius + shapes.kerf - fine, quad_segs=4)
        for lie in {(part.turn, part.mirrored) for part in parts}
    }
    spots = np.array([(part.x, part.y) for part in parts]).reshape(-1, 2)
    return united(shifted([around[part.turn, part.mirrored] for part in parts], spots))


def polygon(shapes: Shapes, part: Part) -> Polygon:
    """Return the true outline of a part where it lies."""
    return Polygon(turned(shapes.ring, part.turn, part.mirrored) + np.array([part.x, part.y]))


def _moved(free: BaseGeometry, middle: Point, lie: Lie) -> BaseGeometry:
    """Return where the origin of a part may go when the middle of its disc must lie in `free`."""
    ((x, y),) = turned(np.array(middle.coords), *lie)
    return affinity.translate(free, -x, -y)
