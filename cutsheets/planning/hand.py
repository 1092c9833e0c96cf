"""The piece in hand: what the saw and the allowed changes of direction still let happen to it.

The skin of a block comes off along one axis at a time, both faces with one setting of the direction. As a rule that is
done at once, as soon as the saw reaches across. Where changes of direction are counted it waits for the first cut along
its axis, which it then shares the direction with; it comes earlier only where the saw could not make a cut otherwise.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import permutations
from typing import NamedTuple

from cutsheets.solids import Triple
from cutsheets.stock import Instance, resized

Order = tuple[int, ...]
BARE: Triple = (0, 0, 0)


class Hand(NamedTuple):
    """A piece on its way: the axis of its last cut, changes of direction so far, skin still on along each axis."""

    axis: int = -1
    stage: int = 0
    skin: Triple = BARE

    def turned(self, axis: int, skin: int = 0) -> Hand:
        """Return the piece after cuts along an axis that leave so much skin along it."""
        return Hand(axis, self.stage + (axis != self.axis), resized(self.skin, axis, skin))

    def trimmed(self, axes: Sequence[int]) -> Hand:
        """Return the piece with its skin off along some axes, one after the other."""
        hand = self
        for axis in axes:
            hand = hand.turned(axis)
        return hand


START = Hand()


class Limits:
    """What the saw reaches and how often the direction may change. Boxes are grown by one kerf and without skin.

    `any`: there are some; `late`: cuts or their directions are counted, so skin is not taken off at once.
    """

    def __init__(self, instance: Instance) -> None:
        self.kerf, self.stages = instance["kerf"], instance["max_stages"]
        saw = instance.get("saw")
        reach = (saw["height"] or 0, saw["length"] or 0) if saw else (0, 0)
        self.saw = reach if any(reach) else None
        self.any = self.saw is not None or self.stages is not None
        self.late = self.stages is not None or instance["max_cuts"] is not None

    def saws(self, box: Triple, axis: int, skin: Triple = BARE) -> bool:
        """Return whether the saw reaches across a box and its skin: the smaller side high, the larger long."""
        if self.saw is None:
            return True
        low, long = sorted(box[a] - self.kerf + skin[a] for a in range(3) if a != axis)
        height, length = self.saw
        return (not height or low <= height) and (not length or long <= length)

    def reaches(self, hand: Hand, box: Triple, axis: int) -> Order | None:
        """Return along which axes the skin must come off before a cut, as few as will do; None: the saw never can."""
        if self.saws(box, axis, hand.skin):
            return ()
        others = [a for a in range(3) if a != axis and hand.skin[a]]
        for first in (order for n in (1, 2) for order in permutations(others, n)):
            if self.may_trim(hand, box, first) and self.saws(box, axis, hand.trimmed(first).skin):
                return first
        return None

    def may_trim(self, hand: Hand, box: Triple, axes: Sequence[int]) -> bool:
        """Return whether saw and stages let the skin come off along these axes in turn."""
        for axis in axes:
            if not self.saws(box, axis, hand.skin):
                return False
            hand = hand.turned(axis)
        return self.keeps(hand)

    def keeps(self, hand: Hand) -> bool:
        return self.stages is None or hand.stage <= self.stages

    def cut(self, hand: Hand, box: Triple, axis: int) -> Hand | None:
        """Return what both parts of a cut have behind them, or None where the limits forbid it."""
        first = self.reaches(hand, box, axis)
        after = None if first is None else hand.trimmed(first).turned(axis)
        return after if after is not None and self.keeps(after) else None

    def at_once(self, hand: Hand, box: Triple) -> Order:
        """Return along which axes the skin comes off before anything else is done."""
        return () if self.late else self._off(hand, box)

    def settled(self, hand: Hand, box: Triple) -> Hand:
        """Return the piece with the skin off that comes off at once."""
        return hand.trimmed(self.at_once(hand, box)) if any(hand.skin) else hand

    def at_last(self, hand: Hand, box: Triple) -> Order | None:
        """Return in which order the rest of the skin comes off, or None where the limits forbid it."""
        axes = self._off(hand, box)
        after = hand.trimmed(axes)
        return None if any(after.skin) or not self.keeps(after) else axes

    def _off(self, hand: Hand, box: Triple) -> Order:
        """Return the axes along which the saw can take skin off: every trim may bring another within its reach."""
        axes: list[int] = []
        while True:
            axis = next((a for a in range(3) if hand.skin[a] and self.saws(box, a, hand.skin)), None)
            if axis is None:
                return tuple(axes)
            axes.append(axis)
            hand = hand.turned(axis)

    def frees(self, hand: Hand, box: Triple, size: Triple, order: Order, counts: Triple = (1, 1, 1)) -> bool:
        """Return whether the limits allow the cuts that free a group out of a box, and then its blanks."""
        blank = (size[0] // counts[0], size[1] // counts[1], size[2] // counts[2])
        for inside, axes in ((size, order), (blank, order[::-1])):
            for axis in axes:
                if box[axis] > inside[axis]:
                    after = self.cut(hand, box, axis)
                    if after is None:
                        return False
                    box = resized(box, axis, inside[axis])
                    hand = self.settled(after, box)
        return self.at_last(hand, box) is not None
