"""Which two of one outline go best together, and the rows and lattices in which such pairs repeat.

A cell is one part, or a part and its partner: itself turned by half a turn, mirrored, or both. Its no-fit polygon N
holds the shifts at which two cells are too near, so a lattice is good when none of its points but 0 lies inside N.
Rows have a vector u; the next row goes to a corner of what the row leaves free, where it touches twice. Lattices of
parts and parts turned by half a turn are the double lattices of Kuperberg and Kuperberg (Discrete & Computational
Geometry 5 (1990) 389-397), the densest known for convex outlines.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
import shapely
from shapely import affinity
from shapely.geometry import LineString
from shapely.geometry.base import BaseGeometry

from cutsheets.nesting.nofit import Points, convex_parts, shifted, simpler, too_near, turned, united
from cutsheets.solids import Outline, Point

POINTS = 30  # of an outline that is interlocked
NOISE = 1e-7  # of the size of an outline: shifts so little inside N touch only
STEPS = 12  # places of a partner that are tried along one round of the outline, corners aside
ROWS, FEW_ROWS = 6, 3  # the shortest rows of a cell, whose lattices are tried; while its partner is moved
FINEST = 5e-4  # of the size of an outline: the last step of a partner along it
LEAST = 1e-3  # of the no-fit polygon: a smaller lattice is float noise
KEPT = (12, 28)  # pairs that are kept by each measure, at least and at most, of the first partner
CORNERS = 1000  # of all pairs kept by a measure: of round outlines fewer are kept, each takes longer
CLOSEST = 16  # cells whose lattices are looked for
Lie = tuple[float, bool]
AS_DRAWN: Lie = (0.0, False)


@dataclass(frozen=True, slots=True)
class Part:
    """One part of a cell: how it is turned and mirrored, where its origin goes."""

    turn: float
    mirrored: bool
    x: float = 0.0
    y: float = 0.0


@dataclass(frozen=True, slots=True)
class Cell:
    """One or two parts that repeat, and the shifts at which one cell is too near to another."""

    parts: tuple[Part, ...]
    near: BaseGeometry

    def turned(self, turn: float) -> Cell:
        """Return the cell turned as a whole."""
        moved = turned(np.array([(part.x, part.y) for part in self.parts]), turn, False)
        parts = tuple(
            replace(part, turn=(part.turn + turn) % 360.0, x=float(x), y=float(y))
            for part, (x, y) in zip(self.parts, moved, strict=True)
        )
        return Cell(parts, _turned(self.near, turn))


@dataclass(frozen=True, slots=True)
class Interlock:
    """A cell and the two vectors of its lattice; how much of an endless face it covers."""

    cell: Cell
    u: Point
    v: Point
    density: float


class Shapes:
    """An outline in the lies it may take; what is worked out of it is kept."""

    def __init__(self, outline: Outline, kerf: float) -> None:
        self.kerf = kerf
        self.ring = np.array(outline.outer)
        self.area = shapely.Polygon(self.ring).area
        self.parts = convex_parts(simpler(outline.outer, POINTS))
        self.size = float(np.ptp(self.ring, axis=0).max())
        self._beside: dict[Lie, BaseGeometry] = {}
        self._near: dict[tuple[Lie, Lie], BaseGeometry] = {}
        self._bounds: dict[Lie, tuple[float, float, float, float]] = {}

    @cached_property
    def widest(self) -> tuple[shapely.Point, float]:
        """Return the middle and the radius of the largest disc inside the outline, a little less."""
        line = shapely.maximum_inscribed_circle(shapely.Polygon(self.ring))
        return shapely.Point(line.coords[0]), line.length * (1 - 1e-3)

    def near(self, a: Lie, b: Lie) -> BaseGeometry:
        """Return the shifts of the outline in lie b at which it is too near to the one in lie a."""
        if (a, b) not in self._near:
            self._near[a, b] = self._worked_out(a, b)
        return self._near[a, b]

    def _worked_out(self, a: Lie, b: Lie) -> BaseGeometry:
        (turn, mirrored), between = a, (b[0] - a[0]) % 360.0
        seen = (-between % 360.0, not b[1]) if mirrored else (between, b[1])  # b as a sees it
        if seen not in self._beside:
            self._beside[seen] = too_near(self.parts, [turned(part, *seen) for part in self.parts], self.kerf)
        return shapely.transform(self._beside[seen], lambda points: turned(points, turn, mirrored))

    def bounds(self, lie: Lie) -> tuple[float, float, float, float]:
        """Return left, low, right, high of the true outline in a lie."""
        if lie not in self._bounds:
            points = turned(self.ring, *lie)
            (left, low), (right, high) = points.min(axis=0).tolist(), points.max(axis=0).tolist()
            self._bounds[lie] = (left, low, right, high)
        return self._bounds[lie]


def cells(shapes: Shapes, lies: Sequence[Lie]) -> list[Cell]:
    """Return the part alone, then its best pairs: with each of these lies of it in the places that look tightest."""
    near = shapes.near(AS_DRAWN, AS_DRAWN)
    found = [Cell((Part(0.0, False),), near)]
    most = min(max(KEPT[0], CORNERS // int(shapely.get_num_coordinates(near))), KEPT[1])
    for number, lie in enumerate(lies, 1):
        beside = shapes.near(AS_DRAWN, lie)
        own = shapely.union(near, shapes.near(lie, lie))
        places = np.concatenate([_places(beside), *_between_two(own, beside), *_level(shapes, beside, lie)])
        pairs = [pair(own, beside, lie, x, y) for x, y in places]
        found += _best(shapes, pairs, most // number)
    return found


def pair(own: BaseGeometry, beside: BaseGeometry, lie: Lie, x: float, y: float) -> Cell:
    """Return the cell of a part and its partner at (x, y): `own` is near to their like, `beside` to each other."""
    across = affinity.translate(beside, -x, -y)
    near = united([own, across, affinity.scale(across, -1.0, -1.0, origin=(0.0, 0.0))])
    return Cell((Part(0.0, False), Part(*lie, float(x), float(y))), near)


def _places(beside: BaseGeometry) -> Points:
    """Return places where a partner touches: corners and middles of the no-fit polygon's edges, and more along them.

    In the middle of an edge two edges of a part turned by half a turn meet in full length.
    """
    edge = beside.boundary
    steps = shapely.get_coordinates(shapely.segmentize(edge, edge.length / STEPS))
    middles = [(ring[1:] + ring[:-1]) / 2 for ring in map(shapely.get_coordinates, shapely.get_parts(edge))]
    return np.unique(np.concatenate([steps, *middles]), axis=0)


def _between_two(own: BaseGeometry, beside: BaseGeometry) -> Iterator[Points]:
    """Yield places where a partner touches two parts of a row at once, of rows along x and along y."""
    for turn in (0.0, 90.0):
        for pitch in pitches(_turned(own, turn))[:1]:
            row = _repeated(_turned(beside, turn), (pitch, 0.0), range(-1, 2))
            corners = shapely.get_coordinates(row.boundary)
            yield turned(corners[np.abs(corners[:, 0]) <= pitch], -turn, False)


def _level(shapes: Shapes, beside: BaseGeometry, lie: Lie) -> Iterator[Points]:
    """Yield places where a partner touches and ends level with its part: at the left, below, at the right or above."""
    left, low, right, high = beside.bounds
    for n, (own, other) in enumerate(zip(shapes.bounds(AS_DRAWN), shapes.bounds(lie), strict=True)):
        at = own - other
        line = LineString([(left, at), (right, at)] if n % 2 else [(at, low), (at, high)])
        yield shapely.get_coordinates(shapely.intersection(beside.boundary, line))


def _repeated(near: BaseGeometry, u: Point, times: range) -> BaseGeometry:
    """Return what is too near to one of several cells along u."""
    return united(shifted([near] * len(times), np.array(times)[:, None] * np.array(u)))


def _turned(shape: BaseGeometry, turn: float) -> BaseGeometry:
    return shapely.transform(shape, lambda points: turned(points, turn, False))


def _best(shapes: Shapes, pairs: Sequence[Cell], most: int) -> list[Cell]:
    """Return the pairs that stand closest, those that are narrowest and those that are lowest."""
    closest = sorted(pairs, key=lambda cell: round(cell.near.area, 6))
    extents = {id(cell): _extent(shapes, cell) for cell in pairs}
    kept = closest[:most]
    for axis in (0, 1):
        kept += sorted(closest, key=lambda cell: extents[id(cell)][axis])[:most]
    return list({id(cell): cell for cell in kept}.values())


def _extent(shapes: Shapes, cell: Cell) -> Point:
    """Return the width and the height of a cell's parts together, less float noise."""
    boxes = [
        (part.x + left, part.y + low, part.x + right, part.y + high)
        for part in cell.parts
        for left, low, right, high in [shapes.bounds((part.turn, part.mirrored))]
    ]
    lefts, lows, rights, highs = zip(*boxes, strict=True)
    return round(max(rights) - min(lefts), 6), round(max(highs) - min(lows), 6)


def pitches(near: BaseGeometry) -> list[float]:
    """Return the distances along x at which cells can repeat in a row that touch, the shortest first."""
    reach = near.bounds[2] + 1.0
    crossed = shapely.get_coordinates(shapely.intersection(near.boundary, LineString([(0.0, 0.0), (reach, 0.0)])))
    found = sorted({round(float(x), 9) for x in crossed[:, 0] if x > 0})
    return [w for w in found if is_row(near, (w, 0.0))]


def is_row(near: BaseGeometry, u: Point) -> bool:
    """Return whether cells can repeat along u."""
    reach = max(near.bounds[2], near.bounds[3]) / max(abs(u[0]), abs(u[1]))
    return not is_inside(near, np.arange(1, math.ceil(reach) + 1)[:, None] * np.array(u))


def is_inside(near: BaseGeometry, shifts: Points) -> bool:
    """Return whether one of these shifts brings cells too near; what only touches does not."""
    noise = NOISE * (near.bounds[2] - near.bounds[0])
    inside = shapely.points(shifts[shapely.contains_xy(near, shifts)])
    return bool(np.any(shapely.distance(near.boundary, inside) > noise))


def next_rows(near: BaseGeometry, u: Point, most: int) -> list[Point]:
    """Return shifts of the next row to a row along u, the closest first; up to `most` that differ."""
    reach = float((shapely.get_coordinates(near) @ np.array(u)).max()) / (u[0] ** 2 + u[1] ** 2)
    side = math.floor(reach + 0.5 + NOISE)  # those that reach the half of a step on either side of a cell
    row = _repeated(near, u, range(-side, side + 1))
    corners = np.concatenate([shapely.get_coordinates(row.boundary), _straight_across(row, u)])
    along = corners @ np.array(u) / (u[0] ** 2 + u[1] ** 2)
    apart = u[0] * corners[:, 1] - u[1] * corners[:, 0]
    chosen = np.flatnonzero((along > -0.5 - NOISE) & (along <= 0.5 + NOISE) & (apart > LEAST * near.area))
    found: list[Point] = []
    for n in chosen[np.argsort(apart[chosen], kind="stable")]:
        v = (float(corners[n, 0]), float(corners[n, 1]))
        if len(found) >= most:
            break
        if all(math.dist(v, other) > NOISE * abs(apart[n]) ** 0.5 for other in found) and is_lattice(near, u, v):
            found.append(v)
    return found


def _straight_across(row: BaseGeometry, u: Point) -> Points:
    """Return where a row ends straight across from a cell, and from the middle between two."""
    radius = float(np.hypot(*shapely.get_coordinates(row.boundary).T).max()) / math.hypot(*u)
    rays = [
        LineString([(k * u[0], k * u[1]), (k * u[0] - radius * u[1], k * u[1] + radius * u[0])]) for k in (0.0, 0.5)
    ]
    return np.concatenate([shapely.get_coordinates(shapely.intersection(row.boundary, ray)) for ray in rays])


def is_lattice(near: BaseGeometry, u: Point, v: Point) -> bool:
    """Return whether cells can repeat by u and v."""
    area = abs(u[0] * v[1] - u[1] * v[0])
    radius = float(np.hypot(*shapely.get_coordinates(near.boundary).T).max())
    rows = math.ceil(radius * math.hypot(*u) / area)
    middle = -(u[0] * v[0] + u[1] * v[1]) / (u[0] ** 2 + u[1] ** 2)  # of u, for one v: nearest to 0
    side = math.ceil(radius / math.hypot(*u)) + 1
    shifts = [
        (k * u[0] + m * v[0], k * u[1] + m * v[1])
        for m in range(rows + 1)
        for k in range(math.floor(m * middle) - side, math.ceil(m * middle) + side + 1)
        if m or k > 0
    ]
    return not is_inside(near, np.array(shifts))


def interlock(outline: Outline, kerf: float, lies: Sequence[Lie]) -> Interlock:
    """Return the densest lattice found of an outline and one of these lies of itself, or of the outline alone."""
    shapes = Shapes(outline, kerf)
    return densest(shapes, cells(shapes, lies))[0]


def densest(shapes: Shapes, found: Sequence[Cell]) -> list[Interlock]:
    """Return the lattices of the closest cells, the densest first; before them the first one, made denser yet."""
    closest = sorted(found, key=lambda cell: cell.near.area / len(cell.parts))[:CLOSEST]
    tried = {id(cell): cell for cell in (found[0], *closest)}.values()
    lattices = [each for cell in tried for each in _lattices(shapes, cell, ROWS)]
    lattices.sort(key=lambda each: -round(each.density, 9))
    return [_made_denser(shapes, lattices[0]), *lattices]


def _made_denser(shapes: Shapes, best: Interlock) -> Interlock:
    """Return a lattice whose partner is moved along the outline while that helps."""
    if len(best.cell.parts) == 1:
        return best
    lie = best.cell.parts[1].turn, best.cell.parts[1].mirrored
    beside = shapes.near(AS_DRAWN, lie)
    own = shapely.union(shapes.near(AS_DRAWN, AS_DRAWN), shapes.near(lie, lie))
    edge = beside.boundary
    step = edge.length / STEPS / 2
    while step > FINEST * shapes.size:
        at = edge.project(shapely.Point(best.cell.parts[1].x, best.cell.parts[1].y))
        spots = [edge.interpolate((at + side * step) % edge.length) for side in (-1, 1)]
        tried = [each for p in spots for each in _lattices(shapes, pair(own, beside, lie, p.x, p.y), FEW_ROWS)]
        better = max([best, *tried], key=lambda each: each.density)
        step = step if better is not best else step / 2
        best = better
    return best


def _lattices(shapes: Shapes, cell: Cell, most: int) -> Iterator[Interlock]:
    """Yield the closest lattice of a cell for each of up to `most` of the shortest rows."""
    corners = shapely.get_coordinates(cell.near.boundary)
    upper = corners[(corners[:, 1] > 0) | ((corners[:, 1] == 0) & (corners[:, 0] > 0))]
    for x, y in upper[np.argsort(np.hypot(*upper.T), kind="stable")][:ROWS]:
        u = (float(x), float(y))
        for v in next_rows(cell.near, u, 1) if is_row(cell.near, u) else ():
            yield Interlock(cell, u, v, len(cell.parts) * shapes.area / abs(u[0] * v[1] - u[1] * v[0]))
