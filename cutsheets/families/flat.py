"""Flat band: one face, its two front edges sharp, rounded or bevelled."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from cutsheets.errors import CutsheetError
from cutsheets.families.base import LEAST, Family, choice, length, needed, read_values, tell, write_points
from cutsheets.families.members import MEMBERS
from cutsheets.families.stacked import closed, stack
from cutsheets.units import Unit

SIZE = length("size", "size of the edges", "", "radius, or leg of the bevel")
FIELDS = (
    length("height", "height", "6 in"),
    length("out", "projection", "2 in"),
    choice("edge", "front edges", (("sharp", "sharp"), ("round", "round"), ("bevel", "bevelled"))),
    SIZE,
)
CURVES = {"round": "ovolo", "bevel": "bevel"}


def build_band(raw: Mapping[str, Any], unit: Unit) -> dict[str, Any]:
    """Return the section of a flat band; raises CutsheetError, `family-edge` where the edges are larger than it."""
    values = read_values(FIELDS, raw, unit)
    high, out, edge = values["height"], values["out"], values["edge"]
    size = 0.0 if edge == "sharp" else needed(values, (SIZE,), "An edge that is not sharp")[0]
    most = min(out, high / 2)
    if size > most:
        raise CutsheetError("family-edge", f"These edges are larger than the band; write {tell(most)} or less.", "size")
    rows = [{"member": "fascia", "height": high - 2 * size, "out": 0}] if high - 2 * size > LEAST else []
    if size:
        corner = {"member": CURVES[edge], "height": size, "out": size}
        rows = [corner, *rows, corner | {"direction": "in"}]
    ring = closed(stack(rows, MEMBERS, out - size, "mm"))
    return {"section": write_points((point for point, _ in ring), unit), "bare": "wall"}


BAND = Family("band", "flat band", "section", FIELDS, build_band)
