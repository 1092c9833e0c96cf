"""Quantities of a line: volume, mass, coat area, wire. No money.

Core volume: a mitred prism has the area of its section × its length at the centroid, V = A·(L_wall + Σ ±x̄·tan(turn/2))
(first moment of area; of the Pappus kind). Coat area, the same for every coated edge: edge × length at its middle, and
a whole finished section for a capped end.
Wire: once round each foam section, two entries (one in, one out); minutes = path / feed + entries (common practice).
End cuts are the saw's.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from cutsheets.rules import Rules
from cutsheets.sections import edge_ends, perimeter
from cutsheets.solids import Blank, Face, Quantities, Section, Stick

ENTRIES = 2  # for each stick: the wire goes in once and comes out once
MM3_PER_M3 = 1e9


def core_volume(sticks: Iterable[Stick], foam: Face) -> float:
    """Return the foam left in the sticks, mm³."""
    across = [y for _, y in foam.outline]
    out = max(x for x, _ in foam.outline)
    flat_share = (foam.centroid_y - min(across)) / foam.height
    total = 0.0
    for stick in sticks:
        share = flat_share if stick.flat else foam.centroid_x / out
        total += stick.qty * foam.area * (stick.wall + (stick.front - stick.wall) * share)
    return total


def blank_volume(blanks: Iterable[Blank]) -> float:
    """Return the volume of the blanks, mm³."""
    return sum(blank.size.volume * blank.qty for blank in blanks)


def swept_coat(section: Section, length: float, lean: float, *, axis: int = 0) -> float:
    """Return the coated area of a finished part, mm²: `length` long at 0 of `axis`, and `lean` more for each mm out."""
    return math.fsum(
        math.dist(start, end) * (length + lean * (start[axis] + end[axis]) / 2)
        for i, (start, end) in enumerate(edge_ends(section.points))
        if i not in section.bare
    )


@dataclass(frozen=True, slots=True)
class Wire:
    """The wire's work on a whole line: mm of cut, ways in and out, parts put on the machine and taken off again."""

    path: float = 0.0
    entries: int = 0
    parts: int = 0


def wire_minutes(wire: Wire, rules: Rules) -> float:
    """Return the minutes of the cut, of the ways in and out, and of the handling."""
    return wire.path / rules.feed + wire.entries * rules.entry + wire.parts * rules.handling


def amounts(
    blanks: Iterable[Blank], *, volume: float, coat_area: float, wire: Wire, density: float, rules: Rules
) -> Quantities:
    """Return the quantities of a whole line from its foam, its coat and its wire; `density` kg/m³."""
    return Quantities(
        core_volume=volume, blank_volume=blank_volume(blanks), core_mass=volume / MM3_PER_M3 * density,
        coat_area=coat_area, wire_length=wire.path, wire_minutes=wire_minutes(wire, rules),
    )  # fmt: skip


def quantities(
    sticks: Sequence[Stick], blanks: Sequence[Blank], foam: Face, *, coat_area: float, density: float, rules: Rules
) -> Quantities:
    """Return the quantities of sticks that share one section."""
    parts = sum(stick.qty for stick in sticks)
    return amounts(
        blanks, volume=core_volume(sticks, foam), coat_area=coat_area,
        wire=Wire(parts * perimeter(foam.outline), ENTRIES * parts, parts), density=density, rules=rules,
    )  # fmt: skip
