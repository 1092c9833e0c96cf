"""A drawing as it was read: its outlines numbered, what is left over dashed, and every trouble marked with its number.

Numbers of troubles stand in boxes (a number in a circle is always a cut), with a crow's foot on the spot.
"""

from __future__ import annotations

from collections.abc import Iterator

from shapely import Polygon as Area

from cutsheets.drawings.scene import Polygon, Polyline, Scene, Shape, Text, rectangle
from cutsheets.solids import Point
from cutsheets.tracing import Drawn

FIGURES = 24  # the numbers of a drawing: a share of its longer side
MOST_MARKED = 60  # more would cover the drawing; the list beside it has them all


def traced_scene(drawn: Drawn) -> Scene | None:
    """Return the picture of a drawing, None where it holds nothing that could be shown."""
    points = [point for outline in drawn.outlines for point in outline.outer]
    points += [point for chain in drawn.chains for point in chain] + [trouble.at for trouble in drawn.troubles]
    if not points:
        return None
    xs, ys = [x for x, _ in points], [y for _, y in points]
    size = (max(max(xs) - min(xs), max(ys) - min(ys)) or 1.0) / FIGURES
    shapes: list[Shape] = [
        Polygon(outline.rings, fill="foam", role="outline", weight="part") for outline in drawn.outlines
    ]
    shapes += [Polyline(chain, "waste", "frame", dash=True) for chain in drawn.chains]
    if len(drawn.outlines) > 1:
        shapes += [
            Text(_inside(outline.rings), (f"outline {i}",), 0.8 * size, "label", "text")
            for i, outline in enumerate(drawn.outlines[:MOST_MARKED], 1)
        ]
    for number, trouble in enumerate(drawn.troubles[:MOST_MARKED], 1):
        shapes += _marked(trouble.at, number, size)
    return Scene(tuple(shapes))


def _inside(rings: tuple[tuple[Point, ...], ...]) -> Point:
    spot = Area(rings[0], rings[1:]).representative_point()
    return (spot.x, spot.y)


def _marked(at: Point, number: int, size: float) -> Iterator[Shape]:
    """Yield the mark of a trouble: a crow's foot whose point is the spot, and its number in a box above it."""
    x, y = at
    foot = ((x - 0.4 * size, y + 0.7 * size), at, (x + 0.4 * size, y + 0.7 * size))
    text = Text((x, y + 2.1 * size), (str(number),), size, "label", "figures")
    half = max(0.7 * size, text.width / 2 + 0.3 * size)
    yield Polyline(foot, "outline", "frame")
    yield Polyline((at, (x, y + 1.4 * size)), "outline", "frame")
    yield Polygon((rectangle(x - half, y + 1.4 * size, x + half, y + 2.8 * size),), fill="wash", role="outline")
    yield text
