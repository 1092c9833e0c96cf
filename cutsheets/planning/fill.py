"""Filling one core: the best-looking group of like blanks into a corner, then the three boxes that are left.

A group is nx × ny × nz blanks of one size in one lie. Groups are ranked by the foam they use less the foam that no sum
of blank lengths can reach beside them; the order of the three cuts that free a group is the one whose leftovers lose
least. Randomness (weights for large blanks, noise) makes every fill another one.
"""

from __future__ import annotations

from bisect import bisect_right
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from random import Random
from typing import NamedTuple

from cutsheets.planning.layout import FREE, Job, Layout, resized
from cutsheets.solids import Triple
from cutsheets.stock import volume

ORDERS = ((0, 1, 2), (0, 2, 1), (1, 0, 2), (1, 2, 0), (2, 0, 1), (2, 1, 0))
MOST_REACHED = 4_000  # sums of blank lengths that are kept for one axis
LOOKED_AT = 5  # groups whose cut orders are compared
LOSS_WEIGHT = 0.2  # of the leftovers against the rank of the group; found by trial
LARGE_OFFCUT = 0.05  # how much one large leftover is better than several small ones; found by trial
DEEPEST = 100  # boxes filled one inside the other; what is left then stays free
Sides = Sequence[Sequence[int]]


@dataclass(frozen=True, slots=True)
class Taste:
    """How a fill chooses: noise on the ranks, the extra weight of large blanks, how much unreachable foam counts.

    `most`: like blanks beside each other along one axis in a group, at most.
    """

    noise: float = 0.0
    large: float = 0.0
    loss: float = 1.0
    most: int = 1_000_000


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
        self[length] = used = self.sums[bisect_right(self.sums, length) - 1]
        return used

    def _sums(self, job: Job, axis: int) -> list[int]:
        longest = max((source.core[axis] for source in job.sources), default=0)
        lies = [size for n in job.numbers for _, size in job.lies[n]]
        lengths = sorted({size[axis] for size in lies if any(job.fits_in(size, s.core) for s in job.sources)})
        sums = {0}
        front = [0]
        while front and len(sums) < MOST_REACHED:
            front = sorted({s + length for s in front for length in lengths if s + length <= longest} - sums)
            front = front[: MOST_REACHED - len(sums)]
            sums.update(front)
        return sorted(sums)


class Grounds:
    """What all fills of one grade share."""

    def __init__(self, job: Job, rng: Random) -> None:
        self.job, self.rng = job, rng
        self.reach = Reach(job, 0), Reach(job, 1), Reach(job, 2)


class Filler:
    """One fill of one core with one taste; `demand` loses what the fill gives. What is late stays unfinished."""

    def __init__(self, grounds: Grounds, demand: Counter[int], taste: Taste, late: Callable[[], bool]) -> None:
        self.job, self.rng, self.reach = grounds.job, grounds.rng, grounds.reach
        self.demand, self.taste, self.late = demand, taste, late

    def fill(self, box: Triple, depth: int = 0) -> Layout:
        """Return a layout of a grown box. O(groups × blank types × lies × counts)."""
        if min(box) <= self.job.kerf or depth >= DEEPEST or self.late():
            return FREE
        groups = self._groups(box)
        if not groups:
            return FREE
        choices = [(*self._best_order(box, group), group) for group in groups]
        _, order, group = max(choices, key=lambda choice: choice[0])
        self.demand[group.number] -= group.counts[0] * group.counts[1] * group.counts[2]
        return self._freed(box, group, order, depth + 1)

    def _groups(self, box: Triple) -> list[Group]:
        """Return the best-ranked groups that fit."""
        found: list[Group] = []
        for number in self.job.numbers:
            left = self.demand[number]
            if left <= 0:
                continue
            weight = self.job.volumes[number] ** self.taste.large * (1 + self.taste.noise * self.rng.random())
            for lie, blank in self.job.lies[number]:
                most = (self._most(blank[0], box[0]), self._most(blank[1], box[1]), self._most(blank[2], box[2]))
                if min(most) > 0:
                    found += [
                        Group(weight * self._rank(box, number, blank, counts), number, lie, blank, counts)
                        for counts in _counts(most, left)
                    ]
        found.sort(key=lambda group: -group.rank)
        return found[:LOOKED_AT]

    def _most(self, side: int, room: int) -> int:
        """Return how many blanks fit in a row of a group."""
        count = min(room // side, self.taste.most)
        return count if self.job.fits(side * count, room) else count - 1

    def _rank(self, box: Triple, number: int, blank: Triple, counts: Triple) -> float:
        """Return the foam of a group less a share of what no row of blanks can use beside it."""
        (x, y, z), (in_x, in_y, in_z), (on_x, on_y, on_z) = box, counts, self.reach
        rest_x, rest_y, rest_z = x - blank[0] * in_x, y - blank[1] * in_y, z - blank[2] * in_z
        beside = (rest_x - on_x[rest_x]) * y * z + (rest_y - on_y[rest_y]) * x * z + (rest_z - on_z[rest_z]) * x * y
        return self.job.volumes[number] * in_x * in_y * in_z - self.taste.loss * beside / 3

    def _best_order(self, box: Triple, group: Group) -> tuple[float, tuple[int, int, int]]:
        """Return the rank of a group with the order of cuts that loses least foam, and that order."""
        size = group.size
        rest = [whole - part for whole, part in zip(box, size, strict=True)]
        use = [tuple(on[side] for on, side in zip(self.reach, sides, strict=True)) for sides in (box, size, rest)]
        loss, order = min((_loss((box, size, rest), use, order), order) for order in ORDERS)
        return group.rank - loss * LOSS_WEIGHT, order

    def _freed(self, box: Triple, group: Group, order: tuple[int, ...], depth: int) -> Layout:
        """Return the cuts that free a group, its own cuts, and what fills the three leftovers, the largest first."""
        size, room = group.size, box
        rooms: dict[int, Triple] = {}
        for axis in order:
            rooms[axis] = resized(room, axis, room[axis] - size[axis])
            room = resized(room, axis, size[axis])
        filled = {
            axis: self.fill(rooms[axis], depth) if rooms[axis][axis] > self.job.kerf else None
            for axis in sorted(order, key=lambda axis: -volume(rooms[axis]))
        }
        inner_first = tuple(reversed(order))
        layout = _blanks(group, inner_first)
        for axis in inner_first:
            if rooms[axis][axis] > 0:
                layout = ("cut", axis, size[axis], layout, filled[axis])
        return layout


def _loss(sides: Sides, use: Sides, order: tuple[int, int, int]) -> float:
    """Return the foam of the three leftovers that no blank can use, less a share for large ones, worth keeping.

    `sides`: the box, the group, the rest; `use`: how much of each side blanks can use. The first cut goes right across.
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
    large = (first * first + second * second + third * third) / volume(box)
    return first + second + third - usable - LARGE_OFFCUT * large


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


def _blanks(group: Group, axes: tuple[int, ...]) -> Layout:
    """Return the cuts that part a group into its blanks, rows last."""
    layout: Layout = ("blank", group.number, group.lie)
    for axis in axes:
        one = layout
        for _ in range(group.counts[axis] - 1):
            layout = ("cut", axis, group.blank[axis], one, layout)
    return layout
