"""Two-ended work: where the wire stands at both towers while it passes through two ends of a part.

The wire is straight, so by similar triangles it goes on beyond each end as it came through the part: a point of the
left end, e mm from the left tower, stands there at left + (left - right)·e / length.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from cutsheets.errors import CutsheetError
from cutsheets.records import record
from cutsheets.solids import Point, Ring
from cutsheets.units import Unit, read_length, say, to_unit
from cutsheets.volumes import between

WIDEST_GAP = 20_000.0  # mm: it was typed in the other unit


@dataclass(frozen=True, slots=True)
class Towers:
    """The distance between the towers, and that of the part's left end from the left tower, mm."""

    gap: float
    offset: float

    def beyond(self, length: float) -> float:
        """Return how far the right end of a part is from the right tower."""
        return self.gap - self.offset - length


def read_towers(raw: object, unit: Unit, length: float) -> Towers:
    """Return the towers of a part `length` mm long; raises CutsheetError `towers-gap` where it goes between none."""
    given = record(raw, "towers", required=("gap", "root_offset"))
    towers = Towers(
        float(read_length(given["gap"], unit, "towers.gap", zero_ok=False)),
        float(read_length(given["root_offset"], unit, "towers.root_offset")),
    )
    if towers.beyond(length) < 0:
        need = say(towers.offset + length, unit, "up")
        raise CutsheetError(
            "towers-gap", f"The towers stand too near for this part; the gap must be {need} {unit} or more.",
            "towers.gap",
        )  # fmt: skip
    if towers.gap > WIDEST_GAP:
        raise CutsheetError("range", f"No towers stand so far apart; check the unit ({unit}).", "towers.gap")
    return towers


def write_towers(towers: Towers, unit: Unit) -> dict[str, Any]:
    """Return the keys of the job file."""
    return {"gap": to_unit(towers.gap, unit), "root_offset": to_unit(towers.offset, unit)}


def at_towers(left: Sequence[Point], right: Sequence[Point], length: float, towers: Towers) -> tuple[Ring, Ring]:
    """Return where the wire stands at the left and at the right tower for pairs of points of the two ends.

    >>> at_towers([(10, 0)], [(4, 3)], 60, Towers(100, 20))
    (((12.0, -1.0),), ((2.0, 4.0),))
    """
    return between(left, right, -towers.offset / length), between(left, right, 1 + towers.beyond(length) / length)
