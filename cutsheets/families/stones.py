"""Keystones and quoins: the face of a stone as an outline; its thickness is that of the line."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

from cutsheets.errors import CutsheetError
from cutsheets.families.arcs import arc, through
from cutsheets.families.base import LEAST, Family, choice, length, needed, read_values, tell, write_points
from cutsheets.solids import Point
from cutsheets.units import Unit

KEYSTONE_FIELDS = (
    length("height", "height", "12 in"),
    length("top", "width at the top", "9 in"),
    length("bottom", "width at the bottom", "6 in"),
    length("foot_radius", "radius of the foot", "", "that of the opening's arch; empty: straight"),
)
MARGIN = length("margin", "margin", "", "radius, or leg of the bevel")
QUOIN_FIELDS = (
    length("long", "length", "16 in"),
    length("short", "length of every other one", "", "empty: all alike"),
    length("height", "height", "8 in"),
    choice("corners", "corners", (("square", "square"), ("bevel", "bevelled"), ("round", "round"))),
    MARGIN,
)


def build_keystone(raw: Mapping[str, Any], unit: Unit) -> dict[str, Any]:
    """Return the outline of a keystone, narrower at the foot.

    Raises CutsheetError: `family-taper` (wider below), `family-radius` (an arch smaller than its keystone).
    """
    values = read_values(KEYSTONE_FIELDS, raw, unit)
    high, top, bottom, radius = (values[field.name] for field in KEYSTONE_FIELDS)
    if bottom > top:
        raise CutsheetError("family-taper", f"A keystone narrows downwards; write {tell(top)} or less.", "bottom")
    inset = (top - bottom) / 2
    left, right = (inset, 0.0), (top - inset, 0.0)
    foot = [left, right]
    if radius is not None:
        _arch_fits(radius, bottom, high)
        foot = through(left, right, radius, hollow=True)
    return {"outlines": [{"name": "keystone", "outer": write_points([*foot, (top, high), (0.0, high)], unit)}]}


def _arch_fits(radius: float, bottom: float, high: float) -> None:
    """Refuse an arch that is smaller than its keystone; rise of a segment r − √(r² − c²/4), Machinery's Handbook."""
    if radius < bottom:
        raise CutsheetError(
            "family-radius", f"An arch is larger than its keystone; write {tell(bottom)} or more.", "foot_radius"
        )
    if radius - math.sqrt(radius**2 - bottom**2 / 4) > high - LEAST:
        raise CutsheetError("family-radius", "The arch rises through the whole stone; make it higher.", "height")


def build_quoins(raw: Mapping[str, Any], unit: Unit) -> dict[str, Any]:
    """Return the outlines of a quoin, or of a long and a short one; raises CutsheetError `family-margin`."""
    values = read_values(QUOIN_FIELDS, raw, unit)
    high, corners = values["height"], values["corners"]
    lengths = {"long": values["long"], "short": values["short"]} if values["short"] else {"quoin": values["long"]}
    margin = 0.0 if corners == "square" else needed(values, (MARGIN,), "A corner that is not square")[0]
    most = (min(high, *lengths.values()) - LEAST) / 2
    if margin > most:
        raise CutsheetError("family-margin", f"The margins meet; write {tell(most)} or less.", "margin")
    return {
        "outlines": [
            {"name": name, "outer": write_points(_block(long, high, corners, margin), unit)}
            for name, long in lengths.items()
        ]
    }


def _block(long: float, high: float, corners: str, margin: float) -> list[Point]:
    """Return a rectangle with its four corners cut or rounded, counter-clockwise."""
    if corners == "square":
        return [(0.0, 0.0), (long, 0.0), (long, high), (0.0, high)]
    points: list[Point] = []
    centres = ((long - margin, margin), (long - margin, high - margin), (margin, high - margin), (margin, margin))
    for begin, centre in zip((-90, 0, 90, 180), centres, strict=True):
        quarter = arc(centre, (margin, margin), begin, begin + 90)
        points += quarter if corners == "round" else [quarter[0], quarter[-1]]
    return points


KEYSTONE = Family("keystone", "keystone", "outlines", KEYSTONE_FIELDS, build_keystone)
QUOIN = Family("quoin", "quoins", "outlines", QUOIN_FIELDS, build_quoins)
