"""What is measured of the first piece at the wire before the run goes on: sizes of the foam, each with its limits."""

from __future__ import annotations

from dataclasses import dataclass

from cutsheets.drawings.figures import for_the_wire
from cutsheets.drawings.lettering import Parts, length_parts
from cutsheets.solids import Box, Face, Stick, Worked
from cutsheets.units import Unit

NOISE = 4  # places of a millimetre: sizes this near are one
MOST = 8  # figures of a part
TAPE = 32  # a tape's finest parts of an inch


@dataclass(frozen=True, slots=True)
class Check:
    """A size of the foam, mm, what it is called, and how far it may be off, mm either way."""

    name: str
    size: float
    tolerance: float

    def shown(self, unit: Unit) -> tuple[Parts, Parts, Parts]:
        """Return the size, and the least and the most it may be, to 1/32 in, never beyond the tolerance."""
        least, most = max(self.size - self.tolerance, 0.0), self.size + self.tolerance
        return (
            length_parts(self.size, unit), length_parts(least, unit, "up", denominator=TAPE),
            length_parts(most, unit, "down", denominator=TAPE),
        )  # fmt: skip


def first_checks(worked: Worked, stick: Stick | None, *, length: float, section: float) -> list[Check]:
    """Return what is measured of the first piece, `stick` where a run is cut into sticks; tolerances are mm.

    A length that is measured as such keeps the tolerance of lengths, whatever else is as long.
    """
    sizes: dict[float, Check] = {}
    for check in [*_across(worked, section), *_along(worked.foam, stick, length)]:
        sizes[round(check.size, NOISE)] = check
    return list(sizes.values())


def _across(worked: Worked, tolerance: float) -> list[Check]:
    """Return depth and height of a section, or the sides of a part and its figures, which say more than "height"."""
    foam = worked.foam
    if isinstance(foam, Face):
        sides = {"depth of the section": foam.width, "height of the section": foam.height}
    else:
        sides = {"wide, as it lies": foam.w, "high, as it lies": foam.h}
    named = [one for one in for_the_wire(worked.part) if one.of == "length" and isinstance(one.value, float)]
    figures = [(one.label, one.value) for one in named[:MOST]]
    return [Check(name, size, tolerance) for name, size in (*sides.items(), *figures)]


def _along(foam: Face | Box, stick: Stick | None, tolerance: float) -> list[Check]:
    """Return the lengths of a piece: both its points where it is mitred."""
    if stick is None:
        return [Check("length", foam.l, tolerance)] if isinstance(foam, Box) else []
    long = "long point" if stick.front != stick.wall else "length"
    ends = {f"short side of {stick.mark}": min(stick.front, stick.wall), f"{long} of {stick.mark}": stick.long}
    return [Check(name, size, tolerance) for name, size in ends.items()]
