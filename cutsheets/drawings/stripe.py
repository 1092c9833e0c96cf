"""The twelve stripes by which a shop tells its foam grades apart, without colour.

A stripe always runs along white foam, and the grade's name always stands with it. Which grade gets which pattern and
ink is the shop's choice.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from typing import Literal, get_args

from cutsheets.drawings.scene import Circle, Polygon, Scene, Shape, rectangle
from cutsheets.solids import Point

Pattern = Literal[
    "one", "two", "three", "wide", "wide-thin", "dash", "dots", "slash", "zigzag", "wave", "ladder", "chevron"
]
PATTERNS: tuple[Pattern, ...] = get_args(Pattern)
Ring = tuple[Point, ...]
# Level lines, as (bottom, top) in shares of the stripe's height.
LINES: dict[str, tuple[tuple[float, float], ...]] = {
    "one": ((0.4, 0.6),),
    "two": ((0.2, 0.38), (0.62, 0.8)),
    "three": ((0.12, 0.26), (0.43, 0.57), (0.74, 0.88)),
    "wide": ((0.2, 0.8),),
    "wide-thin": ((0.1, 0.25), (0.42, 0.85)),
    "ladder": ((0.1, 0.22), (0.78, 0.9)),
}


def stripe_scene(pattern: Pattern, length: float, height: float, *, frame: bool = True) -> Scene:
    """Return a stripe of that length and height, mm, on white; `frame` draws the edge of the foam around it."""
    edge = Polygon((rectangle(0, 0, length, height),), fill="foam", role="outline" if frame else None, weight="hair")
    if pattern == "dots":
        dots = tuple(
            Circle(((start + end) / 2, height / 2), 0.22 * height, "stripe", None)
            for start, end in _steps(length, 1.3 * height)
        )
        return Scene((edge, *dots))
    rings: list[Ring] = [rectangle(0, low * height, length, high * height) for low, high in LINES.get(pattern, ())]
    if pattern in REPEATS:
        rings += REPEATS[pattern](length, height)
    ink: list[Shape] = [Polygon((ring,), fill="stripe", role=None) for ring in rings]
    return Scene((edge, *ink))


def _steps(length: float, pitch: float) -> Iterator[tuple[float, float]]:
    """Yield the ends of equal steps that fill the length, each about one pitch long."""
    count = max(1, round(length / pitch))
    for place in range(count):
        yield (place * length / count, (place + 1) * length / count)


def _dashes(length: float, h: float) -> list[Ring]:
    return [rectangle(a + 0.2 * (b - a), 0.3 * h, b - 0.2 * (b - a), 0.7 * h) for a, b in _steps(length, 2 * h)]


def _slashes(length: float, h: float) -> list[Ring]:
    return [
        ((a, 0.1 * h), (a + 0.4 * (b - a), 0.1 * h), (b, 0.9 * h), (b - 0.4 * (b - a), 0.9 * h))
        for a, b in _steps(length, 1.1 * h)
    ]


def _rungs(length: float, h: float) -> list[Ring]:
    return [rectangle(a + 0.42 * (b - a), 0.2 * h, b - 0.42 * (b - a), 0.8 * h) for a, b in _steps(length, 0.9 * h)]


def _chevrons(length: float, h: float) -> list[Ring]:
    return [
        (
            (a, 0.12 * h),
            (a + 0.4 * (b - a), 0.12 * h),
            (b, 0.5 * h),
            (a + 0.4 * (b - a), 0.88 * h),
            (a, 0.88 * h),
            (a + 0.6 * (b - a), 0.5 * h),
        )
        for a, b in _steps(length, 1.0 * h)
    ]


def _zigzag(length: float, h: float) -> list[Ring]:
    return [_band([(a, 0.2 * h), ((a + b) / 2, 0.62 * h), (b, 0.2 * h)], 0.18 * h) for a, b in _steps(length, 1.8 * h)]


def _wave(length: float, h: float) -> list[Ring]:
    turns = len(list(_steps(length, 2.2 * h)))
    points = [(length * i / (16 * turns), h * (0.41 + 0.24 * math.sin(math.pi * i / 8))) for i in range(16 * turns + 1)]
    return [_band(points, 0.18 * h)]


def _band(points: list[Point], thick: float) -> Ring:
    """Return the outline of a line that is `thick` from below to above."""
    return (*points, *((x, y + thick) for x, y in reversed(points)))


REPEATS: dict[str, Callable[[float, float], list[Ring]]] = {
    "dash": _dashes,
    "slash": _slashes,
    "ladder": _rungs,
    "chevron": _chevrons,
    "zigzag": _zigzag,
    "wave": _wave,
}
