"""In which order the parts of a face are cut, and where the wire gets to each of them.

From the top down, so that no freed part comes to rest on the wire; from an edge of the face, or from what is cut
already, inwards; what lies in a counter first, then the counter, then the part's outer edge, for a part is cut while
the foam round it still holds it (common practice, no source). The face stands upright before the wire, y is up.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import LinearRing, Polygon, box
from shapely.geometry.base import BaseGeometry
from shapely.strtree import STRtree

from cutsheets.nesting.faces import FaceRoom
from cutsheets.solids import Point

NEAR = 2.0  # kerfs: of parts no farther apart the cuts round them run into each other
SPECK = 1e-6  # of a part's area: what lies above by less does not
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
    """Return every ring of the parts once, in the order in which they are cut. O(parts²)."""
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
    for host, ring, counter in sorted(counters, key=lambda each: -each[2].area):
        inside = STRtree(polygons).query(counter, predicate="contains")
        found |= {int(n): (host, ring) for n in inside if n != host}
    return found


def _whole(
    polygons: Sequence[Polygon], hosts: dict[int, tuple[int, int]], part: int, lead: Way, kerf: float
) -> Iterator[Cut]:
    """Yield the cuts of a part: for each counter a slit into it, the parts in it, its edge; the outer edge last."""
    outer = polygons[part].exterior
    for k, ring in enumerate(polygons[part].interiors, 1):
        guests = [n for n, place in hosts.items() if place == (part, k)]
        for n, way in _from_top([Polygon(polygons[n].exterior) for n in guests], outer, kerf):
            yield from _whole(polygons, hosts, guests[n], way, kerf)
        yield Cut(part, k, _way(Polygon(ring), [outer], []))
    yield Cut(part, 0, lead)


def _from_top(parts: Sequence[Polygon], edge: LinearRing, kerf: float) -> Iterator[tuple[int, Way]]:
    """Yield the numbers of parts in order, each with the way to it from the edge or from a part that is cut.

    Where parts lock into each other each may lie above the other in a place: then the higher one is first.
    """
    above, beside = _above(parts), _beside([*parts, edge], kerf)
    left = set(range(len(parts)))
    while left:
        n = min(left, key=lambda n: (len(above[n] & left), -parts[n].bounds[3], parts[n].bounds[0]))
        left.remove(n)
        cut = [edge, *(part.exterior for m, part in enumerate(parts) if m != n and m not in left)]
        yield n, None if beside[n] - left else _way(parts[n], cut, [parts[m] for m in left])


def _beside(parts: Sequence[BaseGeometry], kerf: float) -> list[set[int]]:
    """Return for each part those so near that the cut round one leads to the other."""
    found: list[set[int]] = [set() for _ in parts]
    pairs = STRtree(parts).query(np.array(parts, dtype=object), predicate="dwithin", distance=NEAR * kerf)
    for one, other in pairs.T.tolist():
        found[one] |= {other} - {one}
    return found


def _above(parts: Sequence[Polygon]) -> list[set[int]]:
    """Return for each part those above it: more of them lies in its shadow upwards than of it in theirs."""
    if not parts:
        return []
    top = max(part.bounds[3] for part in parts)
    shadows = [_shadow(part, top) for part in parts]
    areas: dict[tuple[int, int], float] = {}
    for low, high in zip(*STRtree(parts).query(np.array(shadows, dtype=object), predicate="intersects"), strict=True):
        if low != high:
            areas[int(low), int(high)] = shadows[low].intersection(parts[high]).area
    found: list[set[int]] = [set() for _ in parts]
    for (low, high), area in areas.items():
        if area > max(areas.get((high, low), 0.0), SPECK * parts[high].area):
            found[low].add(high)
    return found


def _shadow(part: Polygon, top: float) -> BaseGeometry:
    """Return all that lies straight above a part, up to a height."""
    corners = shapely.get_coordinates(part.exterior)
    raised = np.column_stack([corners[:, 0], np.full(len(corners), top)])
    return shapely.union_all(shapely.polygons(np.stack([corners[:-1], corners[1:], raised[1:], raised[:-1]], axis=1)))


def _way(part: Polygon, cut: Sequence[BaseGeometry], uncut: Sequence[Polygon]) -> tuple[Point, Point]:
    """Return the shortest straight way to a part from what is cut that goes through no other.

    Where every way goes through another part, the shortest one is returned: that part is slit.
    """
    ways = shapely.shortest_line(np.array(cut, dtype=object), part.exterior)
    ways = ways[np.argsort(shapely.length(ways), kind="stable")]
    crossed = STRtree(uncut).query(ways, predicate="intersects")[0] if uncut else []
    clear = [way for n, way in enumerate(ways) if n not in set(crossed)]
    (x1, y1), (x2, y2) = (clear or ways)[0].coords
    return (x1, y1), (x2, y2)
