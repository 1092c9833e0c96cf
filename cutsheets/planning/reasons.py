"""Why not better? What keeps every plan of an instance from being cheaper, as values and as plain sentences."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

import numpy as np

from cutsheets.planning.bounds import Bound
from cutsheets.planning.check import Stats
from cutsheets.planning.layout import Job, Source
from cutsheets.planning.prices import Prices
from cutsheets.stock import Instance, volume
from cutsheets.units import Unit, say

TINY = 1e-6
MOST_NAMED = 3  # blanks that fit only one way, the bulkiest first
SENTENCES = {
    "volume": "{grade}: the blanks, kerf included, fill {share:.2f} blocks: no plan opens fewer than {count}.",
    "rack": "{grade}: the blanks, kerf included, fill {share:.2f} blocks more than the remnants hold: no plan opens "
    "fewer than {count}.",
    "one-block": "{grade}: the blanks, kerf included, fill {share:.2f} of a block, and a whole one must be opened.",
    "shapes": "By volume alone fewer new blocks would do; the sides of the blanks leave room beside them that no other "
    "blank can use, so no plan opens fewer than {count}.",
    "alone": "{grade}: no two of {names} come out of one block: {count} of them need {count} pieces of foam.",
    "one-way": "{grade}: {names} fits only one way into the foam there is: {said}.",
    "remnants-too-small": "{grade}: of the remnants, {count} give none of these blanks: {names}.",
    "one-size": "{grade}: blocks come in one size only, {said}.",
    "kept-for": "{grade}: {count} blanks may only come out of {names}.",
    "saw-height": "{grade}: the saw cuts {said} high at most; it cannot cut {names} across in every direction.",
    "saw-length": "{grade}: the saw cuts {said} long at most; it cannot cut {names} across in every direction.",
    "above": "This plan opens {count} more than the fewest blocks that no plan can go below.",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Reason:
    """One thing that holds the bound, or keeps this plan from it; what the other fields mean depends on the code.

    `names`: blanks, blocks or remnants; `count`: blanks, blocks or pieces of foam; `share`: blocks, and parts of one;
    `lengths`: a size or a limit, µm.
    """

    code: str
    grade: str = ""
    names: tuple[str, ...] = ()
    count: int = 0
    share: float = 0.0
    lengths: tuple[int, ...] = ()


def reasons(instance: Instance, bound: Bound, stats: Stats) -> tuple[Reason, ...]:
    """Return what holds the bound of an instance, what matters most first, and whether a plan opens more blocks.

    `stats` are the figures of the checked plan. O(blank types² × sources).
    """
    grades = sorted({blank["grade"] for blank in instance["blanks"]})
    jobs = [Job(instance, grade, Prices.of(instance)) for grade in grades]
    found = [reason for job in jobs for reason in _amount(job)]
    by_volume = sum(reason.count for reason in found if reason.code != "alone")
    if bound.blocks > by_volume and not any(reason.code == "alone" for reason in found):
        found.append(Reason("shapes", count=bound.blocks, share=by_volume))
    for job in jobs:
        found += [*_one_way(job), *_too_small(job), *_kept_for(job), *_saw(job), *_one_size(job)]
    if stats.new_blocks > bound.blocks:
        found.append(Reason("above", count=stats.new_blocks - bound.blocks))
    return tuple(found)


def say_reason(reason: Reason, unit: Unit) -> str:
    """Return the sentence of a reason, lengths in the shop's unit.

    >>> say_reason(Reason("one-block", "EPS 1.0", count=1, share=0.2), "in")
    'EPS 1.0: the blanks, kerf included, fill 0.20 of a block, and a whole one must be opened.'
    >>> say_reason(Reason("saw-height", "EPS 1.0", ("B48",), lengths=(762_000,)), "in")
    'EPS 1.0: the saw cuts 30 in high at most; it cannot cut B48 across in every direction.'
    """
    said = " × ".join(say(um / 1000, unit) for um in reason.lengths) + f" {unit}"
    names = ", ".join(reason.names)
    return SENTENCES[reason.code].format(
        grade=reason.grade, names=names, count=reason.count, share=reason.share, said=said
    )


def _amount(job: Job) -> Iterator[Reason]:
    """Yield how many blocks the blanks of a grade fill, and which of them need one each where these are more."""
    blocks = [source for source in job.sources if not source.is_remnant and _gives_any(job, source)]
    if not blocks:
        return
    largest = max(volume(source.core) for source in blocks)
    grown = sum(volume(job.lies[number][0][1]) * count for number, count in job.demand.items())
    rack = sum(volume(source.core) for source in job.sources if source.is_remnant and _gives_any(job, source))
    share = (grown - rack) / largest
    least = max(0, math.ceil(share - TINY))
    if least:
        code = "rack" if rack else "one-block" if share < 1 - TINY else "volume"
        yield Reason(code, job.grade, count=least, share=share)
    alone = _alone(job)
    count = sum(job.demand[number] for number in alone)
    if count > max(1, least):
        yield Reason("alone", job.grade, _names(job, alone), count)


def _alone(job: Job) -> list[int]:
    """Return blanks of which no two come out of one piece of foam, the bulkiest first."""
    cores = np.array([source.core for source in job.sources], float)
    least = {number: _least(job, number) for number in job.numbers}
    found: list[int] = []
    for number in job.numbers:
        if not any((least[number] + least[other] <= cores).any() for other in (*found, number)):
            found.append(number)
    return found


def _least(job: Job, number: int) -> np.ndarray:
    """Return how little room a blank needs in each piece of foam along each axis; inf where it does not fit.

    Two blanks come out of one piece, beside each other along some axis, where their two rooms fit into it.
    """
    ways = (_ways(job, number, [source]) for source in job.sources)
    return np.array([[min(sides) for sides in zip(*fit, strict=True)] if fit else [math.inf] * 3 for fit in ways])


def _one_way(job: Job) -> Iterator[Reason]:
    """Yield the bulkiest blanks that fit only one way; a blank that is not free to turn is not named."""
    found = [
        number for number in job.numbers if len(job.lies[number]) > 1 and len(_ways(job, number, job.sources)) == 1
    ]
    for number in found[:MOST_NAMED]:
        yield Reason("one-way", job.grade, _names(job, [number]), lengths=tuple(_size(job, number)))


def _too_small(job: Job) -> Iterator[Reason]:
    names = tuple(source.id for source in job.sources if source.is_remnant and not _gives_any(job, source))
    if names:
        yield Reason("remnants-too-small", job.grade, names, len(names))


def _kept_for(job: Job) -> Iterator[Reason]:
    kept = [blank for blank in job.instance["blanks"] if blank["grade"] == job.grade and "from" in blank]
    for names in dict.fromkeys(tuple(blank["from"]) for blank in kept):
        count = sum(blank["qty"] for blank in kept if tuple(blank["from"]) == names)
        yield Reason("kept-for", job.grade, names, count)


def _saw(job: Job) -> Iterator[Reason]:
    """Yield for each limit of the saw the foam whose largest face, its two longer sides, is beyond it."""
    saw = job.instance.get("saw", {"height": None, "length": None})
    for code, limit, side in (("saw-height", saw["height"], 1), ("saw-length", saw["length"], 2)):
        names = tuple(s.id for s in job.sources if limit is not None and sorted(s.size)[side] > limit)
        if limit is not None and names:
            yield Reason(code, job.grade, names, lengths=(limit,))


def _one_size(job: Job) -> Iterator[Reason]:
    sizes = {source.size for source in job.sources if not source.is_remnant}
    if len(sizes) == 1:
        yield Reason("one-size", job.grade, lengths=sizes.pop())


def _gives_any(job: Job, source: Source) -> bool:
    return any(_ways(job, number, [source]) for number in job.numbers)


def _ways(job: Job, number: int, sources: Iterable[Source]) -> set[tuple[int, int, int]]:
    """Return the grown sizes along x, y, z in which a blank fits into some of the sources."""
    return {size for source in sources for _, size in job.lies[number] if job.fits_in(size, source.core)}


def _names(job: Job, numbers: Iterable[int]) -> tuple[str, ...]:
    return tuple(job.instance["blanks"][number]["id"] for number in numbers)


def _size(job: Job, number: int) -> list[int]:
    return job.instance["blanks"][number]["size"]
