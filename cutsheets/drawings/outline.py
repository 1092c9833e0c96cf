"""A section on its own, before any line uses it: its size, its wall, and the number of every edge.

A thick edge will be coated. Numbers stand beside the middle of their edge: they are what “bare” names.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from shapely import Polygon as Area
from shapely import points

from cutsheets.drawings.lettering import length_parts
from cutsheets.drawings.scene import Dimension, Polygon, Polyline, Scene, Shape, Text, rectangle
from cutsheets.sections import edge_ends, measure
from cutsheets.solids import Point, Section
from cutsheets.units import Unit

MOST_NUMBERS = 24  # above, the numbers of a traced curve would cover the drawing


def outline_scene(section: Section, unit: Unit, *, numbered: bool = True, text: float | None = None) -> Scene:
    """Return a section with its size over all; `text` is the height of its figures in mm of the drawing."""
    face = measure(section.points)
    size = text or max(face.width, face.height) / (16 if numbered else 11)
    xs, ys = [x for x, _ in section.points], [y for _, y in section.points]
    left, low, right, high = min(xs), min(ys), max(xs), max(ys)
    wall = Polygon((rectangle(-0.8 * size, low, 0.0, high),), role=None, hatch=0.35 * size)
    shapes: list[Shape] = [wall, Polyline(((0.0, low), (0.0, high)), "wall")]
    shapes.append(Polygon((section.points,), fill="foam", role="outline", weight="frame"))
    shapes += [
        Polyline(ends, "coat", "coat") for i, ends in enumerate(edge_ends(section.points)) if i not in section.bare
    ]
    if numbered and len(section.points) <= MOST_NUMBERS:
        shapes += _numbers(section, size)
    shapes.append(Dimension((left, low), (right, low), -1.4 * size, length_parts(face.width, unit), size))
    shapes.append(Dimension((right, low), (right, high), -1.4 * size, length_parts(face.height, unit), size))
    return Scene(tuple(shapes))


def _numbers(section: Section, size: float) -> Iterator[Text]:
    """Yield the number of each edge as it was typed, on the foam's side of it."""
    foam, count = Area(section.points), len(section.points)
    for i, (start, end) in enumerate(edge_ends(section.points)):
        number = count - 1 - i if section.turned else i
        yield Text(_beside(foam, start, end, 0.6 * size), (str(number),), 0.6 * size, "label", "text")


def _beside(foam: Area, start: Point, end: Point, away: float) -> Point:
    """Return the spot beside the middle of an edge, inside where there is room, else outside."""
    long = math.dist(start, end)
    nx, ny = (start[1] - end[1]) / long * away, (end[0] - start[0]) / long * away
    x, y = (start[0] + end[0]) / 2, (start[1] + end[1]) / 2
    inside = (x + nx, y + ny)
    return inside if foam.contains(points(*inside)) else (x - nx, y - ny)
