"""Saw steps: the cuts of one opened piece, numbered in the order in which they are made, in words.

Every setting is measured from one face of the piece in hand, the same for all cuts in a direction: up from the table
(level cuts make slabs), from the straight edge (rips make bars), from the square end (cross cuts make lengths). An edge
or an end with skin on it is raw: neither straight nor square before the cut that takes its skin off. All cuts of one
direction are made before a part is turned, so the saw is set once for a row of like cuts and the large piece is handled
as seldom as can be. Common practice, no source.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Literal

from cutsheets.planning.check import leaves
from cutsheets.solids import OpenedPiece, SawStep, Triple
from cutsheets.stock import AXES, CutNode, Instance, Node, PlanPiece, Remnant, Stock

ACTIONS: tuple[Literal["cross"], Literal["rip"], Literal["slab"]] = ("cross", "rip", "slab")
DATUMS = ("from the square end", "from the straight edge", "up from the table")
RAW_DATUMS = ("from the raw end", "from the raw edge", "up from the table")
PARTS = ("length", "bar", "slab")

Part = tuple[Node, Triple, Triple, str]


def opened_piece(instance: Instance, piece: PlanPiece, labels: Mapping[str, str] | None = None) -> OpenedPiece:
    """Return one piece of a plan with its leaves and its numbered cuts; `labels` gives blanks the shop's own words.

    The plan must have passed the checker. O(cuts).
    """
    name = piece["source"].split(":", 1)[1].rsplit("#", 1)[0]
    every: list[Stock | Remnant] = [*instance["stock"], *instance["remnants"]]
    source = next(each for each in every if each["id"] == name)
    size = source["size"][0], source["size"][1], source["size"][2]
    skin = source["skin"] if "limit" in source else [[0, 0]] * 3
    writer = _Writer(instance["kerf"], [low for low, _ in skin], dict(labels or {}))
    writer.write(piece["tree"], (0, 0, 0), size, "the block" if "limit" in source else "the remnant")
    placed = leaves(instance, piece["source"], piece["tree"])
    return OpenedPiece(piece["source"], source["grade"], size, tuple(placed), tuple(writer.steps))


def next_cuts(steps: Sequence[SawStep], counted: Mapping[str, int], wanted: str) -> tuple[SawStep, ...]:
    """Return the cuts up to the one that frees the next `wanted` blank; none where no cut frees another.

    `counted` says how many of each name are off already; the cuts up to the last of those are taken as made. Where
    parts were counted in another order than the sheet's, it is the freeing cut alone.
    """
    freed = [(step.number, name) for step in steps for name in (step.off, step.rest)]
    cuts: dict[str, list[int]] = {}
    for number, name in freed:
        cuts.setdefault(name, []).append(number)
    done = counted.get(wanted, 0)
    if len(cuts.get(wanted, ())) <= done:
        return ()
    off = [cuts[name][count - 1] for name, count in counted.items() if 0 < count <= len(cuts.get(name, ()))]
    made = max(off, default=0)
    last = cuts[wanted][done]
    return tuple(step for step in steps if min(made, last - 1) < step.number <= last)


@dataclass
class _Writer:
    """Writes the cuts of one piece: a row of cuts in one direction first, then every part that it made."""

    kerf: int
    skin: list[int]  # on the low face of the opened piece along each axis
    labels: dict[str, str]
    steps: list[SawStep] = field(default_factory=list)
    named: Counter[str] = field(default_factory=Counter)

    def write(self, node: Node, pos: Triple, size: Triple, held: str) -> None:
        if "axis" not in node:
            return
        for part in self._row(node, pos, size, held):
            self.write(*part)

    def _row(self, node: CutNode, pos: Triple, size: Triple, held: str) -> list[Part]:
        """Write one row of cuts along an axis through the piece called `held`; return the parts, each with its name."""
        axis = AXES.index(node["axis"])
        parts: list[Part] = []
        rest: Node | None = node
        while rest is not None and "axis" in rest and rest["axis"] == node["axis"]:
            off, beyond = self._name(rest["lo"], axis), rest["hi"]
            parts.append((rest["lo"], pos, _with(size, axis, rest["at"]), off))
            stays = "nothing" if beyond is None else self._stays(beyond, axis)
            datum = f"{self._face(axis, pos[axis])}, {held}"
            number = len(self.steps) + 1
            self.steps.append(SawStep(number, ACTIONS[axis], axis, rest["at"], pos, size, datum, off, stays))
            pos = _with(pos, axis, pos[axis] + rest["at"] + self.kerf)
            size = _with(size, axis, size[axis] - rest["at"] - self.kerf)
            rest = beyond
        return parts if rest is None else [*parts, (rest, pos, size, stays)]

    def _face(self, axis: int, low: int) -> str:
        """Return the face to measure from, by where it lies in the opened piece."""
        return (RAW_DATUMS if low < self.skin[axis] else DATUMS)[axis]

    def _name(self, node: Node, axis: int) -> str:
        """Return what comes off: a blank, a remnant, trim, or a part with a number that is cut further."""
        if "axis" not in node:
            return self._leaf(node)
        self.named[PARTS[axis]] += 1
        return f"{PARTS[axis]} {self.named[PARTS[axis]]}"

    def _stays(self, node: Node, axis: int) -> str:
        """Return what stays in hand beyond the cut."""
        if "axis" in node:
            return "the rest" if node["axis"] == AXES[axis] else self._name(node, axis)
        return self._leaf(node)

    def _leaf(self, node: Node) -> str:
        if "blank" in node:
            return self.labels.get(node["blank"], node["blank"])
        return f"remnant {node['remnant']}" if "remnant" in node else "trim"


def _with(triple: Triple, axis: int, value: int) -> Triple:
    x, y, z = (value if a == axis else each for a, each in enumerate(triple))
    return x, y, z
