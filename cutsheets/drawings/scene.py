"""A drawing is data: shapes in millimetres, y upwards, each with a role instead of a colour.

Line widths are named, not measured: they stay the same however far the drawing is scaled. Text sizes are
millimetres of the drawing, so that a builder can leave room for them; `fitted` finds the size that comes out right.

Every dimension ends in a crow's foot, its point on the measured spot. A number in a circle is always a cut.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace
from typing import Literal

from cutsheets.drawings.lettering import CAP, Face, Parts, typeset
from cutsheets.solids import Point

Role = Literal["outline", "chalk", "blank", "waste", "remnant", "wall", "coat", "dim", "label", "mark"]
Fill = Literal["none", "foam", "wash", "coat", "stripe", "mark"]
Weight = Literal["hair", "part", "frame", "cut", "coat"]
Anchor = Literal["start", "middle", "end"]
Bounds = tuple[float, float, float, float]
ROUNDS = 16  # until the text of a drawing comes out at the right size
SHARE = 0.60  # fraction digits in drawings: their size on screen or paper is not known here


@dataclass(frozen=True, slots=True)
class Polyline:
    """An open line through two or more points."""

    points: tuple[Point, ...]
    role: Role = "outline"
    weight: Weight = "part"
    dash: bool = False


@dataclass(frozen=True, slots=True)
class Polygon:
    """A closed outline with holes (even-odd); `hatch` is the spacing of 45° hatch lines, 0 for none."""

    rings: tuple[tuple[Point, ...], ...]
    fill: Fill = "none"
    role: Role | None = "outline"
    weight: Weight = "part"
    dash: bool = False
    hatch: float = 0.0


@dataclass(frozen=True, slots=True)
class Circle:
    """A full circle."""

    centre: Point
    radius: float
    fill: Fill = "foam"
    role: Role | None = "chalk"
    weight: Weight = "part"


@dataclass(frozen=True, slots=True)
class Text:
    """One line of text: `at` is the start, middle or end at half the height of its capitals; `angle` in degrees."""

    at: Point
    parts: Parts
    size: float
    role: Role = "label"
    face: Face = "strong"
    anchor: Anchor = "middle"
    angle: float = 0.0

    @property
    def width(self) -> float:
        return typeset(self.parts, self.face, self.size, SHARE).width

    @property
    def start(self) -> Point:
        """Return where the baseline begins."""
        back = {"start": 0.0, "middle": 0.5, "end": 1.0}[self.anchor] * self.width
        drop = CAP * self.size / 2
        c, s = math.cos(math.radians(self.angle)), math.sin(math.radians(self.angle))
        return (self.at[0] - back * c + drop * s, self.at[1] - back * s - drop * c)

    @property
    def corners(self) -> tuple[Point, ...]:
        """Return the box of the text, stacked fractions included."""
        x, y = self.start
        c, s = math.cos(math.radians(self.angle)), math.sin(math.radians(self.angle))
        low, high = -0.25 * self.size, 0.95 * self.size
        return tuple((x + u * c - v * s, y + u * s + v * c) for u in (0.0, self.width) for v in (low, high))


Primitive = Polyline | Polygon | Circle | Text


@dataclass(frozen=True, slots=True)
class Dimension:
    """The distance from `a` to `b`, drawn `offset` to the left of that direction (negative: to the right)."""

    a: Point
    b: Point
    offset: float
    parts: Parts
    size: float
    role: Role = "dim"

    def shapes(self) -> Iterator[Primitive]:
        """Yield the extension lines, the line with its gap, the crow's feet and the figure."""
        length = math.dist(self.a, self.b)
        ux, uy = (self.b[0] - self.a[0]) / length, (self.b[1] - self.a[1]) / length
        nx, ny = -uy, ux
        side = math.copysign(1.0, self.offset)

        def spot(along: float, away: float) -> Point:
            return (self.a[0] + ux * along + nx * away, self.a[1] + uy * along + ny * away)

        over = self.offset + side * 0.4 * self.size
        for along in (0.0, length):
            yield Polyline((spot(along, side * 0.25 * self.size), spot(along, over)), self.role, "hair")
        foot = min(0.5 * self.size, length / 3)
        for tip, inward in ((0.0, foot), (length, length - foot)):
            arms = (
                spot(inward, self.offset + foot * 0.6),
                spot(tip, self.offset),
                spot(inward, self.offset - foot * 0.6),
            )
            yield Polyline(arms, self.role, "part")
        figure = Text((0.0, 0.0), self.parts, self.size, self.role, "figures")
        half = (abs(ux) * figure.width + abs(uy) * self.size * 1.2) / 2 + 0.2 * self.size
        if length > 2 * (half + foot):
            middle = length / 2
            yield Polyline((spot(0.0, self.offset), spot(middle - half, self.offset)), self.role)
            yield Polyline((spot(middle + half, self.offset), spot(length, self.offset)), self.role)
        else:  # too short for its figure: the figure stands beyond the end
            middle = length + half
            yield Polyline((spot(0.0, self.offset), spot(length, self.offset)), self.role)
        yield Text(spot(middle, self.offset), self.parts, self.size, self.role, "figures")


Shape = Primitive | Dimension


@dataclass(frozen=True, slots=True)
class Scene:
    """A whole drawing, in the order it is painted."""

    shapes: tuple[Shape, ...]

    def flat(self) -> Iterator[Primitive]:
        """Yield the shapes with dimensions taken apart."""
        for shape in self.shapes:
            if isinstance(shape, Dimension):
                yield from shape.shapes()
            else:
                yield shape

    @property
    def bounds(self) -> Bounds:
        """Return (left, bottom, right, top) of everything drawn, mm."""
        points = [point for shape in self.flat() for point in _extent(shape)]
        xs, ys = [x for x, _ in points], [y for _, y in points]
        return (min(xs), min(ys), max(xs), max(ys))

    def moved(self, dx: float, dy: float) -> Scene:
        """Return the same drawing elsewhere."""
        return Scene(tuple(_moved(shape, dx, dy) for shape in self.flat()))

    def scale_for(self, width: float, height: float) -> float:
        """Return how many units of a page one millimetre of the drawing may take."""
        left, bottom, right, top = self.bounds
        return min(width / max(right - left, 1e-9), height / max(top - bottom, 1e-9))


def fitted(build: Callable[[float], Scene], width: float, height: float, size: float) -> Scene:
    """Return the drawing of `build(text size in mm)` whose text comes out `size` in a box of a page.

    Text takes room from the drawing, so the scale is found in a few rounds.
    """
    text, before = 1.0, 0.0
    for _ in range(ROUNDS):
        if abs(text - before) < 0.002 * text:
            break
        text, before = size / build(text).scale_for(width, height), text
    return build(text)


def cut_mark(at: Point, number: int, size: float) -> tuple[Primitive, ...]:
    """Return the numbered circle of a cut."""
    text = Text(at, (str(number),), size, "mark", "figures")
    return (Circle(at, max(0.75 * size, text.width * 0.7), "mark", "chalk"), text)


def on_ground(text: Text) -> tuple[Polygon, Text]:
    """Return a text and before it the foam under it, so that no line runs through its letters."""
    first, above, end, last = text.corners
    return Polygon(((first, end, last, above),), "foam", role=None), text


def rectangle(left: float, bottom: float, right: float, top: float) -> tuple[Point, ...]:
    """Return the corners of an upright rectangle."""
    return ((left, bottom), (right, bottom), (right, top), (left, top))


def hatch_lines(rings: Iterable[tuple[Point, ...]], spacing: float) -> list[tuple[Point, Point]]:
    """Return the pieces of 45° lines, `spacing` apart, that lie inside the rings (even-odd)."""
    root = math.sqrt(0.5)
    edges = []
    for ring in rings:
        turned = [((x + y) * root, (y - x) * root) for x, y in ring]  # hatch lines become level
        edges += list(zip(turned, turned[1:] + turned[:1], strict=True))
    heights = [v for edge in edges for _, v in edge]
    lines = []
    for row in range(math.ceil(min(heights) / spacing), math.floor(max(heights) / spacing) + 1):
        level = row * spacing
        crossings = sorted(
            u1 + (level - v1) / (v2 - v1) * (u2 - u1) for (u1, v1), (u2, v2) in edges if (v1 <= level) != (v2 <= level)
        )
        places = [((u - level) * root, (u + level) * root) for u in crossings]
        lines += list(zip(places[::2], places[1::2], strict=True))
    return lines


def _extent(shape: Primitive) -> tuple[Point, ...]:
    match shape:
        case Polyline():
            return shape.points
        case Polygon():
            return tuple(point for ring in shape.rings for point in ring)
        case Circle(centre=(x, y), radius=r):
            return ((x - r, y - r), (x + r, y + r))
        case Text():
            return shape.corners


def _moved(shape: Primitive, dx: float, dy: float) -> Primitive:
    def shift(points: Iterable[Point]) -> tuple[Point, ...]:
        return tuple((x + dx, y + dy) for x, y in points)

    match shape:
        case Polyline():
            return replace(shape, points=shift(shape.points))
        case Polygon():
            return replace(shape, rings=tuple(shift(ring) for ring in shape.rings))
        case Circle():
            return replace(shape, centre=shift([shape.centre])[0])
        case Text():
            return replace(shape, at=shift([shape.at])[0])
