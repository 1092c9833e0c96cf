"""What a parametric family is: the numbers that an office types, and the shape that they draw.

Lengths are typed texts, read like any other length. An optional field may stay empty; a choice that is left out takes
its default; every other number must be there.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Literal

from cutsheets.errors import CutsheetError
from cutsheets.records import record
from cutsheets.solids import Point
from cutsheets.units import Unit, read_angle, read_count, read_length, say, to_unit

LEAST = 0.1  # mm: below this a size is a slip of the finger, and points of a curve fall together

Values = Mapping[str, Any]  # fields read: mm, degrees, counts, words; None where a field stayed empty
Draw = Callable[[Values, float], Sequence[Point]]


@dataclass(frozen=True, slots=True)
class Field:
    """One number or choice of a recipe. `default` names its unit, so that it means the same in any file."""

    name: str
    label: str
    sort: Literal["length", "angle", "count", "choice"]
    default: str
    choices: tuple[tuple[str, str], ...] = ()
    help: str = ""
    zero_ok: bool = False
    optional: bool = False


@dataclass(frozen=True, slots=True)
class Member:
    """One moulding of a stack. `draw(values, start)` returns its face from (start, 0) upwards to its end, mm."""

    name: str
    label: str
    fields: tuple[Field, ...]
    draw: Draw


@dataclass(frozen=True, slots=True)
class Family:
    """A family of shapes: its fields, the members that its rows may be, and the keys of a job file that it draws."""

    name: str
    label: str
    shape: Literal["section", "half_profile", "outlines"]
    fields: tuple[Field, ...]
    build: Callable[[Mapping[str, Any], Unit], dict[str, Any]]
    members: tuple[Member, ...] = ()


def length(name: str, label: str, default: str, help: str = "", *, zero_ok: bool = False) -> Field:
    """Return a field for a length; one without a default may stay empty."""
    return Field(name, label, "length", default, help=help, zero_ok=zero_ok, optional=not default)


def choice(name: str, label: str, choices: tuple[tuple[str, str], ...], help: str = "") -> Field:
    """Return a field for one of several words; the first is the default."""
    return Field(name, label, "choice", choices[0][0], choices, help)


def read_values(
    fields: Iterable[Field], raw: Mapping[str, Any], unit: Unit, besides: Sequence[str] = ("family",)
) -> Values:
    """Return the fields of a recipe or of one row, read; `besides` are the keys that something else reads.

    Raises CutsheetError with the field as its place: `missing-key`, `unknown-key`, `family-choice`, `family-small`,
    and what `read_length`, `read_angle` and `read_count` raise.
    """
    fields = tuple(fields)
    given = record(raw, "", optional=(*(field.name for field in fields), *besides))
    return {field.name: _read(field, given.get(field.name, ""), unit) for field in fields}


def _read(field: Field, typed: Any, unit: Unit) -> Any:
    empty = typed is None or (isinstance(typed, str) and not typed.strip())
    if empty and field.sort == "choice":
        return field.default
    if empty and field.optional:
        return None
    if empty:
        raise CutsheetError("missing-key", f"The {field.label} is missing; write it.", field.name)
    return _READERS[field.sort](field, typed, unit)


def _read_length(field: Field, typed: Any, unit: Unit) -> float:
    long = float(read_length(typed, unit, field.name, zero_ok=field.zero_ok))
    if 0 < long < LEAST:
        raise CutsheetError(
            "family-small", f"{typed} is too small to be cut; check the {field.label} and its unit.", field.name
        )
    return long


def _read_choice(field: Field, typed: Any, unit: Unit) -> str:
    names = [name for name, _ in field.choices]
    if typed not in names:
        raise CutsheetError("family-choice", f"The {field.label} is one of: {', '.join(names)}.", field.name)
    return str(typed)


_READERS: dict[str, Callable[[Field, Any, Unit], Any]] = {
    "length": _read_length,
    "choice": _read_choice,
    "angle": lambda field, typed, unit: read_angle(typed, field.name),
    "count": lambda field, typed, unit: read_count(typed, field.name),
}


def needed(values: Values, fields: Sequence[Field], because: str) -> list[float]:
    """Return fields that may stay empty but are wanted here; raises CutsheetError `missing-key`."""
    for field in fields:
        if not values[field.name]:
            raise CutsheetError("missing-key", f"{because} asks for the {field.label}; write it.", field.name)
    return [values[field.name] for field in fields]


def write_points(points: Iterable[Point], unit: Unit) -> list[list[float]]:
    """Return points as a job file has them, in `unit`."""
    return [[to_unit(x, unit) + 0.0, to_unit(y, unit) + 0.0] for x, y in points]  # + 0.0: no minus nought


def tell(mm: float) -> str:
    """Return a length for a sentence, in both units: a member does not know the unit of its file.

    >>> tell(38.1)
    '1-1/2 in (38.1 mm)'
    """
    return f"{say(mm, 'in')} in ({say(mm, 'mm')} mm)"
