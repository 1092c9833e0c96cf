"""Filling one core: the best-looking group of like blanks into a corner, then the three boxes that are left.

A group is nx × ny × nz blanks of one size in one lie. Groups are ranked by the foam they use less the foam that no sum
of blank lengths can reach beside them; the order of the three cuts that free a group is the one whose leftovers lose
least. A bar, no wider and no higher than its blanks, may be filled one by one: rows of like blanks seldom use up its
length as well as different ones do. Randomness (weights for large blanks, noise) makes every fill another one.
"""

from __future__ import annotations

from bisect import bisect_right
from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import accumulate
from random import Random
from typing import NamedTuple

import numpy as np

from cutsheets.planning.hand import START, Hand, Order
from cutsheets.planning.layout import FREE, ORDERS, Job, Layout, Source, joined
from cutsheets.solids import Triple
from cutsheets.stock import resized, volume

MOST_REACHED = 4_000  # sums of blank lengths that are kept for one axis
MOST_KEPT = 40_000  # answers that are kept for the next fill: flat memory
LOOKED_AT = 5  # groups whose cut orders are compared
LOSS_WEIGHT = 0.2  # of the leftovers against the rank of the group; found by trial
LARGE_OFFCUT = 0.05  # how much one large leftover is better than several small ones; found by trial
SINGLE = 20  # blanks of a size that a bar has room for, at most, to place them one by one; short ones lose little
DEEPEST = 100  # boxes filled one inside the other; what is left then stays free
ONE = (1, 1, 1)
Sides = Sequence[Sequence[int]]


@dataclass(frozen=True, slots=True)
class Taste:
    """How a fill chooses: noise on the ranks, the extra weight of large blanks, how much unreachable foam counts.

    `singly`: bars are filled one by one and not by rows; `worths`: what blanks weigh, if not by `large`.
    """

    noise: float = 0.0
    large: float = 0.0
    loss: float = 1.0
    singly: bool = False
    worths: Mapping[int, float] | None = None


class Group(NamedTuple):
    rank: float
    number: int
    lie: str
    blank: Triple
    counts: Triple

    @property
    def size(self) -> Triple:
        a, b, c = self.blank
        x, y, z = self.counts
        return a * x, b * y, c * z


class Reach(dict[int, int]):
    """How much of a length a row of blanks along one axis can use at most; an answer is kept for the next time."""

    def __init__(self, job: Job, axis: int) -> None:
        self.sums = self._sums(job, axis)

    def __missing__(self, length: int) -> int:
        used = self.sums[bisect_right(self.sums, length) - 1]
        if len(self) < MOST_KEPT:
            self[length] = used
        return used

    def _sums(self, job: Job, axis: int) -> list[int]:
        longest = max((source.core[axis] for source in job.sources), default=0)
        lies = [size for n in job.numbers for _, size in job.lies[n]]
        lengths = sorted({size[axis] for size in lies if any(job.fits_in(size, s.core) for s in job.sources)})
        sums, front = {0}, [0]

        def longer(front: list[int], most: int) -> list[int]:
            """Return the sums not known yet that are one length longer than some."""
            return sorted({s + long for s in front for long in lengths[: bisect_right(lengths, most - s)]} - sums)

        while front and len(sums) < MOST_REACHED:
            wanted = MOST_REACHED - len(sums)
            most = min([longest, *longer(front[:8], longest)[wanted - 1 : wanted]])  # no longer one will be kept
            front = longer(front, most)[:wanted]
            sums.update(front)
        return sorted(sums)


class Grounds:
    """What all fills of one grade share, with the answers that fills ask for again and again."""

    def __init__(self, job: Job, rng: Random) -> None:
        self.job, self.rng = job, rng
        self.boxes = 0  # filled so far: the work that was done, on any machine
        self.reach = Reach(job, 0), Reach(job, 1), Reach(job, 2)
        self.unit = max((volume(source.core) for source in job.sources), default=1)
        self.numbers = job.numbers
        self.sizes = np.array([size for number in job.numbers for _, size in job.lies[number]]).reshape(-1, 3)
        self.starts = [0, *accumulate(len(job.lies[number]) for number in job.numbers)][:-1]
        self.limited = job.limits.any
        self.barred = {
            source.name: frozenset(n for n in job.numbers if not job.may_give(source, n)) for source in job.sources
        }
        self.holds = lru_cache(MOST_KEPT)(job.holds)
        self.fitting = lru_cache(MOST_KEPT)(self._fitting)
        self.groups = lru_cache(MOST_KEPT)(self._groups)
        self.order = lru_cache(MOST_KEPT)(self._order)
        self.weights = lru_cache(None)(self._weights)

    def _weights(self, large: float) -> dict[int, float]:
        return {n: (self.job.volumes[n] / self.unit) ** large for n in self.job.numbers}

    def _fitting(self, box: Triple) -> list[tuple[int, int]]:
        """Return the numbers of the blanks that fit a box, each with the most of them that one group can hold."""
        counts = np.array(box) // self.sizes
        most = np.maximum.reduceat(counts.prod(axis=1), self.starts)
        (fitting,) = most.nonzero()
        return [(self.numbers[n], int(most[n])) for n in fitting]

    def _most(self, blank: Triple, box: Triple, singly: bool) -> Triple:
        """Return how many blanks may be in a row of a group along x, y, z."""
        counts = box[0] // blank[0], box[1] // blank[1], box[2] // blank[2]
        if not self.job.shave:
            fits = self.job.fits
            p, q, r = (c if fits(s * c, room) else c - 1 for c, s, room in zip(counts, blank, box, strict=True))
            counts = p, q, r
        if min(counts) < 1:
            return 0, 0, 0
        return ONE if singly and max(counts) <= SINGLE and self._is_bar(box, blank, counts) else counts

    def _is_bar(self, box: Triple, blank: Triple, counts: Triple) -> bool:
        """Return whether blanks stand in one row and nothing has room beside them."""
        rows = zip(self.reach, box, blank, counts, strict=True)
        return sum(count > 1 or on[room - size] > 0 for on, room, size, count in rows) <= 1

    def _groups(self, box: Triple, number: int, left: int, loss: float, singly: bool) -> list[Group]:
        """Return the best-ranked groups of one size that fit."""
        found = [
            Group(self._rank(box, number, blank, counts, loss), number, lie, blank, counts)
            for lie, blank in self.job.lies[number]
            for counts in _counts(self._most(blank, box, singly), left)
        ]
        found.sort(key=lambda group: -group.rank)
        return found[:LOOKED_AT]

    def _rank(self, box: Triple, number: int, blank: Triple, counts: Triple, loss: float) -> float:
        """Return the foam of a group less a share of what no row of blanks can use beside it."""
        (x, y, z), (in_x, in_y, in_z), (on_x, on_y, on_z) = box, counts, self.reach
        rest_x, rest_y, rest_z = x - blank[0] * in_x, y - blank[1] * in_y, z - blank[2] * in_z
        beside = (rest_x - on_x[rest_x]) * y * z + (rest_y - on_y[rest_y]) * x * z + (rest_z - on_z[rest_z]) * x * y
        return self.job.volumes[number] * in_x * in_y * in_z / self.unit - loss * (beside / self.unit) / 3

    def _order(self, box: Triple, size: Triple, counts: Triple, above: Hand) -> tuple[float, Order] | None:
        """Return the order of cuts that frees a group and loses least foam, and that loss; None: no order may be."""
        rest = [whole - part for whole, part in zip(box, size, strict=True)]
        use = [tuple(on[side] for on, side in zip(self.reach, sides, strict=True)) for sides in (box, size, rest)]
        frees = self.job.limits.frees
        orders = [order for order in ORDERS if not self.limited or frees(above, box, size, order, counts)]
        return min(((_loss((box, size, rest), use, order, self.unit), order) for order in orders), default=None)


class Filler:
    """Fills boxes with one taste; `demand` loses what the fills give. What is late stays unfinished."""

    def __init__(self, grounds: Grounds, demand: Counter[int], taste: Taste, late: Callable[[], bool]) -> None:
        self.job, self.rng, self.grounds, self.limits = grounds.job, grounds.rng, grounds, grounds.job.limits
        self.demand, self.taste, self.late = demand, taste, late
        self.weights = grounds.weights(taste.large) if taste.worths is None else taste.worths
        self.barred: frozenset[int] = frozenset()

    def fill(self, source: Source, box: Triple | None = None, above: Hand | None = None) -> Layout:
        """Return a layout of a grown box inside some foam, or of its whole core."""
        self.barred = self.grounds.barred.get(source.name, frozenset())
        return self._filled(box or source.core, above or source.above, 0)

    def _filled(self, box: Triple, above: Hand, depth: int) -> Layout:
        """Return a layout of a box. O(groups × blank types × lies × counts)."""
        if min(box) <= self.job.kerf or depth >= DEEPEST or self.late():
            return FREE
        self.grounds.boxes += 1
        if self.limits.saw is not None and any(self.limits.reaches(above, box, axis) is None for axis in range(3)):
            parted = self._parted(box, above, depth)
            if parted != FREE:
                return parted
        choices = []
        for rank, group in self._groups(box):
            found = self._order(box, group, above)
            if found is not None:
                loss, order = found
                choices.append((rank - loss * LOSS_WEIGHT, order, group))
        if not choices:
            return FREE
        _, order, group = max(choices, key=lambda choice: choice[0])
        self.demand[group.number] -= volume(group.counts)
        return self._freed(box, group, order, above, depth + 1)

    def _order(self, box: Triple, group: Group, above: Hand) -> tuple[float, Order] | None:
        if not self.grounds.limited:
            return self.grounds.order(box, group.size, ONE, START)
        return self.grounds.order(box, group.size, group.counts, above)

    def _parted(self, box: Triple, above: Hand, depth: int) -> Layout:
        """Return a box that the saw cannot cut every way, cut where it can and as large as it can cut further."""
        cuts = {
            (axis, self.grounds.reach[axis][min(limit + self.job.kerf, box[axis])])
            for limit in self.limits.saw or () for axis in range(3)
            if limit and any(self.demand[number] > 0 for number, _ in self.grounds.fitting(box))
        }  # fmt: skip
        sound = sorted((axis, at) for axis, at in cuts if 0 < at < box[axis] and self.job.fits(at, box[axis]))
        for axis, at in self.rng.sample(sound, len(sound)):
            below = self.limits.cut(above, box, axis)
            if below is not None:
                part, rest = resized(box, axis, at), resized(box, axis, box[axis] - at)
                low = self._filled(part, self.limits.settled(below, part), depth + 1)
                high = None
                if rest[axis] > self.job.kerf:
                    high = self._filled(rest, self.limits.settled(below, rest), depth + 1)
                layout = joined(axis, at, low, high)
                if layout != FREE:
                    return layout
        return FREE

    def _groups(self, box: Triple) -> list[tuple[float, Group]]:
        """Return the best-ranked groups that fit, each with its rank after taste."""
        found: list[tuple[float, Group]] = []
        for most, number, count, weight in self._fitting(box):
            if len(found) == LOOKED_AT and most <= found[-1][0]:
                break
            groups = self.grounds.groups(box, number, count, self.taste.loss, self.taste.singly)
            found += [(weight * group.rank, group) for group in groups]
            found.sort(key=lambda each: -each[0])
            del found[LOOKED_AT:]
        return found

    def _fitting(self, box: Triple) -> list[tuple[float, int, int, float]]:
        """Return each size that fits with the rank that none of its groups exceeds, the highest first.

        Each is that rank, the number of the blank, how many there may be in a group, and its weight after taste.
        """
        found = []
        demand, chance, noise, unit = self.demand, self.rng.random, self.taste.noise, self.grounds.unit
        for number, most in self.grounds.fitting(box):
            left = demand[number]
            if left > 0 and number not in self.barred:
                weight, count = self.weights[number] * (1 + noise * chance()), min(left, most)
                found.append((weight * (self.job.volumes[number] * count / unit), number, count, weight))
        found.sort(key=lambda each: -each[0])
        return found

    def _freed(self, box: Triple, group: Group, order: Order, above: Hand, depth: int) -> Layout:
        """Return the cuts that free a group, its own cuts, and what fills the three leftovers, the largest first."""
        size, room = group.size, box
        rooms: dict[int, tuple[Triple, Hand]] = {}
        for axis in order:
            beyond = resized(room, axis, room[axis] - size[axis])
            if self.grounds.limited and beyond[axis]:
                above = self.limits.cut(above, room, axis) or above  # the order was chosen among those that may be
            rooms[axis] = beyond, self.limits.settled(above, beyond)
            room = resized(room, axis, size[axis])
            above = self.limits.settled(above, room)
        filled = {
            axis: self._filled(*rooms[axis], depth) if rooms[axis][0][axis] > self.job.kerf else None
            for axis in sorted(order, key=lambda axis: -volume(rooms[axis][0]))
        }
        layout = _blanks(group, order)
        for axis in reversed(order):
            if rooms[axis][0][axis] > 0:
                layout = ("cut", axis, size[axis], layout, filled[axis])
        return layout


def _loss(sides: Sides, use: Sides, order: Order, unit: int) -> float:
    """Return the foam of the three leftovers that no blank can use, less a share for large ones, worth keeping.

    `sides`: the box, the group, the rest; `use`: how much of each side blanks can use. The first cut goes right across.
    In units of foam, as ranks are: the quotients are the same ones whatever the lengths are measured in.
    """
    one, two, three = order
    (box, size, rest), (use_box, use_size, use_rest) = sides, use
    first = rest[one] * box[two] * box[three]
    second = size[one] * rest[two] * box[three]
    third = size[one] * size[two] * rest[three]
    usable = (
        use_rest[one] * use_box[two] * use_box[three]
        + use_size[one] * use_rest[two] * use_box[three]
        + use_size[one] * use_size[two] * use_rest[three]
    )
    large = (first * first + second * second + third * third) / (volume(box) * unit)
    return (first + second + third - usable) / unit - LARGE_OFFCUT * large


@lru_cache(maxsize=50_000)
def _counts(most: Triple, left: int) -> list[Triple]:
    """Return the counts along x, y, z that cannot grow in z: fewer rows and layers are tried, fewer in a row never."""
    found = []
    for x in range(1, min(most[0], left) + 1):
        for y in range(1, min(most[1], left // x) + 1):
            z = min(most[2], left // (x * y))
            if x == most[0] or (x + 1) * y * z > left:
                found.append((x, y, z))
    return found


def _blanks(group: Group, axes: Order) -> Layout:
    """Return the cuts that part a group into its blanks; the cuts along the last axis come first."""
    layout: Layout = ("blank", group.number, group.lie)
    for axis in axes:
        one = layout
        for _ in range(group.counts[axis] - 1):
            layout = ("cut", axis, group.blank[axis], one, layout)
    return layout
