"""Sill: a top that falls outwards, a nose, and a drip groove in the underside."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

from cutsheets.errors import CutsheetError
from cutsheets.families.arcs import arc, rounded, tangent
from cutsheets.families.base import (
    LEAST,
    Family,
    Field,
    Values,
    choice,
    length,
    needed,
    read_values,
    tell,
    write_points,
)
from cutsheets.solids import Point
from cutsheets.units import Unit

STEEPEST = 60.0  # degrees: above, it is a splayed face and no sill
GROOVE = (
    length("groove_width", "width of the groove", "", "for example 1/2 in"),
    length("groove_depth", "depth of the groove", "", "a round one is a half circle where this is half the width"),
    length("groove_from", "groove's distance from the nose", "", "for example 1 in"),
)
FIELDS = (
    length("out", "projection", "6 in"),
    length("nose", "height of the nose", "3 in"),
    Field("slope", "slope of the top", "angle", "10", help="degrees; or write the fall", optional=True),
    length("fall", "fall of the top", "", "from wall to nose, in place of the slope"),
    length("radius", "radius of the nose's edges", "", "empty: sharp"),
    choice("groove", "drip groove", (("none", "none"), ("square", "square"), ("round", "round"))),
    *GROOVE,
)


def build_sill(raw: Mapping[str, Any], unit: Unit) -> dict[str, Any]:
    """Return the section of a sill.

    Raises CutsheetError: `family-slope` (not one slope, or none below 60°), `family-radius` (rounds larger than the
    nose), `family-groove` (a groove that does not fit), at the field.
    """
    values = read_values(FIELDS, raw, unit)
    out, nose = values["out"], values["nose"]
    slope = _slope(values)
    top = (0.0, nose + out * math.tan(math.radians(slope)))
    under = [(0.0, 0.0), *_groove(values, slope)]
    return {"section": write_points([*under, *_nose(values, slope, top), top], unit), "bare": "wall"}


def _slope(values: Values) -> float:
    """Return the slope of the top in degrees, from the one of the two that was written."""
    if (values["slope"] is None) == (values["fall"] is None):
        raise CutsheetError("family-slope", "Write the slope in degrees or the fall, one of the two.", "slope")
    if values["slope"] is not None:
        place, slope = "slope", values["slope"]
    else:
        place, slope = "fall", math.degrees(math.atan(values["fall"] / values["out"]))
    if not 0 < slope < STEEPEST:
        raise CutsheetError(
            "family-slope", f"A sill falls outwards by less than {STEEPEST:g}°; 5 to 15 is usual.", place
        )
    return float(slope)


def _nose(values: Values, slope: float, top: Point) -> list[Point]:
    """Return the two front corners, sharp or rounded; the lower turns by 90°, the upper by what the slope leaves."""
    out, nose, radius = values["out"], values["nose"], values["radius"]
    low, high = (out, 0.0), (out, nose)
    if radius is None:
        return [low, high]
    most = min((nose - LEAST) / (1 + tangent(1, 90 - slope)), out - LEAST)
    if radius > most:
        raise CutsheetError("family-radius", f"The nose is too small for it; write {tell(most)} or less.", "radius")
    return [*rounded((0.0, 0.0), low, high, radius), *rounded(low, high, top, radius)]


def _groove(values: Values, slope: float) -> list[Point]:
    """Return the groove from its wall side to its nose side."""
    if values["groove"] == "none":
        return []
    width, depth, away = needed(values, GROOVE, "A drip groove")
    outer = values["out"] - away
    inner = outer - width
    if away < (values["radius"] or 0.0) + LEAST:
        raise CutsheetError("family-groove", "The groove runs into the nose; move it further back.", "groove_from")
    if inner < LEAST:
        raise CutsheetError("family-groove", "The groove runs into the wall; move it forwards.", "groove_from")
    thick = values["nose"] + away * math.tan(math.radians(slope))
    if depth > thick - LEAST:
        raise CutsheetError(
            "family-groove", f"The groove is deeper than the sill is high there, {tell(thick)}; cut it shallower.",
            "groove_depth",
        )  # fmt: skip
    if values["groove"] == "square":
        return [(inner, 0.0), (inner, depth), (outer, depth), (outer, 0.0)]
    return arc(((inner + outer) / 2, 0.0), (width / 2, depth), 180, 0)


SILL = Family("sill", "sill with slope", "section", FIELDS, build_sill)
