"""Closed shapes with holes in a job file: `"outlines": [{"name": "R", "outer": [[x, y], …], "holes": […], "qty": 2}]`.

Points lie in one plane, x to the right, y up. Rings may be typed either way round; they are kept as `Outline` has them.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import shapely
from shapely.validation import explain_validity

from cutsheets.errors import CutsheetError
from cutsheets.kinds.shapes import THINNEST, read_points
from cutsheets.records import items, record, words
from cutsheets.sections import SAME, edge_ends
from cutsheets.solids import Outline, Point, Ring
from cutsheets.units import Unit, read_count, say, say_exact, to_unit

MOST_OUTLINES = 200
MOST_HOLES = 100
MOST_POINTS = 20_000  # of one line; one ring has at most those of a section
WIDEST, SMALLEST = 3000.0, 6.0  # mm, the longer side: a shape beyond these was typed in the other unit


@dataclass(frozen=True, slots=True)
class Shape:
    """One shape to cut out, `qty` times in a set: a letter may have several parts, an outline has one.

    `x` is where a letter's own origin lies on its line, None for shapes that are laid as they come. `where` is the
    place for errors.
    """

    name: str
    parts: tuple[Outline, ...]
    where: str
    qty: int = 1
    x: float | None = None


def read_outlines(raw: object, unit: Unit, where: str = "outlines") -> tuple[Shape, ...]:
    """Return the checked shapes of a line.

    Raises CutsheetError: `outline-open`, `outline-points` (the same point twice), `outline-crossing`, `outline-flat`,
    `range`, `hole-outside`, `hole-crossing`, `name-twice`, `too-many-points`.
    """
    shapes: list[Shape] = []
    points = 0
    for i, each in enumerate(items(raw, where, least=1, most=MOST_OUTLINES)):
        place = f"{where}[{i}]"
        given = record(each, place, required=("outer",), optional=("name", "holes", "qty"))
        name = words(given.get("name", f"shape {i + 1}"), f"{place}.name", least=1, most=40)
        if name in [shape.name for shape in shapes]:
            raise CutsheetError(
                "name-twice", f"“{name}” is there already; raise its quantity, or write another name.", f"{place}.name"
            )
        outline = _read_outline(given, unit, place)
        shapes.append(Shape(name, (outline,), place, read_count(given.get("qty", 1), f"{place}.qty")))
        points += sum(map(len, outline.rings))
        if points > MOST_POINTS:
            raise CutsheetError(
                "too-many-points",
                f"With this one there are more than {MOST_POINTS} points; take coarser ones.",
                place,
            )
    return tuple(shapes)


def write_outlines(shapes: Sequence[Shape], unit: Unit) -> list[dict[str, Any]]:
    """Return shapes as the job file has them."""
    return [
        {
            "name": shape.name, "qty": shape.qty,
            "outer": _write_ring(shape.parts[0].outer, unit),
            "holes": [_write_ring(hole, unit) for hole in shape.parts[0].holes],
        }
        for shape in shapes
    ]  # fmt: skip


def _read_outline(given: Mapping[str, Any], unit: Unit, where: str) -> Outline:
    outer = _read_ring(given["outer"], unit, f"{where}.outer")
    _likely_size(outer, unit, f"{where}.outer")
    face, holes, gone = shapely.Polygon(outer), [], []
    for i, raw in enumerate(items(given.get("holes", []), f"{where}.holes", most=MOST_HOLES)):
        place = f"{where}.holes[{i}]"
        hole = _read_ring(raw, unit, place)
        _inside(hole, face, place)
        holes.append(hole)
        gone.append(shapely.Polygon(hole))
        if shapely.intersects(gone[i], gone[:i]).any():
            raise CutsheetError("hole-crossing", "This hole meets another one; make one hole of the two.", place)
    return Outline(_turned(outer, ccw=True), tuple(_turned(hole, ccw=False) for hole in holes))


def _read_ring(raw: object, unit: Unit, where: str) -> list[Point]:
    """Return a checked ring as it was typed."""
    points = read_points(raw, unit, where)
    if len(points) < 3:
        raise CutsheetError("outline-open", "An outline needs three points or more to close; add the others.", where)
    for i, (start, end) in enumerate(edge_ends(points)):
        if abs(start[0] - end[0]) < SAME and abs(start[1] - end[1]) < SAME:
            remedy = "leave it out: the outline closes itself" if i == len(points) - 1 else "leave one out"
            raise CutsheetError(
                "outline-points", f"This point is the same as the one after it; {remedy}.", f"{where}[{i}]"
            )
    polygon = shapely.Polygon(points)
    if polygon.convex_hull.area < SAME:
        raise CutsheetError("outline-flat", "This outline encloses nothing; check its points.", where)
    if not polygon.is_valid:
        raise _crossing(points, polygon, unit, where)
    return points


def _turned(points: Sequence[Point], *, ccw: bool) -> Ring:
    """Return a ring that runs counter-clockwise or clockwise, from the point where it was begun."""
    return tuple(points) if shapely.LinearRing(points).is_ccw == ccw else (points[0], *reversed(points[1:]))


def _crossing(points: Sequence[Point], polygon: shapely.Polygon, unit: Unit, where: str) -> CutsheetError:
    """Return the refusal with the number of an edge that crosses or touches another."""
    said = explain_validity(polygon)
    x, y = map(float, said[said.index("[") + 1 : said.index("]")].split()[:2])
    edges = shapely.linestrings(list(edge_ends(points)))
    edge = int(shapely.distance(edges, shapely.Point(x, y)).argmin())
    return CutsheetError(
        "outline-crossing",
        f"The outline crosses itself at {say_exact(x, unit)}, {say_exact(y, unit)} {unit}; move a point there.",
        f"{where}[{edge}]",
    )


def _inside(hole: Sequence[Point], outer: shapely.Polygon, where: str) -> None:
    """Refuse a hole that does not lie wholly inside its outer ring, with the first point outside where there is one."""
    within = shapely.contains_properly(outer, shapely.points(hole))
    if not within.all():
        raise CutsheetError(
            "hole-outside", "This point of a hole is not inside its outline; move it.", f"{where}[{within.argmin()}]"
        )
    if not shapely.contains_properly(outer, shapely.Polygon(hole)):
        raise CutsheetError("hole-outside", "This hole crosses its outline; move it.", where)


def _likely_size(outer: Sequence[Point], unit: Unit, where: str) -> None:
    """Refuse what looks typed in the other unit; no shape is cut 25 times too large or too small."""
    small, large = sorted(max(side) - min(side) for side in zip(*outer, strict=True))
    if SMALLEST <= large <= WIDEST and small >= THINNEST:
        return
    raise CutsheetError(
        "range",
        f"This shape is {say(large, unit)} × {say(small, unit)} {unit}, and {say(SMALLEST, unit)} to "
        f"{say(WIDEST, unit)} can be cut; correct it, or type it in the unit that it was drawn in.",
        where,
    )


def _write_ring(ring: Ring, unit: Unit) -> list[list[float]]:
    return [[to_unit(x, unit), to_unit(y, unit)] for x, y in ring]
