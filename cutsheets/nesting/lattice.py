"""One outline as often as a face holds it: rows and lattices of interlocked pairs, and what still goes beside them.

Rows run along x, or along y on the face laid on its side. Every stack of rows is known at every height, so stacks that
meet at a straight line are joined by looking up what remains. A lattice that runs at a slant is counted at many places
on the face. The fullest face is then looked over for spots where one more part goes.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from shapely.geometry import box
from shapely.strtree import STRtree

from cutsheets.nesting.blocks import in_blocks, upright
from cutsheets.nesting.faces import FaceRoom, Placement
from cutsheets.nesting.interlock import Cell, Interlock, Lie, Part, Shapes, cells, densest
from cutsheets.nesting.nofit import Points, shifted, turned
from cutsheets.nesting.rows import Rows, Stack, closest, rising, stacks
from cutsheets.nesting.spots import added, polygon
from cutsheets.nesting.trials import tried
from cutsheets.solids import Outline

LAYERS = 3  # stacks of rows one above the other, at most
SPOTS = 16  # places of a slanting lattice along each of its vectors
MANY, FEWER = 4_000, 4  # lattice points near a face: then so few places will do
LATTICES = 12  # the densest, that are shifted about on the face
FILLED = 3  # of the fullest faces, that are looked over for spots
NEAR = 0.85  # of the fullest and one less: what holds fewer is not looked over
FEW = 10  # parts on a face: then they are laid one by one too
KEPT = 16  # outlines whose pairs are kept in mind
NOISE = 1e-9  # of the face
CLOSE = 1e-7  # of the kerf by which parts may be nearer than that: noise
Room = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Layers:
    """Stacks one above the other, each as high as its number says: how many parts, and how high they reach."""

    count: int
    height: float
    stacks: tuple[tuple[Stack, int], ...]


def pack_face(
    outline: Outline,
    face: FaceRoom,
    kerf: float,
    *,
    turns: Sequence[float] = (0.0, 180.0),
    mirror: bool = False,
    most: int | None = None,
) -> list[Placement]:
    """Return as many copies as were made to fit, never fewer than boxes in rows; `most`: no more than these.

    True outlines lie at least a kerf apart; counters are not used. Under a second for some hundred points.
    """
    allowed = tuple(sorted({turn % 360.0 for turn in turns}))
    lies = [(turn, side) for side in sorted({False, mirror}) for turn in allowed]
    shapes, _ = _pairs(outline, kerf, allowed, mirror)
    width, height = face.inner
    rows = _rows(outline, kerf, allowed, mirror)
    along_x = stacks(shapes, rows[0], (width, height))
    same = rows[0] is rows[1] and width == height
    along_y = along_x if same else stacks(shapes, rows[1], (height, width))
    starts = _in_rows(shapes, along_x, along_y, face.inner, most)
    parts = starts[0]
    if most is None or len(parts) < most:
        starts += _slanting(shapes, _lattices(outline, kerf, allowed, mirror), allowed, face.inner)
        starts = [*sorted(starts, key=lambda start: -len(start))[:FILLED], *[[]] * (len(parts) <= FEW)]
        starts += filter(None, in_blocks(shapes, along_x, along_y, face.inner))
        fullest = max(map(len, starts))
        starts = [start for start in starts if not start or len(start) >= fullest * NEAR - 1]
        parts = max([added(shapes, start, face.inner, lies, most) for start in starts], key=len)
        if most is None:
            parts = tried(shapes, outline, face.inner, lies, len(parts)) or parts
    return [
        Placement("", part.turn, part.mirrored, part.x + face.margin, part.y + face.margin)
        for part in _apart(shapes, parts)[:most]
    ]


@lru_cache(maxsize=KEPT)
def _pairs(outline: Outline, kerf: float, allowed: tuple[float, ...], mirror: bool) -> tuple[Shapes, list[Cell]]:
    """Return an outline in its lies and its pairs: the same for every face."""
    shapes = Shapes(outline, kerf)
    return shapes, cells(shapes, partners(allowed, mirror=mirror))


@lru_cache(maxsize=KEPT)
def _rows(outline: Outline, kerf: float, allowed: tuple[float, ...], mirror: bool) -> tuple[list[Rows], list[Rows]]:
    """Return its rows along x, and its rows along y as they run along x on the face laid on its side."""
    shapes, pairs = _pairs(outline, kerf, allowed, mirror)
    found = [_boxed(shapes), *pairs]
    upright = closest(cell for _, cell in _based(found, allowed, 0.0))
    if all((turn + 90.0) % 360.0 in allowed for turn in allowed):
        return upright, upright
    return upright, closest(cell for _, cell in _based(found, allowed, -90.0))


@lru_cache(maxsize=KEPT)
def _lattices(outline: Outline, kerf: float, allowed: tuple[float, ...], mirror: bool) -> list[Interlock]:
    return densest(*_pairs(outline, kerf, allowed, mirror))[:LATTICES]


def partners(allowed: Sequence[float], *, mirror: bool) -> list[Lie]:
    """Return the lies of a partner as its part sees them: turned by half a turn, mirrored, both."""
    half = any((turn + 180.0) % 360.0 in allowed for turn in allowed)
    return [(180.0, False)] * half + [(0.0, True)] * mirror + [(180.0, True)] * (half and mirror)


def _boxed(shapes: Shapes) -> Cell:
    """Return the part in its box: rows of boxes are the least that is answered."""
    left, low, right, high = shapes.bounds((0.0, False))
    wide, tall = right - left + shapes.kerf, high - low + shapes.kerf
    return Cell((Part(0.0, False),), box(-wide, -tall, wide, tall))


def _based(found: Sequence[Cell], allowed: Sequence[float], aside: float) -> Iterator[tuple[float, Cell]]:
    """Yield turns and cells turned so and by `aside`, where their parts allow it; half a turn more changes nothing."""
    for base in allowed:
        if (base - 180.0) % 360.0 < base and (base - 180.0) % 360.0 in allowed:
            continue
        for cell in found:
            if all((part.turn + base) % 360.0 in allowed for part in cell.parts):
                yield base, cell.turned(base + aside)


def _in_rows(
    shapes: Shapes, along_x: Sequence[Stack], along_y: Sequence[Stack], room: Room, most: int | None
) -> list[list[Part]]:
    """Return the fullest faces of rows along x and along y, or the least foam that gives `most`; the better first."""

    def best(found: Sequence[Stack], width: float, height: float) -> tuple[tuple[int, float], Layers]:
        layers = _layered(found, shapes.kerf, height)
        ranks = [(-min(each.count, most or each.count), each.height * width) for each in layers]
        return min(zip(ranks, layers, strict=True), key=lambda ranked: ranked[0])

    width, height = room
    rank, by_x = best(along_x, width, height)
    other, by_y = best(along_y, height, width)
    ways = [list(_laid(shapes, by_x)), [upright(part, width) for part in _laid(shapes, by_y)]]
    return ways if rank <= other else ways[::-1]


def _layered(found: Sequence[Stack], kerf: float, height: float) -> list[Layers]:
    """Return layers, none of which gives fewer parts than a lower one, the lowest first; the first is empty."""
    single = [
        Layers(int(count), float(top), ((stack, n),))
        for stack in found
        for n, (count, top) in enumerate(zip(stack.counts, stack.heights, strict=True))
    ]
    single = [single[n] for n in rising(*_table(single))]
    best = single
    for _ in range(LAYERS - 1):
        (heights, counts), (more_heights, more) = _table(best), _table(single)
        tops = (heights[:, None] + kerf + more_heights).ravel()
        fits = np.flatnonzero(tops <= height * (1 + NOISE))
        joined = fits[rising(tops[fits], (counts[:, None] + more).ravel()[fits])]
        pairs = [(best[n // len(single)], single[n % len(single)]) for n in joined]
        best += [Layers(a.count + b.count, a.height + kerf + b.height, a.stacks + b.stacks) for a, b in pairs]
        best = [best[n] for n in rising(*_table(best))]
    return [Layers(0, 0.0, ()), *best]


def _table(layers: Sequence[Layers]) -> tuple[NDArray[np.float64], NDArray[np.int32]]:
    return np.array([each.height for each in layers]), np.array([each.count for each in layers], dtype=np.int32)


def _laid(shapes: Shapes, layers: Layers) -> Iterator[Part]:
    """Yield the parts of layers, each above the ones before."""
    base = 0.0
    for stack, number in layers.stacks:
        for part in stack.parts(shapes, number):
            yield Part(part.turn, part.mirrored, part.x, part.y + base)
        base += float(stack.heights[number]) + shapes.kerf


def _slanting(
    shapes: Shapes, lattices: Sequence[Interlock], allowed: Sequence[float], room: Room
) -> Iterator[list[Part]]:
    """Yield the parts of each lattice in every lie, shifted so that as many as can be lie on the face."""
    for lattice in lattices:
        for base, cell in _based([lattice.cell], allowed, 0.0):
            u, v = turned(np.array([lattice.u, lattice.v]), base, False)
            yield _most_on(shapes, cell, np.array([u, v]), room)


def _most_on(shapes: Shapes, cell: Cell, vectors: Points, room: Room) -> list[Part]:
    corners = np.array([(0.0, 0.0), (room[0], 0.0), room, (0.0, room[1])]) @ np.linalg.inv(vectors)
    low, high = np.floor(corners.min(axis=0)) - 2, np.ceil(corners.max(axis=0)) + 2
    k, m = np.meshgrid(np.arange(low[0], high[0] + 1), np.arange(low[1], high[1] + 1))
    points = np.column_stack([k.ravel(), m.ravel()]) @ vectors
    spots = np.arange(SPOTS if len(points) < MANY else FEWER) / SPOTS
    shifts = np.column_stack([each.ravel() for each in np.meshgrid(spots, spots)]) @ vectors
    on = [_is_on(shapes, part, points, shifts, room) for part in cell.parts]
    best = np.sum([each.sum(axis=1) for each in on], axis=0).argmax()
    return [
        Part(part.turn, part.mirrored, part.x + float(x), part.y + float(y))
        for part, each in zip(cell.parts, on, strict=True)
        for x, y in points[each[best]] + shifts[best]
    ]


def _is_on(shapes: Shapes, part: Part, points: Points, shifts: Points, room: Room) -> NDArray[np.bool_]:
    """Return for each shift which points of a lattice bring the part onto the face."""
    left, low, right, high = shapes.bounds((part.turn, part.mirrored))
    x = points[:, 0] + shifts[:, :1] + part.x
    y = points[:, 1] + shifts[:, 1:] + part.y
    return (x + left >= 0) & (x + right <= room[0]) & (y + low >= 0) & (y + high <= room[1])


def _apart(shapes: Shapes, parts: Sequence[Part]) -> list[Part]:
    """Return the parts less those whose true outlines are nearer than the kerf to one before: the last word."""
    lies = {(part.turn, part.mirrored) for part in parts}
    less = {lie: polygon(shapes, Part(*lie)).buffer(-CLOSE * shapes.size, join_style="mitre") for lie in lies}
    spots = np.array([(part.x, part.y) for part in parts]).reshape(-1, 2)
    within = shifted([less[part.turn, part.mirrored] for part in parts], spots)
    first, second = STRtree(within).query(within, predicate="dwithin", distance=shapes.kerf)
    near = set(np.maximum(first, second)[first != second].tolist())
    return [part for n, part in enumerate(parts) if n not in near]
