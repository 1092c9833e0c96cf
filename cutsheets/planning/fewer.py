"""Fewer cuts: as many blanks of a plan as a number of cuts allows.

Any part of a layout may be left in one piece instead of being cut further. Which parts those are is a knapsack over the
tree of its cuts, and over all opened pieces: for each number of cuts, the most blanks. Where there would be too many
choices some of them are passed over, evenly.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from typing import Any

from cutsheets.planning.layout import FREE, Job, Layout, Opened
from cutsheets.planning.trims import WASTE

Choice = tuple[int, int, Any]  # cuts, what the blanks are worth, what is chosen
Pieces = list[Opened]
NOTHING: Choice = (0, 0, None)
MOST, LEAST, ALL = 100, 4, 1_500  # choices for one piece of foam at most and at least, and for all of them about
MOST_FOR_ALL = 300  # numbers of cuts that are looked at for whole plans


def within(
    plans: Sequence[tuple[Job, list[Pieces]]], most: int, late: Callable[[], bool] = lambda: False
) -> list[Pieces]:
    """Return for each job the pieces of one of its plans, less the blanks that take too many cuts: most blanks stay.

    When it is `late` only the first plan of a job is looked at. O(pieces × choices²).
    """
    pieces = [piece for _, ways in plans for way in ways for piece in way]
    keep = max(LEAST, min(MOST, ALL // max(1, len(pieces))))
    whole = 1 + sum(piece.blank_volume for piece in pieces)  # a blank more is worth more than any foam
    choices = [NOTHING]
    for job, ways in plans:
        worths = {n: whole + job.volumes[n] for n in job.numbers}
        in_time = (way for number, way in enumerate(ways) if not number or not late())
        of_job = _best((c for way in in_time for c in _of_plan(job, way, worths, most, keep)), MOST_FOR_ALL)
        choices = _best(_joined(choices, of_job, most), MOST_FOR_ALL)
    kept: list[Pieces] = []
    chosen = choices[-1][2]
    for _ in plans:
        chosen, pieces_of_job = chosen
        kept.insert(0, _unwound(pieces_of_job))
    return kept


def _of_plan(job: Job, pieces: Pieces, worths: dict[int, int], most: int, keep: int) -> list[Choice]:
    choices = [NOTHING]
    for piece in pieces:
        own = [NOTHING, *_of_piece(job, piece, worths, keep)]
        choices = _best(_joined(choices, own, most), MOST_FOR_ALL)
    return choices


def _joined(some: list[Choice], others: list[Choice], most: int) -> Iterator[Choice]:
    """Yield each of some choices with each of others, what is chosen as a pair, where they are within the cuts."""
    for a, v, one in some:
        for b, w, two in others:
            if a + b > most:
                break  # fewest cuts come first
            yield a + b, v + w, (one, two)


def _unwound(chosen: Any) -> Pieces:
    """Return the pieces in a chain of pairs."""
    pieces = []
    while chosen is not None:
        chosen, piece = chosen
        if piece is not None:
            pieces.append(piece)
    return pieces[::-1]


def _of_piece(job: Job, piece: Opened, worths: dict[int, int], keep: int) -> list[Choice]:
    """Return what a piece can give with fewer cuts; a remnant with skin may be given up for the cuts it takes."""
    found: list[Choice] = []
    for _, worth, layout in _fewer(piece.layout, worths, keep):
        ways = [layout, _without_remnants(layout)] if worth and piece.source.trims else [layout] if worth else []
        tried = [job.opened(piece.source, way) for way in ways]
        found += [(one.cuts, worth, one) for one in tried if one.sound]
    return _best(found, keep)


def _fewer(layout: Layout, worths: dict[int, int], keep: int) -> list[Choice]:
    """Return layouts with fewer and fewer parts cut further."""
    row: list[Layout] = []  # a row may be longer than calls can be nested
    rest: Layout | None = layout
    while rest is not None and rest[0] == "cut":
        row.append(rest)
        rest = rest[4]
    choices: list[Choice] = [(0, worths[rest[1]] if rest is not None and rest[0] == "blank" else 0, rest)]
    for _, axis, at, lo, _ in reversed(row):
        lows = _fewer(lo, worths, keep)
        cut = [
            (a + b + 1, v + w, ("cut", axis, at, low, high))
            for a, v, low in lows for b, w, high in choices if v + w
        ]  # fmt: skip
        choices = _best([(0, 0, FREE), *cut], keep)
    return choices


def _best(choices: Iterable[Choice], keep: int) -> list[Choice]:
    """Return the choices that no other one beats, fewest cuts first; some of them where there are more than `keep`."""
    found: list[Choice] = []
    for choice in sorted(choices, key=lambda each: (each[0], -each[1])):
        if not found or choice[1] > found[-1][1]:
            found.append(choice)
    if len(found) <= keep:
        return found
    return [found[n * (len(found) - 1) // (keep - 1)] for n in range(keep)]


def _without_remnants(layout: Layout) -> Layout:
    """Return a layout of which nothing is kept."""
    row: list[tuple[int, int, Layout]] = []
    rest: Layout | None = layout
    while rest is not None and rest[0] == "cut":
        _, axis, at, lo, rest = rest
        row.append((axis, at, _without_remnants(lo)))
    node = WASTE if rest == FREE else rest
    for axis, at, lo in reversed(row):
        node = ("cut", axis, at, lo, node)
    return node or WASTE
