"""Patterns: ways to cut one stock length into sticks, and the proof that no choice of them is cheaper.

Gilmore and Gomory (Operations Research 9 (1961) 849-859): the linear programme over patterns, which are added while one
saves, says what each stick is worth and what a length costs. A pattern that is worth less than its length by more than
an answer can still gain is in no better answer; the integer programme over all others is therefore a proof.
Sticks and lengths come with their kerf (see `lengths`).
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from ortools.linear_solver import pywraplp

TINY = 1e-6
ROUNDS = 200  # of looking for patterns that save
MOST_STEPS = 20_000  # of one look for patterns
MOST_PATTERNS = 1_500  # in the integer programme
NODES = 200  # of it: the same answer on every machine
Length = tuple[int, int | None, int]  # µm, how many there are (None: any number), cents for one
Wanted = tuple[int, int]  # µm, how many
Gives = tuple[int, ...]  # how many of each wanted stick


@dataclass(frozen=True, slots=True)
class Pattern:
    """`times` stock lengths of one number cut alike: how many of each wanted stick each of them gives."""

    length: int
    gives: Gives
    times: int = 1


class TooMany(Exception):
    """There are more patterns than can be looked through."""


def closed(lengths: Sequence[Length], demand: Sequence[Wanted], cost: int) -> tuple[tuple[Pattern, ...], int]:
    """Return patterns that are cheaper than `cost` (none where there are none) and what nothing costs less than.

    The bound is 0 where there is too much to look through.
    """
    task = _Task(lengths, demand)
    try:
        task.relax()
        task.add_all_within(cost - task.step - task.relaxed)
    except TooMany:
        return (), 0
    return task.choose(cost)


class _Task:
    """The patterns known so far and the programmes over them. A pattern: the number of its length, what it gives."""

    def __init__(self, lengths: Sequence[Length], demand: Sequence[Wanted]) -> None:
        self.rooms, self.copies, self.costs = zip(*lengths, strict=True)
        self.sizes, self.wanted = zip(*demand, strict=True)
        self.step = math.gcd(*self.costs) or 1
        self.known: dict[tuple[int, Gives], None] = {}
        self.relaxed = 0.0
        self.worth = [0.0] * len(demand)  # of one stick, cents
        self.fee = [0.0] * len(lengths)  # of opening a length: its cost, and more where there are too few

    def relax(self) -> None:
        """Find the least cost of lengths that may be opened in part, and what sticks and lengths are worth."""
        for _ in range(ROUNDS):
            self._solve()
            found = [(s, gives) for s, fee in enumerate(self.fee) for gives in self._look(s, fee).best()]
            if not found:
                return
            self.known |= dict.fromkeys(found)
        raise TooMany

    def add_all_within(self, gap: float) -> None:
        """Add every pattern that may be part of an answer at most `gap` above the relaxed cost."""
        for s, fee in enumerate(self.fee):
            for gives, _ in self._look(s, fee - gap - 2 * TINY * (1 + fee)).found():
                self.known[s, gives] = None
                if len(self.known) > MOST_PATTERNS:
                    raise TooMany

    def choose(self, cost: int) -> tuple[tuple[Pattern, ...], int]:
        """Return the cheapest choice of patterns below a cost, and what none costs less than."""
        solver = pywraplp.Solver.CreateSolver("SCIP")
        solver.SetSolverSpecificParametersAsString(f"limits/nodes = {NODES}")
        used = [solver.IntVar(0, solver.infinity(), "") for _ in self.known]
        self._write_rows(solver, used)
        status = solver.Solve()
        if status == pywraplp.Solver.INFEASIBLE:
            return (), cost
        bound = min(cost, self._up(solver.Objective().BestBound()))
        if status not in (pywraplp.Solver.OPTIMAL, pywraplp.Solver.FEASIBLE) or solver.Objective().Value() > cost - 0.5:
            return (), bound
        times = [round(x.solution_value()) for x in used]
        chosen = [Pattern(s, gives, n) for (s, gives), n in zip(self.known, times, strict=True) if n]
        return tuple(_exact(chosen, self.wanted)), bound

    def _up(self, cost: float) -> int:
        """Return the least cost of whole lengths that is not below this one."""
        return math.ceil((cost - TINY * (1 + cost)) / self.step) * self.step

    def _look(self, length: int, least: float) -> _Look:
        return _Look(self.worth, self.sizes, self.wanted, self.rooms[length], least + TINY * (1 + self.fee[length]))

    def _solve(self) -> None:
        solver = pywraplp.Solver.CreateSolver("GLOP")
        used = [solver.NumVar(0, solver.infinity(), "") for _ in self.known]
        given, opened = self._write_rows(solver, used)
        dear = 1 + sum(self.costs) * sum(self.wanted)  # of a stick that no pattern gives
        for row in given:
            short = solver.NumVar(0, solver.infinity(), "")
            row.SetCoefficient(short, 1)
            solver.Objective().SetCoefficient(short, dear)
        solver.Solve()
        self.relaxed = float(solver.Objective().Value())
        self.worth = [row.dual_value() for row in given]
        self.fee = [cost - row.dual_value() for cost, row in zip(self.costs, opened, strict=True)]

    def _write_rows(self, solver: Any, used: Sequence[Any]) -> tuple[list[Any], list[Any]]:
        """Write down: enough of every stick, no more of a length than there are, at least cost."""
        given = [solver.Constraint(qty, solver.infinity()) for qty in self.wanted]
        opened = [solver.Constraint(0, solver.infinity() if most is None else most) for most in self.copies]
        for (length, gives), x in zip(self.known, used, strict=True):
            opened[length].SetCoefficient(x, 1)
            solver.Objective().SetCoefficient(x, self.costs[length])
            for row, count in zip(given, gives, strict=True):
                row.SetCoefficient(x, count)
        solver.Objective().SetMinimization()
        return given, opened


@dataclass(slots=True)
class _Look:
    """A look for patterns of one length that are worth `least` or more, which may be raised meanwhile."""

    worth: Sequence[float]
    sizes: Sequence[int]
    wanted: Sequence[int]
    room: int
    least: float
    steps: int = 0

    def best(self) -> list[Gives]:
        """Return the pattern that is worth most, where one is worth enough."""
        best: list[Gives] = []
        for gives, worth in self.found():
            best, self.least = [gives], worth + TINY
        return best

    def found(self) -> Iterator[tuple[Gives, float]]:
        """Yield patterns with what they are worth. Raises TooMany."""
        order = sorted(range(len(self.sizes)), key=lambda i: -self.worth[i] / self.sizes[i])
        yield from self._filled(order, self.room, 0.0, [0] * len(order))

    def _filled(self, order: list[int], room: int, worth: float, gives: list[int]) -> Iterator[tuple[Gives, float]]:
        """Go on with the sticks of this order: those worth most for their length come first."""
        self.steps += 1
        if self.steps > MOST_STEPS:
            raise TooMany
        if not order:
            if worth >= self.least:
                yield tuple(gives), worth
            return
        i, *others = order
        rate = self.worth[others[0]] / self.sizes[others[0]] if others else 0.0
        for count in range(min(room // self.sizes[i], self.wanted[i]), -1, -1):
            rest, value = room - count * self.sizes[i], worth + count * self.worth[i]
            if value + rest * rate < self.least:
                return  # with fewer of these it is worth less still
            gives[i] = count
            yield from self._filled(others, rest, value, gives)


def _exact(chosen: Sequence[Pattern], wanted: Sequence[int]) -> Iterator[Pattern]:
    """Yield the patterns less what they give too much."""
    left = list(wanted)
    for pattern in chosen:
        times = pattern.times
        while times:
            gives = tuple(min(count, rest) for count, rest in zip(pattern.gives, left, strict=True))
            alike = min([times, *(rest // count for count, rest in zip(gives, left, strict=True) if count)])
            if any(gives):
                yield Pattern(pattern.length, gives, alike)
            left = [rest - count * alike for count, rest in zip(gives, left, strict=True)]
            times -= alike
