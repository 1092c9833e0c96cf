"""Grids: foam cut into slabs, these into strips, these into blanks of one size. Few cuts, few changes of direction.

Where limits are tight nothing better may be allowed; else it is where to begin.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

from cutsheets.planning.hand import Order
from cutsheets.planning.layout import FREE, ORDERS, Job, Layout, Opened, Source
from cutsheets.solids import Triple
from cutsheets.stock import resized


def grids(job: Job, demand: Counter[int], used: Counter[str]) -> list[Opened]:
    """Return pieces that each give one size; those with fewest cuts for a blank are opened first.

    `used`: how much foam of each name others have opened. What no foam within the limits is left for is not given.

    O(blank types × kinds of foam), again for every piece of which there are only so many.
    """
    pieces: list[Opened] = []
    used, left = Counter(used), +demand
    tried: dict[tuple[int, str], Opened | None] = {}
    while left:
        for source in job.sources:
            for number in left:
                if source.limit is not None and used[source.name] >= source.limit:
                    tried[number, source.name] = None
                elif (number, source.name) not in tried:
                    tried[number, source.name] = _of_one_size(job, source, number, left[number])
        best = min((tried[n, s.name] for n in left for s in job.sources), key=_leanness, default=None)
        if best is None:
            break
        ((number, count),) = best.gives
        times = 1 if best.source.limit is not None else left[number] // count
        pieces += [replace(best) for _ in range(times)]  # two pieces are never the same one
        used[best.source.name] += times
        left[number] -= count * times
        tried = {key: piece for key, piece in tried.items() if key[0] != number}
        left = +left
    return pieces


def _leanness(piece: Opened | None) -> tuple[float, float]:
    """Return the cuts for each blank, and then the price."""
    if piece is None:
        return float("inf"), 0.0
    return piece.cuts / sum(count for _, count in piece.gives), piece.cost


def _of_one_size(job: Job, source: Source, number: int, count: int) -> Opened | None:
    """Return some foam cut into like blanks, as many as it holds, the way with fewest cuts; None: it cannot be."""
    ways = []
    for lie, size in job.lies[number] if job.may_give(source, number) else []:
        a, b, c = (_in_a_row(job, side, room) for side, room in zip(size, source.core, strict=True))
        most = min(count, a * b * c)
        ways += [
            (_grid_cuts(size, source, order, most) / most, order, lie, size, most)
            for order in ORDERS if most and job.limits.frees(source.above, source.core, size, order)
        ]  # fmt: skip
    tried = (
        job.opened(source, _grid(job, ("blank", number, lie), size, (source.core, order), most))
        for _, order, lie, size, most in sorted(ways)
    )
    return next((piece for piece in tried if job.keeps(piece)), None)


def _grid_cuts(size: Triple, source: Source, order: Order, count: int) -> int:
    """Return the cuts for so many blanks out of slabs and strips, those that take the skin off among them."""
    cuts = 0
    for axis in reversed(order):
        in_a_row = source.core[axis] // size[axis]
        rows = -(-count // in_a_row)
        exact = in_a_row * size[axis] == source.core[axis] and not source.high[axis]
        cuts += count + rows * bool(source.low[axis]) - exact * (count // in_a_row)
        count = rows
    return cuts


def _in_a_row(job: Job, side: int, room: int) -> int:
    count = room // side
    return count if not count or job.fits(count * side, room) else count - 1


def _grid(job: Job, blank: Layout, size: Triple, box: tuple[Triple, Order], count: int) -> Layout:
    """Return so many blanks cut out of a box along its axes in turn: slabs, strips, blanks."""
    room, order = box
    if not order:
        return blank
    axis, inside = order[0], order[1:]
    each = 1
    for other in inside:
        each *= _in_a_row(job, size[other], room[other])
    part = resized(room, axis, size[axis])
    full, rest = divmod(count, each)
    lows = [_grid(job, blank, size, (part, inside), each)] * full if full else []
    lows += [_grid(job, blank, size, (part, inside), rest)] if rest else []
    beyond = room[axis] - size[axis] * len(lows)
    layout: Layout | None = FREE if beyond > job.kerf else None
    for number, low in enumerate(reversed(lows)):
        layout = ("cut", axis, size[axis], low, layout) if beyond or number else low
    return layout or FREE
