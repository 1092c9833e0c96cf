"""Taking a part of a layout apart: a box round free foam that is emptied and filled again by itself."""

from __future__ import annotations

from collections import Counter
from random import Random
from typing import NamedTuple

from cutsheets.planning.hand import Hand, Limits
from cutsheets.planning.layout import Layout, Source, blanks, joined
from cutsheets.solids import Triple
from cutsheets.stock import parted, resized, volume

INWARD = 1.5  # the higher, the more often a large part is taken; found by trial
Step = tuple[Layout, bool, Triple]  # a cut on the way down, whether into its high part, and its grown box


class Way(NamedTuple):
    """The last step of a way down, and the way before it: thousands share their beginnings."""

    step: Step
    before: Way | None


class Part(NamedTuple):
    """A box inside a layout: what fills it, its grown size, and the cuts that lead to it."""

    layout: Layout
    box: Triple
    trail: list[Step]

    def gives(self) -> Counter[int]:
        """Return how many blanks of each number the part gives."""
        return blanks(self.layout)

    def above(self, source: Source, limits: Limits) -> Hand:
        """Return what the cuts that lead to the part have done to it."""
        hand = source.above
        for (_, axis, at, *_), high, box in self.trail if limits.any else ():
            inside = resized(box, axis, box[axis] - at if high else at)
            hand = limits.settled(limits.cut(hand, box, axis) or hand, inside)
        return hand

    def put_back(self, layout: Layout) -> Layout:
        """Return the whole layout with another one in place of the part."""
        for (_, axis, at, lo, hi), high, _ in reversed(self.trail):
            layout = joined(axis, at, lo, layout) if high else joined(axis, at, layout, hi)
        return layout


def whole(layout: Layout, source: Source) -> Part:
    return Part(layout, source.core, [])


def any_part(layout: Layout, source: Source, rng: Random) -> Part:
    """Return a part round foam that is free, of any size; large free foam comes more often."""
    free = _free_foam(layout, source.core)
    if not free:
        return whole(layout, source)
    (way,) = rng.choices([way for way, _ in free], [room for _, room in free])
    trail = _trail(way)
    if not trail:
        return whole(layout, source)
    steps = trail[: int(len(trail) * rng.random() ** INWARD)]
    node, _, box = trail[len(steps)]
    return Part(node, box, steps)


def _free_foam(layout: Layout, core: Triple) -> list[tuple[Way | None, int]]:
    """Return the way to each free box, with its volume. O(cuts)."""
    found: list[tuple[Way | None, int]] = []
    todo: list[tuple[Layout, Triple, Way | None]] = [(layout, core, None)]
    while todo:
        node, box, way = todo.pop()
        if node[0] == "free":
            found.append((way, volume(box)))
        elif node[0] == "cut":
            _, axis, at, lo, hi = node
            low, high = parted(box, axis, at)
            if lo[0] != "blank":
                todo.append((lo, low, Way((node, False, box), way)))
            if hi is not None and hi[0] != "blank":
                todo.append((hi, high, Way((node, True, box), way)))
    return found


def _trail(way: Way | None) -> list[Step]:
    """Return the steps of a way from the whole core on."""
    steps = []
    while way is not None:
        steps.append(way.step)
        way = way.before
    return steps[::-1]
