"""The cuts of an opened piece in full: those of its layout, and between them those that take the skin off.

What is written is in lengths of foam, no kerf added, and plain tuples:

    ("cut", axis, at, lo, hi)   lo is `at` long along the axis, hi what is left beyond the kerf; None: nothing is
    ("trim", axis, at, lo, hi)  a cut that takes skin off the high face and leaves lo in hand
    ("blank", number, lie)      one blank, by its number in the instance
    ("kept", size)              a remnant
    ("waste",)                  trim and skin

Skin beside foam that is waste goes away with it and takes no cut of its own.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

from cutsheets.planning.hand import Hand, Limits
from cutsheets.solids import Triple
from cutsheets.stock import Useful, is_useful, resized

Cuts = tuple[Any, ...]
WASTE: Cuts = ("waste",)


@dataclass(frozen=True, slots=True)
class Trims:
    """Writes cuts in full for one kind of foam, with so much skin on its low and high faces."""

    limits: Limits
    low: Triple
    high: Triple
    least: Useful  # the smallest remnant

    def written(self, layout: Cuts, core: Triple, first: Sequence[int] = ()) -> Cuts | None:
        """Return a layout of a grown core in full, the skin along some axes taken off first; None: against the limits.

        O(cuts) for each side of the box.
        """
        hand = Hand(skin=(self.low[0] + self.high[0], self.low[1] + self.high[1], self.low[2] + self.high[2]))
        return self._written(layout, core, hand, first) if self.limits.may_trim(hand, core, first) else None

    def _written(self, layout: Cuts, box: Triple, hand: Hand, first: Sequence[int] = ()) -> Cuts | None:
        row = _Row(self, box, hand)
        row.trim(first)
        node: Cuts | None = layout
        while node is not None and not self.is_waste(node, row.box):
            row.trim(self.limits.at_once(row.hand, row.box))
            if node[0] != "cut":
                return row.ended(node)
            before = self.limits.reaches(row.hand, row.box, node[1])
            if before is None:
                return None
            row.trim(before)
            low = self._cut_off(row, node)
            if low is None:
                return None
            node = node[4]
        return row.closed(WASTE if row.rest > 0 else None)

    def _cut_off(self, row: _Row, node: Cuts) -> Cuts | None:
        """Take the low part of a cut off a row, with the skin at both ends where it must come off here; return it."""
        _, axis, at, lo, hi = node
        box, kerf = row.box, self.limits.kerf
        after = row.hand.skin[axis] - (before := max(row.hand.skin[axis] - self.high[axis], 0))
        part, beyond = resized(box, axis, at), resized(box, axis, box[axis] - at)
        if before and not self.is_waste(lo, part):
            row.take_off_low(axis, before)
            before = 0
        if after and not (hi is None or self.is_waste(hi, beyond) or hi[:2] == ("cut", axis)):
            row.take_off_high(axis, before, after)
            after = 0
        row.hand = row.hand.turned(axis, after)
        low = self._written(lo, part, row.hand.turned(axis)) if self.limits.keeps(row.hand) else None
        if low is not None:
            row.steps.append((axis, before + at - kerf, low, True))
        row.box, row.rest = beyond, beyond[axis] - kerf + after
        return low

    def is_waste(self, node: Cuts, box: Triple) -> bool:
        """Return whether foam is left over that nobody keeps."""
        kerf = self.limits.kerf
        if node[0] != "free":
            return node == WASTE
        return not is_useful((box[0] - kerf, box[1] - kerf, box[2] - kerf), self.least)


@dataclass
class _Row:
    """Cuts one after the other into the same piece; `rest`: foam beyond the last one.

    A step is (axis, at, what comes off, whether the piece goes on beyond the cut): a row may be longer than calls can
    be nested.
    """

    trims: Trims
    box: Triple
    hand: Hand
    rest: int = 1
    steps: list[tuple[int, int, Cuts | None, bool]] = field(default_factory=list)

    def trim(self, axes: Sequence[int]) -> None:
        """Take the skin off along some axes."""
        for axis in axes:
            before = max(self.hand.skin[axis] - self.trims.high[axis], 0)
            if before:
                self.take_off_low(axis, before)
            if self.hand.skin[axis] > before:
                self.take_off_high(axis, 0, self.hand.skin[axis] - before)
            self.hand = self.hand.turned(axis)

    def take_off_low(self, axis: int, skin: int) -> None:
        self.steps.append((axis, skin - self.trims.limits.kerf, WASTE, True))

    def take_off_high(self, axis: int, before: int, skin: int) -> None:
        """Take skin off the high face; so much is still on the low one."""
        kerf = self.trims.limits.kerf
        self.steps.append((axis, before + self.box[axis] - kerf, WASTE if skin > kerf else None, False))

    def ended(self, leaf: Cuts) -> Cuts | None:
        """Return the row with a blank or a remnant at its end, the rest of the skin taken off; None: it cannot be."""
        axes, kerf = self.trims.limits.at_last(self.hand, self.box), self.trims.limits.kerf
        if leaf[0] == "free":
            if axes is None:
                return self.closed(WASTE)
            leaf = "kept", (self.box[0] - kerf, self.box[1] - kerf, self.box[2] - kerf)
        if axes is None:
            return None
        self.trim(axes)
        return self.closed(leaf)

    def closed(self, end: Cuts | None) -> Cuts | None:
        """Return the cuts of the row round what is at its end."""
        node = end
        for axis, at, off, goes_on_high in reversed(self.steps):
            node = ("cut", axis, at, off, node) if goes_on_high else ("trim", axis, at, node, off)
        return node


def figures(cuts: Cuts) -> tuple[int, list[Triple]]:
    """Return the number of cuts, and the sizes of the remnants."""
    count, kept, todo = 0, [], [cuts]
    while todo:
        node = todo.pop()
        if node[0] in ("cut", "trim"):
            count += 1
            todo += [part for part in node[3:] if part is not None]
        elif node[0] == "kept":
            kept.append(node[1])
    return count, kept
