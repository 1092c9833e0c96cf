"""A climb: one plan that is made cheaper in many ways in turn, until it is stuck.

Whole plans from nothing come first, then, in turn: a few pieces taken apart and their blanks filled again; parts of
pieces filled again, one by one or on a walk of many; aims, cheaper foam that the blanks of some pieces, or of all, are
settled in step by step; and the cheapest choice out of all pieces seen.
"""

from __future__ import annotations

import time
from collections import Counter
from collections.abc import Callable

from cutsheets.planning.aims import Aim
from cutsheets.planning.bounds import Floor
from cutsheets.planning.building import Builder
from cutsheets.planning.choosing import Patterns
from cutsheets.planning.fill import Taste
from cutsheets.planning.layout import Opened, cost
from cutsheets.planning.worths import Worths

Over = Callable[[list[Opened]], int]

# Shares of the work, counted in boxes that are filled, and all other numbers here: found by trial.
SHARES = {"restart": 0.02, "refill": 0.1, "mend": 0.12, "aim": 0.06, "exchange": 1.0, "combine": 0.08, "wander": 0.3}
IDLE = 500  # boxes that a way with nothing to do counts as: others then come to their turn
MOST_IDLE = 2  # whole plans in turn that are no cheaper, before other ways come to their turn
STUCK, STUCK_AFTER = 1.0, 120_000  # boxes without a gain: this share of those before it, and at least so many
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
WALKS = 3_000, 10_000, 30_000  # boxes that a walk fills, any of these
MESSY = 0.01  # part of its cost that a plan may be dearer and yet be the cheaper one in order
# How much dearer a mend may be in the beginning, as a share of a piece's mean price: any of these.
DEARER = 0.003, 0.006, 0.01, 0.02
MOST_APART = 4  # opened pieces taken apart in one round
CENT = 0.01


class Climb:
    """Makes one plan for the demand cheaper, step by step; `over` says by how much a plan breaks the limits of cuts."""

    def __init__(self, builder: Builder, demand: Counter[int], plan: list[Opened], floor: Floor, over: Over) -> None:
        self.builder, self.demand, self.plan, self.floor, self.over = builder, demand, plan, floor, over
        self.rng = builder.rng
        self.patterns = builder.patterns = Patterns(builder.job)
        self.worths = Worths(builder.job)
        self.following: list[Aim] = []  # for some pieces
        self.exchanges: list[Aim] = []  # for all of them
        self.tried: Counter[tuple[str, ...]] = Counter()  # sets of foam for all, how often each was aimed at
        self.full = FULL  # how full foam of a few pieces is known to get
        self.full_of_all = FULL  # and whole sets of foam
        self.idle = 0  # whole plans in turn that were no cheaper
        self.spent: Counter[str] = Counter()  # boxes filled in each way
        self.gained = 0  # boxes filled until the last gain

    @property
    def stuck(self) -> bool:
        """Return whether the plan has not got cheaper for long."""
        return self.spent.total() - self.gained > max(STUCK_AFTER, STUCK * self.gained)

    def step(self) -> None:
        """Try one way to make the plan cheaper, the one that has had the least of its share."""
        way = "begin" if self.idle < MOST_IDLE else min(SHARES, key=lambda way: self.spent[way] / SHARES[way])
        before, plan = self.builder.grounds.boxes, self.plan
        self.builder.budget.used += 1
        self._take(getattr(self, way)())
        self.spent[way] += self.builder.grounds.boxes - before or IDLE
        if self.plan is not plan:
            self.gained = self.spent.total()

    def begin(self) -> list[Opened] | None:
        """Return a whole plan in which the blanks go first that were dear in the plans before."""
        plan = self.builder.build(self.demand, [], Taste(noise=0.05, loss=0.1, worths=self.worths))
        if plan is None:
            self.idle = MOST_IDLE
            return None
        self.idle = self.idle + 1 if cost(plan) + CENT >= cost(self.plan) else 0
        self.worths.learn(plan)
        return plan

    def _take(self, plan: list[Opened] | None) -> None:
        """Take a plan when it is within more limits, or cheaper."""
        plan = None if plan is None else self._tidied(plan, self.plan)
        if plan is None or (self.over(plan), cost(plan) + CENT) >= (self.over(self.plan), cost(self.plan)):
            return
        here, there = set(map(id, self.plan)), set(map(id, plan))
        gone = [piece for piece in self.plan if id(piece) not in there]
        come = [piece for piece in plan if id(piece) not in here]
        self.following = [aim for aim in self.following if aim.outlives(gone, come)]
        self.exchanges = [aim for aim in self.exchanges if aim.outlives(gone, come)]
        self.plan = plan

    def _tidied(self, plan: list[Opened], before: list[Opened]) -> list[Opened]:
        """Return a plan with the pieces that an earlier one has not in order, where it may then be cheaper."""
        if cost(plan) > (1 + MESSY) * cost(before):
            return plan
        known = set(map(id, before))
        return [piece if id(piece) in known else self.builder.tidied(piece) for piece in plan]

    def restart(self) -> list[Opened] | None:
        """Return a whole new plan."""
        return self.builder.build(self.demand, [], self.builder.taste())

    def refill(self) -> list[Opened] | None:
        """Return the plan with one to four pieces taken apart and their blanks filled again, or None."""
        apart, kept = self._apart()
        wanted: Counter[int] = Counter()
        for piece in apart:
            wanted.update(dict(piece.gives))
        again = self.builder.build(wanted, kept, self.builder.taste())
        return None if again is None else kept + again

    def mend(self) -> list[Opened] | None:
        """Return the plan with a part of one to three pieces filled again; None where a blank found no place."""
        return self.builder.mended(self.plan)

    def wander(self) -> list[Opened] | None:
        """Return the cheapest plan on a walk of mends from this one: simulated annealing (Kirkpatrick et al. 1983).

        A mend may be dearer than the plan before it, ever less so: that moves free foam until it makes one remnant.
        """
        here = lowest = self.plan
        grounds, length = self.builder.grounds, self.rng.choice(WALKS)
        begun, warmth = grounds.boxes, self.rng.choice(DEARER) * cost(here) / max(1, len(here))
        while (done := (grounds.boxes - begun) / length) < 1 and not self.builder.budget.spent():
            there = self.builder.mended(here)
            if there is None:
                continue
            there = self._tidied(there, here)
            dearer = warmth * (1 - done) * self.rng.expovariate()
            if self.over(there) > self.over(here) or cost(there) > cost(here) + dearer:
                continue
            here = there
            if cost(here) < cost(lowest):
                lowest = here
        return lowest

    def combine(self) -> list[Opened] | None:
        """Return the cheapest plan out of all pieces seen, or None where there is nothing new to choose from."""
        if self.patterns.new < ENOUGH_NEW:
            return None
        self.builder.budget.used += COMBINED
        seconds = None if self.builder.budget.until is None else max(0.0, self.builder.budget.until - time.monotonic())
        before = self.patterns.steps
        found = self.patterns.cheapest(self.demand, self.plan, seconds)
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
        aim.pieces, aim.left = self.builder.settle(aim.pieces, aim.left, SLICE, aim.fresh)
        for piece in aim.pieces:
            self.patterns.add(self.builder.aims.kept_promise(piece))
        missing = self.builder.foam(aim.left)
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
        come = [self.builder.aims.kept_promise(piece) for piece in aim.pieces if piece.gives]
        return [piece for piece in self.plan if piece not in aim.apart] + come

    def _begun(self) -> Aim | None:
        """Return the aim that would save most, out of some that are not too full."""
        most = 1.0 if self.rng.random() < BOLD else self.full + self.rng.uniform(-0.12, 0.06)
        thought_of = [self.builder.aims.any(self.plan) for _ in range(LOOKS)]
        sound = [aim for aim in thought_of if aim is not None and aim.fullness <= most]
        return self._first_that_may_pay(sorted(sound, key=lambda aim: -aim.gain))

    def _begun_exchange(self) -> Aim | None:
        """Return the aim that is most likely to save much, those less that were aimed at before."""
        running = {aim.name for aim in self.exchanges}
        sound = [aim for aim in self.builder.aims.exchanges(self.plan) if aim.name not in running]
        sound.sort(key=lambda aim: -aim.promise(self.full_of_all) / (1 + self.tried[aim.name]))
        aim = self._first_that_may_pay(sound)
        if aim is not None:
            self.tried[aim.name] += 1
        return aim

    def _first_that_may_pay(self, aims: list[Aim]) -> Aim | None:
        """Return the first aim of which it is not proved that its foam is too little, or costs too much in the end."""
        worth = cost(self.plan) - 1
        return next((a for a in aims if len(a.apart) < len(self.plan) or self.floor.of(a.name) < worth), None)

    def _apart(self) -> tuple[list[Opened], list[Opened]]:
        """Choose one to four pieces to take apart, poor value first; return them and the rest."""
        count = min(len(self.plan), self.rng.randint(1, MOST_APART))
        poor_first = sorted(self.plan, key=lambda piece: -piece.cost / piece.blank_volume * (0.3 + self.rng.random()))
        return poor_first[:count], poor_first[count:]
