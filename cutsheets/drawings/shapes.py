"""The other shapes of the profile library on their own: a half profile mirrored on its axis, outlines with counters.

A thick edge will be coated. Lengths mm.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from shapely import MultiPolygon, STRtree
from shapely import Polygon as Area

from cutsheets.drawings.lettering import Parts, length_parts
from cutsheets.drawings.scene import Dimension, Polygon, Polyline, Scene, Shape, Text
from cutsheets.solids import Outline, Point
from cutsheets.units import Unit

Named = tuple[str, Outline]
FIGURES = 16  # the figures of a drawing: a share of its longer side


def half_profile_scene(side: Sequence[Point], unit: Unit, *, text: float | None = None) -> Scene:
    """Return a turned part from the front; `side` holds (height, radius) from the base up."""
    right = [(radius, height) for height, radius in side]
    left = [(-x, y) for x, y in right]
    low, high = right[0][1], right[-1][1]
    radius = max(x for x, _ in right)
    size = text or max(2 * radius, high - low) / FIGURES
    ring = tuple(dict.fromkeys((*right, *reversed(left))))
    shapes: list[Shape] = [Polygon((ring,), fill="foam", role="outline", weight="frame")]
    shapes.append(Polyline(((0.0, low - 0.8 * size), (0.0, high + 0.8 * size)), "dim", "hair", dash=True))
    shapes.append(Polyline((*right, *reversed(left)), "coat", "coat"))
    shapes.append(Dimension((-radius, low), (radius, low), -1.4 * size, _across(2 * radius, unit), size))
    shapes.append(Dimension((radius, low), (radius, high), -1.4 * size, length_parts(high - low, unit), size))
    if 0 < right[-1][0] < radius:
        top = right[-1][0]
        shapes.append(Dimension((-top, high), (top, high), 1.4 * size, _across(2 * top, unit), size))
    return Scene(tuple(shapes))


def outlines_scene(named: Sequence[Named], unit: Unit, *, text: float | None = None) -> Scene:
    """Return outlines with their size over all; where they lie on one another, each by itself, with its name."""
    areas = [Area(outline.outer) for _, outline in named]
    if len(STRtree(areas).query(areas, predicate="intersects").T) == len(areas):  # each meets itself alone
        size = text or max(_sides(MultiPolygon(areas))) / FIGURES
        return Scene(tuple(_sized([outline for _, outline in named], unit, size)))
    size = text or max(sum(_sides(area)[0] for area in areas), *(_sides(area)[1] for area in areas)) / FIGURES
    shapes: list[Shape] = []
    x = 0.0
    for (name, outline), area in zip(named, areas, strict=True):
        wide, _ = _sides(area)
        shapes += _sized([_moved(outline, x - area.bounds[0], -area.bounds[1])], unit, size)
        shapes.append(Text((x + wide / 2, -2.9 * size), (name,), 0.7 * size, "label", "text"))
        x += wide + 4 * size
    return Scene(tuple(shapes))


def _sized(outlines: Sequence[Outline], unit: Unit, size: float) -> Iterator[Shape]:
    """Yield outlines, and below and beside them their size over all."""
    for outline in outlines:
        yield Polygon(outline.rings, fill="foam", role="outline", weight="frame")
    left, low, right, high = MultiPolygon([Area(outline.outer) for outline in outlines]).bounds
    yield Dimension((left, low), (right, low), -1.4 * size, length_parts(right - left, unit), size)
    yield Dimension((right, low), (right, high), -1.4 * size, length_parts(high - low, unit), size)


def _sides(of: Area | MultiPolygon) -> tuple[float, float]:
    left, low, right, high = of.bounds
    return right - left, high - low


def _across(diameter: float, unit: Unit) -> Parts:
    return ("Ø ", *length_parts(diameter, unit))


def _moved(outline: Outline, dx: float, dy: float) -> Outline:
    outer, *holes = (tuple((x + dx, y + dy) for x, y in ring) for ring in outline.rings)
    return Outline(outer, tuple(holes))
