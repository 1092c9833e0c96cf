"""The plain planner: first fit decreasing onto shelves. Every better plan stands beside this one.

Blanks, longest first, go onto the first shelf with room: a row along x, rows side by side along y in a layer, layers
along z in a piece. A blank that fits no shelf opens a new row, layer or piece, remnants before blocks.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field

from cutsheets.planning.layout import FREE, Job, Layout, Opened, Source
from cutsheets.solids import Triple


@dataclass
class Strip:
    """Things side by side along one axis: blanks in a row, rows in a layer, layers in a piece."""

    axis: int
    box: Triple
    inside: list[tuple[Triple, Strip | Layout]] = field(default_factory=list)

    def room(self) -> int:
        return self.box[self.axis] - sum(size[self.axis] for size, _ in self.inside)

    def takes(self, job: Job, size: Triple) -> bool:
        rest = tuple(self.room() if axis == self.axis else side for axis, side in enumerate(self.box))
        return job.fits_in(size, (rest[0], rest[1], rest[2]))

    def layout(self, job: Job) -> Layout:
        """Return the cuts that part the strip, first thing first."""
        layout, rest = (FREE if self.room() > job.kerf else None), self.room()
        for size, thing in reversed(self.inside):
            low = thing.layout(job) if isinstance(thing, Strip) else thing
            box = tuple(size[axis] if axis == self.axis else side for axis, side in enumerate(self.box))
            if not isinstance(thing, Strip):
                low = _squared(job, low, size, (box[0], box[1], box[2]))
            layout = ("cut", self.axis, size[self.axis], low, layout) if rest > 0 else low
            rest += size[self.axis]
        return layout or FREE


def shelves(job: Job) -> tuple[list[Opened], Counter[int]]:
    """Return the opened pieces and the blanks for which there was no foam. O(blanks × shelves)."""
    pieces: list[tuple[Source, Strip]] = []
    left: Counter[int] = Counter()
    stock: Counter[str] = Counter()
    for number in sorted(job.numbers, key=lambda n: (-max(job.lies[n][0][1]), -job.volumes[n], n)):
        for _ in range(job.demand[number]):
            if any(_put(job, piece, number) for _, piece in pieces):
                continue
            source = _next_source(job, stock, number)
            if source is None:
                left[number] += 1
                continue
            stock[source.name] += 1
            piece = Strip(2, source.core)
            _put(job, piece, number)
            pieces.append((source, piece))
    return [job.opened(source, piece.layout(job)) for source, piece in pieces], left


def _next_source(job: Job, stock: Counter[str], number: int) -> Source | None:
    for source in job.sources:
        if source.limit is not None and stock[source.name] >= source.limit:
            continue
        if any(job.fits_in(size, source.core) for _, size in job.lies[number]):
            return source
    return None


def _put(job: Job, piece: Strip, number: int) -> bool:
    """Put a blank onto the first row with room, else a new row in the first layer, else a new layer."""
    for lie, size in job.lies[number]:
        blank = (size, ("blank", number, lie))
        for layer in _strips(piece):
            for row in _strips(layer):
                if row.takes(job, size):
                    row.inside.append(blank)
                    return True
            if layer.takes(job, size):
                layer.inside.append(_strip(0, size, layer.box, blank, 1))
                return True
    for lie, size in job.lies[number]:
        if piece.takes(job, size):
            layer_size, layer = _strip(1, size, piece.box, None, 2)
            layer.inside.append(_strip(0, size, layer.box, (size, ("blank", number, lie)), 1))
            piece.inside.append((layer_size, layer))
            return True
    return False


def _strip(
    axis: int, size: Triple, box: Triple, first: tuple[Triple, Layout] | None, across: int
) -> tuple[Triple, Strip]:
    """Return a new strip as thick as its first blank along `across`, as large as its parent otherwise."""
    sides = [size[a] if a == across else side for a, side in enumerate(box)]
    inner = (sides[0], sides[1], sides[2])
    return inner, Strip(axis, inner, [first] if first else [])


def _strips(strip: Strip) -> list[Strip]:
    return [thing for _, thing in strip.inside if isinstance(thing, Strip)]


def _squared(job: Job, blank: Layout, size: Triple, box: Triple) -> Layout:
    """Return the cuts that bring a blank out of a box that is higher or wider than it."""
    layout = blank
    for axis in range(3):
        if box[axis] > size[axis]:
            layout = ("cut", axis, size[axis], layout, FREE if box[axis] - size[axis] > job.kerf else None)
    return layout
