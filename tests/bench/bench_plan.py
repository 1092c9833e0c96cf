"""How good a plan of sixty blanks is after five seconds, beside plain shelves and beside layers packed by rectpack.

PYTHONPATH=. .venv/bin/python tests/bench/bench_plan.py [seed]
"""

import sys
import time
from collections import defaultdict
from dataclasses import dataclass

import rectpack

from cutsheets.planning import PlanResult, plan
from cutsheets.planning.check import can_be_sawn, first_overlap
from cutsheets.solids import Placed
from cutsheets.stock import LIES, Instance, volume
from tests.cutsheets.sawn_days import KERF, day

LIMIT, FIRST = 5.0, 1.0  # seconds: a plan of sixty blanks, the first valid plan
SEARCH = 4.8  # of them; the rest is for the check
BLOCK = (97, 49, 37)  # usable inches
BLANKS = [  # an invented day: name, inches, how many
    ("cornice", (96.5, 9.25, 8.375), 8), ("column shell", (92, 16, 8), 6), ("sill", (62.5, 6.5, 4.25), 10),
    ("newel", (50, 7, 7), 8), ("panel", (48, 24, 6), 5), ("letters", (40, 24, 3), 4), ("arch", (36, 10.5, 6), 8),
    ("planter", (24, 24, 20), 3), ("finial", (21, 11, 11), 4), ("keystone", (18, 14, 9), 4),
]  # fmt: skip


@dataclass(frozen=True)
class Layers:
    """What rectpack makes of the day: blocks, how many of its layers a saw can cut, seconds."""

    blocks: int
    layers: int
    sawable: int
    seconds: float


def sixty_blanks() -> Instance:
    """Return the day: one kind of block, blanks that may lie as they like."""
    sizes = [(name, tuple(_um(side) for side in size), qty) for name, size, qty in BLANKS]
    instance: Instance = day(*sizes, size=tuple(_um(side) for side in BLOCK))
    for blank in instance["blanks"]:
        blank["rot"] = list(LIES)
    return instance


def rectpack_layers(instance: Instance) -> Layers:
    """Lay blanks of one height flat in layers, packed by rectpack, and pile the layers up, the thickest first.

    Rectangles and room are grown by one kerf, so that parts lie a kerf apart, as in our own plans.
    """
    start = time.perf_counter()
    long, wide, high = (side + KERF for side in instance["stock"][0]["size"])
    flat: dict[int, list[tuple[int, int]]] = defaultdict(list)
    for blank in instance["blanks"]:
        a, b, height = (side + KERF for side in blank["size"])
        flat[height] += [(a, b)] * blank["qty"]
    layers = [(height, layer) for height, faces in flat.items() for layer in _packed(faces, (long, wide))]
    piles: list[int] = []  # room left in each block
    for height, _ in sorted(layers, key=lambda each: -each[0]):
        fitting = next((n for n, room in enumerate(piles) if height <= room), None)
        if fitting is None:
            piles.append(high - height)
        else:
            piles[fitting] -= height
    sawable = sum(can_be_sawn(layer, (long, wide, 1)) for _, layer in layers)
    return Layers(len(piles), len(layers), sawable, time.perf_counter() - start)


def _packed(faces: list[tuple[int, int]], room: tuple[int, int]) -> list[list[Placed]]:
    """Return rectpack's layers; all rectangles must be there and apart (its own check leaves out the last one)."""
    packer = rectpack.newPacker(rotation=True)
    for face in faces:
        packer.add_rect(*face)
    packer.add_bin(*room, count=len(faces))
    packer.pack()
    layers = [[Placed("blank", "", (r.x, r.y, 0), (r.width, r.height, 1)) for r in layer] for layer in packer]
    if sum(map(len, layers)) != len(faces) or any(first_overlap(layer) for layer in layers):
        raise AssertionError("rectpack lost or overlapped rectangles")
    return layers


def _um(inches: float) -> int:
    return round(inches * 25_400)


def report(instance: Instance, result: PlanResult, layers: Layers) -> None:
    stats, plain, bound = result.stats, result.plain_stats, result.bound
    opened = layers.blocks * volume(instance["stock"][0]["size"])
    packed = stats.blanks / opened
    print(
        f"  ours: {stats.new_blocks} blocks, yield {stats.yield_gross:.1%} of what is opened, "
        f"{stats.yield_net:.1%} of what is not kept; {stats.cuts} cuts\n"
        f"  gap to the bound: score {result.score / bound.score - 1:+.1%}, "
        f"blocks {stats.new_blocks - bound.blocks:+d} (at least {bound.blocks})\n"
        f"  plain shelves: {plain.new_blocks} blocks, yield {plain.yield_gross:.1%}; "
        f"ours ÷ plain {stats.yield_gross / plain.yield_gross:.2f} (score {result.score / result.plain_score:.2f})\n"
        f"  rectpack layers: {layers.blocks} blocks, yield {packed:.1%}, {layers.sawable} of {layers.layers} layers "
        f"can be sawn, {layers.seconds:.2f} s; ours ÷ rectpack {stats.yield_gross / packed:.2f}"
    )


def main() -> int:
    seed = int(sys.argv[1]) if len(sys.argv) > 1 else 0
    instance = sixty_blanks()
    start = time.perf_counter()
    plan(instance, seconds=0, seed=seed)
    first = time.perf_counter() - start
    start = time.perf_counter()
    result = plan(instance, seconds=SEARCH, seed=seed)
    took = time.perf_counter() - start
    count = sum(blank["qty"] for blank in instance["blanks"])
    print(f"plan of {count} blanks: {took:.2f} s (limit {LIMIT:.0f} s), first valid plan {first:.2f} s")
    report(instance, result, rectpack_layers(instance))
    return int(took > LIMIT or first > FIRST or bool(result.left_out) or result.score > result.plain_score)


if __name__ == "__main__":
    sys.exit(main())
