"""No-fit polygons: where one outline may not be put beside another.

B shifted by t meets A just when t lies in A ⊕ (−B), the Minkowski sum (Art, 1966 *(memory)*; de Berg et al.,
Computational Geometry, 3rd ed., chapter 13). Sums of convex parts are convex hulls of sums of corners; the sum of two
outlines is the union of the sums of their parts. What comes closer than a kerf is that sum with a disc added.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from contextlib import suppress

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry
from shapely.geometry.polygon import orient

from cutsheets.solids import Ring

Points = NDArray[np.float64]
Floats = NDArray[np.float64]
SIMPLE = 24  # points: an outline of no more stays as it is, so that what fits exactly fits
FINEST = 0.0002  # of the larger side: how far every other outline may be moved out to make it simpler
AT_ONCE = 3.0  # times as far out as the least: what is taken away at once
TIE = 1e-6  # of how far out
BEVEL = 1.02  # a corner of the grown sum is cut off so many kerfs away: outside the disc, and by little
HAIR = 1e-9  # of all shapes together
STRAIGHT = 1e-9  # of a turn that still counts as convex: noise


def simpler(ring: Ring, most: int) -> Polygon:
    """Return an outline of `most` points or a few more that holds `ring`, moved out by as little as that takes.

    Again and again the edges whose neighbours meet least far out are taken away, and the shallowest bays. What moves
    the outline out by `FINEST` of its size at most is taken away from every outline of more than `SIMPLE` points.
    """
    points, outside = np.array(orient(Polygon(ring)).exterior.coords[:-1]), Polygon(ring)
    if len(points) <= SIMPLE:
        return outside
    fine = FINEST * float(np.ptp(points, axis=0).max())
    out = np.zeros(len(points))  # how far each point may lie outside `ring`
    while True:
        corners, deep, is_bay = _less_by_one(points, out)
        least = float(deep.min())
        if least > fine and (len(points) <= most or math.isinf(least)):
            return outside
        near = np.array([np.roll(deep, step) for step in (-2, -1, 1, 2)]).min(axis=0)
        gone = (deep < near) & (deep <= max(AT_ONCE * least, fine if len(points) <= most else 0.0))
        ends = gone & ~is_bay
        points[ends], out[ends] = corners[ends], deep[ends]
        bays = np.flatnonzero(gone & is_bay)
        for side in (bays - 1, (bays + 1) % len(points)):
            out[side] = np.maximum(out[side], deep[bays])
        kept = ~(np.roll(ends, 1) | (gone & is_bay))
        points, out = points[kept], out[kept]
        if len(points) < 3 or not (fewer := Polygon(points)).is_valid:
            return outside
        outside = fewer


def _less_by_one(points: Points, out: Floats) -> tuple[Points, Floats, NDArray[np.bool_]]:
    """Return for each point how it or the edge behind it may be taken away, nothing of the outline lost.

    Where the edges beside that edge meet, how far out that is, and whether it is a bay whose bottom is the point.
    """
    before, after, last = (np.roll(points, step, axis=0) for step in (1, -1, -2))
    into, edge, on = points - before, after - points, last - after
    turn = _cross(into, edge)
    chord = after - before
    with np.errstate(divide="ignore", invalid="ignore"):
        along = _cross(edge, on) / _cross(into, on)
        corners = points + along[:, None] * into
        height = np.abs(_cross(edge, corners - points)) / np.hypot(*edge.T)
        bay = np.abs(_cross(chord, points - before)) / np.hypot(*chord.T)
    meets = (turn > 0) & (np.roll(turn, -1) > 0) & (_cross(into, on) > 0) & (along > 0)
    tie = 1 + TIE * np.modf(np.arange(len(points)) * 0.618)[0]  # of equal ones every other one
    deep = np.where(meets, height + np.maximum(out, np.roll(out, -1)), np.inf)
    shallow = np.where(turn <= 0, bay + np.maximum(np.roll(out, 1), np.roll(out, -1)), np.inf)
    return corners, np.minimum(deep, shallow) * tie, shallow < deep


def _cross(a: Points, b: Points) -> Floats:
    across: Floats = a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]
    return across


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
    """Return the union of shapes; of shapes grown by a hair where GEOS gives up or, as its width shows, loses one.

    Both happen where noise of a move made a shape cross itself, or two of them touch all along an edge.
    """
    if not len(shapes):
        return Polygon()
    bounds = shapely.total_bounds(shapes)
    hair = HAIR * float(np.ptp(bounds))
    with suppress(shapely.errors.GEOSException):
        whole = shapely.union_all(shapes)
        if np.abs(shapely.bounds(whole) - bounds).max() <= hair:
            return whole
    return shapely.union_all(shapely.buffer(shapes, hair, join_style="mitre"))


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
