"""How many faces a nest opens, beside boxes in columns and boxes packed by rectpack, the shop's habit.

PYTHONPATH=. .venv/bin/python tests/bench/bench_nest.py [SECONDS] [FILE.json …]

Without files it nests invented sections and letters; the interlocking mouldings must need less than half of what
rectpack needs for their boxes. Seconds of processor time, children too, stand beside those of the clock.
"""

import os
import sys
import time
from dataclasses import dataclass, replace
from pathlib import Path

import rectpack

from cutsheets.files.nest import read_nest_instance
from cutsheets.nesting import NestResult, nest
from cutsheets.nesting.faces import NestInstance, Placement, placed
from tests.cutsheets.nest_faces import CEE, COUNTER, RINGED, disc, face, instance, item

SECONDS = 10.0
SLIM_ELL = ((0, 0), (9, 0), (9, 0.75), (0.75, 0.75), (0.75, 9), (0, 9))
SLIM_CEE = ((0, 0), (6, 0), (6, 0.6), (0.6, 0.6), (0.6, 7.4), (6, 7.4), (6, 8), (0, 8))
HALF = 0.5  # of rectpack's cost: what interlocking mouldings must stay below


@dataclass(frozen=True)
class Boxes:
    """What rectpack makes of the upright boxes: how many faces, their cost."""

    faces: int
    cost: float


def invented() -> list[NestInstance]:
    """Return mouldings that lock into each other, letters with counters, and sections with remnants on hand."""
    mouldings = instance(item("L", SLIM_ELL, qty=60, mirror=True), item("C", SLIM_CEE, qty=30, mirror=True))
    letters = instance(
        item("O", RINGED, holes=(COUNTER,), qty=20), item("dot", disc(1.6), qty=30, turns=None),
        item("C", CEE, qty=20), stock=(face("F48", 48, 48, 0.5), face("F96", 96, 48, 0.5)),
    )  # fmt: skip
    rests = instance(
        item("C", CEE, qty=50, mirror=True), item("dot", disc(2.2), qty=40),
        stock=(face("F48", 48, 48, 0.5), face("R1", 30, 20, 0.5, qty=1, cost=200), face("R2", 20, 48, 0.5, 1, 300)),
    )  # fmt: skip
    return [
        _named("mouldings", mouldings, stock=(face("F48", 48, 48, 0.25),)),
        _named("one section", instance(item("L", SLIM_ELL, qty=150, mirror=True)), stock=(face("F48", 48, 48, 0.25),)),
        _named("letters", letters),
        _named("remnants", rests),
    ]


def _named(name: str, made: NestInstance, **changed) -> NestInstance:
    return replace(made, name=name, **changed)


def rectpack_boxes(asked: NestInstance) -> Boxes:
    """Pack the upright box of every part, grown by a kerf, into faces grown likewise; the dear ones come last."""
    packer = rectpack.newPacker(rotation=True)
    for part in asked.items:
        turn = part.turns[0] if part.turns else 0.0
        left, bottom, right, top = placed(part, Placement(part.id, turn, False, 0.0, 0.0)).bounds
        for _ in range(part.qty):
            packer.add_rect(_small(right - left + asked.kerf), _small(top - bottom + asked.kerf))
    for stock in sorted(asked.stock, key=lambda each: each.cost / (each.w * each.h)):
        wide, high = (int((side + asked.kerf) * 10_000) for side in stock.room.inner)
        packer.add_bin(wide, high, count=stock.qty or sum(part.qty for part in asked.items), bid=stock.id)
    packer.pack()
    if sum(len(each) for each in packer) != sum(part.qty for part in asked.items):
        raise AssertionError("rectpack lost boxes")
    costs = {stock.id: stock.cost for stock in asked.stock}
    return Boxes(len(packer), sum(costs[each.bid] for each in packer))


def _small(side: float) -> int:
    return int(side * 10_000) + 1


def report(asked: NestInstance, result: NestResult, boxes: Boxes, took: tuple[float, float]) -> None:
    found, plain = result.verdict, result.plain_verdict
    print(
        f"{asked.name[:22]:22} {sum(part.qty for part in asked.items):5} {len(found.faces):5} {found.cost:8g} "
        f"{plain.cost:8g} {boxes.cost:8g} {found.cost / boxes.cost:6.2f} {found.share:7.1%} "
        f"{found.faces[-1].x_used:7.2f} {plain.faces[-1].x_used:7.2f} {took[0]:6.1f} {took[1]:6.1f}",
        flush=True,
    )


def _processor() -> float:
    return sum(os.times()[:4])


def main() -> int:
    seconds = float(sys.argv[1]) if len(sys.argv) > 1 else SECONDS
    files = sys.argv[2:]
    asked_for = [read_nest_instance(Path(file).read_text()) for file in files] if files else invented()
    print(
        f"{'nest':22} {'parts':>5} {'faces':>5} {'cost':>8} {'columns':>8} {'rectpack':>8} {'÷ rp':>6} {'yield':>7} "
        f"{'last x':>7} {'columns':>7} {'clock':>6} {'CPU':>6}"
    )
    bad = 0
    for asked in asked_for:
        began, worked = time.perf_counter(), _processor()
        result = nest(asked, seconds=seconds)
        took = time.perf_counter() - began, _processor() - worked
        boxes = rectpack_boxes(asked)
        report(asked, result, boxes, took)
        bad += bool(result.left_out) or result.verdict.cost > result.plain_verdict.cost or took[0] > seconds + 1
        bad += asked.name == "mouldings" and result.verdict.cost >= HALF * boxes.cost
    return int(bad > 0)


if __name__ == "__main__":
    sys.exit(main())
