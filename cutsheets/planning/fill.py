"""Filling one core: the best-looking group of like blanks into a corner, then the three boxes that are left.

A group is nx × ny × nz blanks of one size in one lie. Groups are ranked by the foam they use less the foam that no sum
of blank lengths can reach beside them; the order of the three cuts that free a group is the one whose leftovers lose
least. Randomness (weights for large blanks, noise) makes every fill another one.
"""

from __future__ import annotations

from bisect import bisect_right
from collections import Counter
from dataclasses import dataclass
from itertools import permutations
from random import Random

from cutsheets.planning.layout import FREE, Job, Layout, resized
from cutsheets.solids import Triple
from cutsheets.stock import volume

ORDERS = tuple(permutations(range(3)))
MOST_REACHED = 4_000  # sums of blank lengths that are kept for one axis
LOOKED_AT = 5  # groups whose cut orders are compared
LOSS_WEIGHT = 0.2  # of the leftovers against the rank of the group; found by trial
LARGE_OFFCUT = 0.05  # how much one large leftover is better than several small ones; found by trial


@dataclass(frozen=True, slots=True)
class Taste:
    """How a fill chooses: noise on the ranks, the extra weight of large blanks, how much unreachable foam counts."""

    noise: float = 0.0
    large: float = 0.0
    loss: float = 1.0


@dataclass(frozen=True, slots=True)
class Group:
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


class Reach:
    """The greatest sum of blank lengths that is not above a length, for each axis."""

    def __init__(self, job: Job) -> None:
        self.axes = [self._sums(job, axis) for axis in range(3)]

    def lost(self, axis: int, length: int) -> int:
        """Return how much of a length no row of blanks can use."""
        sums = self.axes[axis]
        return length - sums[bisect_right(sums, length) - 1]

    def _sums(self, job: Job, axis: int) -> list[int]:
        longest = max((source.core[axis] for source in job.sources), default=0)
        lengths = sorted({size[axis] for n in job.numbers for _, size in job.lies[n] if size[axis] <= longest})
        sums = {0}
        front = [0]
        while front and len(sums) < MOST_REACHED:
            front = sorted({s + length for s in front for length in lengths if s + length <= longest} - sums)
            front = front[: MOST_REACHED - len(sums)]
            sums.update(front)
        return sorted(sums)


class Filler:
    """One fill of one core with one taste; `demand` loses what the fill gives."""

    def __init__(self, job: Job, reach: Reach, demand: Counter[int], rng: Random, taste: Taste) -> None:
        self.job, self.reach, self.demand, self.rng, self.taste = job, reach, demand, rng, taste

    def fill(self, box: Triple) -> Layout:
        """Return a layout of a grown box. O(groups × blank types × lies × counts)."""
        if min(box) <= self.job.kerf:
            return FREE
        groups = self._groups(box)
        if not groups:
            return FREE
        choices = [(*self._best_order(box, group), group) for group in groups]
        _, order, group = max(choices, key=lambda choice: choice[0])
        self.demand[group.number] -= group.counts[0] * group.counts[1] * group.counts[2]
        return self._freed(box, group, order)

    def _groups(self, box: Triple) -> list[Group]:
        """Return the best-ranked groups that fit."""
        found: list[Group] = []
        for number in self.job.numbers:
            left = self.demand[number]
            if left <= 0:
                continue
            weight = self.job.volumes[number] ** self.taste.large * (1 + self.taste.noise * self.rng.random())
            for lie, blank in self.job.lies[number]:
                most = [_most(self.job, blank[axis], box[axis]) for axis in range(3)]
                if all(most):
                    found += [
                        Group(weight * self._rank(box, number, blank, counts), number, lie, blank, counts)
                        for counts in _counts(most, left)
                    ]
        found.sort(key=lambda group: -group.rank)
        return found[:LOOKED_AT]

    def _rank(self, box: Triple, number: int, blank: Triple, counts: Triple) -> float:
        """Return the foam of a group less a share of what no row of blanks can use beside it."""
        lost = self.reach.lost
        beside = (
            lost(0, box[0] - blank[0] * counts[0]) * box[1] * box[2]
            + lost(1, box[1] - blank[1] * counts[1]) * box[0] * box[2]
            + lost(2, box[2] - blank[2] * counts[2]) * box[0] * box[1]
        )
        return self.job.volumes[number] * counts[0] * counts[1] * counts[2] - self.taste.loss * beside / 3

    def _best_order(self, box: Triple, group: Group) -> tuple[float, tuple[int, ...]]:
        """Return the rank of a group with the order of cuts that loses least foam, and that order."""
        losses = [(self._loss(box, group.size, order), order) for order in ORDERS]
        loss, order = min(losses)
        return group.rank - loss * LOSS_WEIGHT, order

    def _loss(self, box: Triple, size: Triple, order: tuple[int, ...]) -> float:
        """Return the foam of the three leftovers that no blank can use, less a share for large ones, worth keeping."""
        loss, room, lost = 0.0, box, self.reach.lost
        whole = volume(box)
        for axis in order:
            rest = resized(room, axis, room[axis] - size[axis])
            foam = volume(rest)
            if foam:
                usable = (rest[0] - lost(0, rest[0])) * (rest[1] - lost(1, rest[1])) * (rest[2] - lost(2, rest[2]))
                loss += foam - usable - LARGE_OFFCUT * foam * foam / whole
            room = resized(room, axis, size[axis])
        return loss

    def _freed(self, box: Triple, group: Group, order: tuple[int, ...]) -> Layout:
        """Return the cuts that free a group, its own cuts, and what fills the three leftovers, the largest first."""
        size, room = group.size, box
        rooms: dict[int, Triple] = {}
        for axis in order:
            rooms[axis] = resized(room, axis, room[axis] - size[axis])
            room = resized(room, axis, size[axis])
        filled = {
            axis: self.fill(rooms[axis]) if rooms[axis][axis] > self.job.kerf else None
            for axis in sorted(order, key=lambda axis: -volume(rooms[axis]))
        }
        inner_first = tuple(reversed(order))
        layout = _blanks(group, inner_first)
        for axis in inner_first:
            if rooms[axis][axis] > 0:
                layout = ("cut", axis, size[axis], layout, filled[axis])
        return layout


def _most(job: Job, side: int, room: int) -> int:
    """Return how many blanks fit in a row."""
    count = room // side
    return count if job.fits(side * count, room) else count - 1


def _counts(most: list[int], left: int) -> list[Triple]:
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
