"""Outlines in a strip of fixed height, as short as possible: packingsolver and spyrrow, each a share of the time.

Neither is the better one: of the public sets one packs some closer, and the other the others. So both are asked, and
the shorter strip is kept.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from shapely.geometry import Polygon

from cutsheets.engines.children import Stop, answers
from cutsheets.nesting.boxes import RIGHT_TURNS
from cutsheets.nesting.check import check_nest
from cutsheets.nesting.faces import FaceRoom, Nest, NestInstance, NestItem, NestStock, OpenedFace, Placement, laid
from cutsheets.nesting.pieces import grown
from cutsheets.solids import Outline

FIRST = 0.45  # of the time is packingsolver's, which is sooner near its best
SINGLE = 4e-7  # of the longest side: spyrrow counts in single precision
LOOSE = 1.5  # times the height or the parts' area: a strip that is long enough for a first answer

Part = tuple[int, float, float, float]  # item, turn, x, y
Job = Mapping[str, Any]  # one outline: `outer`, `copies`, `turns` (None: any), `area`


@dataclass(frozen=True, slots=True)
class Asked:
    """How high the strip is, for how long to search, and which share of the time is packingsolver's."""

    height: float
    seconds: float
    seed: int
    stop: Stop
    first: float = FIRST


@dataclass(frozen=True, slots=True)
class Strip:
    """Parts in a strip from x = 0 to `length`, y = 0 to the height; `share` is parts ÷ strip, 0 to 1."""

    length: float
    share: float
    placements: tuple[Placement, ...]


def strip(
    items: Sequence[NestItem], height: float, *, seconds: float, seed: int = 0, stop: Stop = lambda: False
) -> Strip | None:
    """Return the shortest strip found, checked; no room is left between parts. None where nothing was found in time.

    Mirroring is not tried.
    """
    areas = [Polygon(item.outline.outer).area for item in items]
    jobs: list[Job] = [
        {"outer": item.outline.outer, "copies": item.qty, "turns": item.turns, "area": area}
        for item, area in zip(items, areas, strict=True)
    ]
    total = sum(area * item.qty for item, area in zip(items, areas, strict=True))
    best = None
    for _, parts in shorter(jobs, Asked(height, seconds, seed, stop)):
        placements = tuple(Placement(items[n].id, turn, False, x, y) for n, turn, x, y in parts)
        bounds = [laid(items[n].outline, place).bounds for (n, *_), place in zip(parts, placements, strict=True)]
        length = max(right for _, _, right, _ in bounds)
        found = Strip(length, total / (length * height), placements)
        if (best is None or length < best.length) and _right(items, height, found):
            best = found
    return best


def shorter(jobs: Sequence[Job], asked: Asked) -> Iterator[tuple[float, list[Part]]]:
    """Yield shorter and shorter strips: length, and where each part's origin goes.

    Outlines are made larger by what the libraries round, and the strip higher, so that what fits exactly still fits.
    """
    area = sum(job["area"] * job["copies"] for job in jobs)
    fine = SINGLE * max(asked.height, _largest(jobs), area / asked.height)
    wider = [{**job, "outer": grown(job["outer"], fine, 0.0)} for job in jobs]
    higher = replace(asked, height=asked.height + 2 * fine)
    shortest = float("inf")
    for engine in (_by_packingsolver, _by_spyrrow):
        for length, parts in engine(wider, higher):
            if length < shortest:
                shortest = length
                yield length - 2 * fine, [(n, turn, x - fine, y - fine) for n, turn, x, y in parts]


def _by_packingsolver(jobs: Sequence[Job], asked: Asked) -> Iterator[tuple[float, list[Part]]]:
    if not asked.first:
        return
    outlines = [Outline(job["outer"]) for job in jobs]
    longest = sum(job["area"] * job["copies"] for job in jobs) * LOOSE / asked.height + 4 * _largest(jobs)
    job = {
        "how": "strip",
        "bins": [{"w": longest, "h": asked.height, "cost": 1, "copies": 1}],
        "items": [
            {**job, "turns": RIGHT_TURNS if job["turns"] is None else job["turns"], "mirror": False} for job in jobs
        ],
    }
    for ((_, found),) in answers("irregular", job, seconds=asked.seconds * asked.first, stop=asked.stop):
        lying = [laid(outlines[n], Placement("", turn, False, x, y)) for n, turn, _, x, y in found]
        yield max(part.bounds[2] for part in lying), [(n, turn, x, y) for n, turn, _, x, y in found]


def _by_spyrrow(jobs: Sequence[Job], asked: Asked) -> Iterator[tuple[float, list[Part]]]:
    job = {"height": asked.height, "items": jobs, "seed": asked.seed}
    for answer in answers("strips", job, seconds=asked.seconds * (1 - asked.first), stop=asked.stop):
        yield answer["width"], answer["parts"]


def _largest(jobs: Sequence[Job]) -> float:
    """Return the largest coordinate of any outline."""
    return float(max(max(abs(x), abs(y)) for job in jobs for x, y in job["outer"]))


def _right(items: Sequence[NestItem], height: float, found: Strip) -> bool:
    room = FaceRoom(found.length, height)
    stock = NestStock("", room.w, room.h, 0.0, 1, 0.0)
    instance = NestInstance("", "mm", 0.0, (stock,), tuple(items))
    return check_nest(instance, Nest((OpenedFace("", room),), found.placements)).ok
