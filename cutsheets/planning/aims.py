"""Aims: cheaper foam for the blanks of a few opened pieces. One of the new pieces may be promised to the rack in part.

A slab that is promised is out of bounds for blanks, so one large remnant is left where many small ones would be.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from random import Random

from cutsheets.planning.fill import Reach
from cutsheets.planning.foamsets import cheapest_sets
from cutsheets.planning.layout import FREE, Job, Opened, Source
from cutsheets.stock import is_useful, resized, volume

DOUBLINGS = 5.0  # up to 2 ** 5 pieces have their blanks looked at together
MOST_GIVEN_UP = 2
MOST_ADDED = 3  # pieces in place of those that are given up
PROMISING = 0.5  # share of the aims that promise a remnant
MOST_EXCHANGED = 8  # pieces whose foam is exchanged as a whole
SPREAD = 0.015  # how soon foam that must get fuller than foam is known to get is thought too little
AGEING = 0.1  # how soon an aim that comes no closer gives way to others (all found by trial)
SETS_KEPT = 100


@dataclass(eq=False)
class Aim:
    """Blanks of some pieces (`apart`) to get out of cheaper foam: what is filled so far, and what has no place yet.

    `fullness`: the part of the foam that the blanks need; `missing`: the foam of what has no place; `stalled`: how many
    times in turn it came no closer.
    """

    apart: list[Opened]
    pieces: list[Opened]
    left: Counter[int]
    fresh: list[int]
    price: float
    fullness: float
    missing: int = 0
    tries: int = 0
    stalled: int = 0

    @property
    def name(self) -> tuple[str, ...]:
        """Return the names of the foam that is aimed at."""
        return tuple(sorted(piece.source.name for piece in self.pieces))

    @property
    def gain(self) -> float:
        """Return what the plan would save, in cents."""
        return sum(piece.cost for piece in self.apart) - self.price

    @property
    def reached(self) -> float:
        """Return how full the foam has got."""
        room = sum(volume(piece.source.core) for piece in self.pieces)
        return self.fullness - self.missing / room

    def promise(self, full: float) -> float:
        """Return what is likely to be saved, in cents, where foam is known to get `full`."""
        return self.gain * self._likely(full)

    def distance(self, full: float) -> float:
        """Return how far the aim is from being worth more work."""
        return self.missing * (1 + self.tries * AGEING) / math.sqrt(max(self.gain, 1.0)) / self._likely(full)

    def _likely(self, full: float) -> float:
        return math.exp(-max(0.0, self.fullness - full) / SPREAD)

    def outlives(self, gone: list[Opened], come: list[Opened]) -> bool:
        """Return whether the aim still stands when pieces of the plan gave way to others; it then takes them over."""
        shared = [piece for piece in self.apart if piece in gone]
        if len(shared) == len(gone):
            self.apart = [piece for piece in self.apart if piece not in gone] + come
        return len(shared) in (0, len(gone)) and self.gain > 1


class Aims:
    """Thinks of aims for a plan."""

    def __init__(self, job: Job, rng: Random, reach: Sequence[Reach]) -> None:
        self.job, self.rng, self.reach = job, rng, reach
        self.cores = {source.name: source for source in job.sources}
        self.open = [source for source in job.sources if job.begins(source)]
        self.grown = {n: volume(lies[0][1]) for n, lies in job.lies.items()}
        self.sets = lru_cache(SETS_KEPT)(lambda needed, used: cheapest_sets(self.open, needed, dict(used)))

    def any(self, plan: list[Opened]) -> Aim | None:
        """Return other foam for a few pieces, cheaper and not too little, or None."""
        apart = self.rng.sample(plan, min(round(2 ** self.rng.uniform(0, DOUBLINGS)), len(plan)))
        given_up = self.rng.randint(0, min(MOST_GIVEN_UP, len(apart)))
        kept, added = apart[given_up:], self._added(plan, apart[:given_up])
        if not given_up or self.rng.random() < PROMISING:
            number = self.rng.randrange(len(kept) + len(added)) if kept or added else -1
            if 0 <= number < len(kept):
                added.append(self._less_a_slab(kept.pop(number).source))
            elif number >= 0:
                added.append(self._less_a_slab(added.pop(number - len(kept))))
        if len(apart) == len(plan) and all(self._promised(source) == 0 for source in added):
            return None  # `exchanges` thinks of these
        return self._sound(apart, kept, added)

    def exchanges(self, plan: list[Opened]) -> list[Aim]:
        """Return aims at other foam for all blanks, or for those of a few pieces where there are many; cheaper ones."""
        apart = plan if len(plan) <= MOST_EXCHANGED else self.rng.sample(plan, MOST_EXCHANGED)
        used = Counter(piece.source.name for piece in plan)
        used.subtract(piece.source.name for piece in apart)
        sets = self.sets(self._needed(apart), frozenset(used.items()))
        # Large foam is filled first: what is left for the end is then small enough for the remnants.
        large_first = [sorted(foam, key=lambda source: -volume(source.core)) for foam in sets]
        found = [self._sound(apart, [], foam) for foam in large_first]
        return [aim for aim in found if aim is not None]

    def _needed(self, pieces: list[Opened]) -> int:
        """Return the foam of the blanks of some pieces, grown."""
        return sum(self.grown[n] * count for piece in pieces for n, count in piece.gives)

    def _added(self, plan: list[Opened], given_up: list[Opened]) -> list[Source]:
        """Return foam to open in place of what is given up."""
        used = Counter(piece.source.name for piece in plan)
        used.subtract(piece.source.name for piece in given_up)
        added: list[Source] = []
        for _ in range(self.rng.randint(0, min(MOST_ADDED, len(given_up) + 1))):
            free = [source for source in self.open if source.limit is None or used[source.name] < source.limit]
            if free:
                added.append(self.rng.choice(free))
                used[added[-1].name] += 1
        return added

    def _sound(self, apart: list[Opened], kept: list[Opened], added: list[Source]) -> Aim | None:
        sources = [piece.source for piece in kept] + added
        room, needed = sum(volume(source.core) for source in sources), self._needed(apart)
        price = self.job.prices.cut * sum(piece.cuts for piece in apart)
        price += sum(source.price + self._promised(source) for source in sources)
        price -= self._regained(apart, needed) * (room - needed)
        if needed > room or price + 1 >= sum(piece.cost for piece in apart):
            return None
        left: Counter[int] = Counter()
        for piece in apart:
            left.update(dict(piece.gives))
        if not all(any(self.job.holds(source, n) for source in sources) for n in left):
            return None
        for piece in kept:
            left.subtract(dict(piece.gives))
        fresh = list(range(len(kept), len(sources)))
        return Aim(apart, kept + [self.job.opened(source, FREE) for source in added], left, fresh, price, needed / room)

    def _regained(self, pieces: list[Opened], needed: int) -> float:
        """Return what the kept remnants of some pieces are worth, in cents for each cubic micrometre without a blank.

        Without it foam that leaves one large remnant would look dearer than it is, beside a plan that has some.
        """
        free = sum(volume(piece.source.core) for piece in pieces) - needed
        cut = self.job.prices.cut
        worth = sum(piece.source.price + cut * piece.cuts - piece.cost for piece in pieces)
        return max(0.0, worth / free) if free else 0.0

    def _less_a_slab(self, source: Source) -> Source:
        """Return the foam less a slab along one axis; what remains is as long as blanks can use it."""
        axis = self.rng.randrange(3)
        side = source.core[axis]
        at = self.reach[axis][round(side * self.rng.random())]
        slab = self.job.foam(resized(source.core, axis, side - at))
        if not at or not is_useful(slab, self.job.instance["min_remnant"]):
            return source
        above = self.job.limits.cut(source.above, source.core, axis)
        if not self.job.fits(at, side) or above is None:
            return source
        core = resized(source.core, axis, at)
        return replace(source, core=core, above=self.job.limits.settled(above, core))

    def _promised(self, source: Source) -> float:
        """Return what keeping the promised slab of some foam adds to the score."""
        core = self.cores[source.name].core
        return sum(
            self.job.prices.kept(volume(self.job.foam(resized(core, axis, core[axis] - side))), self.job.per_volume)
            + self.job.prices.cut
            for axis, side in enumerate(source.core) if side < core[axis]
        )  # fmt: skip

    def kept_promise(self, piece: Opened) -> Opened:
        """Return a piece with its promised slab beside what has been filled."""
        source, layout = self.cores[piece.source.name], piece.layout
        for axis, side in enumerate(piece.source.core):
            if side < source.core[axis]:
                return self.job.opened(source, ("cut", axis, side, layout, FREE))
        return piece
