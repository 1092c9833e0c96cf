"""Lines that meet end to end become chains and closed loops.

Ends on the same spot are joined first, then loose ends within the tolerance, the nearest first. Where three lines or
more meet nobody can say which go together: they stay apart, and the place is reported. A line that is drawn twice
counts once. Near-linear: ends and segments are looked up in a grid, O(n log n) for the sorting of near ends.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field

from cutsheets.solids import Point
from cutsheets.tracing.drawn import Trouble, place

SAME = 1e-4  # mm: float noise of the drawing program; points nearer than this are one point
OFF_GRID = 0.2371  # so that no usual fraction of a millimetre or inch lies on the border between two cells

Cell = tuple[int, int]
End = tuple[int, int]  # number of the path, 0 where it begins, -1 where it ends


@dataclass(slots=True)
class Joined:
    """Closed loops (no repeated last point) and open chains, with what was found on the way."""

    loops: list[list[Point]] = field(default_factory=list)
    chains: list[list[Point]] = field(default_factory=list)
    troubles: list[Trouble] = field(default_factory=list)


def join(paths: Iterable[Sequence[Point]], tolerance: float) -> Joined:
    """Return the loops and chains that lines form, mm."""
    joined = Joined()
    pieces = list(_once(_clean(paths, joined.troubles), joined.troubles))
    mates, stuck = _meeting(pieces, joined.troubles)
    loose = [(i, end) for i in range(len(pieces)) for end in (0, -1) if (i, end) not in mates and (i, end) not in stuck]
    _mate_near(loose, pieces, mates, tolerance)
    seen: set[int] = set()
    starts = [(i, 0) for i in range(len(pieces))]
    open_first = [(i, e) for i, _ in starts for e in (0, -1) if (i, e) not in mates]
    for start in open_first + starts:
        if start[0] in seen:
            continue
        points, closed = _walk(start, pieces, mates, seen)
        (joined.loops if closed else joined.chains).append(points)
    return joined


def cell(point: Point, size: float = SAME) -> Cell:
    """Return the cell of a grid in which a point lies."""
    return math.floor(point[0] / size + OFF_GRID), math.floor(point[1] / size + OFF_GRID)


def _clean(paths: Iterable[Sequence[Point]], troubles: list[Trouble]) -> Iterator[list[Point]]:
    """Yield the paths without points on the same spot as the one before."""
    for path in paths:
        kept: list[Point] = []
        for x, y in path:
            if not kept or math.dist(kept[-1], (x, y)) > SAME:
                kept.append((float(x), float(y)))
        if len(kept) > 1:
            yield kept
        elif kept:
            troubles.append(Trouble("zero-length", f"A line at {place(kept[0])} has no length; delete it.", kept[0]))


def _once(paths: Iterable[list[Point]], troubles: list[Trouble]) -> Iterator[list[Point]]:
    """Yield the paths without the segments that an earlier path drew already."""
    drawn: set[tuple[Cell, Cell]] = set()
    for path in paths:
        piece, twice = [path[0]], 0.0
        cells = [cell(point) for point in path]
        doubled: Point | None = None
        for i in range(1, len(path)):
            key = (cells[i - 1], cells[i]) if cells[i - 1] <= cells[i] else (cells[i], cells[i - 1])
            if key not in drawn:
                drawn.add(key)
                piece.append(path[i])
                continue
            twice += math.dist(path[i - 1], path[i])
            doubled = doubled or ((path[i - 1][0] + path[i][0]) / 2, (path[i - 1][1] + path[i][1]) / 2)
            if len(piece) > 1:
                yield piece
            piece = [path[i]]
        if len(piece) > 1:
            yield piece
        if doubled:
            troubles.append(
                Trouble("doubled", f"{twice:.3f} mm of line at {place(doubled)} is drawn twice; once is used.", doubled)
            )


def _meeting(pieces: list[list[Point]], troubles: list[Trouble]) -> tuple[dict[End, End], set[End]]:
    """Return which end goes on in which other, where exactly two meet on the same spot, and the ends where more do."""
    spots: dict[Cell, list[End]] = defaultdict(list)
    for i, piece in enumerate(pieces):
        for end in (0, -1):
            spots[cell(piece[end])].append((i, end))
    mates: dict[End, End] = {}
    stuck: set[End] = set()
    for ends in spots.values():
        if len(ends) == 2:
            _mate(ends[0], ends[1], mates)
        elif len(ends) > 2:
            i, end = ends[0]
            at = pieces[i][end]
            troubles.append(
                Trouble("junction", f"{len(ends)} lines meet at {place(at)}; only two can belong together.", at)
            )
            stuck.update(ends)
            _close_alone(ends, mates)
    return mates, stuck


def _close_alone(ends: list[End], mates: dict[End, End]) -> None:
    """Let a path that begins and ends in the same junction be the loop that it is by itself."""
    for i, end in ends:
        if end == 0 and (i, -1) in ends:
            _mate((i, 0), (i, -1), mates)


def _mate_near(loose: list[End], pieces: list[list[Point]], mates: dict[End, End], tolerance: float) -> None:
    """Join loose ends within the tolerance, the nearest first; a speck of a chain is not closed upon itself."""
    crowd = _Chains(pieces, mates)
    for _, one, other in sorted(_near(loose, pieces, tolerance)):
        if one in mates or other in mates:
            continue
        if crowd.same(one[0], other[0]) and crowd.length(one[0]) <= 4 * tolerance:
            continue
        _mate(one, other, mates)
        crowd.merge(one[0], other[0])


def _near(loose: list[End], pieces: list[list[Point]], tolerance: float) -> Iterator[tuple[float, End, End]]:
    """Yield the pairs of loose ends within the tolerance, with their distance."""
    size = max(tolerance, SAME)
    grid: dict[Cell, list[End]] = defaultdict(list)
    for one in loose:
        at = pieces[one[0]][one[1]]
        column, row = cell(at, size)
        for other in (
            other for dx in (-1, 0, 1) for dy in (-1, 0, 1) for other in grid.get((column + dx, row + dy), ())
        ):
            apart = math.dist(at, pieces[other[0]][other[1]])
            if apart <= tolerance:
                yield apart, other, one
        grid[column, row].append(one)


def _mate(one: End, other: End, mates: dict[End, End]) -> None:
    mates[one], mates[other] = other, one


class _Chains:
    """Which pieces hang together already, and how long they are together (union by halving of paths)."""

    def __init__(self, pieces: list[list[Point]], mates: dict[End, End]) -> None:
        self.root = list(range(len(pieces)))
        self.long = [sum(map(math.dist, piece, piece[1:])) for piece in pieces]
        for (i, _), (j, _) in mates.items():
            self.merge(i, j)

    def find(self, i: int) -> int:
        while self.root[i] != i:
            self.root[i] = self.root[self.root[i]]
            i = self.root[i]
        return i

    def merge(self, i: int, j: int) -> None:
        i, j = self.find(i), self.find(j)
        if i != j:
            self.root[j] = i
            self.long[i] += self.long[j]

    def same(self, i: int, j: int) -> bool:
        return self.find(i) == self.find(j)

    def length(self, i: int) -> float:
        return self.long[self.find(i)]


def _walk(start: End, pieces: list[list[Point]], mates: dict[End, End], seen: set[int]) -> tuple[list[Point], bool]:
    """Return the points from one end on through all that is joined to it, and whether they come back to it."""
    points: list[Point] = []
    i, entry = start
    while True:
        seen.add(i)
        piece = pieces[i] if entry == 0 else pieces[i][::-1]
        if points:
            points[-1] = _middle(points[-1], piece[0])
            points += piece[1:]
        else:
            points = list(piece)
        leaving = (i, -1 - entry)
        if leaving not in mates:
            return points, False
        i, entry = mates[leaving]
        if (i, entry) == start:
            points[0] = _middle(points[0], points.pop())
            return points, True


def _middle(one: Point, other: Point) -> Point:
    return ((one[0] + other[0]) / 2, (one[1] + other[1]) / 2)
