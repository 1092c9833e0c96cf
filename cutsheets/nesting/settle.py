"""Mending a nest whose parts are too close by next to nothing: a library's rounding, not a wrong nest."""

from __future__ import annotations

import math
from dataclasses import replace

from shapely.geometry import Polygon
from shapely.ops import nearest_points

from cutsheets.nesting.check import NestVerdict
from cutsheets.nesting.faces import FaceRoom, Nest, NestInstance, Placement, placed

ROUNDS = 20
OVER = 1.0 + 1e-3  # a part is moved a little farther than it must be
MOST = 0.1  # of a kerf: who is closer by more is not mended


def settled(instance: NestInstance, nest: Nest, verdict: NestVerdict) -> Nest:
    """Return the nest with parts moved apart and inwards by as little as possible; perhaps it is right then.

    Only the parts that the verdict names, and those that they come too close to, are moved.
    """
    items = {item.id: item for item in instance.items}
    parts = {n: placed(items[each.item], each) for n, each in enumerate(nest.placements)}
    placements = list(nest.placements)
    moving = {n for pair in verdict.close for n in pair} | set(verdict.outside)

    def shift(n: int, dx: float, dy: float) -> None:
        placements[n] = replace(placements[n], x=placements[n].x + dx, y=placements[n].y + dy)
        parts[n] = placed(items[placements[n].item], placements[n])

    for _ in range(ROUNDS):
        moved = False
        for n in sorted(moving):
            face = nest.faces[placements[n].face].room
            for dx, dy in _pushes(n, placements, parts, face, instance.kerf):
                shift(n, dx, dy)
                moved = True
        if not moved:
            break
    return replace(nest, placements=tuple(placements))


def _pushes(
    n: int, placements: list[Placement], parts: dict[int, Polygon], face: FaceRoom, kerf: float
) -> list[tuple[float, float]]:
    """Return how a part must move: away from each neighbour that is too close, and into its face."""
    part = parts[n]
    pushes = []
    for other, near in parts.items():
        if other == n or placements[other].face != placements[n].face:
            continue
        apart = part.distance(near)
        if 0 < apart < kerf and kerf - apart < MOST * kerf:
            here, there = (point.coords[0] for point in nearest_points(part, near))
            by = (kerf - apart) * OVER / math.dist(here, there)
            pushes.append(((here[0] - there[0]) * by, (here[1] - there[1]) * by))
    left, bottom, right, top = part.bounds
    low, wide, high = face.margin, face.w - face.margin, face.h - face.margin
    inwards = (max(low - left, 0.0) - max(right - wide, 0.0), max(low - bottom, 0.0) - max(top - high, 0.0))
    return [*pushes, inwards] if any(inwards) else pushes
