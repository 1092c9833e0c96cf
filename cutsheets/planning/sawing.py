"""Blanks in blocks: an anytime search for a cheap plan of edge-to-edge cuts in three dimensions.

It starts from the plain planner and climbs from there; where a climb is stuck, another begins at the plain plan. Only
cheaper plans are taken, so more time never gives a worse one. The same seed and number of rounds give the same plan: a
round is one piece that is filled, or some parts of pieces, and no clock is asked but for the time's end.
"""

from __future__ import annotations

from collections import Counter
from random import Random

from cutsheets.planning.bounds import Floor
from cutsheets.planning.budget import Budget
from cutsheets.planning.building import PLAIN, Builder
from cutsheets.planning.climbing import Climb
from cutsheets.planning.grids import grids
from cutsheets.planning.layout import Job, Opened, cost, given
from cutsheets.planning.shelves import shelves

TRIES = 10  # fills that look for a plan which leaves out less than the plain one
PATIENCE = 60  # rounds for each piece of such a plan; both found by trial


class Search:
    """The search for one grade; `best` holds a full answer from the first moment on, `left` what has no foam.

    `first`: how long to look for a plan that leaves out less than the plain one, or keeps the limits it does not keep.
    """

    def __init__(self, job: Job, rng: Random, first: Budget) -> None:
        self.job = job
        self.builder = Builder(job, rng, first)
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
            if enough or self.builder.budget.stopped():
                break
            left = Counter(self.job.demand)
            built = self.builder.built(left, [], self.builder.taste() if number else PLAIN)
            if built:
                built, left = self.builder.settle(built, left, PATIENCE * len(built))
                built = [piece for piece in built if piece.gives]
            if (self.builder.foam(left), self.over(built)) < (self.builder.foam(self.left), self.over(self.plain)):
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

    def improve(self, budget: Budget, floor: Floor) -> None:
        """Make `best` cheaper until the budget is spent or no cheaper one can exist; asked again, go on from it."""
        self.builder.budget = budget
        climb = Climb(self.builder, self.demand, self.best, floor, self.over)
        while not (floor.bound.is_reached(cost(self.best)) and not self.over(self.best)) and not budget.spent():
            if climb.stuck:
                climb = Climb(self.builder, self.demand, self.plain, floor, self.over)
            climb.step()
            self.best = min(self.best, climb.plan, key=lambda plan: (self.over(plan), cost(plan)))
        if budget.rounds is not None:
            budget.used = min(budget.used, budget.rounds)  # what was under way is not taken from other grades
