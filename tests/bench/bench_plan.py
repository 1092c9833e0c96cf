"""How good plans of invented days are, beside the bound, plain shelves and layers packed by rectpack, in one table.

PYTHONPATH=. .venv/bin/python tests/bench/bench_plan.py [--seconds 10] [--seed 0] [FILE ...]

Files are instances (`blockyard-stock-1`); without any, the days and traps of `days_to_plan` are planned. Every day is
planned in a process of its own, so that its peak memory is its own.
"""

import argparse
import json
import multiprocessing
import resource
import sys
import time
from collections import defaultdict
from dataclasses import dataclass
from pathlib import Path

import rectpack
from days_to_plan import days, largest, traps

from cutsheets.files.stock import read_instance
from cutsheets.planning import plan
from cutsheets.planning.check import first_overlap
from cutsheets.planning.prices import Prices
from cutsheets.planning.slabs import best_worth
from cutsheets.solids import Placed, Triple
from cutsheets.stock import Instance, Stock, lying

SHARE = 0.85  # of either plain way, at most, costs our plan of a day
FIRST, LATE = 1.0, 1.0  # seconds: of the processor to the first valid plan of a day; over the time that was asked for
MEMORY = 1024  # MiB
TRAP_SECONDS = 2.0
SHEET_SECONDS = 10.0
GCUT = Path(__file__).parents[1] / "cutsheets" / "gcut.json"


@dataclass(frozen=True)
class Line:
    """What one instance came to: cents, seconds, MiB; `opened` is the price of the opened foam.

    `first`: of the processor, to a first valid plan; `seconds`: of the clock, to the last one.
    """

    name: str
    blanks: int
    score: float
    bound: float
    shelves: float
    layers: float | None
    opened: int
    left_out: int
    first: float
    seconds: float
    memory: float

    def say(self) -> str:
        plain = [_ratio(self.score, self.shelves), _ratio(self.score, self.layers)]
        gap = f"{self.score / self.bound - 1:+7.1%}" if self.bound > 0 else "      –"
        return (
            f"{self.name:24}{self.blanks:6}{self.score:10.0f}{self.bound:10.0f} {gap}{self.shelves:10.0f} {plain[0]}"
            f"{self.layers or 0:10.0f} {plain[1]}{self.seconds:7.1f}{self.memory:8.0f}"
        )


HEAD = (
    f"{'instance':24}{'blanks':>6}{'score':>10}{'bound':>10} {'gap':>7}{'shelves':>10}  ours÷{'rectpack':>10}  ours÷"
    f"{'s':>7}{'MiB':>8}"
)


def measured(name: str, instance: Instance, seconds: float, seed: int) -> Line:
    """Return what one instance comes to; runs in a process of its own."""
    start = time.process_time()
    plan(instance, seconds=0, seed=seed)
    first = time.process_time() - start
    start = time.perf_counter()
    result = plan(instance, seconds=seconds, seed=seed)
    took = time.perf_counter() - start
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    return Line(
        name, sum(blank["qty"] for blank in instance["blanks"]), result.score, result.bound.score, result.plain_score,
        layers_cost(instance), result.stats.price, len(result.left_out), first, took, peak,
    )  # fmt: skip


def layers_cost(instance: Instance) -> float | None:
    """Return the cents of a plan in layers packed by rectpack, or None where some blank has no block for itself.

    Of every grade the block size is taken that makes the plan cheapest. Nothing is kept; every layer and every blank
    needs one cut at least.
    """
    total = 0.0
    for grade in {blank["grade"] for blank in instance["blanks"]}:
        costs = [_of_one_size(instance, stock) for stock in instance["stock"] if stock["grade"] == grade]
        found = [cost for cost in costs if cost is not None]
        if not found:
            return None
        total += min(found)
    return total


def _of_one_size(instance: Instance, stock: Stock) -> float | None:
    """Return the cents of one grade out of blocks of one size: layers of one height, the thickest first, in piles.

    Rectangles and room are grown by one kerf, so that parts lie a kerf apart, as in our own plans.
    """
    kerf = instance["kerf"]
    sides = zip(stock["size"], stock["skin"], strict=True)
    long, wide, high = (side - sum(skin) + kerf for side, skin in sides)
    flat: dict[tuple[int, bool], list[tuple[int, int]]] = defaultdict(list)
    cuts = 0
    for blank in instance["blanks"]:
        if blank["grade"] != stock["grade"]:
            continue
        lies = [_grown(lying(blank["size"], lie), kerf) for lie in blank["rot"]]
        fitting = sorted((c, b, a) for a, b, c in lies if a <= long and b <= wide and c <= high)
        if not fitting:
            return None
        height, b, a = fitting[0]
        turns = (height, a, b) in fitting
        flat[height, turns] += [(a, b)] * blank["qty"]
        cuts += blank["qty"]
    layers = [h for (h, turns), faces in flat.items() for _ in _packed(faces, (long, wide), turns=turns)]
    piles: list[int] = []  # room left in each block
    for height in sorted(layers, reverse=True):
        fitting_pile = next((n for n, room in enumerate(piles) if height <= room), None)
        if fitting_pile is None:
            piles.append(high - height)
        else:
            piles[fitting_pile] -= height
    return len(piles) * stock["price"] + (cuts + len(layers)) * Prices.of(instance).cut


def _grown(size: Triple, kerf: int) -> Triple:
    return size[0] + kerf, size[1] + kerf, size[2] + kerf


def _packed(faces: list[tuple[int, int]], room: tuple[int, int], *, turns: bool) -> list[list[Placed]]:
    """Return rectpack's layers; all rectangles must be there and apart (its own check leaves out the last one)."""
    packer = rectpack.newPacker(rotation=turns)
    for face in faces:
        packer.add_rect(*face)
    packer.add_bin(*room, count=len(faces))
    packer.pack()
    layers = [[Placed("blank", "", (r.x, r.y, 0), (r.width, r.height, 1)) for r in layer] for layer in packer]
    if sum(map(len, layers)) != len(faces) or any(first_overlap(layer) for layer in layers):
        raise AssertionError("rectpack lost or overlapped rectangles")
    return layers


def _ratio(ours: float, other: float | None) -> str:
    return f"{ours / other:6.2f}" if other and other > 0 else "     –"


def in_a_process(name: str, instance: Instance, seconds: float, seed: int) -> Line:
    with multiprocessing.get_context("spawn").Pool(1) as pool:
        line = pool.apply(measured, (name, instance, seconds, seed))
    print(line.say(), flush=True)
    return line


def faults(line: Line, seconds: float) -> list[str]:
    """Return what is wrong with the plan of a day."""
    limit = SHARE * min(line.shelves, line.layers or line.shelves)
    wrong = {
        f"costs more than {SHARE} of a plain way": line.score > limit,
        "leaves blanks out": line.left_out > 0,
        "is below its bound": line.score < line.bound - 1e-6,
        f"took more than {seconds + LATE:.0f} s": line.seconds > seconds + LATE,
        f"had no plan after {FIRST:.0f} s": line.first > FIRST,
        f"took more than {MEMORY} MiB": line.memory > MEMORY,
    }
    return [f"{line.name} {fault}" for fault, is_so in wrong.items() if is_so]


def sheets() -> list[str]:
    """Measure the engine of single slabs on OR-Library's gcut1 to gcut12; return what is wrong with it."""
    wrong = []
    for sheet in json.loads(GCUT.read_text(encoding="utf-8"))["instances"]:
        start = time.process_time()
        worth = best_worth(*sheet["sheet"], [(a, b, a * b) for a, b in sheet["items"]])
        took = time.process_time() - start
        print(
            f"{sheet['name']:24}{len(sheet['items']):6}{worth:10.0f}  published optimum {sheet['value']}{took:7.2f} s"
        )
        if worth != sheet["value"] or took > SHEET_SECONDS:
            wrong.append(f"{sheet['name']} comes to {worth} in {took:.1f} s")
    return wrong


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seconds", type=float, default=10.0)
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument("files", nargs="*", type=Path, metavar="FILE")
    asked = parser.parse_args()
    print(HEAD)
    if asked.files:
        for file in asked.files:
            in_a_process(file.stem, read_instance(file.read_text(encoding="utf-8")), asked.seconds, asked.seed)
        return 0
    wrong = []
    for name, day in days().items():
        wrong += faults(in_a_process(name, day, asked.seconds, asked.seed), asked.seconds)
    line = in_a_process("five thousand blanks", largest(), asked.seconds, asked.seed)
    wrong += [fault for fault in faults(line, asked.seconds) if "plain way" not in fault and "no plan" not in fault]
    for name, (trap, least) in traps().items():
        line = in_a_process(name, trap, TRAP_SECONDS, asked.seed)
        if line.opened != least:
            wrong.append(f"{name} opens foam for {line.opened} c, the right answer is {least} c")
    wrong += sheets()
    print(*wrong, sep="\n", file=sys.stderr)
    return int(bool(wrong))


if __name__ == "__main__":
    sys.exit(main())
