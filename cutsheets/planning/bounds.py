"""What no plan can beat: lower bounds on opened price, on new blocks and on the score.

Model (Fekete and Schepers, Mathematical Programming 91 (2001) 11-31; INFORMS J. Computing 16 (2004) 204-218): grown
by one kerf, blanks lie in grown cores without overlap. With dual feasible functions f, g, h the blanks cut from one
core satisfy Σ f(a/A) g(b/B) h(c/C) ≤ 1, taking for every blank the lie that counts least. The integer programme says
how many of each block to open so that every such row holds; only rows that the relaxation violates are written down.
The plain volume row is the case f = g = h = identity, and stays valid when the solver has no time for more.
Foam one blank high is a slab, of which the exact best is known (`slabs`): there edge-to-edge cuts count too.

The bound of the score counts what can be kept as one more thing in every core: a remnant has no side below the shop's
smallest, so a gap beside a blank that is narrower than that, and than every blank, is lost.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from ortools.linear_solver import pywraplp

from cutsheets.planning.layout import Job, Source
from cutsheets.planning.slabs import best_worth
from cutsheets.solids import Triple
from cutsheets.stock import is_useful, resized, volume

ROUNDS = 12  # of looking for violated rows, at most
WORK = 5_000  # blank types × kinds of foam × rounds, at most: a larger day keeps to its volume
ROWS_A_ROUND = 6  # for one kind of foam
STEPS = 6  # u(1) … u(6)
CUTS_AT = 6  # thresholds of U(eps) for one axis
SLAB_SUMS = 100  # of sides along one axis, at most, where foam is one blank high
NODES = 200  # of the solver, for one programme: the same answer on every machine
MILLISECONDS = 3_000  # far beyond what these take, so that nothing waits where they do not
TINY = 1e-6
EXCESS = 1e-4  # by which a row is violated before it is written down
Function = Callable[[int, int], float]
Coefficient = Callable[[Source], float]
Term = tuple[float, pywraplp.Variable, float, pywraplp.Variable]


@dataclass(frozen=True, slots=True)
class Bound:
    """Lower bounds: cents of opened foam, number of new blocks, and cents of the whole score."""

    price: float = 0.0
    blocks: int = 0
    score: float = 0.0

    def is_reached(self, score: float) -> bool:
        """Return whether no plan can be cheaper by a thousandth of a cent."""
        return score <= self.score + 0.001

    def __add__(self, other: Bound) -> Bound:
        return Bound(self.price + other.price, self.blocks + other.blocks, self.score + other.score)


class Floor:
    """What no plan of one grade can beat, whatever foam it opens (`bound`), and with some foam (`of`).

    At most some tenths of a second to make; when it is `late`, by volume alone.
    """

    def __init__(self, job: Job, demand: Counter[int], late: Callable[[], bool] = lambda: False) -> None:
        self.job, self.demand = job, demand
        self.model = _Model(job, demand, late) if len(+demand) * len(job.sources) <= WORK and not late() else None
        self.known: dict[tuple[str, ...], float] = {}
        self.bound = self._bound() if demand.total() else Bound()

    def of(self, foam: tuple[str, ...]) -> float:
        """Return the least score of a plan that opens just these pieces; infinite where they cannot give all blanks."""
        if foam not in self.known:
            least = 0.0 if self.model is None else self.model.least_of(Counter(foam), self._opening)
            self.known[foam] = least + self.job.prices.cut * self.demand.total()
        return self.known[foam]

    def _bound(self) -> Bound:
        return Bound(
            price=self._least(lambda source: source.price),
            blocks=math.ceil(self._least(lambda source: 0 if source.is_remnant else 1) - TINY),
            score=self._least(self._opening, keeping=True) + self.job.prices.cut * self.demand.total(),
        )

    def _least(self, coefficient: Coefficient, *, keeping: bool = False) -> float:
        models = [_Volume(self.job, self.demand), self.model]
        return max(model.least(coefficient, keeping=keeping) for model in models if model is not None)

    def _opening(self, source: Source) -> float:
        """Return what a piece costs, but for one cut a blank.

        A piece needs a cut for every blank but one, and one more for every face with skin (cut it in two: both parts
        have all faces but the new one).
        """
        return source.price + self.job.prices.cut * (source.trims - 1)


class _Volume:
    """The blanks as so much foam, whatever their shape: pieces may be opened in part. O(sources log sources)."""

    def __init__(self, job: Job, demand: Counter[int]) -> None:
        self.job = job
        self.copies = [demand.total() if source.limit is None else source.limit for source in job.sources]
        self.needed = sum(volume(job.lies[n][0][1]) * count for n, count in demand.items())

    def least(self, coefficient: Coefficient, *, keeping: bool = False) -> float:
        """Return the least Σ coefficient × opened pieces, less what is earned by `keeping` foam."""
        earned, needed, rates = 0.0, self.needed, []
        for source, copies in zip(self.job.sources, self.copies, strict=True):
            cost, room = coefficient(source), volume(source.core)
            gain = self._earns(source) if keeping else 0.0
            earned += min(cost - gain, 0.0) * copies  # what pays is opened for nothing too
            used = volume(self.job.foam(source.core)) / volume(source.size)  # of a piece that blanks fill
            if room:
                rates.append(((max(cost - gain, 0.0) + gain * used) / room, room * copies))
        total = earned
        for rate, room in sorted(rates):
            total += rate * min(room, needed)
            needed -= min(room, needed)
        return float(total - TINY)

    def _earns(self, source: Source) -> float:
        """Return what keeping all of a piece would earn; what is kept of it never earns more for its volume."""
        if not is_useful(source.size, self.job.instance["min_remnant"]):
            return 0.0
        fee = 0 if source.trims else self.job.prices.cut
        return max(0.0, -(self.job.prices.kept(volume(source.size), self.job.per_volume) + fee))


class _Model:
    """The integer programme of one grade: y pieces of each foam, x blanks of each size out of it."""

    def __init__(self, job: Job, demand: Counter[int], late: Callable[[], bool]) -> None:
        self.job, self.demand, self.late = job, demand, late
        self.numbers = [n for n in job.numbers if demand[n] > 0]
        self.solver = pywraplp.Solver.CreateSolver("SCIP")
        self.solver.SetSolverSpecificParametersAsString(f"limits/nodes = {NODES}")
        self.solver.SetTimeLimit(MILLISECONDS)
        most = demand.total()
        self.opened = [self.solver.NumVar(0, most if s.limit is None else s.limit, s.name) for s in job.sources]
        self.taken: dict[tuple[int, int], pywraplp.Variable] = {}
        self.lies: list[list[tuple[int, Triple]]] = []
        self.numbers_in: list[list[int]] = []  # for each kind of foam: the blanks it can give
        self.starts: list[list[int]] = []  # where the lies of each of them begin
        for k, source in enumerate(job.sources):
            lies = [(n, size) for n in self.numbers for _, size in job.lies[n] if job.fits_in(size, source.core)]
            self.lies.append(lies)
            starts = {n: at for at, (n, _) in reversed([*enumerate(lies)])}
            self.numbers_in.append(sorted(starts, key=starts.__getitem__))
            self.starts.append(sorted(starts.values()))
            for n in self.numbers_in[k]:
                self.taken[n, k] = self.solver.NumVar(0, demand[n], f"{n}/{k}")
        for n in self.numbers:
            taken = [self.taken[n, k] for k in range(len(job.sources)) if (n, k) in self.taken]
            self.solver.Add(sum(taken) == demand[n])
        self.kept = [self.solver.NumVar(0, most + 1, "") for _ in job.sources]  # in whole pieces of each kind of foam
        self.tables = [self._table(k) for k in range(len(job.sources))]
        for k in range(len(job.sources)):
            self._add_row(k, (0, 0, 0))
            self._add_kept(k)
            self._add_slab(k)

    def least(self, coefficient: Coefficient, *, keeping: bool = False) -> float:
        """Return the least Σ coefficient × opened pieces, less what is earned by `keeping` foam.

        Relaxed and tightened first, then in whole pieces.
        """
        solver = self.solver
        for y in self.opened:
            y.SetInteger(False)
        terms = self._terms(coefficient, keeping=keeping)
        solver.Minimize(sum(each * y - gain * kept for each, y, gain, kept in terms))
        # All that a plan can earn: foam so cheap that keeping it pays.
        relaxed = least = sum(min(each - gain, 0.0) * y.ub() for each, y, gain, _ in terms)
        for _ in range(min(ROUNDS, WORK // max(1, len(self.taken)))):
            if self.late() or solver.Solve() != pywraplp.Solver.OPTIMAL:
                break
            relaxed = solver.Objective().Value()
            if not self._tighten():
                break
        for y in self.opened:
            y.SetInteger(True)
        answered = not self.late() and solver.Solve() in (pywraplp.Solver.OPTIMAL, pywraplp.Solver.FEASIBLE)
        whole = solver.Objective().BestBound() if answered else least
        return float(max(relaxed - TINY, whole - TINY, least))

    def least_of(self, foam: Counter[str], coefficient: Coefficient) -> float:
        """Return the least Σ coefficient × opened pieces less what is earned, when just this foam is opened."""
        ranges = [(y.lb(), y.ub()) for y in self.opened]
        for source, y in zip(self.job.sources, self.opened, strict=True):
            y.SetInteger(False)
            y.SetBounds(foam[source.name], foam[source.name])
        terms = self._terms(coefficient, keeping=True)
        self.solver.Minimize(sum(each * y - gain * kept for each, y, gain, kept in terms))
        status = self.solver.Solve()
        least = self.solver.Objective().Value() - TINY if status == pywraplp.Solver.OPTIMAL else 0.0
        for y, (low, high) in zip(self.opened, ranges, strict=True):
            y.SetBounds(low, high)
        return math.inf if status == pywraplp.Solver.INFEASIBLE else float(least)

    def _terms(self, coefficient: Coefficient, *, keeping: bool) -> list[Term]:
        """Return for each foam: its coefficient, its pieces, what keeping a whole piece earns, how much is kept."""
        costs = [coefficient(source) for source in self.job.sources]
        earned = [self._earns(k) if keeping else 0.0 for k in range(len(costs))]
        return list(zip(costs, self.opened, earned, self.kept, strict=True))

    def _tighten(self) -> bool:
        """Write down the most violated rows of every kind of foam; return whether there were any."""
        x = {key: taken.solution_value() for key, taken in self.taken.items()}
        y = [opened.solution_value() for opened in self.opened]
        found = [(k, row) for k in range(len(y)) for row in self._violated(k, x, y[k])]
        for k, row in found:
            self._add_row(k, row)
        return bool(found)

    def _violated(self, k: int, x: dict[tuple[int, int], float], opened: float) -> list[Triple]:
        amounts = np.array([x[n, k] for n in self.numbers_in[k]])
        if not amounts.size or amounts.sum() < TINY:
            return []
        along_x, along_y, along_z = self.tables[k]
        faces = along_y[:, None, :] * along_z[None, :, :]
        excess = np.array([np.minimum.reduceat(first * faces, self.starts[k], axis=2) @ amounts for first in along_x])
        most = np.argsort(-excess, axis=None, kind="stable")[:ROWS_A_ROUND]
        rows = (np.unravel_index(one, excess.shape) for one in most)
        return [(int(x), int(y), int(z)) for x, y, z in rows if excess[x, y, z] - opened > EXCESS]

    def _add_row(self, k: int, row: Triple) -> None:
        """Add: the blanks out of one kind of foam, weighed by the row's functions, are no more than its pieces."""
        if self.lies[k]:
            weights = self._weights(k, row)
            total = sum(float(w) * self.taken[n, k] for n, w in zip(self.numbers_in[k], weights, strict=True))
            self.solver.Add(total <= self.opened[k])

    def _add_kept(self, k: int) -> None:
        """Add: what is kept of one kind of foam has room beside the blanks; skin may be kept with it.

        Along each axis U(eps), with the largest eps that no blank and no remnant less its skin is below, counts them
        all at least in full. A remnant that is grown by the kerf grows at least as much as the whole core does.
        """
        source = self.job.sources[k]
        core = volume([side - self.job.kerf for side in source.core]) / volume(source.size)
        weights = self._least_of(k, [self._full(k, axis) for axis in range(3)]) if self.lies[k] else np.array([])
        used = sum(float(w) * self.taken[n, k] for n, w in zip(self.numbers_in[k], weights, strict=True))
        self.solver.Add(self.kept[k] + used * core <= self.opened[k])

    def _add_slab(self, k: int) -> None:
        """Add, where no two blanks lie one on the other: no more of one blank than can be cut, nor of all faces."""
        core, lies = self.job.sources[k].core, self.lies[k]
        flat = [axis for axis in range(3) if lies and 2 * min(size[axis] for _, size in lies) > core[axis]]
        if not flat:
            return
        one, two = (axis for axis in range(3) if axis != flat[0])
        faces = np.array([size[one] / core[one] * (size[two] / core[two]) for _, size in lies])
        numbers = self.numbers_in[k]
        all_faces = dict(zip(numbers, np.minimum.reduceat(faces, self.starts[k]).tolist(), strict=True))
        for worths in (all_faces, *({n: 1.0} for n in numbers)):
            items = [(size[one], size[two], worths[n]) for n, size in lies if n in worths]
            most = best_worth(core[one], core[two], items, SLAB_SUMS)
            if most is not None:
                self.solver.Add(sum(w * self.taken[n, k] for n, w in worths.items()) <= most * self.opened[k])

    def _full(self, k: int, axis: int) -> NDArray[np.float64]:
        """Return for every lie its side along an axis as a share of the room: all of it where nothing fits beside."""
        source = self.job.sources[k]
        sides = [size[axis] for _, size in self.lies[k]]
        remnant = self.job.instance["min_remnant"]["dims"][0] + self.job.kerf
        full = _threshold(min(*sides, remnant - max(source.low[axis], source.high[axis])))
        return np.array([full(side, source.core[axis]) for side in sides])

    def _earns(self, k: int) -> float:
        """Return what keeping a whole piece of foam would earn at the best rate of a remnant that can be left of it.

        That is the largest box beside one blank, or the piece itself where it pays to open it for nothing: a larger
        remnant never earns less for its volume. Without skin every remnant needs a cut of its own.
        """
        source, prices, per_volume = self.job.sources[k], self.job.prices, self.job.per_volume
        rests = [(axis, source.size[axis] - size[axis]) for _, size in self.lies[k] for axis in range(3)]
        boxes = [resized(source.size, axis, rest) for axis, rest in rests]
        whole = volume(source.size)
        if source.price + prices.kept(whole, per_volume) < 0:
            boxes.append(source.size)
        useful = [volume(box) for box in boxes if is_useful(box, self.job.instance["min_remnant"])]
        if not useful:
            return 0.0
        fee = 0 if source.trims else prices.cut
        return max(0.0, -(prices.kept(max(useful), per_volume) + fee) * whole / max(useful))

    def _weights(self, k: int, row: Triple) -> NDArray[np.float64]:
        return self._least_of(k, [table[number] for table, number in zip(self.tables[k], row, strict=True)])

    def _least_of(self, k: int, along: Sequence[NDArray[np.float64]]) -> NDArray[np.float64]:
        """Return for each blank the least product over its lies of what counts along the three axes."""
        return np.minimum.reduceat(along[0] * along[1] * along[2], self.starts[k])

    def _table(self, k: int) -> list[NDArray[np.float64]]:
        """Return for each axis the value of every function for every lie; row 0 is the identity."""
        core = self.job.sources[k].core
        return [
            np.array([[f(size[axis], core[axis]) for _, size in self.lies[k]] for f in self._functions(k, axis)])
            for axis in range(3)
        ]

    def _functions(self, k: int, axis: int) -> list[Function]:
        room = self.job.sources[k].core[axis]
        sides = {size[axis] for _, size in self.lies[k]}
        at = sorted({s for s in sides if 2 * s <= room} | {room - s for s in sides if s < room < 2 * s})
        chosen = at[:: max(1, -(-len(at) // CUTS_AT))] if at else []
        return [lambda d, r: d / r, *(_step(n) for n in range(1, STEPS + 1)), *(_threshold(e) for e in chosen)]


def _step(n: int) -> Function:
    """u(n): a length that divides the room into n + 1 parts keeps its share, others count their whole n-ths."""

    def u(side: int, room: int) -> float:
        times = (n + 1) * side
        return side / room if times % room == 0 else (times // room) / n

    return u


def _threshold(eps: int) -> Function:
    """U(eps): what leaves less than eps beside it fills the room, what is below eps counts nothing."""

    def u(side: int, room: int) -> float:
        return 1.0 if side > room - eps else 0.0 if side < eps else side / room

    return u
