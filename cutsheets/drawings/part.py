"""The pictures of a part: its views with blank dashed, waste hatched, foam white, coat a dense band, and dimensions.

Two looks, as for a section: `office` shows the three sizes beside each other; `cutter` shows the foam and nothing else
to measure, with a thick edge where coat will come. A part without views of its own is shown by its section.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace
from string import ascii_lowercase

import numpy as np
import shapely
from shapely import LineString, MultiLineString, STRtree, points

from cutsheets.drawings.clear import set_clear
from cutsheets.drawings.lettering import length_parts
from cutsheets.drawings.profile import TOUCHING, Look, profile_scene
from cutsheets.drawings.scene import Dimension, Polygon, Polyline, Role, Scene, Shape, Text, on_ground
from cutsheets.sections import edge_ends
from cutsheets.solids import Point, Ring, Size, Sized, View, Worked
from cutsheets.units import Unit, say

ROW = 1.7  # heights of the figures from one row of dimensions to the next
LABEL = 0.62  # words in a view, as a share of its figures
NUMBER = 0.68  # and the numbers of parts on a face
EVERY = (1, 2, 5, 10, 20, 50, 100)  # each so-many-th part has its number, where not all can be read
APART = 0.3  # of the size of two numbers: what stays clear around each
MANY = 3  # sizes on the part itself: so many stand in a list
FARTHER = (0.0, 0.5, 1.0, 1.5, 2.0)  # rows that a dimension is set out for a line along it
PARALLEL = 0.01  # sine of the angle between them
PARTS_OF = 18  # the figures of a view, where nothing else says: a share of its longer side


def part_scenes(
    worked: Worked, unit: Unit, *, look: Look = "office", text: float | None = None
) -> list[tuple[str, Scene]]:
    """Return every picture of a line with its title; `text` is the height of the figures in mm of the drawing."""
    if not worked.views:
        return [("section", profile_scene(worked, unit, look=look, text=text))]
    return [(view.name, view_scene(view, unit, look=look, text=text)) for view in worked.views]


def view_scene(view: View, unit: Unit, *, look: Look = "office", text: float | None = None) -> Scene:
    """Return one view as a drawing."""
    size = text or _longer_side(view) / PARTS_OF
    shapes = [*_ground(view, size, look)]
    shapes += [Polyline(line, "dim", "hair", dash=True) for line in view.lines]
    sizes = [_beside(one, view, unit, size) for one in view.sizes if look == "office" or one.of == "foam"]
    for shape in (shape for one in sizes if one.offset for shape in one.shapes()):
        shapes += on_ground(shape) if isinstance(shape, Text) else (shape,)
    shapes += _words(view, sizes, size, lettered=look == "cutter" and bool(stations(view)))
    for number in _numbers(view, NUMBER * size):
        shapes += on_ground(number)
    return Scene(tuple(shapes))


def stations(view: View) -> list[tuple[str, Size]]:
    """Return where a part is measured at many heights, from the lowest up, each with its letter; else nothing."""
    across = sorted((one for one in view.sizes if one.of == "foam" and not one.row), key=lambda one: one.a[1])
    return [*zip(ascii_lowercase, across, strict=False)] if len(across) >= MANY else []


def _words(view: View, sizes: Sequence[Dimension], size: float, *, lettered: bool) -> Iterator[Shape]:
    """Yield the sizes that are measured on the part itself, then their figures and the labels, clear of all lines.

    `lettered`: they have letters, and their figures stand in a list.
    """
    beside = [shape for one in sizes if one.offset for shape in one.shapes()]
    across = [one for one in sizes if not one.offset]
    for one in across:
        yield from (shape for shape in one.shapes() if isinstance(shape, Polyline))
        yield Polyline((one.a, one.b), one.role)
    lines = [(*ring, ring[0]) for ring in (*view.foam, *view.finished, *view.blank)]
    lines += [shape.points for shape in beside if isinstance(shape, Polyline)]
    taken = [Scene((shape,)).bounds for shape in beside if isinstance(shape, Text)]
    figures = [Text(_middle(one), one.parts, size, one.role, "figures") for one in across]
    if lettered:
        beyond = max(x for ring in (*view.foam, *view.blank) for x, _ in ring) + LABEL * size
        figures = [Text((beyond, one.b[1]), (letter,), LABEL * size, "label") for letter, one in stations(view)]
        yield from (Polyline((one.b, (beyond, one.b[1])), "dim", "hair") for one in across)
    shown = [*set_clear(figures, lines, taken)]
    yield from shown
    taken += [Scene((shape,)).bounds for shape in shown if isinstance(shape, Text)]
    labels = (Text(at, (words,), LABEL * size, "label", "text") for at, words in view.labels)
    yield from set_clear(labels, [*lines, *view.lines], taken)


def _middle(one: Dimension) -> Point:
    return (one.a[0] + one.b[0]) / 2, (one.a[1] + one.b[1]) / 2


def face_caption(view: View, unit: Unit) -> str:
    """Return what stands beside the picture of a face with many parts.

    >>> face = View("face of 2", foam=((), ()), sizes=(), blank=(((0, 0), (609.6, 304.8)),), kerf=1.5875)
    >>> face_caption(face, "in")
    'Face 24 × 12 in, 2 sections, kerf 1/16 in, numbered as they come free'
    """
    wide, high = (say(max(side), unit, "up") for side in zip(*view.blank[0], strict=True))
    kerf = say(view.kerf, unit, denominator=64)
    count = f"{len(view.foam)} section{'s' if len(view.foam) != 1 else ''}"
    return f"Face {wide} × {high} {unit}, {count}, kerf {kerf} {unit}, numbered as they come free"


def _numbers(view: View, size: float) -> list[Text]:
    """Return the numbers of the parts on a face: all of them where they stay clear of each other, else every n-th."""
    every = [Text(at, (str(n),), size, "label", "figures") for n, at in enumerate(view.numbers, 1)]
    for step in EVERY:
        chosen = [text for n, text in enumerate(every, 1) if n == 1 or n % step == 0]
        if _clear(chosen, APART * size):
            return chosen
    return every[:1]


def _clear(texts: Sequence[Text], apart: float) -> bool:
    """Return whether no two texts come nearer to each other than `apart`."""
    boxes = shapely.box(*np.array([Scene((text,)).bounds for text in texts]).reshape(-1, 4).T)
    near, _ = STRtree(boxes).query(boxes, predicate="dwithin", distance=apart)
    return len(near) == len(texts)  # each is near itself


def _ground(view: View, size: float, look: Look) -> Iterator[Shape]:
    """Yield everything but figures and words, from the back to the front."""
    if look == "office":
        yield Polygon((*view.blank, *view.foam), role=None, hatch=0.4 * size)
        if view.finished:
            yield Polygon((*view.finished, *view.foam), fill="coat", role=None)
            yield Polygon(view.finished, role="outline")
    yield Polygon(view.foam, fill="foam", role="chalk", weight="part" if view.numbers else "frame")
    if look == "cutter" and view.finished:
        for edge in _coated(view.foam, view.finished):
            yield Polyline(edge, "coat", "coat")
    if view.blank:
        yield Polygon(view.blank, role="blank", dash=True)


def _coated(foam: Sequence[Ring], finished: Sequence[Ring]) -> Iterator[tuple[Point, Point]]:
    """Yield the edges of the foam on which coat will lie: those that are no edge of the finished part."""
    outside = MultiLineString([LineString([*ring, ring[0]]) for ring in finished])
    edges = [edge for ring in foam for edge in edge_ends(ring)]
    middles = points([((a[0] + b[0]) / 2, (a[1] + b[1]) / 2) for a, b in edges])
    return (edge for edge, away in zip(edges, outside.distance(middles), strict=True) if away > TOUCHING)


def _beside(one: Size, view: View, unit: Unit, size: float) -> Dimension:
    """Return a dimension, farther out where a line of the view runs along it, such as that of a tower."""
    along = MultiLineString([line for line in view.lines if _is_along(one, line)])
    rows = [one.row + math.copysign(more, one.row) for more in FARTHER] if one.row else [one.row]
    tried = [_dimension(replace(one, row=row), unit, size) for row in rows]
    return next((each for each in tried if not _body(each).intersects(along)), tried[0])


def _is_along(one: Size, line: Sequence[Point]) -> bool:
    """Return whether a line has the direction of a size."""
    (ux, uy), (vx, vy) = np.subtract(one.b, one.a), np.subtract(line[-1], line[0])
    return bool(abs(ux * vy - uy * vx) < PARALLEL * math.hypot(ux, uy) * math.hypot(vx, vy))


def _body(dimension: Dimension) -> shapely.Polygon:
    """Return the box of a dimension without its extension lines."""
    shapes = [shape for shape in dimension.shapes() if not (isinstance(shape, Polyline) and shape.weight == "hair")]
    return shapely.box(*Scene(tuple(shapes)).bounds)


def _dimension(one: Size, unit: Unit, size: float) -> Dimension:
    (ax, ay), (bx, by) = one.a, one.b
    long = ((bx - ax) ** 2 + (by - ay) ** 2) ** 0.5
    parts = length_parts(long, unit, "up" if one.of == "blank" else "nearest")
    return Dimension(one.a, one.b, one.row * ROW * size, parts, size, ROLES[one.of])


ROLES: dict[Sized, Role] = {"foam": "chalk", "finished": "dim", "blank": "dim"}


def _longer_side(view: View) -> float:
    spots = [point for ring in (*view.foam, *view.finished, *view.blank) for point in ring]
    xs, ys = [x for x, _ in spots], [y for _, y in spots]
    return max(max(xs) - min(xs), max(ys) - min(ys))
