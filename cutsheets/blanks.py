"""Blanks: the rectangular pieces that the saw cuts, each around one foam part.

Blank = box round the foam part + skim on each long face + end trim at both ends, each size rounded UP to the shop's
step (common practice). Its length is the part's length from long point to long point.
"""

from __future__ import annotations

import math
from collections.abc import Iterable

from cutsheets.errors import CutsheetError
from cutsheets.rules import Rules
from cutsheets.solids import Blank, Box, Face, Note, Stick
from cutsheets.units import Unit, say

NOISE = 1e-6  # mm


def section_blank(foam: Face, length: float, rules: Rules) -> Box:
    """Return the blank of a stick `length` mm over all: w along x (out from the wall), h along y.

    The wall side gets the wall's skim, the three other faces `skim_other`.
    """
    return grown(Box(length, foam.width, foam.height), rules)


def grown(part: Box, rules: Rules, *, wall: bool = True) -> Box:
    """Return a foam part's box with skim and trim added and every size rounded up to the step, mm.

    `wall` False: no side lies on a wall or a joint, so that all four long faces get `skim_other` (round work).
    """
    sizes = (
        part.l + 2 * rules.end_trim,
        part.w + (rules.skim_wall + rules.skim_other if wall else 2 * rules.skim_other),
        part.h + 2 * rules.skim_other,
    )
    # to a nanometre, so that blanks which differ by float noise are one size
    return Box(*(round(step_up(size, rules.blank_step), 6) for size in sizes))


def step_up(size: float, step: float) -> float:
    """Return `size` rounded up to a whole number of steps; a step of 0 rounds nothing.

    >>> step_up(8.3, 0.5), step_up(8.5, 0.5), step_up(8.3, 0)
    (8.5, 8.5, 8.3)
    """
    return math.ceil(size / step - NOISE) * step if step else size


def group(sticks: Iterable[Stick]) -> tuple[Blank, ...]:
    """Return the blanks of one size that give as many pieces together, longest first, with the marks of the pieces."""
    groups: dict[tuple[Box, int], list[Stick]] = {}
    for stick in sticks:
        groups.setdefault((stick.blank, stick.gives), []).append(stick)
    blanks = (
        Blank(size, math.ceil(sum(stick.qty for stick in same) / gives), tuple(stick.mark for stick in same), gives)
        for (size, gives), same in groups.items()
    )
    return tuple(sorted(blanks, key=lambda blank: (-blank.size.l, -blank.size.w, -blank.size.h, -blank.gives)))


def fits(blank: Box, box: Box) -> bool:
    """Return whether a blank goes into a box in one of its six lies."""
    sizes = zip(sorted((blank.l, blank.w, blank.h)), sorted((box.l, box.w, box.h)), strict=True)
    return all(size <= room + NOISE for size, room in sizes)


def check_blank_fits(blank: Box, box: Box, unit: Unit = "in", where: str = "") -> None:
    """Raise CutsheetError `blank-too-long` where a blank fits a block of the usable size `box` in no lie."""
    if not fits(blank, box):
        raise CutsheetError("blank-too-long", _too_long(blank, box, unit), where)


def note_too_long(blanks: Iterable[Blank], box: Box | None, unit: Unit) -> tuple[Note, ...]:
    """Return a note for the first blank that a block of the usable size `box` cannot hold, or nothing."""
    tall = [blank.size for blank in blanks if box and not fits(blank.size, box)]
    return (Note("blank-too-long", _too_long(tall[0], box, unit)),) if box and tall else ()


def blank_notes(blanks: Iterable[Blank], rules: Rules, unit: Unit) -> tuple[Note, ...]:
    """Return what is to be said of the blanks of wired parts: no skim left, too long for a block."""
    words = "No skim is left on the wired faces: crust of the block may stay on a finished face."
    crust = () if rules.skim_other else (Note("no-skim", words),)
    return (*crust, *note_too_long(blanks, rules.block, unit))


def blocks_at_least(blanks: Iterable[Blank], block: Box, kerf: float) -> int:
    """Return a number of blocks below which no plan can stay: volumes with one kerf added to every size.

    ceil(Σ(l+k)(w+k)(h+k) / ((L+k)(W+k)(H+k))): a kerf is lost between neighbours only, so a block gains one too.
    """
    need = sum(_swollen(blank.size, kerf) * blank.qty for blank in blanks)
    return math.ceil(need / _swollen(block, kerf) - 1e-9)


def _swollen(box: Box, kerf: float) -> float:
    return (box.l + kerf) * (box.w + kerf) * (box.h + kerf)


def _too_long(blank: Box, box: Box, unit: Unit) -> str:
    need = " × ".join(say(side, unit, "up") for side in (blank.l, blank.w, blank.h))
    room = " × ".join(say(side, unit, "down") for side in (box.l, box.w, box.h))
    return (
        f"A blank of {need} {unit} goes into no block of {room} {unit}; "
        "shorten the longest stick, lessen the allowances or splice the part."
    )
