"""Sections in a job file: `"section": [[x, y], …]` and `"bare"`."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from cutsheets.errors import CutsheetError
from cutsheets.records import items
from cutsheets.sections import make_section
from cutsheets.solids import Point, Section
from cutsheets.units import Unit, read_coordinate, say, to_unit

WIDEST, SMALLEST = 3000.0, 12.7  # mm, the longer side: a section beyond these was typed in the other unit
THINNEST = 1.0  # mm: nothing that a wire leaves standing
MOST_POINTS = 2000


def read_section(raw: Mapping[str, Any], unit: Unit) -> Section:
    """Return the checked section of a line; raises CutsheetError (see `make_section`; `range`, `bare`)."""
    if "section" not in raw:
        raise CutsheetError("missing-key", "“section” is missing; write its points [[x, y], …].")
    points = read_points(raw["section"], unit, "section")
    section = make_section(points, read_bare(raw), "section")
    _likely_size(section, unit, "section")
    return section


def read_free_section(raw: object, unit: Unit, where: str) -> Section:
    """Return the checked section of a part that lies on no wall: coated all round, and x may be below 0."""
    section = make_section(read_points(raw, unit, where), frozenset(), where, on_wall=False)
    _likely_size(section, unit, where)
    return section


def _likely_size(section: Section, unit: Unit, where: str) -> None:
    """Refuse a section that looks typed in the other unit; no moulding is cut 25 times too large or too small."""
    small, large = sorted(max(side) - min(side) for side in zip(*section.points, strict=True))
    if large > WIDEST:
        far = f"more than {say(WIDEST, unit)} across"
    elif large < SMALLEST:
        far = f"less than {say(SMALLEST, unit)} across"
    elif small < THINNEST:
        far = f"thinner than {say(THINNEST, unit)}"
    else:
        return
    raise CutsheetError(
        "range", f"This section is {far} {unit}; correct it, or type it in the unit that it was drawn in.", where
    )


def write_section(section: Section, unit: Unit) -> dict[str, Any]:
    """Return the keys of the job file, points and edges in the order in which they were typed."""
    return {"section": write_points(section, unit)} | write_bare(section)


def write_bare(section: Section) -> dict[str, Any]:
    """Return the edges without coat, numbered as they were typed."""
    return {"bare": sorted(map(section.typed_edge, section.bare)) or "none"}


def write_points(section: Section, unit: Unit) -> list[list[float]]:
    """Return the points in the order in which they were typed."""
    points = (section.points[0], *reversed(section.points[1:])) if section.turned else section.points
    return [[to_unit(x, unit), to_unit(y, unit)] for x, y in points]


def read_points(raw: object, unit: Unit, where: str) -> list[Point]:
    """Return the points [x, y] of a closed outline, mm; raises CutsheetError with the place of the point."""
    return [_read_point(point, unit, f"{where}[{i}]") for i, point in enumerate(items(raw, where, most=MOST_POINTS))]


def _read_point(raw: object, unit: Unit, where: str) -> Point:
    x, y = (float(read_coordinate(value, unit, where)) for value in items(raw, where, least=2, most=2))
    return x, y


def read_bare(raw: Mapping[str, Any]) -> frozenset[int] | None:
    """Return the edges of a line that get no coat, as typed; None for those towards the wall."""
    bare = raw.get("bare", "wall")
    if bare in ("wall", "none"):
        return None if bare == "wall" else frozenset()
    edges = items(bare, "bare", most=MOST_POINTS) if isinstance(bare, list | tuple) else [None]
    if not all(isinstance(edge, int) and not isinstance(edge, bool) for edge in edges):
        raise CutsheetError("bare", "Write “wall”, “none” or a list of edge numbers here.", "bare")
    return frozenset(edges)
