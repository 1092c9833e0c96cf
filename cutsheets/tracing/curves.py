"""Curves as straight lines that leave them by no more than the chord error.

A chord under a piece of curve of parameter width h leaves it by at most h²/8 · max|f″| (linear interpolation, any
text on numerical analysis; for an arc it bounds the sagitta r(1 − cos(h/2))). Ellipse: |f″| ≤ its longer half axis.
Bézier curve of degree d: |f″| ≤ d(d − 1) · the largest second difference of its control points. All points lie on
the curve, so a flattened circle is never larger than the circle.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

import numpy as np

from cutsheets.errors import CutsheetError
from cutsheets.solids import Point
from cutsheets.tracing.drawn import MOST_POINTS, too_large

COARSEST = math.pi / 4  # of an arc, lest a tiny circle becomes a triangle
HIGHEST_DEGREE = 25  # of a spline; drawing programs stop at 11 or below

Weighted = tuple[float, float, float]  # x·w, y·w and the weight w


def ellipse(centre: Point, u: Point, v: Point, *, start: float, sweep: float, chord: float) -> list[Point]:
    """Return points of centre + u·cos t + v·sin t, t from `start` over `sweep` radians, both ends included.

    A circle has u = (r, 0) and v = (0, r).
    """
    fineness = max(1 / COARSEST, math.sqrt(_longer_half_axis(u, v) / (8 * chord)))
    t = start + np.linspace(0, sweep, _pieces(abs(sweep) * fineness) + 1)
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


def spline(control: Sequence[Point], weights: Sequence[float], knots: Sequence[float], chord: float) -> list[Point]:
    """Return points of a B-spline curve, both ends included; its degree follows from the number of knots.

    Each span between knots is one Bézier curve, whose control points are values of the spline's blossom (Ramshaw,
    Blossoms are polar forms, 1989). Raises ValueError for knots or weights that make no curve.
    """
    degree = len(knots) - len(control) - 1
    if not 1 <= degree <= HIGHEST_DEGREE or list(knots) != sorted(knots) or not min(weights) > 0:
        raise ValueError("no spline")
    rational = max(weights) > min(weights)
    net = [(x * w, y * w, w) for (x, y), w in zip(control, weights, strict=True)]
    points: list[Point] = []
    for span in range(degree, len(control)):
        low, high = knots[span], knots[span + 1]
        if low == high:
            continue
        piece = [
            _blossom(net, knots, span, [low] * (degree - i) + [high] * i)  # the low knot first, then the high one
            for i in range(degree + 1)
        ]
        flat = _halved(piece, chord) if rational else bezier([(x / w, y / w) for x, y, w in piece], chord)
        points += flat[1:] if points else flat
        if len(points) > MOST_POINTS:
            raise _too_many()
    return points


def _blossom(net: Sequence[Weighted], knots: Sequence[float], span: int, at: Sequence[float]) -> Weighted:
    """Return the blossom of one span of a spline at as many parameters as its degree (de Boor's scheme)."""
    degree = len(at)
    row = list(net[span - degree : span + 1])
    for r, t in enumerate(at, 1):
        for j in range(degree, r - 1, -1):
            left, right = knots[span - degree + j], knots[span + 1 + j - r]
            row[j] = _between(row[j - 1], row[j], (t - left) / (right - left))
    return row[degree]


def _halved(net: Sequence[Weighted], chord: float) -> list[Point]:
    """Return points of a rational Bézier curve: halved (de Casteljau) until its control points lie near the chord.

    With positive weights the curve lies within the hull of its control points, so the error is never larger.
    """
    points, waiting = [_plain(net[0])], [net]
    while waiting:
        net = waiting.pop()
        hull = [_plain(each) for each in net]
        if max(_off(point, hull[0], hull[-1]) for point in hull) <= chord:
            points.append(hull[-1])
            continue
        if len(points) + len(waiting) > MOST_POINTS:
            raise _too_many()
        first, last, row = [net[0]], [net[-1]], list(net)
        while len(row) > 1:
            row = [_between(a, b, 0.5) for a, b in pairwise(row)]
            first.append(row[0])
            last.append(row[-1])
        waiting += [last[::-1], first]
    return points


def _between(a: Weighted, b: Weighted, t: float) -> Weighted:
    return (a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1]), a[2] + t * (b[2] - a[2]))


def _plain(point: Weighted) -> Point:
    return (point[0] / point[2], point[1] / point[2])


def _off(point: Point, start: Point, end: Point) -> float:
    """Return the distance of a point from a straight piece."""
    dx, dy = end[0] - start[0], end[1] - start[1]
    square = dx * dx + dy * dy
    t = ((point[0] - start[0]) * dx + (point[1] - start[1]) * dy) / square if square else 0.0
    t = min(1.0, max(0.0, t))
    return math.dist(point, (start[0] + t * dx, start[1] + t * dy))


def _longer_half_axis(u: Point, v: Point) -> float:
    """Return the longer half axis of an ellipse from two conjugate half diameters: the larger singular value."""
    squares = u[0] ** 2 + u[1] ** 2 + v[0] ** 2 + v[1] ** 2
    cross = u[0] * v[1] - u[1] * v[0]
    return math.sqrt((squares + math.sqrt(max(0.0, squares**2 - 4 * cross**2))) / 2)


def _pieces(wanted: float) -> int:
    """Return a whole number of straight pieces, at least 1."""
    if not wanted <= MOST_POINTS:
        raise _too_many()
    return max(1, math.ceil(wanted - 1e-9))


def _too_many() -> CutsheetError:
    return too_large(f"has a curve of more than {MOST_POINTS:,} points at this chord error")


def _pairs(x: np.ndarray, y: np.ndarray) -> list[Point]:
    return list(zip(x.tolist(), y.tolist(), strict=True))
