"""Does a part fit a machine? Lengths of wire, travel, height, swing and centres, each asked and each a setting.

That a wire must be some inches longer than its blank is common practice, no source (`Rules.wire_over`).
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, fields, replace

from cutsheets.rules import Rules
from cutsheets.solids import Asks, Blank
from cutsheets.units import Unit, say

NOISE = 1e-6  # mm
WORDS = {
    "wire": "wire", "travel": "cross-travel", "height": "height", "swing": "swing", "centres": "length between centres",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Machine:
    """A hot wire machine and its limits, mm; None: not known, so no limit."""

    name: str
    wire: float | None = None
    travel: float | None = None
    height: float | None = None
    swing: float | None = None
    centres: float | None = None


def wired_along(blanks: Iterable[Blank], rules: Rules) -> tuple[Asks, ...]:
    """Return what straight work asks: the wire lies along each blank, which may lie on either side."""
    return tuple(
        Asks(" × ".join(blank.marks[:1]), blank.size.l + rules.wire_over, blank.size.w, blank.size.h, may_turn=True)
        for blank in blanks
    )


def lacks(asks: Asks, machine: Machine, unit: Unit) -> tuple[str, ...]:
    """Return in words each limit of a machine that a part goes beyond; none where it fits.

    >>> lacks(Asks("A1", wire=2540), Machine("short bow", wire=1300), "in")
    ('wire: needs 100, has 51-1/8',)
    """
    ways = [asks, replace(asks, travel=asks.height, height=asks.travel)] if asks.may_turn else [asks]
    return min((_beyond(way, machine, unit) for way in ways), key=len)


def _beyond(asks: Asks, machine: Machine, unit: Unit) -> tuple[str, ...]:
    found = []
    for name in (field.name for field in fields(machine) if field.name != "name"):
        need, has = getattr(asks, name), getattr(machine, name)
        if has is not None and need > has + NOISE:
            found.append(f"{WORDS[name]}: needs {say(need, unit, 'up')}, has {say(has, unit, 'down')}")
    return tuple(found)
