"""The other shapes of the profile library on their own: a half profile mirrored on its axis, outlines with counters.

A thick edge will be coated. Lengths mm.
"""

from __future__ import annotations

from collections.abc import Sequence

from shapely import Polygon as Area
from shapely import STRtree

from cutsheets.drawings.lettering import Parts, length_parts
from cutsheets.drawings.scene import Dimension, Polygon, Polyline, Scene, Shape, Text
from cutsheets.solids import Outline, Point, Ring
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
    """Return outlines with their size over all, side by side with their names where they lie on one another."""
    apart = _apart(named)
    xs, ys = ([point[axis] for _, outline in apart for point in outline.outer] for axis in (0, 1))
    left, low, right, high = min(xs), min(ys), max(xs), max(ys)
    size = text or max(right - left, high - low) / FIGURES
    shapes: list[Shape] = [Polygon(outline.rings, fill="foam", role="outline", weight="frame") for _, outline in apart]
    if apart is not named:
        shapes += [
            Text((_middle(outline), low - 0.8 * size), (name,), 0.7 * size, "label", "text") for name, outline in apart
        ]
        low -= 1.2 * size
    shapes.append(Dimension((left, low), (right, low), -1.4 * size, length_parts(right - left, unit), size))
    shapes.append(Dimension((right, min(ys)), (right, high), -1.4 * size, length_parts(high - min(ys), unit), size))
    return Scene(tuple(shapes))


def _across(diameter: float, unit: Unit) -> Parts:
    return ("Ø ", *length_parts(diameter, unit))


def _apart(named: Sequence[Named]) -> Sequence[Named]:
    """Return the outlines in a row where any two of them lie on one another, else as they are."""
    areas = [Area(outline.outer) for _, outline in named]
    if len(STRtree(areas).query(areas, predicate="intersects").T) == len(areas):  # each with itself alone
        return named
    gap = max(area.bounds[3] - area.bounds[1] for area in areas) / 4
    row, x = [], 0.0
    for (name, outline), area in zip(named, areas, strict=True):
        left, low, right, _ = area.bounds
        row.append((name, Outline(*_moved(outline, x - left, -low))))
        x += right - left + gap
    return row


def _moved(outline: Outline, dx: float, dy: float) -> tuple[Ring, tuple[Ring, ...]]:
    outer, *holes = (tuple((x + dx, y + dy) for x, y in ring) for ring in outline.rings)
    return outer, tuple(holes)


def _middle(outline: Outline) -> float:
    xs = [x for x, _ in outline.outer]
    return (min(xs) + max(xs)) / 2
