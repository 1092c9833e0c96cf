"""Words and figures of a drawing where they can be read: on no line, and on no other word.

Each stands where it was asked for if it is clear there, else at the nearest place that is, with a thin line back.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace

import numpy as np
import shapely
from shapely import LineString, STRtree

from cutsheets.drawings.scene import Bounds, Polyline, Scene, Shape, Text, on_ground
from cutsheets.solids import Point

AROUND = 12  # directions in which a free place is looked for
STEP, STEPS = 0.8, 30  # how far from one ring of places to the next, in heights of the text, and how many rings
PAD = 0.2  # of the height: what stays clear around a text
MOVED = 0.7  # of the height: a text that moved less needs no line back


def set_clear(texts: Iterable[Text], lines: Iterable[Sequence[Point]], taken: Iterable[Bounds]) -> Iterator[Shape]:
    """Yield each text clear of the lines and of what is taken, the ground under it first, and its line back."""
    avoided = [LineString(line) for line in lines] + [shapely.box(*bounds) for bounds in taken]
    for text in texts:
        spot = _free(text, avoided)
        there = replace(text, at=spot)
        if math.dist(spot, text.at) > MOVED * text.size:
            yield Polyline((text.at, _nearest(text.at, Scene((there,)).bounds)), text.role, "hair")
        yield from on_ground(there)
        avoided.append(shapely.box(*Scene((there,)).bounds))


def _free(text: Text, avoided: Sequence[shapely.Geometry]) -> Point:
    """Return the nearest place at which the text touches nothing; its own where there is none."""
    spots = _spots(text)
    left, low, right, high = Scene((replace(text, at=(0.0, 0.0)),)).bounds
    pad = PAD * text.size
    x, y = spots.T
    boxes = shapely.box(x + left - pad, y + low - pad, x + right + pad, y + high + pad)
    touching = STRtree(avoided).query(boxes, predicate="intersects")[0]
    free = np.setdiff1d(np.arange(len(spots)), touching)
    return (float(x[free[0]]), float(y[free[0]])) if free.size else text.at


def _spots(text: Text) -> np.ndarray:
    """Return places for the middle of a text: its own, then rings around it, the nearest first."""
    turns = np.exp(2j * np.pi * np.arange(AROUND) / AROUND)
    away = STEP * text.size * np.arange(1, STEPS + 1)
    rings = np.concatenate([[0], np.outer(away, turns).ravel()])
    return np.column_stack([text.at[0] + rings.real, text.at[1] + rings.imag])


def _nearest(point: Point, box: Bounds) -> Point:
    """Return the place of a box that is nearest to a point."""
    left, low, right, high = box
    return min(max(point[0], left), right), min(max(point[1], low), high)
