"""Blanks in blocks: an anytime search for a cheap plan of edge-to-edge cuts in three dimensions.

It starts from the plain planner, tries a greedy fill, and then improves what it has, in turn: whole plans from nothing;
a few pieces taken apart and their blanks filled again; parts of pieces filled again; and aims, cheaper foam that the
blanks of some pieces, or of all, are settled in step by step. Only cheaper plans are taken, so more time never gives a
worse one. The same seed and number of rounds give the same plan: a round is one piece that is filled, or some parts of
pieces, and no clock is asked but for the time's end.
"""

from __future__ import annotations

import time
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass
from random import Random

from cutsheets.planning.aims import Aim, Aims
from cutsheets.planning.bounds import Floor
from cutsheets.planning.choosing import Patterns
from cutsheets.planning.fill import Filler, Grounds, Taste
from cutsheets.planning.grids import grids
from cutsheets.planning.layout import Job, Layout, Opened, Source, given
from cutsheets.planning.mending import Part, any_part, whole
from cutsheets.planning.shelves import shelves
from cutsheets.stock import volume

# Shares of the work, counted in boxes that are filled, and all other numbers here: found by trial.
SHARES = {"restart": 0.02, "refill": 0.1, "mend": 0.12, "aim": 0.06, "exchange": 0.6, "combine": 0.08}
IDLE = 500  # boxes that a way with nothing to do counts as: others then come to their turn
NEW = 0.25  # share of the aims that are new, others are followed further
SLICE = 100  # rounds without coming closer in which an aim is followed before another may come to its turn
MOST_AIMS, FEW_AIMS = 30, 4
STALE = 3  # times that an aim may come no closer in turn; its foam may be aimed at afresh
LOOKS = 30  # aims thought of before the best of them is begun
ENOUGH_NEW = 10  # pieces never seen before, to choose from all pieces again
COMBINED, STEP_BOXES = 20, 8  # rounds for such a choice, and boxes that a step of its solver takes about as long as
BOLD = 0.15  # share of the new aims that may be as full as can be
FULL = 0.88  # how full foam gets, before there is experience
MARGIN = 0.05  # the last part of the foam is the hardest to fill
FORGETTING = 0.002  # by which it is thought to get less full each time that an aim is not reached
MENDING, MENDING_NEAR, NEAR = 0.6, 0.9, 0.02  # share of the rounds that fill parts of pieces and not whole ones
MOST_MENDED = 3  # parts filled again in one round
MOST_AGAIN = 3  # pieces filled again in one round
WORSE = 0.15  # of the largest blank: foam without a place that a round may add
MOST_APART = 4  # opened pieces taken apart in one round
TRIED = 3  # kinds of foam that are tried for the next piece
TRIES = 10  # fills that look for a plan which leaves out less than the plain one
PATIENCE = 60  # rounds for each piece of such a plan
CENT = 0.01
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

    def stopped(self) -> bool:
        """Return whether what is under way must be given up."""
        return self.late() or (self.stop is not None and self.stop())

    def spent(self) -> bool:
        """Return whether nothing more may be begun."""
        return self.stopped() or (self.rounds is not None and self.used >= self.rounds)


class Search:
    """The search for one grade; `best` holds a full answer from the first moment on, `left` what has no foam.

    `first`: how long to look for a plan that leaves out less than the plain one, or keeps the limits it does not keep.
    """

    def __init__(self, job: Job, rng: Random, first: Budget) -> None:
        self.job, self.rng = job, rng
        self.grounds = Grounds(job, rng)
        self.aims = Aims(job, rng, self.grounds.reach)
        self.patterns = Patterns(job)
        self.following: list[Aim] = []  # for some pieces
        self.exchanges: list[Aim] = []  # for all of them
        self.tried: Counter[tuple[str, ...]] = Counter()  # sets of foam for all, how often each was aimed at
        self.full = FULL  # how full foam of a few pieces is known to get
        self.full_of_all = FULL  # and whole sets of foam
        self.spent: Counter[str] = Counter()  # boxes filled in each way to improve
        self.budget = first
        self.most_cuts = self._most_cuts()
        self.plain, self.left = shelves(job)
        self._place_more()
        if job.limits.any:
            self._place_in_grids()
        self.demand = job.demand - self.left
        self.best = self.plain

    def _most_cuts(self) -> int | None:
        """Return this grade's part of the cuts that are allowed, by its part of the blanks."""
        most, blanks = self.job.instance["max_cuts"], sum(blank["qty"] for blank in self.job.instance["blanks"])
        return None if most is None else most * self.job.demand.total() // blanks

    def over(self, pieces: list[Opened]) -> int:
        """Return by how much pieces are over the limits of the instance: cuts, and pieces with too many stages."""
        cuts = 0 if self.most_cuts is None else max(0, sum(piece.cuts for piece in pieces) - self.most_cuts)
        return cuts + sum(not piece.sound for piece in pieces)

    def _place_more(self) -> None:
        """Look for a plan that leaves out less than the shelves do; it then stands in for theirs."""
        for number in range(TRIES):
            enough = not any(self.job.has_source(n) for n in self.left) and not self.over(self.plain)
            if enough or self.budget.stopped():
                break
            left = Counter(self.job.demand)
            built = self._built(left, [], self._taste() if number else PLAIN)
            if built:
                built, left = self._settle(built, left, PATIENCE * len(built))
                built = [piece for piece in built if piece.gives]
            if (self._foam(left), self.over(built)) < (self._foam(self.left), self.over(self.plain)):
                self.plain, self.left = built, +left

    def _place_in_grids(self) -> None:
        """Place what is still left size by size, where the limits allow that."""
        used = Counter(piece.source.name for piece in self.plain)
        more = grids(self.job, self.left, used)
        self.plain, self.left = self.plain + more, self.left - given(more)

    def leave_out(self, pieces: list[Opened]) -> None:
        """Take these pieces for the plain plan and the best one, and what they give for all that is wanted."""
        self.demand = given(pieces)
        self.plain = self.best = pieces
        self.following, self.exchanges = [], []

    def _foam(self, blanks: Counter[int]) -> int:
        volumes = self.job.volumes
        return sum(volumes[number] * count for number, count in blanks.items())

    def improve(self, budget: Budget, floor: Floor) -> None:
        """Make `best` cheaper until the budget is spent or nothing cheaper can exist."""
        self.budget, self.floor = budget, floor
        while not (floor.bound.is_reached(cost(self.best)) and not self.over(self.best)) and not budget.spent():
            way = min(SHARES, key=lambda way: self.spent[way] / SHARES[way])
            before = self.grounds.boxes
            budget.used += 1
            self._take(getattr(self, way)() if self.spent else self.build(self.demand, [], PLAIN))
            self.spent[way] += self.grounds.boxes - before or IDLE
        if budget.rounds is not None:
            budget.used = min(budget.used, budget.rounds)  # what was under way is not taken from other grades

    def _take(self, plan: list[Opened] | None) -> None:
        """Make a plan the best one when it is within more limits, or cheaper."""
        if plan is None or (self.over(plan), cost(plan) + CENT) >= (self.over(self.best), cost(self.best)):
            return
        here, there = set(map(id, self.best)), set(map(id, plan))
        gone = [piece for piece in self.best if id(piece) not in there]
        come = [piece for piece in plan if id(piece) not in here]
        self.following = [aim for aim in self.following if aim.outlives(gone, come)]
        self.exchanges = [aim for aim in self.exchanges if aim.outlives(gone, come)]
        self.best = plan

    def restart(self) -> list[Opened] | None:
        """Return a whole new plan."""
        return self.build(self.demand, [], self._taste())

    def refill(self) -> list[Opened] | None:
        """Return the best plan with one to four pieces taken apart and their blanks filled again, or None."""
        apart, kept = self._apart()
        wanted: Counter[int] = Counter()
        for piece in apart:
            wanted.update(dict(piece.gives))
        again = self.build(wanted, kept, self._taste())
        return None if again is None else kept + again

    def mend(self) -> list[Opened] | None:
        """Return the best plan with a part of one or two pieces filled again, or None where a blank found no place."""
        apart = self.rng.sample(self.best, min(self.rng.randint(1, MOST_MENDED), len(self.best)))
        parts = [any_part(piece.layout, piece.source, self.rng) for piece in apart]
        left: Counter[int] = Counter()
        layouts = self._filled([piece.source for piece in apart], parts, left)
        if +left:
            return None
        again = [self.job.opened(piece.source, layout) for piece, layout in zip(apart, layouts, strict=True)]
        return [piece for piece in self.best if piece not in apart] + [piece for piece in again if piece.gives]

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

    def open(self, source: Source, left: Counter[int], taste: Taste) -> Opened:
        """Return a piece of this foam filled from what is left, which stays untouched."""
        self.budget.used += 1
        piece = self.job.opened(source, Filler(self.grounds, Counter(left), taste, self.budget.late).fill(source))
        self.patterns.add(piece)
        return piece

    def combine(self) -> list[Opened] | None:
        """Return the cheapest plan out of all pieces seen, or None where there is nothing new to choose from."""
        if self.patterns.new < ENOUGH_NEW:
            return None
        self.budget.used += COMBINED
        seconds = None if self.budget.until is None else max(0.0, self.budget.until - time.monotonic())
        before = self.patterns.steps
        found = self.patterns.cheapest(self.demand, self.best, seconds)
        self.spent["combine"] += STEP_BOXES * (self.patterns.steps - before)
        return found

    def aim(self) -> list[Opened] | None:
        """Return a plan with cheaper foam for some pieces, or None where their blanks did not all find room."""
        return self._followed(self.following, self._begun, self.full)

    def exchange(self) -> list[Opened] | None:
        """Return a plan with cheaper foam for all blanks, or None where they did not all find room."""
        found = self._followed(self.exchanges, self._begun_exchange, self.full_of_all)
        reached = [aim.reached - MARGIN for aim in self.exchanges]
        if reached:
            self.full_of_all = max(reached if self.full_of_all == FULL else [self.full_of_all, *reached])
        return found

    def _followed(self, aims: list[Aim], begun: Callable[[], Aim | None], full: float) -> list[Opened] | None:
        """Begin a new aim, or follow the most promising one further; return the plan of one that is reached."""
        aim = begun() if len(aims) < FEW_AIMS or self.rng.random() < NEW else None
        if aim is not None:
            aims.append(aim)
        elif aims:
            aim = min(aims, key=lambda each: each.distance(full))
        else:
            return None
        aim.pieces, aim.left = self._settle(aim.pieces, aim.left, SLICE, aim.fresh)
        for piece in aim.pieces:
            self.patterns.add(self.aims.kept_promise(piece))
        missing = self._foam(aim.left)
        aim.stalled = aim.stalled + 1 if aim.tries and missing >= aim.missing else 0
        aim.missing, aim.tries, aim.fresh = missing, aim.tries + 1, []
        if missing:
            self.full -= FORGETTING
            if aim.stalled >= STALE:
                aims.remove(aim)
            elif len(aims) > MOST_AIMS:
                aims.remove(max(aims, key=lambda each: each.distance(full)))
            return None
        self.full = max(self.full, aim.fullness)
        aims.remove(aim)
        come = [self.aims.kept_promise(piece) for piece in aim.pieces if piece.gives]
        return [piece for piece in self.best if piece not in aim.apart] + come

    def _begun(self) -> Aim | None:
        """Return the aim that would save most, out of some that are not too full."""
        most = 1.0 if self.rng.random() < BOLD else self.full + self.rng.uniform(-0.12, 0.06)
        thought_of = [self.aims.any(self.best) for _ in range(LOOKS)]
        sound = [aim for aim in thought_of if aim is not None and aim.fullness <= most]
        return self._first_that_may_pay(sorted(sound, key=lambda aim: -aim.gain))

    def _begun_exchange(self) -> Aim | None:
        """Return the aim that is most likely to save much, those less that were aimed at before."""
        running = {aim.name for aim in self.exchanges}
        sound = [aim for aim in self.aims.exchanges(self.best) if aim.name not in running]
        sound.sort(key=lambda aim: -aim.promise(self.full_of_all) / (1 + self.tried[aim.name]))
        aim = self._first_that_may_pay(sound)
        if aim is not None:
            self.tried[aim.name] += 1
        return aim

    def _first_that_may_pay(self, aims: list[Aim]) -> Aim | None:
        """Return the first aim of which it is not proved that its foam is too little, or costs too much in the end."""
        worth = cost(self.best) - 1
        return next((a for a in aims if len(a.apart) < len(self.best) or self.floor.of(a.name) < worth), None)

    def _settle(
        self, pieces: list[Opened], left: Counter[int], patience: int, fresh: list[int] | None = None
    ) -> tuple[list[Opened], Counter[int]]:
        """Fill pieces or parts of them again, so that the foam of the blanks without a place (`left`) shrinks.

        Return all pieces, and what has no place in the end; `fresh` are the numbers to begin with, `patience` the
        rounds without less of it.
        """
        sources, layouts = [piece.source for piece in pieces], [piece.layout for piece in pieces]
        missing, kept = self._foam(left), (layouts, left)
        lowest, slack = missing, WORSE * max((self.job.volumes[n] for n in +left), default=0)
        near = NEAR * sum(volume(source.core) for source in sources)
        rounds = patience
        while missing and rounds and not self.budget.stopped():
            rounds -= 1
            rest, tried = Counter(left), list(layouts)
            mending = MENDING if missing > near else MENDING_NEAR
            numbers, parts = self._some_parts(sources, layouts, fresh, mending)
            filled = self._filled([sources[number] for number in numbers], parts, rest)
            for number, layout in zip(numbers, filled, strict=True):
                tried[number] = layout
            short, fresh = self._foam(rest), None
            if short <= missing + slack * self.rng.random() ** 3:
                layouts, left, missing = tried, rest, short
            if missing < lowest:
                lowest, kept, rounds = missing, (layouts, left), patience
        layouts, left = kept
        return [self.job.opened(source, layout) for source, layout in zip(sources, layouts, strict=True)], left

    def _some_parts(
        self, sources: list[Source], layouts: list[Layout], fresh: list[int] | None, mending: float
    ) -> tuple[list[int], list[Part]]:
        """Choose some pieces, or a part of some; return their numbers and the parts."""
        rng, mends = self.rng, not fresh and self.rng.random() < mending
        if not fresh:
            most = rng.randint(1, MOST_MENDED if mends else MOST_AGAIN)
            fresh = rng.sample(range(len(layouts)), min(most, rng.randint(1, len(layouts))))
        if mends:
            return fresh, [any_part(layouts[number], sources[number], rng) for number in fresh]
        return fresh, [whole(layouts[number], sources[number]) for number in fresh]

    def _filled(self, sources: list[Source], parts: list[Part], left: Counter[int]) -> list[Layout]:
        """Fill parts again, with their own blanks and those in `left`, which becomes what finds no place."""
        self.budget.used += 1
        for part in parts:
            left.update(part.gives())
        filler = Filler(self.grounds, left, self._taste(), self.budget.late)
        return [
            part.put_back(filler.fill(source, part.box, part.above(source, self.job.limits)))
            for source, part in zip(sources, parts, strict=True)
        ]  # fmt: skip

    def _apart(self) -> tuple[list[Opened], list[Opened]]:
        """Choose one to four pieces to take apart, poor value first; return them and the rest."""
        count = min(len(self.best), self.rng.randint(1, MOST_APART))
        poor_first = sorted(self.best, key=lambda piece: -piece.cost / piece.blank_volume * (0.3 + self.rng.random()))
        return poor_first[:count], poor_first[count:]

    def _candidates(self, left: Counter[int], opened: list[Opened], taste: Taste) -> list[Source]:
        used = Counter(piece.source.name for piece in opened)
        free = [source for source in self.aims.open if source.limit is None or used[source.name] < source.limit]
        sources = [source for source in free if any(self.grounds.holds(source, n) for n in +left)]
        return sources if taste is PLAIN or len(sources) <= TRIED else self.rng.sample(sources, TRIED)

    def _taste(self) -> Taste:
        return Taste(
            noise=self.rng.choice((0.05, 0.2, 0.5)),
            large=self.rng.choice((0.0, 0.2, 0.5)),
            loss=self.rng.choice((0.3, 1.0, 2.0, 6.0)),
            singly=self.rng.random() < 0.5,
        )


def cost(pieces: list[Opened]) -> float:
    """Return the score of opened pieces in cents, lower is better."""
    return sum(piece.cost for piece in pieces)
