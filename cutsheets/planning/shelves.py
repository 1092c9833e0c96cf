"""The plain planner: first fit decreasing onto shelves. Every better plan stands beside this one.

Blanks, longest first, go onto the first shelf with room: a row along x, rows side by side along y in a layer, layers
along z in a piece. A blank that fits no shelf opens a new row, layer or piece, remnants before blocks.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, field

import numpy as np

from cutsheets.planning.layout import FREE, Job, Layout, Opened, Source, given
from cutsheets.solids import Triple
from cutsheets.stock import resized


class Rooms:
    """What is left in every strip, as columns of numbers: a day of many blanks looks at all of them at once."""

    def __init__(self) -> None:
        self.left = np.zeros((3, 64), np.int64)  # along x, y, z
        self.piece = np.zeros(64, np.int64)
        self.used = 0

    def add(self, piece: int) -> int:
        """Return the number of a new strip in a piece."""
        if self.used == len(self.piece):
            self.left, self.piece = np.tile(self.left, 2), np.tile(self.piece, 2)
        self.piece[self.used] = piece
        self.used += 1
        return self.used - 1

    def pieces(self, sizes: Iterable[Triple]) -> list[int]:
        """Return the pieces in which some strip may hold one of these sizes, the first one first."""
        x, y, z = self.left[:, : self.used]
        holding = np.zeros(self.used, bool)
        for along_x, along_y, along_z in sizes:
            holding |= (x >= along_x) & (y >= along_y) & (z >= along_z)
        return [int(piece) for piece in np.unique(self.piece[: self.used][holding])]


@dataclass
class Strip:
    """Things side by side along one axis: blanks in a row, rows in a layer, layers in a piece (of that number)."""

    axis: int
    box: Triple
    piece: int
    rooms: Rooms
    inside: list[tuple[Triple, Strip | Layout]] = field(default_factory=list)
    rest: Triple = field(init=False)  # the room beyond the last thing

    def __post_init__(self) -> None:
        self.number = self.rooms.add(self.piece)
        self._leave(self.box)

    def add(self, size: Triple, thing: Strip | Layout) -> None:
        self.inside.append((size, thing))
        self._leave(resized(self.rest, self.axis, self.rest[self.axis] - size[self.axis]))

    def _leave(self, rest: Triple) -> None:
        self.rest = self.rooms.left[:, self.number] = rest

    def layout(self, job: Job) -> Layout:
        """Return the cuts that part the strip, first thing first."""
        rest = self.rest[self.axis]
        layout = FREE if rest > job.kerf else None
        for size, thing in reversed(self.inside):
            box = resized(self.box, self.axis, size[self.axis])
            low = thing.layout(job) if isinstance(thing, Strip) else _squared(job, thing, size, box)
            layout = ("cut", self.axis, size[self.axis], low, layout) if rest > 0 else low
            rest += size[self.axis]
        return layout or FREE


def shelves(job: Job) -> tuple[list[Opened], Counter[int]]:
    """Return the opened pieces and the blanks for which there was no foam. O(blanks × shelves)."""
    pieces: list[tuple[Source, Strip]] = []
    rooms = Rooms()
    left: Counter[int] = Counter()
    stock: Counter[str] = Counter()
    for number in sorted(job.numbers, key=lambda n: (-max(job.lies[n][0][1]), -job.volumes[n])):
        may = {source.name for source in job.sources if job.holds(source, number)}
        todo = [piece for piece in rooms.pieces(size for _, size in job.lies[number]) if pieces[piece][0].name in may]
        todo.reverse()
        for _ in range(job.demand[number]):
            while todo and not _put(job, pieces[todo[-1]][1], number):
                todo.pop()  # the next blank like it need not look there
            if todo:
                continue
            source = _next_source(job, stock, may)
            if source is None:
                left[number] += 1
                continue
            stock[source.name] += 1
            todo.append(len(pieces))
            pieces.append((source, Strip(2, source.core, len(pieces), rooms)))
            _put(job, pieces[-1][1], number)
    opened = [job.opened(source, strip.layout(job)) for source, strip in pieces]
    kept = [one for one in opened if job.keeps(one)]
    return kept, left + given(opened) - given(kept)


def _next_source(job: Job, stock: Counter[str], may: set[str]) -> Source | None:
    for source in job.sources:
        if source.name in may and (source.limit is None or stock[source.name] < source.limit):
            return source
    return None


def _put(job: Job, piece: Strip, number: int) -> bool:
    """Put a blank onto the first row with room, else a new row in the first layer, else a new layer."""
    for lie, size in job.lies[number]:
        for layer in _strips(piece):
            for row in _strips(layer):
                if job.fits_in(size, row.rest):
                    row.add(size, ("blank", number, lie))
                    return True
            if job.fits_in(size, layer.rest):
                _new_strip(layer, 0, size).add(size, ("blank", number, lie))
                return True
    for lie, size in job.lies[number]:
        if job.fits_in(size, piece.rest):
            _new_strip(_new_strip(piece, 1, size), 0, size).add(size, ("blank", number, lie))
            return True
    return False


def _new_strip(parent: Strip, axis: int, size: Triple) -> Strip:
    """Return a new strip in a parent, as thick as its first blank and as large as the parent otherwise."""
    strip = Strip(axis, resized(parent.box, parent.axis, size[parent.axis]), parent.piece, parent.rooms)
    parent.add(strip.box, strip)
    return strip


def _strips(strip: Strip) -> list[Strip]:
    return [thing for _, thing in strip.inside if isinstance(thing, Strip)]


def _squared(job: Job, blank: Layout, size: Triple, box: Triple) -> Layout:
    """Return the cuts that bring a blank out of a box that is higher or wider than it."""
    layout = blank
    for axis in range(3):
        if box[axis] > size[axis]:
            layout = ("cut", axis, size[axis], layout, FREE if box[axis] - size[axis] > job.kerf else None)
    return layout
