"""Panel: a plain rectangular piece, sawn to size. Its blank is the size plus what the line's own `allow` says."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from cutsheets.blanks import group, grown, note_too_long
from cutsheets.costing import Wire, amounts
from cutsheets.errors import CutsheetError
from cutsheets.kinds.base import Kind, Line
from cutsheets.kinds.limits import read_within
from cutsheets.records import items
from cutsheets.runs import SQUARE
from cutsheets.solids import Box, Stick, Worked
from cutsheets.units import Unit, to_unit

SIDES = (1.0, 15_000.0)  # mm: thinner no saw leaves, longer no block is


def read(raw: Mapping[str, Any], unit: Unit) -> Box:
    """Return the size of the panel."""
    if "size" not in raw:
        raise CutsheetError("missing-key", "“size” is missing; write [length, width, thickness].")
    sides = items(raw["size"], "size", least=3, most=3)
    return Box(*(read_within(side, unit, f"size[{i}]", *SIDES) for i, side in enumerate(sides)))


def write(size: Box, unit: Unit) -> dict[str, Any]:
    """Return the keys of the job file."""
    return {"size": [to_unit(side, unit) for side in (size.l, size.w, size.h)]}


def work(line: Line) -> Worked:
    """Return the panel worked out: it is sawn only, so there is no wire and no coat."""
    if line.coat:
        raise CutsheetError(
            "coat-panel", "A panel is not coated; enter coat 0, or a moulding with this section.", "coat"
        )
    size: Box = line.spec
    stick = Stick(
        mark=f"{line.mark}1", qty=line.qty, front=size.l, wall=size.l, left=SQUARE, right=SQUARE,
        blank=grown(size, line.rules), overall=size.l,
    )  # fmt: skip
    blanks = group([stick])
    done = amounts(
        blanks, volume=size.volume * line.qty, coat_area=0.0, wire=Wire(), density=line.density, rules=line.rules
    )
    return Worked(
        mark=line.mark, kind=line.kind, grade=line.grade, parts=line.qty, finished=size, foam=size, runs=(), frames=(),
        sticks=(stick,), blanks=blanks, quantities=done, notes=note_too_long(blanks, line.rules.block, line.unit),
    )  # fmt: skip


PANEL = Kind(
    "panel", ("size",), read, write, work, takes_allowances=False, on_buildings=False, sawn_to_size=True
)  # fmt: skip
