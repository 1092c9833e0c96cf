"""Fewer cuts: as many blanks of a plan as a number of cuts allows.

Any part of a layout may be left in one piece instead of being cut further. Which parts those are is a knapsack over the
tree of its cuts, and over all opened pieces: for each number of cuts, the most blanks. Where there would be too many
choices some of them are passed over, evenly.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from typing import Any

from cutsheets.planning.hand import Order
from cutsheets.planning.layout import FREE, ORDERS, Job, Layout, Opened, Source
from cutsheets.planning.trims import WASTE
from cutsheets.solids import Triple
from cutsheets.stock import resized

Choice = tuple[int, int, Any]  # cuts, what the blanks are worth, what is chosen
Pieces = list[Opened]
NOTHING: Choice = (0, 0, None)
MOST, LEAST, ALL = 100, 10, 3_000  # choices for one piece of foam at most and at least, and for all of them about


def within(plans: Sequence[tuple[Job, list[Pieces]]], most: int) -> list[Pieces]:
    """Return for each job the pieces of one of its plans, less the blanks that take too many cuts: most blanks stay.

    O(pieces × choices²).
    """
    pieces = [piece for _, ways in plans for way in ways for piece in way]
    keep = max(LEAST, min(MOST, ALL // max(1, len(pieces))))
    whole = 1 + sum(piece.blank_volume for piece in pieces)  # a blank more is worth more than any foam
    choices = [NOTHING]
    for job, ways in plans:
        worths = {n: whole + job.volumes[n] for n in job.numbers}
        of_job = _best((c for way in ways for c in _of_plan(job, way, worths, most, keep)), MOST * LEAST)
        choices = _best(_joined(choices, of_job, most), MOST * LEAST)
    kept: list[Pieces] = []
    chosen = choices[-1][2]
    for _ in plans:
        chosen, pieces_of_job = chosen
        kept.insert(0, _unwound(pieces_of_job))
    return kept


def _of_plan(job: Job, pieces: Pieces, worths: dict[int, int], most: int, keep: int) -> list[Choice]:
    choices = [NOTHING]
    for piece in pieces:
        own = [NOTHING, *_of_piece(job, piece, worths, keep)]
        choices = _best(_joined(choices, own, most), MOST * LEAST)
    return choices


def _joined(some: list[Choice], others: list[Choice], most: int) -> Iterator[Choice]:
    """Yield each of some choices with each of others, what is chosen as a pair, where they are within the cuts."""
    for a, v, one in some:
        for b, w, two in others:
            if a + b > most:
                break  # fewest cuts come first
            yield a + b, v + w, (one, two)


def _unwound(chosen: Any) -> Pieces:
    """Return the pieces in a chain of pairs."""
    pieces = []
    while chosen is not None:
        chosen, piece = chosen
        if piece is not None:
            pieces.append(piece)
    return pieces[::-1]


def lean(job: Job, demand: Counter[int]) -> Pieces:
    """Return pieces that give each size in slabs, strips and blanks of its own, those with fewest cuts first.

    O(blank types × kinds of foam), again for every piece of which there are only so many.
    """
    pieces: Pieces = []
    used: Counter[str] = Counter()
    left = +demand
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
        pieces += [best] * times
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
    if not ways:
        return None
    _, order, lie, size, most = min(ways)
    piece = job.opened(source, _grid(job, ("blank", number, lie), size, (source.core, order), most))
    return piece if piece.sound else None


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


def _of_piece(job: Job, piece: Opened, worths: dict[int, int], keep: int) -> list[Choice]:
    """Return what a piece can give with fewer cuts; a remnant with skin may be given up for the cuts it takes."""
    found: list[Choice] = []
    for _, worth, layout in _fewer(piece.layout, worths, keep):
        ways = [layout, _without_remnants(layout)] if worth and piece.source.trims else [layout] if worth else []
        tried = [job.opened(piece.source, way) for way in ways]
        found += [(one.cuts, worth, one) for one in tried if one.sound]
    return _best(found, keep)


def _fewer(layout: Layout, worths: dict[int, int], keep: int) -> list[Choice]:
    """Return layouts with fewer and fewer parts cut further."""
    row: list[Layout] = []  # a row may be longer than calls can be nested
    rest: Layout | None = layout
    while rest is not None and rest[0] == "cut":
        row.append(rest)
        rest = rest[4]
    choices: list[Choice] = [(0, worths[rest[1]] if rest is not None and rest[0] == "blank" else 0, rest)]
    for _, axis, at, lo, _ in reversed(row):
        lows = _fewer(lo, worths, keep)
        cut = [
            (a + b + 1, v + w, ("cut", axis, at, low, high))
            for a, v, low in lows for b, w, high in choices if v + w
        ]  # fmt: skip
        choices = _best([(0, 0, FREE), *cut], keep)
    return choices


def _best(choices: Iterable[Choice], keep: int) -> list[Choice]:
    """Return the choices that no other one beats, fewest cuts first; some of them where there are more than `keep`."""
    found: list[Choice] = []
    for choice in sorted(choices, key=lambda each: (each[0], -each[1])):
        if not found or choice[1] > found[-1][1]:
            found.append(choice)
    if len(found) <= keep:
        return found
    return [found[n * (len(found) - 1) // (keep - 1)] for n in range(keep)]


def _without_remnants(layout: Layout) -> Layout:
    """Return a layout of which nothing is kept."""
    row: list[tuple[int, int, Layout]] = []
    rest: Layout | None = layout
    while rest is not None and rest[0] == "cut":
        _, axis, at, lo, rest = rest
        row.append((axis, at, _without_remnants(lo)))
    node = WASTE if rest == FREE else rest
    for axis, at, lo in reversed(row):
        node = ("cut", axis, at, lo, node)
    return node or WASTE
