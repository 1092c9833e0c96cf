"""Faces of one outline by the packing library: it finds irregular ones on small faces, and large periods.

Each of its searches is narrow and ends by itself, and which are made is worked out from the outline. No clock is
looked at, so the same face is packed the same way again.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from cutsheets.engines.children import answers
from cutsheets.nesting.blocks import upright
from cutsheets.nesting.interlock import Lie, Part, Shapes
from cutsheets.nesting.pieces import grown
from cutsheets.solids import Outline, Ring

# Seconds for periods and for trees, as reckoned by what follows; up to twice as long on a busy machine.
FOR_PERIODS, FOR_TREES = 0.27, 0.2
PAIRS = 0.003  # seconds a point and a lie: how any two copies lie, worked out before periods are looked for
UNIT = 2.5e-7  # seconds, see `_unit`
PERIODS = ((24, 0.5), (32, 1.0), (40, 6.0))  # how broad searches of periods are, and units that they take
TREES = (8, 12, 16, 24, 32)  # how broad tree searches are: as many units
FEW = 16  # copies of a kind: of more the library works out all pairs, periods or not
MORE, A_PART = 4, 3  # parts than are known, that are looked for: so many, and on small faces a third of them
POINTS, PARTS = 30, 250  # of an outline, on a face: of more the library is slow, and lattices leave it nothing
LONGEST = 10.0  # seconds: nobody waits longer for a library that hangs
FINE = 0.0005, 0.002, 0.005  # of the smaller side: how far an outline may be moved out to make it simpler
Room = tuple[float, float]
Problem = dict[str, Any]


def tried(shapes: Shapes, outline: Outline, room: Room, lies: Sequence[Lie], least: int) -> list[Part]:
    """Return the fullest face that the library finds; none where it has no more than `least` parts."""
    kerf = shapes.kerf
    left, low, right, high = shapes.bounds((0.0, False))
    side = min(right - left, high - low)
    outers = (grown(outline.outer, kerf / 2, fine * side) for fine in FINE)
    outer = next((outer for outer in outers if len(outer) <= POINTS), None)
    if outer is None or not 0 < least <= PARTS:
        return []
    higher = (room[0] + kerf, room[1] + kerf)
    copies = int(room[0] * room[1] / shapes.area)
    problems = [*_periods(outer, higher, lies, least, copies), *_trees(outer, higher, lies, least)]
    best: list[Part] = []
    job = {"how": "alone", "least": least, "problems": problems}
    for number, found in answers("irregular", job, seconds=LONGEST, stop=lambda: False) if problems else ():
        parts = [Part(turn % 360.0, mirrored, x - kerf / 2, y - kerf / 2) for _, turn, mirrored, x, y in found]
        best = [upright(part, room[0]) for part in parts] if problems[number]["aside"] else parts
    return best


def _periods(outer: Ring, room: Room, lies: Sequence[Lie], least: int, copies: int) -> list[Problem]:
    """Return the search for periods, of four lies at most: parts at right angles to each other mirrored."""
    crossed = [lie for lie in lies if lie[1] == (lie[0] % 180.0 > 0)]
    few = lies if len(lies) <= len(crossed) + 2 else crossed
    left, unit = FOR_PERIODS - PAIRS * len(outer) * len(few), _unit(outer, few, least)
    searches = []
    for broad, units in PERIODS:
        left -= units * unit
        searches += [(True, broad)] * (left >= 0)
    return [_problem(outer, room, few, [copies], searches)] if searches else []


def _trees(outer: Ring, room: Room, lies: Sequence[Lie], least: int) -> list[Problem]:
    """Return tree searches on the face as it lies and on its side."""
    wanted = least + max(MORE, min(least // A_PART, FEW))
    kinds = [FEW] * (wanted // FEW) + [wanted % FEW] * (wanted % FEW > 0)
    left, unit = FOR_TREES, _unit(outer, lies, least)
    searches = []
    for broad in TREES:
        left -= 2 * broad * unit
        searches += [(False, broad)] * (left >= 0)
    if not searches:
        return []
    aside = [((turn - 90.0) % 360.0, mirrored) for turn, mirrored in lies]
    return [
        _problem(outer, room, lies, kinds, searches),
        _problem(outer, room[::-1], aside, kinds, searches, aside=True),
    ]


def _unit(outer: Ring, lies: Sequence[Lie], parts: int) -> float:
    """Return about how many seconds a search takes, for each step that it is broad: fitted to thirty sections.

    Half or twice as many are usual.
    """
    return UNIT * math.pow(parts * (len(outer) + 4), 1.5) * math.pow(len(lies), 0.6)


def _problem(
    outer: Ring, room: Room, lies: Sequence[Lie], copies: Sequence[int], searches: Sequence[tuple[bool, int]],
    *, aside: bool = False,
) -> Problem:  # fmt: skip
    return {
        "bins": [{"w": room[0], "h": room[1], "cost": 1, "copies": 1}],
        "items": [{"outer": outer, "copies": each, "lies": lies, "area": 1} for each in copies],
        "searches": searches,
        "aside": aside,
    }
