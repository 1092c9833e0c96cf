"""packingsolver's solver of outlines, in a child process: whole nests, face by face, single faces, and strips.

A job holds `how`, `bins` [{w, h, cost, copies}], `items` [{outer, copies, turns, mirror}] and `seed`. An answer is the
list of its bins, each `[bin, [[item, turn, mirrored, x, y], …]]`; of `alone` it is one bin. Outlines are grown
already: they are placed with no room between them.

Asked for all faces at once the library may say nothing for a long time. So `faces` asks for one face after the other,
by its packing of periods, which is soon near its best, and makes dearer in the next round what was left to the last
faces in this one (sequential value correction: Belov and Scheithauer 2007 *(memory)*).
"""

from __future__ import annotations

import math
import time
from collections.abc import Iterator, Mapping
from contextlib import suppress
from itertools import count, product
from random import Random
from typing import Any

from packingsolver import irregular as library

from cutsheets.engines.children import Say, keep_to_one_core, serve

Job = Mapping[str, Any]
Part = tuple[int, float, bool, float, float]
Bin = tuple[int, list[Part]]
STEP = 0.15  # by how much a round changes what an item is worth
FULL = 0.9  # of a face is more than any nest of odd outlines fills
HOLDING = 2  # so many faces are tried for all that is left
FACE = 5.0  # seconds for one face at most: it takes one or two
PERIODS = 16  # how broad the search of periods is: broader, it takes three times as long for next to nothing
GUIDE, ALONE = 5, 0  # the library's order of a tree search that filled single faces best; those of one outline
ROUGH, FINE = 0.2, 0.02  # how much of its area an outline may be made simpler by; where it is alone


def whole(job: Job, say: Say) -> None:
    """Answer with nests of all faces at once; where the faces are of one kind the first is as good as any."""
    asked = _parameters(job["seconds"], library.OptimizationMode.Anytime)
    asked.use_sequential_single_knapsack = True  # the other ways would only take its time on one core
    with suppress(_Enough):
        _ask(_problem(job, library.Objective.VariableSizedBinPacking), asked, say, first=len(job["bins"]) == 1)


def fullest(job: Job, say: Say) -> None:
    """Answer with fuller and fuller faces of the first bin."""
    keep_to_one_core()
    asked = _parameters(job["seconds"], library.OptimizationMode.Anytime)
    problem = _problem({**job, "bins": [{**job["bins"][0], "copies": 1}]}, library.Objective.Knapsack)
    most = 0

    def heard(output: library.Output) -> None:
        nonlocal most
        if output.solution.number_of_items() > most:
            most = output.solution.number_of_items()
            say(_bins(output.solution))

    asked.new_solution_callback = heard
    library.optimize(problem, asked)


def strip(job: Job, say: Say) -> None:
    """Answer with shorter and shorter strips in a bin that is long enough."""
    keep_to_one_core()
    asked = _parameters(job["seconds"], library.OptimizationMode.Anytime)
    _ask(_problem(job, library.Objective.OpenDimensionX), asked, say)


def faces(job: Job, say: Say) -> None:
    """Answer with nests that are packed face by face, round after round, each one better than all before."""
    random = Random(job["seed"])  # noqa: S311 - a search, no secret
    end = time.monotonic() + job["seconds"]
    worth = [1.0] * len(job["items"])
    best = (math.inf, math.inf, math.inf)
    for number in count():
        if time.monotonic() > end:
            return
        nest = _round(job, worth, random if number > 1 else None, finish=number % 2 == 0)
        if nest and (price := _price(job, nest)) < best:
            best = price
            say(nest)
        for place, (_, parts) in enumerate(nest):
            late = (place + 1) / len(nest)
            for item in {part[0] for part in parts}:
                worth[item] *= 1 + STEP * (late - 0.5) + random.uniform(-STEP, STEP) / 3


def alone(job: Job, say: Say) -> None:
    """Answer with fuller and fuller faces of one outline, each with the number of its problem.

    `problems` are faces on which to search, each with its `searches`: by periods or not, and how broad. They end by
    themselves, so the same job has the same answers.
    """
    most = job["least"]
    for number, each in enumerate(job["problems"]):
        problem = _problem(each, library.Objective.Knapsack)
        for periods, broad in each["searches"]:
            asked = _by_periods(broad) if periods else _narrowly(broad, FINE, ALONE)
            found = _bins(library.optimize(problem, asked).solution)
            if found and len(found[0][1]) > most:
                most = len(found[0][1])
                say([number, found[0][1]])


def _price(job: Job, nest: list[Bin]) -> tuple[float, float, float]:
    """Return the area that is not placed (below 0: placed), the cost of the bins, the area of parts in the last."""
    areas = [sum(job["items"][part[0]]["area"] for part in parts) for _, parts in nest]
    return -round(sum(areas), 6), sum(job["bins"][number]["cost"] for number, _ in nest), areas[-1]


def _round(job: Job, worth: list[float], random: Random | None, *, finish: bool) -> list[Bin]:
    """Fill one face after the other until nothing is left, or no face, or nothing fits.

    `finish`: look for a face that holds all that is left first; a cheap remnant may or may not spare one.
    """
    left = [item["copies"] for item in job["items"]]
    stock = [each["copies"] for each in job["bins"]]
    nest: list[Bin] = []
    while any(left):
        chosen = None
        area = sum(item["area"] * copies for item, copies in zip(job["items"], left, strict=True))
        for number, last in _order(job, area if finish else math.inf, stock, random):
            parts = _face(job, number, left, worth)
            if len(parts) == sum(left) or (parts and not last):
                chosen = number, parts
                break
        if chosen is None:
            break
        nest.append(chosen)
        stock[chosen[0]] -= 1
        for part in chosen[1]:
            left[part[0]] -= 1
    return nest


def _order(job: Job, area: float, stock: list[int], random: Random | None) -> Iterator[tuple[int, bool]]:
    """Yield which faces to try: first, the cheapest first, some that may hold the area that is left and must (True).

    Then all by what their room costs, the small ones first where that is the same within a twentieth.
    """
    rooms = {number: each["w"] * each["h"] for number, each in enumerate(job["bins"]) if stock[number] > 0}
    costs = {number: job["bins"][number]["cost"] for number in rooms}
    holding = sorted((number for number in rooms if rooms[number] * FULL > area), key=lambda number: costs[number])
    for number in holding[:HOLDING]:
        yield number, True

    def rate(number: int) -> tuple[float, float]:
        each = costs[number] / rooms[number]
        if random:
            return each * random.uniform(0.9, 1.1), 0.0
        return round(math.log(each) * 20) if each > 0 else -math.inf, rooms[number]

    for number in sorted(rooms, key=rate):
        yield number, False


def _face(job: Job, number: int, left: list[int], worth: list[float]) -> list[Part]:
    """Return what fills a bin of that kind best, by periods; where these find nothing, by the narrowest search."""
    kept = [n for n, copies in enumerate(left) if copies]
    items = [
        {**job["items"][n], "copies": left[n], "profit": job["items"][n]["area"] * worth[n]} for n in kept
    ]  # fmt: skip
    problem = _problem({"bins": [{**job["bins"][number], "copies": 1}], "items": items}, library.Objective.Knapsack)
    for asked in (_by_periods(), _narrowly()):
        if found := _bins(library.optimize(problem, asked).solution):
            return [(kept[part[0]], *part[1:]) for part in found[0][1]]
    return []


def _by_periods(broad: int = PERIODS) -> library.OptimizeParameters:
    asked = _parameters(FACE, library.OptimizationMode.NotAnytimeSequential)
    asked.use_tree_search = False
    asked.use_tree_search_periodic_packing = True
    asked.not_anytime_tree_search_periodic_packing_queue_size = broad
    return asked


def _narrowly(broad: int = 1, rough: float = ROUGH, guide: int = GUIDE) -> library.OptimizeParameters:
    asked = _parameters(FACE, library.OptimizationMode.NotAnytimeSequential)
    asked.use_tree_search = True
    asked.tree_search_guides = [guide]
    asked.not_anytime_tree_search_queue_size = broad
    asked.not_anytime_maximum_approximation_ratio = rough
    return asked


def _ask(problem: library.Instance, asked: library.OptimizeParameters, say: Say, *, first: bool = False) -> None:
    """Say each nest that holds everything; raise `_Enough` after the first one where no other is wanted."""

    def heard(output: library.Output) -> None:
        if output.solution.full() and output.solution.number_of_bins():
            say(_bins(output.solution))
            if first:
                raise _Enough

    asked.new_solution_callback = heard
    library.optimize(problem, asked)


class _Enough(Exception):
    """The library is told so from its callback."""


def _parameters(seconds: float, mode: library.OptimizationMode) -> library.OptimizeParameters:
    asked = library.OptimizeParameters()
    asked.time_limit = seconds
    asked.verbosity_level = 0
    asked.optimization_mode = mode
    return asked


def _problem(job: Job, objective: library.Objective) -> library.Instance:
    builder = library.InstanceBuilder()
    builder.set_objective(objective)
    for each in job["bins"]:
        builder.add_bin_type(library.build_rectangle(each["w"], each["h"]), cost=each["cost"], copies=each["copies"])
    for item in job["items"]:
        lies = item.get("lies") or product(item["turns"], (False, True) if item["mirror"] else (False,))
        turns = [(turn, turn, side) for turn, side in lies]
        profit = item.get("profit", item["area"])
        shape = library.build_shape(item["outer"])
        builder.add_item_type(shape, copies=item["copies"], allowed_rotations=turns, profit=profit)
    return builder.build()


def _bins(solution: library.Solution) -> list[Bin]:
    """Return what a solution holds, a bin of several copies so many times."""
    found: list[Bin] = []
    for number in range(solution.number_of_different_bins()):
        each = solution.bin(number)
        parts = [(i.item_type_id, i.angle, i.mirror, i.bl_corner.x, i.bl_corner.y) for i in each.items]
        found += [(each.bin_type_id, parts)] * each.copies
    return found


def _work(job: Job, say: Say) -> None:
    {"whole": whole, "faces": faces, "strip": strip, "alone": alone, "fullest": fullest}[job["how"]](job, say)


if __name__ == "__main__":
    serve(_work)
