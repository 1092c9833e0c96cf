"""Arcs of circles: angles in degrees, lengths mm.

chord = 2·R·sin(a/2), R = (chord²/4 + sagitta²) / (2·sagitta), area of a ring sector = a/2·(Ro² − Ri²), a in radians:
Machinery's Handbook, Mensuration: Circular Segment, Circular Ring Sector.
"""

from __future__ import annotations

import math

from cutsheets.solids import Ring

CHORD_ERROR = 0.05  # mm: how far the polyline of a picture may lie inside its true arc


def chord(radius: float, angle: float) -> float:
    """Return the straight line between the ends of an arc.

    >>> round(chord(36, 60), 9)
    36.0
    """
    return 2 * radius * math.sin(math.radians(angle) / 2)


def spread(radius: float, angle: float) -> float:
    """Return how wide an arc is over all: its chord, beyond a half circle its diameter."""
    return chord(radius, min(angle, 180.0))


def angle_within(radius: float, width: float) -> float:
    """Return the largest angle of an arc that is `width` over all.

    >>> round(angle_within(36, 36), 9), angle_within(36, 72)
    (60.0, 360.0)
    """
    return 360.0 if width >= 2 * radius else math.degrees(2 * math.asin(width / (2 * radius)))


def radius_of(span: float, rise: float) -> float:
    """Return the radius of the arc with this chord and this sagitta."""
    return (span**2 / 4 + rise**2) / (2 * rise)


def angle_of(span: float, rise: float) -> float:
    """Return the angle of the arc with this chord and this sagitta."""
    return math.degrees(4 * math.atan(2 * rise / span))


def length_of(radius: float, angle: float) -> float:
    """Return the length along an arc."""
    return radius * math.radians(angle)


def sector_area(inside: float, outside: float, angle: float) -> float:
    """Return the area between two arcs of one centre."""
    return math.radians(angle) / 2 * (outside**2 - inside**2)


def facet_angle(radius: float, error: float) -> float:
    """Return the angle whose chord lies `error` inside its arc (sagitta = R·(1 − cos(a/2)), turned round)."""
    return math.degrees(2 * math.acos(1 - error / radius))


def arc(radius: float, start: float, stop: float) -> Ring:
    """Return points on an arc round the origin, angles from straight up, clockwise; chords within `CHORD_ERROR`."""
    steps = math.ceil(abs(stop - start) / facet_angle(radius, CHORD_ERROR))
    turns = (math.radians(start + (stop - start) * i / steps) for i in range(steps + 1))
    return tuple((radius * math.sin(turn), radius * math.cos(turn)) for turn in turns)
