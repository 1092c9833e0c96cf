"""In which order the parts of a face are cut, and where the wire gets to each of them.

From the top down, so that no freed part comes to rest on the wire; from an edge of the face, or from what is cut
already, inwards; what lies in a counter first, then the counter, then the part's outer edge, for a part is cut while
the foam round it still holds it (common practice, no source). The face stands upright before the wire, y is up.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import affinity
from shapely.geometry import LinearRing, LineString, Polygon, box
from shapely.geometry.base import BaseGeometry
from shapely.strtree import STRtree

from cutsheets.nesting.faces import FaceRoom
from cutsheets.solids import Point

NEAR = 2.0  # kerfs: of parts no farther apart the cuts round them run into each other
SPECK = 1e-6  # of a part's area: what lies above by less does not
SAME = 6  # decimals by which two parts are of one shape
Way = tuple[Point, Point] | None


@dataclass(frozen=True, slots=True)
class Cut:
    """One closed cut: the number of the part, the ring (0: its outer edge, 1 …: its counters) and the way in.

    `lead` is a cut of its own through foam, from where the wire is to the ring; None where it is there already.
    """

    part: int
    ring: int
    lead: Way


def cut_order(polygons: Sequence[Polygon], room: FaceRoom, kerf: float) -> list[Cut]:
    """Return every ring of the parts once, in the order in which they are cut. O(parts²), by whole rows of numbers."""
    hosts = _hosts(polygons)
    outside = [n for n in range(len(polygons)) if n not in hosts]
    edge = box(0.0, 0.0, room.w, room.h).exterior
    return [
        cut
        for n, lead in _from_top([Polygon(polygons[n].exterior) for n in outside], edge, kerf)
        for cut in _whole(polygons, hosts, outside[n], lead, kerf)
    ]


def _hosts(polygons: Sequence[Polygon]) -> dict[int, tuple[int, int]]:
    """Return for each part that lies in a counter the part and the number of its ring: of several the smallest."""
    found: dict[int, tuple[int, int]] = {}
    counters = [(n, k, Polygon(ring)) for n, each in enumerate(polygons) for k, ring in enumerate(each.interiors, 1)]
    tree = STRtree(polygons)
    for host, ring, counter in sorted(counters, key=lambda each: -each[2].area):
        inside = tree.query(counter, predicate="contains")
        found |= {int(n): (host, ring) for n in inside if n != host}
    return found


def _whole(
    polygons: Sequence[Polygon], hosts: dict[int, tuple[int, int]], part: int, lead: Way, kerf: float
) -> Iterator[Cut]:
    """Yield the cuts of a part: for each counter a slit into it, the parts in it, its edge; the outer edge last.

    The slit to the first part in a counter crosses the counter's edge: from there that is cut too.
    """
    outer = polygons[part].exterior
    for k, ring in enumerate(polygons[part].interiors, 1):
        guests = [n for n, place in hosts.items() if place == (part, k)]
        for n, way in _from_top([Polygon(polygons[n].exterior) for n in guests], outer, kerf):
            yield from _whole(polygons, hosts, guests[n], way, kerf)
        yield Cut(part, k, None if guests else _ends(shapely.shortest_line(outer, ring)))
    yield Cut(part, 0, lead)


def _from_top(parts: Sequence[Polygon], edge: LinearRing, kerf: float) -> Iterator[tuple[int, Way]]:
    """Yield the numbers of parts in order, each with the way to it from the edge or from a part that is cut.

    Where parts lock into each other each may lie above the other in a place: then the higher one is first.
    """
    if not parts:
        return
    above, beside = _above(parts), _beside([*parts, edge], kerf)
    left, top = shapely.bounds(parts)[:, [0, 3]].T
    rank = np.lexsort((left, -top)).argsort()
    hanging = above.sum(axis=0)  # over each part, and not cut yet
    tree = STRtree(parts)
    uncut = np.ones(len(parts) + 1, dtype=bool)
    uncut[-1] = False  # the edge
    for _ in parts:
        n = int(np.where(uncut[:-1], hanging * len(parts) + rank, np.iinfo(np.int64).max).argmin())
        uncut[n] = False
        hanging -= above[n]
        yield n, None if any(not uncut[m] for m in beside[n]) else _clear_way(parts, n, edge, tree, uncut[:-1])


def _beside(parts: Sequence[BaseGeometry], kerf: float) -> list[set[int]]:
    """Return for each part those so near that the cut round one leads to the other."""
    found: list[set[int]] = [set() for _ in parts]
    pairs = STRtree(parts).query(np.array(parts, dtype=object), predicate="dwithin", distance=NEAR * kerf)
    for one, other in pairs.T.tolist():
        found[one] |= {other} - {one}
    return found


def _above(parts: Sequence[Polygon]) -> NDArray[np.bool_]:
    """Return at [one, other] whether one part lies above the other: more of it in the other's shadow than reversed.

    Of boxes that lie one above the other nobody need look at the outlines.
    """
    left, low, right, high = shapely.bounds(parts).T
    speck = SPECK * (right - left).min()
    over = (left[:, None] + speck < right) & (left + speck < right[:, None])
    over[np.diag_indices(len(parts))] = False
    found: NDArray[np.bool_] = over & (low[:, None] >= high)
    one, other = np.nonzero(over & (low[:, None] < high) & (low < high[:, None]))
    outlines = np.array(parts, dtype=object)[one]
    areas = shapely.area(shapely.intersection(_shadows(parts)[other], outlines))
    turned_round = np.searchsorted(one * len(parts) + other, other * len(parts) + one)
    found[one, other] = areas > np.maximum(areas[turned_round], SPECK * shapely.area(outlines))
    return found


def _shadows(parts: Sequence[Polygon]) -> NDArray[np.object_]:
    """Return for each part what lies straight above it, as high as the highest part; each shape is cast once."""
    bounds = shapely.bounds(parts)
    tallest = float((bounds[:, 3] - bounds[:, 1]).max())
    cast: dict[bytes, BaseGeometry] = {}
    found = np.empty(len(parts), dtype=object)
    for n, part in enumerate(parts):
        corners = shapely.get_coordinates(part.exterior)
        shape = corners - corners[0]
        key = (shape.round(SAME) + 0.0).tobytes()
        if key not in cast:
            cast[key] = _shadow(shape, float(shape[:, 1].max()) + tallest)
        found[n] = affinity.translate(cast[key], *corners[0])
    return found


def _shadow(corners: NDArray[np.float64], top: float) -> BaseGeometry:
    """Return all that lies straight above a ring, up to a height."""
    raised = np.column_stack([corners[:, 0], np.full(len(corners), top)])
    return shapely.union_all(shapely.polygons(np.stack([corners[:-1], corners[1:], raised[1:], raised[:-1]], axis=1)))


def _clear_way(
    parts: Sequence[Polygon], n: int, edge: LinearRing, tree: STRtree, uncut: NDArray[np.bool_]
) -> tuple[Point, Point]:
    """Return the shortest straight way to a part from the edge or from what is cut that goes through no other.

    Where every way goes through another part, the shortest one is returned: that part is slit. Who is near is asked
    first, then twice as far away.
    """
    reach = math.sqrt(parts[n].area)
    cut = len(parts) - int(uncut.sum()) - 1
    while True:
        near = tree.query(parts[n], predicate="dwithin", distance=reach)
        near = near[~uncut[near] & (near != n)]
        ways = shapely.shortest_line(np.array([edge, *(parts[m].exterior for m in near)]), parts[n].exterior)
        ways = ways[np.argsort(shapely.length(ways), kind="stable")]
        way, through = tree.query(ways, predicate="intersects")
        clear = np.setdiff1d(np.arange(len(ways)), way[uncut[through]])
        if len(near) == cut or (len(clear) and ways[clear[0]].length <= reach):
            return _ends(ways[clear[0]] if len(clear) else ways[0])
        reach *= 2


def _ends(way: LineString) -> tuple[Point, Point]:
    (x1, y1), (x2, y2) = way.coords
    return (x1, y1), (x2, y2)
