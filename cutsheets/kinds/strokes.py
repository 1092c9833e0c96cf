"""The coat on shapes cut through a slab: front face and all edges are coated, the back is bare.

Every edge, also that of a counter, moves into the foam by the coat's thickness along its normal, corners kept sharp;
so every stroke of the foam is thinner by two coats (rule: common practice, no source; the offset is plane geometry).
"""

from __future__ import annotations

from dataclasses import dataclass

import shapely
from shapely.geometry.base import BaseGeometry

from cutsheets.errors import CutsheetError
from cutsheets.kinds.outlines import Shape
from cutsheets.solids import Ring

SHARPEST = 20.0  # an offset corner lies at most so many offsets away: one of 6° is still drawn sharp
CLEAR = 0.02  # mm: lines that nearly coincide are slow to compare
SPECK = 0.1  # of a width squared: less than that is lost at the tip of a sharp corner, not of a stroke


@dataclass(frozen=True, slots=True)
class Cut:
    """A shape's face: as finished and as foam, from its own origin, mm."""

    finished: shapely.MultiPolygon
    foam: shapely.MultiPolygon

    @property
    def counters(self) -> int:
        """Return how many closed counters it has."""
        return sum(len(part.interiors) for part in self.foam.geoms)


def cut_shape(shape: Shape, coat: float, kerf: float) -> Cut:
    """Return a shape under its coat.

    Raises CutsheetError `coat-swallows-stroke`, `coat-splits-letter`, `wire-kerf` (the wire closes a counter or a gap).
    """
    finished = shapely.MultiPolygon([shapely.Polygon(part.outer, part.holes) for part in shape.parts])
    foam = _under_coat(finished, coat, shape) if coat else finished
    if kerf and _form(foam) != _form(_moved(foam, kerf / 2)):
        raise CutsheetError(
            "wire-kerf", f"The wire is wider than a counter or gap of “{shape.name}”; make it larger.", shape.where
        )
    return Cut(finished, foam)


def has_stroke_below(face: shapely.MultiPolygon, width: float) -> bool:
    """Return whether any stroke is thinner than `width` mm: whatever a disc of that width cannot paint, corners aside.

    >>> bar = shapely.MultiPolygon([shapely.box(0, 0, 100, 5)])
    >>> has_stroke_below(bar, 4.9), has_stroke_below(bar, 5.1)
    (False, True)
    """
    return any(_loses(part, width) for part in face.geoms)


def has_gap_below(face: shapely.MultiPolygon, width: float) -> bool:
    """Return whether a disc `width` mm wide cannot reach into some notch, sharp corners aside.

    >>> slotted = shapely.MultiPolygon([shapely.box(0, 0, 100, 50) - shapely.box(50, 10, 51, 50)])
    >>> has_gap_below(slotted, 0.9), has_gap_below(slotted, 1.1)
    (False, True)
    """
    closed = _moved(_moved(face, width / 2), -width / 2 - CLEAR)
    return _any_above_speck(closed.difference(face), width)


def rings(face: BaseGeometry) -> tuple[Ring, ...]:
    """Return outer rings and holes, as an even-odd fill wants them."""
    return tuple(
        tuple((x, y) for x, y in ring.coords[:-1])
        for part in _polygons(face)
        for ring in (part.exterior, *part.interiors)
    )


def _under_coat(finished: shapely.MultiPolygon, coat: float, shape: Shape) -> shapely.MultiPolygon:
    if has_stroke_below(finished, 2 * coat):
        raise CutsheetError(
            "coat-swallows-stroke",
            f"The coat leaves nothing of a stroke of “{shape.name}”; take a thinner coat or a larger size.",
            shape.where,
        )
    foam = _moved(finished, -coat)
    if _form(foam) != _form(finished):
        raise CutsheetError(
            "coat-splits-letter",
            f"The coat is thicker than a neck of “{shape.name}” and would cut it in two; take a thinner coat.",
            shape.where,
        )
    return shapely.MultiPolygon(_polygons(foam))


def _form(face: BaseGeometry) -> tuple[int, int]:
    """Return how many parts and how many holes a face has."""
    parts = _polygons(face)
    return len(parts), sum(len(part.interiors) for part in parts)


def _polygons(face: BaseGeometry) -> list[shapely.Polygon]:
    return [part for part in shapely.get_parts(face) if isinstance(part, shapely.Polygon)]


def _loses(part: shapely.Polygon, width: float) -> bool:
    """Return whether a part loses strokes when its edges move in and out again by half a width."""
    inner = _moved(part, -width / 2)
    lost = part.difference(_moved(inner, width / 2 + CLEAR))
    return inner.is_empty or _any_above_speck(lost, width)


def _any_above_speck(face: BaseGeometry, width: float) -> bool:
    return any(piece.area > SPECK * width**2 for piece in _polygons(face))


def _moved(face: BaseGeometry, by: float) -> BaseGeometry:
    return face.buffer(by, join_style="mitre", mitre_limit=SHARPEST)
