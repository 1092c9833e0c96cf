"""Round and regular plans about the origin, and their sectors.

Formulas of the regular polygon: Machinery's Handbook, Regular Polygons. With n sides and the size a across flats (the
diameter of the circle inside): side a·tan(180°/n), across corners a / cos(180°/n), area n·a²/4·tan(180°/n).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from shapely import Polygon, affinity, get_coordinates

from cutsheets.solids import Point, Ring

SMOOTH = 120  # points of a circle at least; for pictures and boxes only, never for an area


@dataclass(frozen=True, slots=True)
class Plan:
    """A circle (`sides` 0) of the diameter `across`, or a regular polygon of that size across flats, mm.

    The middle of a flat lies straight to the right.

    >>> octagon = Plan(1, 8)
    >>> round(octagon.side, 6), round(2 * octagon.corner, 6), round(octagon.area, 6)
    (0.414214, 1.082392, 0.828427)
    """

    across: float
    sides: int = 0

    @property
    def side(self) -> float:
        """Return the length of one side of a polygon."""
        return self.across * math.tan(math.pi / self.sides)

    @property
    def girth(self) -> float:
        """Return the length all round."""
        return self.sides * self.side if self.sides else math.pi * self.across

    @property
    def area(self) -> float:
        """Return the area."""
        return self.girth * self.across / 4

    @property
    def corner(self) -> float:
        """Return the radius to a corner, or of the circle."""
        return self.across / 2 / (math.cos(math.pi / self.sides) if self.sides else 1.0)

    def grown(self, by: float) -> Plan:
        """Return the plan with every face moved outwards."""
        return Plan(self.across + 2 * by, self.sides)

    def reach(self, angle: float) -> float:
        """Return how far the outline lies from the middle in a direction, radians from straight right."""
        if not self.sides:
            return self.across / 2
        half = math.pi / self.sides
        return self.across / 2 / math.cos((angle + half) % (2 * half) - half)

    def ring(self, parts: int = 1) -> Ring:
        """Return the outline, counter-clockwise; a circle has a point wherever one of `parts` equal sectors begins."""
        if self.sides:
            return tuple(_polar(self.corner, (2 * k - 1) / self.sides / 2) for k in range(self.sides))
        count = 4 * parts * math.ceil(SMOOTH / 4 / parts)
        return tuple(_polar(self.corner, k / count) for k in range(count))


def least_wall(outer: Plan, inner: Plan) -> float:
    """Return the least distance from one plan out to another, at most 0 where the inner one reaches or crosses it.

    It lies between the outline of a circle and the farthest corner, else between a flat and the corner nearest to it.
    """
    if not outer.sides:
        return outer.across / 2 - inner.corner
    if not inner.sides:
        return (outer.across - inner.across) / 2
    normals = [_polar(1.0, k / outer.sides) for k in range(outer.sides)]
    return outer.across / 2 - max(x * u + y * v for x, y in inner.ring() for u, v in normals)


def sector(outer: Plan, inner: Plan, number: int, parts: int) -> tuple[Ring, ...]:
    """Return one of `parts` sectors between two plans, turned so that its first joint lies flat along x.

    The first joint of sector 0 lies straight right, in the middle of a flat. One part is the whole: two rings.
    """
    rings = outer.ring(parts), inner.ring(parts)
    if parts == 1:
        return rings
    whole = affinity.rotate(Polygon(rings[0], [rings[1]]), -360 * number / parts, origin=(0, 0))
    piece = whole.intersection(Polygon(_wedge(2 * outer.corner, parts)))
    return (tuple((float(x), float(y)) for x, y in get_coordinates(piece)[:-1]),)


def _wedge(radius: float, parts: int) -> tuple[Point, ...]:
    """Return a corner of 1/parts turn from straight right on, wide enough to hold a plan of half this radius."""
    steps = 4  # of at most 45°, so that its outer edge stays beyond the plan
    return ((0.0, 0.0), *(_polar(radius, i / steps / parts) for i in range(steps + 1)))


def _polar(radius: float, turn: float) -> Point:
    return radius * math.cos(2 * math.pi * turn), radius * math.sin(2 * math.pi * turn)
