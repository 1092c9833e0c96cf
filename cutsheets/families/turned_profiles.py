"""Balusters, finials and other turned parts: the members of mouldings turned about an axis, and the ball.

The projection of a member is its radius here. A baluster's body is an ovolo stepping out, then a cyma reversa stepping
in; an urn ends in a ball.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

from cutsheets.errors import CutsheetError
from cutsheets.families.arcs import arc
from cutsheets.families.base import LEAST, Family, Member, Values, length, read_values, tell, write_points
from cutsheets.families.members import MEMBERS
from cutsheets.families.stacked import closed, refuse_edges, stack
from cutsheets.solids import Point
from cutsheets.units import Unit


def build_half_profile(raw: Mapping[str, Any], unit: Unit) -> dict[str, Any]:
    """Return the half profile of a turned stack, [height, radius] from the base up; raises CutsheetError."""
    start = read_values(FIELDS, raw, unit, ("family", "members"))["base"]
    ring = closed(stack(raw.get("members"), TURNED_MEMBERS, start, unit))
    refuse_edges(ring, about_axis=True)
    (_, top), _ = ring[-1]
    side = [(y, x) for (x, y), _ in ring if x > 0 or y == top]
    if side[-2][0] == top:  # the top face closes itself
        side.pop()
    return {"half_profile": write_points(side, unit)}


def _ball(values: Values, start: float) -> list[Point]:
    """Return a sphere between the last radius and `end`: its height is √(r² − start²) + √(r² − end²)."""
    radius, end = values["radius"], values["end"]
    if radius < max(start, end):
        raise CutsheetError(
            "family-radius", f"The ball is smaller than its neck; write {tell(max(start, end))} or more.", "radius"
        )
    low, high = (math.sqrt(radius**2 - neck**2) for neck in (start, end))
    if low + high < LEAST:
        raise CutsheetError("family-radius", "The ball is no wider than its necks; write a larger radius.", "radius")
    below, above = (math.degrees(math.acos(neck / radius)) for neck in (start, end))
    between = arc((0.0, low), (radius, radius), -below, above)[1:-1]
    return [(start, 0.0), *between, (end, low + high)]


BALL = Member(
    "ball",
    "ball",
    (
        length("radius", "radius", "2 in"),
        length("end", "radius where it ends", "0 in", "0: closed at the top", zero_ok=True),
    ),
    _ball,
)
TURNED_MEMBERS = (*MEMBERS, BALL)
FIELDS = (length("base", "radius at the bottom", "3 in", "where the first member starts"),)

TURNED = Family(
    "turned", "turned members (baluster, finial)", "half_profile", FIELDS, build_half_profile, TURNED_MEMBERS
)
