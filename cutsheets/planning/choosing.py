"""Patterns: every filled piece that was ever seen, and the cheapest choice among them that gives all blanks.

The cutting stock model of Gilmore and Gomory over the patterns at hand: Σ cost · times, every blank often enough. What
is given too often is left in its piece as free foam. SCIP searches a fixed number of nodes, so the answer is the same
on every machine.
"""

from __future__ import annotations

from collections import Counter

from ortools.linear_solver import pywraplp

from cutsheets.planning.layout import FREE, Job, Layout, Opened, joined

MOST = 1_500  # patterns that are looked at
SETTINGS = (  # without cutting planes: several times sooner, and the choices are as good
    "limits/nodes = 200\nlimits/solutions = -1\nrandomization/randomseedshift = 0\n"
    "separating/maxroundsroot = 0\nseparating/maxrounds = 0\n"
)


class Patterns:
    """The cheapest piece seen for each kind of foam and set of blanks."""

    def __init__(self, job: Job) -> None:
        self.job = job
        self.seen: dict[tuple[str, tuple[tuple[int, int], ...]], Opened] = {}
        self.new = 0
        self.steps = 0  # of the solver so far: the work that was done, on any machine

    def add(self, piece: Opened) -> None:
        key = piece.source.name, piece.gives
        known = self.seen.get(key)
        if piece.gives and piece.sound and (known is None or piece.cost < known.cost):
            self.seen[key] = piece
            self.new += 1
        if len(self.seen) > 2 * MOST:
            self.seen = dict(sorted(self.seen.items(), key=lambda each: _rate(each[1]))[:MOST])

    def cheapest(self, demand: Counter[int], plan: list[Opened], seconds: float | None) -> list[Opened] | None:
        """Return pieces that give the demand for least, or None where the solver finds none; a plan to begin with."""
        self.new = 0
        patterns = list(dict.fromkeys([*plan, *sorted(self.seen.values(), key=_rate)[:MOST]]))
        solver = pywraplp.Solver.CreateSolver("SCIP")
        solver.SetSolverSpecificParametersAsString(SETTINGS)
        if seconds is not None:
            solver.SetTimeLimit(max(1, round(seconds * 1000)))
        times = [solver.IntVar(0, _most(piece, demand), "") for piece in patterns]
        given = {number: solver.Constraint(count, solver.infinity()) for number, count in demand.items()}
        for piece, x in zip(patterns, times, strict=True):
            for number, count in piece.gives:
                if number in given:  # or it was left out since
                    given[number].SetCoefficient(x, count)
        for source in self.job.sources:
            if source.limit is not None:
                same = [x for piece, x in zip(patterns, times, strict=True) if piece.source.name == source.name]
                solver.Add(solver.Sum(same) <= source.limit)
        solver.Minimize(solver.Sum([piece.cost * x for piece, x in zip(patterns, times, strict=True)]))
        solver.SetHint(times, [float(piece in plan) for piece in patterns])
        answer = solver.Solve()
        self.steps += solver.iterations()
        if answer not in (pywraplp.Solver.OPTIMAL, pywraplp.Solver.FEASIBLE):
            return None
        return self._exact(
            demand, [p for p, x in zip(patterns, times, strict=True) for _ in range(round(x.solution_value()))]
        )

    def _exact(self, demand: Counter[int], pieces: list[Opened]) -> list[Opened]:
        """Return the pieces without the blanks that are given too often, out of the dearest foam first."""
        given: Counter[int] = Counter()
        for piece in pieces:
            given.update(dict(piece.gives))
        surplus = given - demand
        found: list[Opened] = []
        for piece in sorted(pieces, key=_rate, reverse=True):
            layout = _without(piece.layout, surplus) if any(surplus[n] for n, _ in piece.gives) else piece.layout
            found.append(self.job.opened(piece.source, layout))
        return [piece for piece in found if piece.gives]


def _most(piece: Opened, demand: Counter[int]) -> int:
    return max(-(-demand[number] // count) for number, count in piece.gives)


def _rate(piece: Opened) -> float:
    """Return the cents for each cubic micrometre of blanks."""
    return piece.cost / piece.blank_volume


def _without(layout: Layout, surplus: Counter[int]) -> Layout:
    """Return a layout with free foam in place of blanks, which `surplus` loses."""
    row: list[tuple[int, int, Layout]] = []  # a row may be longer than calls can be nested
    rest: Layout | None = layout
    while rest is not None and rest[0] == "cut":
        _, axis, at, low, rest = rest
        row.append((axis, at, _without(low, surplus)))
    if rest is not None and rest[0] == "blank" and surplus[rest[1]] > 0:
        surplus[rest[1]] -= 1
        rest = FREE
    for axis, at, low in reversed(row):
        rest = joined(axis, at, low, rest)
    return rest or FREE
