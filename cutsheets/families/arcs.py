"""Curves of mouldings as points on the curve, joined by chords.

A chord stands off its arc by no more than 0.02 mm up to a radius of 50 mm, and by 1/2500 of the radius above: a
quarter circle has 8 to 28 chords. A stretched circle (ellipse) counts with its longer half axis. Sagitta of a chord:
s = r·(1 − cos(a / 2)); Machinery's Handbook, Circular Segment.
"""

from __future__ import annotations

import math

from cutsheets.errors import CutsheetError
from cutsheets.families.base import tell
from cutsheets.solids import Point

CHORD_ERROR = 0.02  # mm: a tenth of the finest thing that a hot wire leaves (common practice, no source)
FINEST = 1 / 2500  # of the radius; keeps a section of two dozen members below the points that a section may have
FEWEST = 8  # chords of a quarter, so that a small bead still looks round


def arc(centre: Point, radii: tuple[float, float], begin: float, end: float) -> list[Point]:
    """Return points from `begin` to `end` (degrees, counter-clockwise from x), both included.

    `radii` are the half axes along x and y; equal ones make a circle.

    >>> points = arc((0, 0), (10, 10), 0, 90)
    >>> len(points), points[0], [round(x, 6) for x in points[-1]]
    (14, (10.0, 0.0), [0.0, 10.0])
    """
    radius = max(radii)
    sag = max(CHORD_ERROR, radius * FINEST)
    step = min(2 * math.degrees(math.acos(1 - sag / radius)), 90 / FEWEST)
    count = max(1, math.ceil(abs(end - begin) / step - 1e-9))
    angles = [math.radians(begin + (end - begin) * i / count) for i in range(count + 1)]
    return [(centre[0] + radii[0] * math.cos(a), centre[1] + radii[1] * math.sin(a)) for a in angles]


def through(start: Point, end: Point, radius: float, *, hollow: bool) -> list[Point]:
    """Return a circular arc below a half circle from `start` to `end`; its centre lies to the right where `hollow`.

    `radius` must be half the chord or more.
    """
    dx, dy = end[0] - start[0], end[1] - start[1]
    chord = math.hypot(dx, dy)
    away = math.sqrt(max(0.0, radius**2 - chord**2 / 4)) * (-1 if hollow else 1)
    centre = (start[0] + dx / 2 - dy / chord * away, start[1] + dy / 2 + dx / chord * away)
    begin = math.degrees(math.atan2(start[1] - centre[1], start[0] - centre[0]))
    sweep = 2 * math.degrees(math.asin(min(1.0, chord / 2 / radius)))
    between = arc(centre, (radius, radius), begin, begin + (-sweep if hollow else sweep))
    return [start, *between[1:-1], end]  # the ends exactly as given


def rounded(before: Point, corner: Point, after: Point, radius: float) -> list[Point]:
    """Return the arc that rounds a corner where the way turns left; it touches both edges (see `tangent`)."""
    into, out = _direction(before, corner), _direction(corner, after)
    away = tangent(
        radius, math.degrees(math.atan2(into[0] * out[1] - into[1] * out[0], into[0] * out[0] + into[1] * out[1]))
    )
    start = (corner[0] - into[0] * away, corner[1] - into[1] * away)
    end = (corner[0] + out[0] * away, corner[1] + out[1] * away)
    return through(start, end, radius, hollow=False)


def turn(before: Point, corner: Point, after: Point) -> float:
    """Return by how much the way turns left at a corner, degrees; straight on is 0, a turn to the right below 0."""
    ux, uy = corner[0] - before[0], corner[1] - before[1]
    vx, vy = after[0] - corner[0], after[1] - corner[1]
    return math.degrees(math.atan2(ux * vy - uy * vx, ux * vx + uy * vy))


def tangent(radius: float, angle: float) -> float:
    """Return how far from a corner the arc begins that rounds it: r·tan(angle / 2), the turn in degrees."""
    return radius * math.tan(math.radians(angle / 2))


def least_radius(out: float, height: float) -> float:
    """Return the smallest radius of an arc that spans out × height and leaves its box nowhere.

    There the arc starts or ends square to the shorter side: r = (out² + height²) / (2·shorter), from the segment's
    chord and sagitta (Machinery's Handbook, Circular Segment).
    """
    return (out**2 + height**2) / (2 * min(out, height))


def quarter(out: float, height: float, radius: float | None, *, hollow: bool) -> list[Point]:
    """Return a quarter round or hollow from (0, 0) to (out, height).

    Without a radius it is a quarter of an ellipse, which is a true quarter circle where height = out; with one, an
    arc of that radius. Raises CutsheetError `family-radius` at `radius`.
    """
    if radius is None:
        if hollow:
            return arc((out, 0.0), (out, height), 180, 90)
        return arc((0.0, height), (out, height), -90, 0)
    least = least_radius(out, height)
    if radius < least - 1e-6:
        raise CutsheetError(
            "family-radius",
            f"This radius is too small for its step; write {tell(least)} or more, or leave it empty for a quarter.",
            "radius",
        )
    return through((0.0, 0.0), (out, height), radius, hollow=hollow)


def _direction(start: Point, end: Point) -> Point:
    far = math.dist(start, end)
    return (end[0] - start[0]) / far, (end[1] - start[1]) / far
