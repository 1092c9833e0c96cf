"""Curves as straight lines that leave them by no more than the chord error.

A chord under a piece of curve of parameter width h leaves it by at most h²/8 · max|f″| (linear interpolation, any
text on numerical analysis; for an arc it bounds the sagitta r(1 − cos(h/2))). Ellipse: |f″| ≤ its longer half axis.
Bézier curve of degree d: |f″| ≤ d(d − 1) · the largest second difference of its control points. All points lie on
the curve, so a flattened circle is never larger than the circle.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from cutsheets.solids import Point
from cutsheets.tracing.drawn import MOST_POINTS, too_large

COARSEST = math.pi / 4  # of an arc, lest a tiny circle becomes a triangle


def ellipse(centre: Point, u: Point, v: Point, *, start: float, sweep: float, chord: float) -> list[Point]:
    """Return points of centre + u·cos t + v·sin t, t from `start` over `sweep` radians, both ends included.

    A circle has u = (r, 0) and v = (0, r).
    """
    longest = _longer_half_axis(u, v)
    step = min(COARSEST, math.sqrt(8 * chord / longest)) if longest else COARSEST
    t = start + np.linspace(0, sweep, _pieces(abs(sweep) / step) + 1)
    cosine, sine = np.cos(t), np.sin(t)
    return _pairs(centre[0] + u[0] * cosine + v[0] * sine, centre[1] + u[1] * cosine + v[1] * sine)


def arc(centre: Point, radius: float, *, start: float, sweep: float, chord: float) -> list[Point]:
    """Return points of a circular arc from the angle `start` over `sweep` radians, both ends included."""
    return ellipse(centre, (radius, 0.0), (0.0, radius), start=start, sweep=sweep, chord=chord)


def bulged(start: Point, end: Point, bulge: float, chord: float) -> list[Point]:
    """Return points of the arc between two points, both included.

    `bulge` is the tangent of a quarter of the included angle, positive where the arc turns left, counter-clockwise
    (DXF reference, LWPOLYLINE, group code 42).

    >>> [(round(x, 3), round(y, 3)) for x, y in bulged((0, 0), (2, 0), 1, chord=0.3)]
    [(0, 0), (0.293, -0.707), (1.0, -1.0), (1.707, -0.707), (2, 0)]
    """
    across = (end[0] - start[0], end[1] - start[1])
    if not bulge or across == (0, 0):
        return [start, end]
    aside = (1 - bulge * bulge) / (4 * bulge)  # from the middle of the chord to the centre, to the left, in chords
    centre = (
        (start[0] + end[0]) / 2 - across[1] * aside,
        (start[1] + end[1]) / 2 + across[0] * aside,
    )
    points = arc(
        centre,
        math.hypot(*across) * (1 + bulge * bulge) / (4 * abs(bulge)),
        start=math.atan2(start[1] - centre[1], start[0] - centre[0]),
        sweep=4 * math.atan(bulge),
        chord=chord,
    )
    return [start, *points[1:-1], end]


def bezier(control: Sequence[Point], chord: float) -> list[Point]:
    """Return points of a Bézier curve of any degree, both ends included."""
    degree = len(control) - 1
    net = np.array(control, dtype=float)
    bends = np.diff(net, n=2, axis=0)
    bend = float(np.hypot(bends[:, 0], bends[:, 1]).max()) if degree > 1 else 0.0
    t = np.linspace(0, 1, _pieces(math.sqrt(degree * (degree - 1) * bend / (8 * chord))) + 1)[:, None]
    points = sum(math.comb(degree, i) * t**i * (1 - t) ** (degree - i) * net[i] for i in range(degree + 1))
    inner = _pairs(*np.asarray(points).T)[1:-1]
    return [control[0], *inner, control[-1]]


def _longer_half_axis(u: Point, v: Point) -> float:
    """Return the longer half axis of an ellipse from two conjugate half diameters: the larger singular value."""
    squares = u[0] ** 2 + u[1] ** 2 + v[0] ** 2 + v[1] ** 2
    cross = u[0] * v[1] - u[1] * v[0]
    return math.sqrt((squares + math.sqrt(max(0.0, squares**2 - 4 * cross**2))) / 2)


def _pieces(wanted: float) -> int:
    """Return a whole number of straight pieces, at least 1."""
    if not wanted <= MOST_POINTS:
        raise too_large(f"has a curve of more than {MOST_POINTS:,} points at this chord error")
    return max(1, math.ceil(wanted - 1e-9))


def _pairs(x: np.ndarray, y: np.ndarray) -> list[Point]:
    return list(zip(x.tolist(), y.tolist(), strict=True))
