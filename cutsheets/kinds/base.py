"""What every kind of line must answer: which keys it has, how they are read and written, and what has to be cut."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from cutsheets.rules import Rules
from cutsheets.solids import Worked
from cutsheets.units import Unit


@dataclass(frozen=True, slots=True)
class Line:
    """One line of a job, read and checked; lengths mm, `density` kg/m³. `spec` is what the kind's `read` returned.

    `rules` already hold what the line itself allows. `unit` is that of the job, for sentences.
    """

    mark: str
    kind: str
    grade: str
    density: float
    spec: Any
    qty: int = 1
    coat: float = 0.0
    note: str = ""
    rules: Rules = field(default_factory=Rules)
    unit: Unit = "in"


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of line: its keys in a job file and its four functions.

    `read(raw, unit)` returns a spec or raises CutsheetError; `write(spec, unit)` returns the keys again;
    `work(line)` returns the line worked out or raises CutsheetError. Places in errors begin inside the line.
    `shape` is the key that a profile of the library may fill; `on_buildings`: the part ends on or in a building;
    `sawn_to_size`: its blank is the part, and is not rounded up.
    """

    name: str
    keys: tuple[str, ...]
    read: Callable[[Mapping[str, Any], Unit], Any]
    write: Callable[[Any, Unit], dict[str, Any]]
    work: Callable[[Line], Worked]
    shape: str = ""
    takes_allowances: bool = True
    on_buildings: bool = True
    sawn_to_size: bool = False

    def rules(self, shop: Rules) -> Rules:
        """Return the rules that a line of this kind starts from: the shop's, or those without any allowance."""
        if self.takes_allowances:
            return shop
        step = 0.0 if self.sawn_to_size else shop.blank_step
        return replace(shop, skim_wall=0.0, skim_other=0.0, end_trim=0.0, blank_step=step)
