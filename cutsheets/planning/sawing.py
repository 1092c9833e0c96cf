"""Blanks in blocks: an anytime search for a cheap plan of edge-to-edge cuts in three dimensions.

It starts from the plain planner and a greedy fill, and then improves what it has: a few opened pieces are taken apart
and their blanks filled again, either freely or into a cheaper set of foam ("aiming"). A change is kept when it does not
cost more, so more time never gives a worse plan. The same seed and number of rounds give the same plan.
"""

from __future__ import annotations

import time
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass
from random import Random

from cutsheets.planning.fill import Filler, Reach, Taste
from cutsheets.planning.layout import Job, Opened, Source
from cutsheets.planning.shelves import shelves

AIMING = 0.55  # share of the rounds that aim at a cheaper set of foam (found by trial)
TRIED = 3  # kinds of foam that are tried for the next piece
MOST_APART = 4  # opened pieces taken apart in one round
PLAIN = Taste()


@dataclass
class Budget:
    """How long to search: until a moment, or a number of rounds, or until `stop` says so."""

    seconds: float | None = None
    rounds: int | None = None
    stop: Callable[[], bool] | None = None

    def __post_init__(self) -> None:
        self.until = time.monotonic() + self.seconds if self.seconds is not None else None
        self.used = 0

    def spent(self) -> bool:
        """Return whether the search must end now."""
        over = (self.until is not None and time.monotonic() >= self.until) or (
            self.rounds is not None and self.used >= self.rounds
        )
        return over or (self.stop is not None and self.stop())


class Search:
    """The search for one grade; `best` holds a full answer from the first moment on."""

    def __init__(self, job: Job, rng: Random) -> None:
        self.job, self.rng = job, rng
        self.reach = Reach(job)
        self.plain, self.left = shelves(job)
        self.demand = job.demand - self.left
        self.best = self.plain
        greedy = self.build(self.demand, [], PLAIN)
        if greedy is not None and cost(greedy) < cost(self.best):
            self.best = greedy

    def improve(self, budget: Budget, bound: float) -> None:
        """Make `best` cheaper until the budget is spent or nothing cheaper can exist."""
        while not budget.spent() and cost(self.best) > bound:
            budget.used += 1
            apart, kept = self._apart()
            wanted: Counter[int] = Counter()
            for piece in apart:
                wanted.update(dict(piece.gives))
            aim = self.rng.random() < AIMING
            again = self.aim(wanted, kept, apart) if aim else self.build(wanted, kept, self._taste())
            if again is not None and cost(again) <= cost(apart):
                self.best = kept + again

    def build(self, demand: Counter[int], kept: list[Opened], taste: Taste) -> list[Opened] | None:
        """Return pieces that give the whole demand, the best value first, or None where foam runs out."""
        left = Counter(demand)
        built: list[Opened] = []
        while +left:
            tried = [self.open(source, left, taste) for source in self._candidates(left, kept + built, taste)]
            useful = [piece for piece in tried if piece.gives]
            if not useful:
                return None
            best = min(useful, key=lambda piece: piece.cost / piece.blank_volume)
            left.subtract(dict(best.gives))
            built.append(best)
        return built

    def aim(self, demand: Counter[int], kept: list[Opened], apart: list[Opened]) -> list[Opened] | None:
        """Return pieces that give the whole demand out of foam cheaper than what was taken apart, or None."""
        left = Counter(demand)
        built: list[Opened] = []
        money = sum(piece.source.price for piece in apart)
        taste = self._taste()
        while +left:
            sources = [s for s in self._free(kept + built) if s.price <= money and self._holds_any(s, left)]
            if not sources:
                return None
            piece = self.open(self.rng.choice(sources), left, taste)
            if not piece.gives:
                return None
            money -= piece.source.price
            left.subtract(dict(piece.gives))
            built.append(piece)
        return built

    def open(self, source: Source, left: Counter[int], taste: Taste) -> Opened:
        """Return a piece of this foam filled from what is left, which stays untouched."""
        layout = Filler(self.job, self.reach, Counter(left), self.rng, taste).fill(source.core)
        return self.job.opened(source, layout)

    def _apart(self) -> tuple[list[Opened], list[Opened]]:
        """Choose one to four pieces to take apart, poor value first; return them and the rest."""
        count = min(len(self.best), self.rng.randint(1, MOST_APART))
        poor_first = sorted(self.best, key=lambda piece: -piece.cost / piece.blank_volume * (0.3 + self.rng.random()))
        return poor_first[:count], poor_first[count:]

    def _candidates(self, left: Counter[int], opened: list[Opened], taste: Taste) -> list[Source]:
        sources = [source for source in self._free(opened) if self._holds_any(source, left)]
        return sources if taste is PLAIN or len(sources) <= TRIED else self.rng.sample(sources, TRIED)

    def _free(self, opened: list[Opened]) -> list[Source]:
        used = Counter(piece.source.name for piece in opened)
        return [s for s in self.job.sources if s.limit is None or used[s.name] < s.limit]

    def _holds_any(self, source: Source, left: Counter[int]) -> bool:
        return any(
            count > 0 and any(self.job.fits_in(size, source.core) for _, size in self.job.lies[number])
            for number, count in left.items()
        )

    def _taste(self) -> Taste:
        return Taste(
            noise=self.rng.choice((0.05, 0.2, 0.5)),
            large=self.rng.choice((0.0, 0.2, 0.5)),
            loss=self.rng.choice((0.3, 1.0, 2.0)),
        )


def cost(pieces: list[Opened]) -> float:
    """Return the score of opened pieces in cents, lower is better."""
    return sum(piece.cost for piece in pieces)
