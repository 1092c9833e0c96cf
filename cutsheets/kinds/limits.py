"""Keys that a line must have, and sizes that no part has: those were typed in the other unit."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from cutsheets.errors import CutsheetError
from cutsheets.units import Unit, read_length, say, say_exact


def needed(raw: Mapping[str, Any], name: str, how: str) -> Any:
    """Return what stands under a key; raises CutsheetError `missing-key` that says `how` to write it."""
    if name not in raw:
        raise CutsheetError("missing-key", f"“{name}” is missing; write {how}.")
    return raw[name]


def read_within(raw: Any, unit: Unit, where: str, least: float, most: float) -> float:
    """Return a length in mm, `least` to `most` (mm); raises CutsheetError `range`, or as `read_length` does."""
    length = read_length(raw, unit, where, zero_ok=False)
    if least <= length <= most:
        return float(length)
    raise CutsheetError(
        "range",
        f"{say_exact(length, unit)} {unit} is not a size for this, {say(least, unit)} to {say(most, unit)} {unit} is; "
        "correct it, or check its unit.",
        where,
    )
