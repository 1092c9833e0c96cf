"""Closed outlines with their holes from loose lines, and what stood in the way.

The steps: join lines into loops (`joining`), set aside loops that cross, sort the rest by which lies in which. Loops
and chains are looked up in a tree of boxes: O(n log n + k) for n points and k boxes that overlap.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from typing import Any

import numpy as np
import shapely
from shapely import Polygon, STRtree

from cutsheets.solids import Outline, Point, Ring
from cutsheets.tracing.drawn import Trouble, place
from cutsheets.tracing.joining import cell, join

MOST_TROUBLES = 100  # of one sort; nobody corrects more at a time
FLAT = 1e-4  # mm²: a loop with less inside encloses nothing
BATCH = 256  # shapes looked up at once: bounds the memory when everything crosses everything

Array = np.ndarray[Any, np.dtype[Any]]
Traced = tuple[tuple[Outline, ...], tuple[Ring, ...], tuple[Trouble, ...]]


def trace(paths: Iterable[Sequence[Point]], *, tolerance: float) -> Traced:
    """Return outlines (largest first), left-over chains and troubles; mm, y upwards.

    >>> outlines, chains, troubles = trace([[(0, 0), (4, 0), (4, 3)], [(0, 0.02), (4, 3)]], tolerance=0.05)
    >>> outlines[0].outer, chains, troubles
    (((0.0, 0.01), (4.0, 0.0), (4.0, 3.0)), (), ())
    """
    joined = join(paths, tolerance)
    troubles = joined.troubles
    loops, flat = _enclosing(joined.loops)
    for ring in flat:
        troubles.append(Trouble("flat", f"The loop at {place(ring[0])} encloses nothing; delete it.", ring[0]))
    crossed = _crossings(loops, joined.chains, troubles)
    junctions = {cell(trouble.at) for trouble in troubles if trouble.code == "junction"}
    ends = (end for chain in joined.chains for end in (chain[0], chain[-1]))
    troubles += _loose_ends([end for end in ends if cell(end) not in junctions])
    kept = [ring for i, ring in enumerate(loops) if i not in crossed]
    set_aside = [[*ring, ring[0]] for ring in (*(loops[i] for i in sorted(crossed)), *flat)]
    chains = sorted(tuple(chain) for chain in (*joined.chains, *set_aside))
    return _nested(kept), tuple(chains), _listed(troubles)


def _enclosing(loops: list[list[Point]]) -> tuple[list[list[Point]], list[list[Point]]]:
    """Return the loops that enclose something, and those that do not (a line there and back)."""
    full: list[list[Point]] = []
    flat: list[list[Point]] = []
    for ring in loops:
        (full if len(ring) > 2 and shapely.convex_hull(Polygon(ring)).area > FLAT else flat).append(ring)
    return full, flat


def _crossings(loops: list[list[Point]], chains: list[list[Point]], troubles: list[Trouble]) -> set[int]:
    """Return the numbers of the loops that cross themselves or another loop; report crossings, also of chains."""
    lines = np.array([*map(shapely.linearrings, loops), *map(shapely.linestrings, chains)])
    known = {_spot(trouble.at) for trouble in troubles if trouble.code == "junction"}
    bad: set[int] = set()
    for i in np.flatnonzero(~shapely.is_simple(lines)).tolist():
        bad.add(i)
        troubles += _self_crossings(shapely.get_coordinates(lines[i]), closed=i < len(loops))
    listed = 0
    for pairs in _meetings(lines):
        bad.update(pairs[(pairs < len(loops)).all(axis=1)].ravel().tolist())
        for at in _common(lines, pairs[: MOST_TROUBLES + 1 - listed]):
            if _spot(at) not in known:
                listed += 1
                troubles.append(Trouble("crossing", f"Two lines cross or touch at {place(at)}; part them.", at))
    return {i for i in bad if i < len(loops)}


def _self_crossings(corners: Array, *, closed: bool) -> list[Trouble]:
    """Return where a line crosses or touches itself; its beginning when it only runs back over itself."""
    segments: Array = np.asarray(shapely.linestrings(np.stack([corners[:-1], corners[1:]], axis=1)))
    places: list[Point] = []
    for pairs in _meetings(segments):
        apart = pairs[:, 1] - pairs[:, 0]
        neighbours = (apart == 1) | (closed & (apart == len(segments) - 1))
        places += _common(segments, pairs[~neighbours][: MOST_TROUBLES + 1 - len(places)])
    return [
        Trouble("crossing", f"A line crosses or touches itself at {place(at)}; correct it there.", at)
        for at in places or [(float(corners[0][0]), float(corners[0][1]))]
    ]


def _meetings(lines: Array) -> Iterator[Array]:
    """Yield the pairs of lines that have a point in common, as rows of two numbers, a batch at a time."""
    if not len(lines):
        return
    tree = STRtree(lines)
    for first in range(0, len(lines), BATCH):
        pairs = tree.query(lines[first : first + BATCH], predicate="intersects").T
        pairs[:, 0] += first
        yield pairs[pairs[:, 0] < pairs[:, 1]]


def _common(lines: Array, pairs: Array) -> list[Point]:
    """Return the points that pairs of lines have in common."""
    common = shapely.intersection(lines[pairs[:, 0]], lines[pairs[:, 1]])
    return [(x, y) for x, y in shapely.get_coordinates(common).tolist()]


def _loose_ends(ends: list[Point]) -> list[Trouble]:
    """Return the gaps, each between two ends that are nearest to one another, and the ends that are left over."""
    if not ends:
        return []
    tree = STRtree(shapely.points(ends))
    nearest: dict[int, int] = {}
    for i, j in tree.query_nearest(tree.geometries, exclusive=True, all_matches=False).T.tolist():
        nearest[i] = j
    troubles = []
    for i, at in enumerate(ends):
        j = nearest.get(i)
        if j is None:
            troubles.append(Trouble("loose", f"A line ends at {place(at)}, where no other begins.", at))
            continue
        apart = f"{math.dist(at, ends[j]):.3f} mm"
        if nearest.get(j) != i:
            said = f"A line ends at {place(at)}; the next end, {apart} away at {place(ends[j])}, is nearer to another."
            troubles.append(Trouble("loose", said, at))
        elif i < j:
            said = f"A gap of {apart} between {place(at)} and {place(ends[j])}; close it, or take a larger tolerance."
            troubles.append(Trouble("gap", said, at))
    return troubles


def _nested(rings: list[list[Point]]) -> tuple[Outline, ...]:
    """Return the outlines: rings within an even number of others, each with the rings directly inside it as holes."""
    if not rings:
        return ()
    polygons = [Polygon(ring) for ring in rings]
    areas = shapely.area(polygons)
    depth, parent = [0] * len(rings), [-1] * len(rings)
    tree = STRtree(polygons)
    corners = shapely.points([ring[0] for ring in rings])
    for first in range(0, len(rings), BATCH):
        found = tree.query(corners[first : first + BATCH], predicate="within")
        for i, j in ((first + i, j) for i, j in found.T.tolist()):
            if i != j and areas[j] > areas[i]:
                depth[i] += 1
                if parent[i] < 0 or areas[j] < areas[parent[i]]:
                    parent[i] = j
    holes: dict[int, list[Ring]] = defaultdict(list)
    for i, ring in enumerate(rings):
        if depth[i] % 2:
            holes[parent[i]].append(_turned(ring, ccw=False))
    outer = sorted((i for i in range(len(rings)) if not depth[i] % 2), key=lambda i: (-areas[i], rings[i]))
    return tuple(Outline(_turned(rings[i], ccw=True), tuple(sorted(holes[i]))) for i in outer)


def _turned(ring: list[Point], *, ccw: bool) -> Ring:
    """Return the ring turned as asked, from its leftmost, lowest point on: the same however it was drawn."""
    if shapely.is_ccw(shapely.linearrings(ring)) != ccw:
        ring = ring[::-1]
    start = min(range(len(ring)), key=lambda i: (round(ring[i][0], 6), round(ring[i][1], 6)))
    return tuple((float(x), float(y)) for x, y in (*ring[start:], *ring[:start]))


def _spot(at: Point) -> tuple[float, float]:
    return round(at[0], 2), round(at[1], 2)


def _listed(troubles: list[Trouble]) -> tuple[Trouble, ...]:
    """Return each trouble once, and of any sort no more than somebody will read; `crossing` stops one further."""
    listed: dict[Trouble, None] = {}
    counts: dict[str, int] = defaultdict(int)
    for trouble in dict.fromkeys(troubles):
        counts[trouble.code] += 1
        if counts[trouble.code] <= MOST_TROUBLES:
            listed[trouble] = None
    for code, count in counts.items():
        if count > MOST_TROUBLES:
            at = next(trouble.at for trouble in listed if trouble.code == code)
            said = f"There are more of “{code}” than the {MOST_TROUBLES} that are listed; correct these first."
            listed[Trouble("more", said, at)] = None
    return tuple(listed)
