"""Sticks out of stock lengths: which lengths to open and what to cut from each, at least cost, with the proof.

Every stick and every length is made one kerf longer, then the kerf is forgotten (Gilmore and Gomory, Operations
Research 11 (1963) 863-888). Whole micrometres and cents.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from packingsolver import onedimensional

from cutsheets.errors import CutsheetError
from cutsheets.planning.patterns import Length, Pattern, Wanted, closed
from cutsheets.records import items, whole

MOST_KINDS = 500  # of lengths, and of sticks
MOST_STICKS = 1_000_000
SECONDS = 5.0  # at most; most answers take some milliseconds
TINY = 1e-6


@dataclass(frozen=True, slots=True)
class Cutting:
    """Patterns that give what is wanted and no more, their cost, and the cost that no way of cutting is below."""

    patterns: tuple[Pattern, ...]
    cost: int
    bound: int

    @property
    def is_proven(self) -> bool:
        """Return whether nothing can be cheaper."""
        return self.cost <= self.bound


def sticks_from_lengths(lengths: Sequence[Length], demand: Sequence[Wanted], kerf: int) -> Cutting:
    """Return the cheapest way to cut the sticks that are wanted out of stock lengths; equal sticks are one entry.

    A length that costs nothing counts as one cent, so that no more are opened than are needed.
    Raises CutsheetError `whole`, `range`, `list-size` or `too-many` for what is no length, count or cost,
    `stick-too-long` at `demand[i]`, `lengths-short` where the lengths give too few sticks.

    >>> sticks_from_lengths([(2_438_400, None, 500)], [(1_200_000, 3)], 3_000)
    Cutting(patterns=(Pattern(length=0, gives=(2,), times=1), Pattern(length=0, gives=(1,), times=1)),
        cost=1000, bound=1000)
    """
    _check(lengths, demand, kerf)
    if not sum(qty for _, qty in demand):
        return Cutting((), 0, 0)
    longest = max((length for length, copies, _ in lengths if copies != 0), default=0)
    for i, (stick, _) in enumerate(demand):
        if stick > longest:
            raise CutsheetError("stick-too-long", "No length is as long as this stick; add one.", f"demand[{i}]")
    grown = [(length + kerf, copies, max(cost, 1)) for length, copies, cost in lengths]
    sticks = [(stick + kerf, qty) for stick, qty in demand]
    answer = _solved(grown, sticks)
    if answer.is_proven:
        return answer
    patterns, bound = closed(grown, sticks, answer.cost)
    patterns = patterns or answer.patterns
    return Cutting(patterns, sum(grown[each.length][2] * each.times for each in patterns), max(bound, answer.bound))


def _check(lengths: Sequence[Length], demand: Sequence[Wanted], kerf: int) -> None:
    """Refuse what is no length, count or cost, and more than can be looked through."""
    whole(kerf, "kerf")
    for i, (length, copies, cost) in enumerate(items(lengths, "lengths", most=MOST_KINDS)):
        place = f"lengths[{i}]"
        whole(length, place, least=1)
        whole(0 if copies is None else copies, place)
        whole(cost, place)
    for i, (stick, qty) in enumerate(items(demand, "demand", most=MOST_KINDS)):
        whole(stick, f"demand[{i}]", least=1)
        whole(qty, f"demand[{i}]", most=MOST_STICKS)
    if sum(qty for _, qty in demand) > MOST_STICKS:
        raise CutsheetError("too-many", f"There are more than {MOST_STICKS} sticks; cut them in lots.", "demand")


def _solved(lengths: Sequence[Length], demand: Sequence[Wanted]) -> Cutting:
    """Return what packingsolver answers; its bound is rounded up to a cost that whole lengths can have."""
    builder = onedimensional.InstanceBuilder()
    builder.set_objective(onedimensional.Objective.VariableSizedBinPacking)
    for length, copies, cost in lengths:
        builder.add_bin_type(length, cost=cost, copies=-1 if copies is None else copies)
    for stick, qty in demand:
        builder.add_item_type(stick, copies=qty)
    limits = onedimensional.OptimizeParameters()
    limits.verbosity_level = 0
    limits.time_limit = SECONDS
    limits.optimization_mode = onedimensional.OptimizationMode.NotAnytimeSequential
    found = onedimensional.optimize(builder.build(), limits)
    if not found.solution.full():
        raise CutsheetError("lengths-short", "The lengths on hand give too few sticks; add lengths.", "lengths")
    patterns = tuple(_patterns(found.solution, len(demand)))
    step = math.gcd(*(cost for _, _, cost in lengths)) or 1
    least = found.variable_sized_bin_packing_bound
    return Cutting(
        patterns,
        cost=sum(lengths[each.length][2] * each.times for each in patterns),
        bound=max(math.ceil((least - TINY * (1 + least)) / step) * step, 0),
    )


def _patterns(solution: onedimensional.Solution, kinds: int) -> Iterator[Pattern]:
    for number in range(solution.number_of_different_bins()):
        opened = solution.bin(number)
        counts = Counter(item.item_type_id for item in opened.items)
        yield Pattern(opened.bin_type_id, tuple(counts[kind] for kind in range(kinds)), opened.copies)
