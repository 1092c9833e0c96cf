"""Solids between two ends: their volume and the area of their long faces.

A loft joins each point of one section to the point with the same number of the other by a straight line, as a wire does
whose two ends run round both sections in the same time. A twisted part turns one section evenly about the origin.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from cutsheets.sections import edge_ends
from cutsheets.solids import Point, Ring

Array = NDArray[np.float64]

NODES, WEIGHTS = np.polynomial.legendre.leggauss(16)


def prismatoid(length: float, first: float, middle: float, last: float) -> float:
    """Return the volume of a solid `length` mm long from three of its areas, V = L/6·(A₁ + 4·Aₘ + A₂).

    Exact for lofts, frusta and cones, whose area is quadratic along the length. Source: Machinery's Handbook,
    Volumes of Solids: Prismoidal Formula (memory); it is Simpson's rule.

    >>> prismatoid(9, 16, 4, 0)
    48.0
    """
    return length / 6 * (first + 4 * middle + last)


def between(first: Sequence[Point], last: Sequence[Point], share: float) -> Ring:
    """Return the section of a loft at a share of its length, 0 at the first section and 1 at the last.

    >>> between([(0, 0), (4, 0), (0, 4)], [(0, 0), (2, 0), (0, 2)], 0.5)
    ((0.0, 0.0), (3.0, 0.0), (0.0, 3.0))
    """
    return tuple((x + share * (u - x), y + share * (v - y)) for (x, y), (u, v) in zip(first, last, strict=True))


def loft_faces(length: float, first: Sequence[Point], last: Sequence[Point]) -> float:
    """Return the area of the long faces of a loft, mm².

    Each face is ruled: at the share t of the length its edge is e(t), and its point at the share s of that edge has
    moved by d(s) from end to end, so it measures ∫∫ √(L²·|e|² + (e × d)²) ds dt, taken by Gauss's quadrature.
    """
    share = (NODES + 1) / 2
    start, end = np.array(first), np.array(last)
    near, far = np.roll(start, -1, axis=0), np.roll(end, -1, axis=0)
    edges = _mix(near - start, far - end, share)[:, :, None]
    moves = _mix(end - start, far - near, share)[:, None, :]
    cross = edges[..., 0] * moves[..., 1] - edges[..., 1] * moves[..., 0]
    stretch = np.sqrt(((length * edges) ** 2).sum(axis=-1) + cross**2)
    return float(np.einsum("eij,i,j->", stretch, WEIGHTS, WEIGHTS) / 4)


def twisted_faces(length: float, section: Sequence[Point], turns: float) -> float:
    """Return the area of the long faces of a section that turns about the origin over `length` mm, mm².

    A point u mm along its edge's line from the foot of the axis moves askew to it, so that each face, a strip of a
    helicoid, measures L·∫ √(1 + (ω·u)²) du with ω = 2π·turns / L (surface integral; closed form below).
    """
    rate = 2 * math.pi * turns / length
    return length * math.fsum(
        _rooted(rate, _along(end, start, end)) - _rooted(rate, _along(start, start, end))
        for start, end in edge_ends(section)
    )


def _mix(first: Array, last: Array, share: Array) -> Array:
    """Return the vectors of every edge at each share of the way from `first` to `last`."""
    mixed: Array = first[:, None, :] + share[:, None] * (last - first)[:, None, :]
    return mixed


def _along(point: Point, start: Point, end: Point) -> float:
    """Return the place of a point on the line of an edge, 0 where the axis is nearest."""
    dx, dy = end[0] - start[0], end[1] - start[1]
    return (point[0] * dx + point[1] * dy) / math.hypot(dx, dy)


def _rooted(rate: float, u: float) -> float:
    """Return ∫ √(1 + (rate·u)²) du from 0 to u."""
    return (u * math.sqrt(1 + (rate * u) ** 2) + math.asinh(rate * u) / rate) / 2
