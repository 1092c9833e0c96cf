"""No-fit polygons: where one outline may not be put beside another.

B shifted by t meets A just when t lies in A ⊕ (−B), the Minkowski sum (Art, 1966 *(memory)*; de Berg et al.,
Computational Geometry, 3rd ed., chapter 13). Sums of convex parts are convex hulls of sums of corners; the sum of two
outlines is the union of the sums of their parts. What comes closer than a kerf is that sum with a disc added.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry
from shapely.geometry.polygon import orient

from cutsheets.nesting.pieces import grown
from cutsheets.solids import Ring

Points = NDArray[np.float64]
FINEST = 0.0005  # of the larger side: how far an outline is moved out at first to make it simpler
BEVEL = 1.02  # a corner of the grown sum is cut off so many kerfs away: outside the disc, and by little
HAIR = 1e-9  # of all shapes together
STRAIGHT = 1e-9  # of a turn that still counts as convex: noise


def simpler(ring: Ring, most: int) -> Polygon:
    """Return an outline of about `most` points or fewer that holds `ring`, moved out by as little as that takes."""
    left, low, right, high = Polygon(ring).bounds
    fine = FINEST * max(right - left, high - low)
    while len(ring) > most and fine < (right - left + high - low) / 2:
        outside = grown(ring, 0.0, fine)
        if len(outside) <= most:
            return Polygon(outside)
        fine *= 2
    return Polygon(ring)


def too_near(a: Sequence[Points], b: Sequence[Points], kerf: float) -> BaseGeometry:
    """Return the shifts at which B lies nearer to A than a kerf, both given as convex parts.

    At corners these are a few more than that, never fewer.
    """
    sums = [(one[:, None, :] - two[None, :, :]).reshape(-1, 2) for one in a for two in b]
    numbers = np.repeat(np.arange(len(sums)), [len(each) for each in sums])
    each = shapely.multipoints(np.concatenate(sums), indices=numbers)
    whole = shapely.union_all(shapely.convex_hull(each))
    return whole.buffer(kerf, join_style="mitre", mitre_limit=BEVEL) if kerf else whole


def convex_parts(polygon: Polygon) -> list[Points]:
    """Return convex rings that make up a polygon without holes: triangles, joined while the join stays convex."""
    rings = [shapely.get_coordinates(orient(part))[:-1] for part in _triangles(polygon)]
    joined = True
    while joined:
        joined = False
        for i in range(len(rings)):
            for j in range(len(rings) - 1, i, -1):
                both = _join(rings[i], rings[j])
                if both is not None:
                    rings[i] = both
                    del rings[j]
                    joined = True
    return rings


def turned(points: Points, turn: float, mirrored: bool) -> Points:
    """Return points mirrored (x → −x), then turned about the origin; exact at right angles."""
    c, s = (round(f(math.radians(turn)), 15) for f in (math.cos, math.sin))
    side = -1.0 if mirrored else 1.0
    moved: Points = points @ np.array([[side * c, side * s], [-s, c]])
    return moved


def shifted(shapes: Sequence[BaseGeometry], by: Points) -> NDArray[np.object_]:
    """Return shapes, each moved by its own row of `by`."""
    array = np.array(shapes, dtype=object)
    steps = np.repeat(by, shapely.get_num_coordinates(array), axis=0)
    moved: NDArray[np.object_] = shapely.transform(array, lambda points: points + steps)
    return moved


def united(shapes: Sequence[BaseGeometry] | NDArray[np.object_]) -> BaseGeometry:
    """Return the union of shapes; where noise of a move made one cross itself, of shapes grown by a hair."""
    try:
        return shapely.union_all(shapes)
    except shapely.errors.GEOSException:
        wider = shapely.buffer(shapes, HAIR * float(np.ptp(shapely.total_bounds(shapes))), join_style="mitre")
        return shapely.union_all(wider)


def _triangles(polygon: Polygon) -> list[Polygon]:
    return [part for part in shapely.get_parts(shapely.constrained_delaunay_triangles(polygon)) if part.area > 0]


def _join(one: Points, two: Points) -> Points | None:
    """Return two convex rings that share an edge as one ring, if that is convex; both run counter-clockwise."""
    places = {tuple(point): n for n, point in enumerate(two)}
    for n, start in enumerate(one):
        end = one[(n + 1) % len(one)]
        there, back = places.get(tuple(end)), places.get(tuple(start))
        if there is not None and back is not None and (there + 1) % len(two) == back:
            rest = np.roll(two, -back, axis=0)[1:-1]
            both = np.concatenate([np.roll(one, -n - 1, axis=0), rest])
            return both if _is_convex(both) else None
    return None


def _is_convex(ring: Points) -> bool:
    along = np.roll(ring, -1, axis=0) - ring
    after = np.roll(along, -1, axis=0)
    turns = along[:, 0] * after[:, 1] - along[:, 1] * after[:, 0]
    return bool((turns >= -STRAIGHT * np.abs(ring).max() ** 2).all())
