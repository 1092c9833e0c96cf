"""Many thin bars on a slab: a run of like ones has one label, and of their cuts the first and the last number.

Numbers and labels of single bars would cover each other. The list of cuts names every one; the picture shows where
they begin and end.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import partial

from cutsheets.drawings.slabs import CutLine, Rect, Region

LEAST = 3  # bars or cuts in a run: two are shown as they are


@dataclass(frozen=True, slots=True)
class BarRun:
    """Like thin regions side by side, from the lowest or leftmost on."""

    regions: tuple[Region, ...]

    @property
    def rect(self) -> Rect:
        """Return the rectangle round them."""
        left, bottom, right, top = zip(*(region.rect for region in self.regions), strict=True)
        return min(left), min(bottom), max(right), max(top)

    @property
    def numbers(self) -> str:
        """Return the numbers of the cuts parallel to the view as ranges (“31–70”), "" where there are none."""
        return say_numbers(sorted(number for region in self.regions for number in region.numbers))


def bar_runs(regions: Sequence[Region], thin: float) -> list[BarRun]:
    """Return the runs of like regions that are thinner than `thin`, µm."""
    found = []
    for axis in (0, 1):
        ordered = sorted((one for one in regions if _is_bar(one, axis, thin)), key=lambda one: one.rect[axis])
        found += [BarRun(tuple(chain)) for chain in _chains(ordered, partial(_beside, axis=axis, thin=thin))]
    return found


def cut_runs(cuts: Sequence[CutLine], near: float) -> list[tuple[CutLine, ...]]:
    """Return the runs of parallel cuts that follow each other nearer than `near`, µm, each in the order of sawing."""
    ordered = sorted(cuts, key=lambda cut: cut.number)
    return [tuple(chain) for chain in _chains(ordered, partial(_follows, near=near))]


def say_numbers(numbers: Sequence[int]) -> str:
    """Return sorted numbers as ranges.

    >>> say_numbers([31, 32, 33, 40])
    '31–33, 40'
    """
    parts: list[list[int]] = []
    for number in numbers:
        if parts and number == parts[-1][-1] + 1:
            parts[-1].append(number)
        else:
            parts.append([number])
    return ", ".join(f"{part[0]}–{part[-1]}" if len(part) > 1 else str(part[0]) for part in parts)


def _is_bar(region: Region, axis: int, thin: float) -> bool:
    """Return whether a region is thin along an axis, long along the other one, and no trim."""
    sides = region.rect[2] - region.rect[0], region.rect[3] - region.rect[1]
    return sides[axis] < thin <= sides[1 - axis] and all(leaf.kind == "blank" for leaf in region.leaves)


def _beside(a: Region, b: Region, axis: int, thin: float) -> bool:
    """Return whether two bars are alike and stand beside each other along an axis, a kerf apart."""
    names = [[leaf.name for leaf in region.leaves] for region in (a, b)]
    other = 1 - axis
    same = all(abs(a.rect[side] - b.rect[side]) < thin / 2 for side in (other, other + 2))
    return names[0] == names[1] and a.layers == b.layers and same and b.rect[axis] - a.rect[axis + 2] < thin / 2


def _follows(a: CutLine, b: CutLine, near: float) -> bool:
    """Return whether a cut is the next one after another, parallel to it and nearer than `near`."""
    axis = 0 if a.start[0] == a.end[0] else 1
    if b.number != a.number + 1 or b.start[axis] != b.end[axis]:
        return False
    ends = zip(sorted((a.start, a.end)), sorted((b.start, b.end)), strict=True)
    same = all(abs(one[1 - axis] - two[1 - axis]) < near for one, two in ends)
    return same and abs(a.start[axis] - b.start[axis]) < near


def _chains[Part](ordered: Sequence[Part], joined: Callable[[Part, Part], bool]) -> Iterator[list[Part]]:
    """Return the longest runs of neighbours that are joined, of at least LEAST."""
    chains: list[list[Part]] = []
    for part in ordered:
        if chains and joined(chains[-1][-1], part):
            chains[-1].append(part)
        else:
            chains.append([part])
    return (chain for chain in chains if len(chain) >= LEAST)
