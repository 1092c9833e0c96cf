"""Blanks in blocks: an anytime search for a cheap plan of edge-to-edge cuts in three dimensions.

It starts from the plain planner, tries a greedy fill, and then improves what it has: a few opened pieces are taken
apart and their blanks filled again, either freely or into a cheaper set of foam ("aiming"). A change is kept when it
does not cost more, so more time never gives a worse plan. The same seed and number of rounds give the same plan.
"""

from __future__ import annotations

import time
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from random import Random

from cutsheets.planning.bounds import Bound
from cutsheets.planning.fill import Filler, Grounds, Taste
from cutsheets.planning.layout import FREE, Job, Opened, Source
from cutsheets.planning.shelves import shelves
from cutsheets.stock import volume

AIMING = 0.6  # share of the beginnings that aim at a cheaper set of foam; each takes many rounds
PATIENCE = 60  # rounds for each piece without more blanks placed before an aim is given up (all found by trial)
MOST_AGAIN = 3  # pieces filled again in one round
LOOKS = 30  # sets of foam looked at for a cheaper one
MOST_ADDED = 3  # pieces in place of those that are given up
TRIED = 3  # kinds of foam that are tried for the next piece
MOST_APART = 4  # opened pieces taken apart in one round
TRIES = 10  # fills that look for a plan which leaves out less than the plain one
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

    def late(self) -> bool:
        """Return whether the time is over: a round that is not done by then counts for nothing."""
        return self.until is not None and time.monotonic() >= self.until

    def spent(self) -> bool:
        """Return whether the search must end now."""
        over = self.late() or (self.rounds is not None and self.used >= self.rounds)
        return over or (self.stop is not None and self.stop())


@dataclass(frozen=True)
class Aim:
    """A set of foam to get all blanks out of: opened pieces that stay as they are at first, and new ones."""

    kept: list[Opened]
    added: list[Source]

    @property
    def sources(self) -> list[Source]:
        return [piece.source for piece in self.kept] + self.added

    @property
    def name(self) -> tuple[str, ...]:
        return tuple(sorted(source.name for source in self.sources))


class Search:
    """The search for one grade; `best` holds a full answer from the first moment on, `left` what has no foam.

    `first`: how long to look for a plan that leaves out less than the plain one.
    """

    def __init__(self, job: Job, rng: Random, first: Budget) -> None:
        self.job, self.rng = job, rng
        self.grounds = Grounds(job, rng)
        self.misses: Counter[tuple[str, ...]] = Counter()  # foam that an aim fell short of, all times together
        self.budget = first
        self.plain, self.left = shelves(job)
        self._place_more()
        self.demand = job.demand - self.left
        self.needed = sum(volume(job.lies[number][0][1]) * count for number, count in self.demand.items())
        self.best = self.plain

    def _place_more(self) -> None:
        """Look for a plan that leaves out less than the shelves do; it then stands in for theirs."""
        for number in range(TRIES):
            if not any(self.job.has_source(n) for n in self.left):
                break
            left = Counter(self.job.demand)
            built = self._built(left, [], self._taste() if number else PLAIN)
            if built:
                built, left = self._settle(built, left)
            if self._foam(left) < self._foam(self.left):
                self.plain, self.left = built, +left

    def _foam(self, blanks: Counter[int]) -> int:
        return sum(self.job.volumes[number] * count for number, count in blanks.items())

    def improve(self, budget: Budget, bound: Bound) -> None:
        """Make `best` cheaper until the budget is spent or nothing cheaper can exist."""
        self.budget = budget
        greedy = None if budget.late() else self.build(self.demand, [], PLAIN)
        if greedy is not None and cost(greedy) < cost(self.best):
            self.best = greedy
        while not budget.spent() and not bound.is_reached(cost(self.best)):
            budget.used += 1
            again = self.aim(bound) if self.rng.random() < AIMING else self.refill()
            if again is not None and cost(again) <= cost(self.best):
                self.best = again

    def refill(self) -> list[Opened] | None:
        """Return the best plan with one to four pieces taken apart and their blanks filled again, or None."""
        apart, kept = self._apart()
        wanted: Counter[int] = Counter()
        for piece in apart:
            wanted.update(dict(piece.gives))
        again = self.build(wanted, kept, self._taste())
        return None if again is None else kept + again

    def build(self, demand: Counter[int], kept: list[Opened], taste: Taste) -> list[Opened] | None:
        """Return pieces that give the whole demand, the best value first, or None where foam or time runs out."""
        left = Counter(demand)
        built = self._built(left, kept, taste)
        return None if +left else built

    def _built(self, left: Counter[int], kept: list[Opened], taste: Taste) -> list[Opened]:
        """Return pieces that give what is left, the best value first; what remains of `left` has no foam or no time."""
        built: list[Opened] = []
        while +left:
            tried = [self.open(source, left, taste) for source in self._candidates(left, kept + built, taste)]
            useful = [piece for piece in tried if piece.gives]
            if not useful or self.budget.late():
                break
            best = min(useful, key=lambda piece: piece.cost / piece.blank_volume)
            left.subtract(dict(best.gives))
            built.append(best)
        return built

    def aim(self, bound: Bound) -> list[Opened] | None:
        """Return a whole plan out of foam cheaper than the best one's, or None where the blanks did not all find room.

        One or two pieces give way to cheaper foam; then pieces are filled again.
        """
        aim = self._cheaper(bound.price)
        if aim is None:
            return None
        left = Counter(self.demand)
        for piece in aim.kept:
            left.subtract(dict(piece.gives))
        empty = [self.job.opened(source, FREE) for source in aim.added]
        pieces, left = self._settle(aim.kept + empty, left, first=range(len(aim.kept), len(aim.kept) + len(empty)))
        self.misses[aim.name] += self._foam(left)
        return None if +left else pieces

    def _settle(
        self, pieces: list[Opened], left: Counter[int], *, first: Sequence[int] = ()
    ) -> tuple[list[Opened], Counter[int]]:
        """Fill pieces again, a few at a time, as long as the foam of the blanks without a place (`left`) shrinks.

        Return the pieces that give something, and what has no place in the end; `first` are the numbers to begin with.
        """
        missing, again = self._foam(left), first
        patience = patient = PATIENCE * len(pieces)
        while missing and patience and not self.budget.spent():
            self.budget.used += 1
            some = min(self.rng.randint(1, MOST_AGAIN), self.rng.randint(1, len(pieces)))
            tried, rest = self._again(pieces, again or self.rng.sample(range(len(pieces)), some), left)
            short, again = self._foam(rest), ()
            patience = patient if short < missing else patience - 1
            if short <= missing:
                pieces, left, missing = tried, rest, short
        return [piece for piece in pieces if piece.gives], left

    def _again(
        self, pieces: list[Opened], numbers: Sequence[int], left: Counter[int]
    ) -> tuple[list[Opened], Counter[int]]:
        """Fill some pieces again; return all pieces and what has no place then."""
        pieces, left, taste = list(pieces), Counter(left), self._taste()
        for number in numbers:
            left.update(dict(pieces[number].gives))
        for number in numbers:
            pieces[number] = self.open(pieces[number].source, left, taste)
            left.subtract(dict(pieces[number].gives))
        return pieces, left

    def _cheaper(self, least: float) -> Aim | None:
        """Return cheaper foam that is not too little for all blanks: what was not tried yet, or came closest."""
        found = {aim.name: aim for aim in (self._any_aim() for _ in range(LOOKS)) if self._is_sound(aim, least)}
        if not found:
            return None
        return min(found.values(), key=lambda aim: self.misses[aim.name])

    def _any_aim(self) -> Aim:
        """Return one or two pieces fewer and up to three other ones."""
        staying = len(self.best) - self.rng.randint(1, 2)
        kept = self.rng.sample(self.best, max(staying, 0))
        added: list[Source] = []
        used = Counter(piece.source.name for piece in kept)
        for _ in range(self.rng.randint(0, MOST_ADDED)):
            free = self._free(used)
            if free:
                added.append(self.rng.choice(free))
                used[added[-1].name] += 1
        return Aim(kept, added)

    def _is_sound(self, aim: Aim, least: float) -> bool:
        sources = aim.sources
        price = sum(source.price for source in sources)
        room = sum(volume(source.core) for source in sources)
        return least <= price < sum(piece.source.price for piece in self.best) and room >= self.needed

    def open(self, source: Source, left: Counter[int], taste: Taste) -> Opened:
        """Return a piece of this foam filled from what is left, which stays untouched."""
        layout = Filler(self.grounds, Counter(left), taste, self.budget.late).fill(source.core)
        return self.job.opened(source, layout)

    def _apart(self) -> tuple[list[Opened], list[Opened]]:
        """Choose one to four pieces to take apart, poor value first; return them and the rest."""
        count = min(len(self.best), self.rng.randint(1, MOST_APART))
        poor_first = sorted(self.best, key=lambda piece: -piece.cost / piece.blank_volume * (0.3 + self.rng.random()))
        return poor_first[:count], poor_first[count:]

    def _candidates(self, left: Counter[int], opened: list[Opened], taste: Taste) -> list[Source]:
        used = Counter(piece.source.name for piece in opened)
        sources = [source for source in self._free(used) if self._holds_any(source, left)]
        return sources if taste is PLAIN or len(sources) <= TRIED else self.rng.sample(sources, TRIED)

    def _free(self, used: Counter[str]) -> list[Source]:
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
            loss=self.rng.choice((0.3, 1.0, 2.0, 6.0)),
            most=self.rng.choice((1_000_000, 1_000_000, 3, 1)),
        )


def cost(pieces: list[Opened]) -> float:
    """Return the score of opened pieces in cents, lower is better."""
    return sum(piece.cost for piece in pieces)
