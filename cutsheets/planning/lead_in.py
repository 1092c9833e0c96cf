"""Lead-in cuts: a taut wire gets into a closed counter only through a slit in the foam of the part."""

from __future__ import annotations

from dataclasses import dataclass

from shapely import get_coordinates, shortest_line
from shapely.geometry import Polygon

from cutsheets.planning.faces import Nest, NestInstance, NestItem, moved_ring
from cutsheets.solids import Point


@dataclass(frozen=True, slots=True)
class LeadIn:
    """One slit on a face: the number of the placement, from its outer edge to the edge of its counter."""

    placement: int
    start: Point
    end: Point


def lead_ins(instance: NestInstance, nest: Nest) -> tuple[LeadIn, ...]:
    """Return one lead-in cut for each counter of each part, where the foam between edge and counter is narrowest."""
    slits = {item.id: _slits(item) for item in instance.items}
    return tuple(
        LeadIn(number, *moved_ring(slit, placement))
        for number, placement in enumerate(nest.placements)
        for slit in slits[placement.item]
    )


def _slits(item: NestItem) -> list[tuple[Point, Point]]:
    outer = Polygon(item.outline.outer).exterior
    found = []
    for hole in item.outline.holes:
        (x1, y1), (x2, y2) = get_coordinates(shortest_line(outer, Polygon(hole).exterior))
        found.append(((float(x1), float(y1)), (float(x2), float(y2))))
    return found
