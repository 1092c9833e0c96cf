"""A block and its slabs as drawings: parts white, remnants dashed with their tag, trim hatched, cuts numbered.

All lengths of an opened piece are micrometres; drawings are millimetres. A slab is seen with the fence at the bottom.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from cutsheets.drawings.bars import BarRun, bar_runs, cut_runs
from cutsheets.drawings.lettering import Parts, length_parts, text_width
from cutsheets.drawings.numbers import beside, leader, number_spot
from cutsheets.drawings.scene import Bounds, Polygon, Polyline, Scene, Shape, Text, cut_mark, on_ground, rectangle
from cutsheets.drawings.slabs import PLANE, CutLine, Dissection, Region, View, WholeCut, dissect
from cutsheets.solids import OpenedPiece, Point
from cutsheets.units import Unit

MM = 1000.0  # micrometres in a millimetre
# The block is seen from the right front above: where one millimetre along x, y and z goes on the drawing.
SLANT = ((0.82, -0.24), (0.42, 0.26), (0.0, 1.0))
HEIGHT = {2: "high", 1: "wide", 0: "long"}  # the word for a slab's size along the view
STACK = {2: "high", 1: "deep", 0: "behind each other"}  # and for layers along it
SEEN = {2: "from above", 1: "from the fence side", 0: "from the end"}
ROUND = 0.5  # of the text size: so far the circle of a number reaches
THIN = 1.3  # of the text size: bars and cuts nearer to each other have no room for a number each
LEAST_LABEL = 0.785  # of the text size: a label that does not fit at this size is left to the list of cuts


@dataclass(frozen=True, slots=True)
class SlabDrawing:
    """A slab's name, its size and how it is seen ("slab 1", 11 1/4 high, from above), and its drawing."""

    name: str
    size: Parts
    size_word: str
    seen: str
    text: float
    view: View
    labels: Mapping[str, str]

    @property
    def numbers(self) -> int:
        """Return how many numbered cuts stand on the drawing."""
        return len(self.view.cuts) + sum(len(region.numbers) for region in self.view.regions)

    @property
    def scene(self) -> Scene:
        """Return the drawing with text of the usual size."""
        return self.scene_at(self.text)

    def scene_at(self, text: float) -> Scene:
        """Return the drawing with text of that size, mm of the drawing."""
        return Scene(tuple(_slab(self.view, text, self.labels)))


def block_scene(opened: OpenedPiece, *, text: float | None = None) -> Scene:
    """Return the block in slanting view with the cuts that run through all of it; `text` is mm of the drawing."""
    found = dissect(opened)
    size = text or max(opened.size) / MM / 14
    long, wide, high = (side / MM for side in opened.size)
    faces = (
        ((0, 0, 0), (long, 0, 0), (long, 0, high), (0, 0, high)),
        ((long, 0, 0), (long, wide, 0), (long, wide, high), (long, 0, high)),
        ((0, 0, high), (long, 0, high), (long, wide, high), (0, wide, high)),
    )
    shapes: list[Shape] = [
        Polygon((tuple(_slanted(*corner) for corner in face),), fill="foam", weight="frame") for face in faces
    ]
    taken: list[Point] = []
    for cut in sorted(found.whole, key=lambda cut: -cut.at):  # from the top down, so that no two leaders cross
        shapes += _whole_cut(cut, size, taken)
    shapes += _slab_names(found, size)
    return Scene(tuple(shapes))


def slab_drawings(
    opened: OpenedPiece, unit: Unit, *, text: float | None = None, labels: Mapping[str, str] | None = None
) -> tuple[SlabDrawing, ...]:
    """Return one drawing a slab, in sawing order; `labels` gives other words for the names of leaves."""
    return tuple(
        SlabDrawing(
            name=view.name,
            size=_thickness(view, unit),
            size_word=HEIGHT[view.axis],
            seen=SEEN[view.axis],
            text=text or _usual_text(view),
            view=view,
            labels=labels or {},
        )
        for view in dissect(opened).views
    )


def _thickness(view: View, unit: Unit) -> Parts:
    """Return the size of a slab along the view: as its cut is set, up; a remnant alone as it is measured, down."""
    kept = [leaf.kind for region in view.regions for leaf in region.leaves] == ["remnant"]
    return length_parts((view.high[view.axis] - view.low[view.axis]) / MM, unit, "down" if kept else "up")


def _usual_text(view: View) -> float:
    """Return the size of text that suits a slab which is drawn as large as its box lets it be, mm of the drawing."""
    across, up = PLANE[view.axis]
    return max(view.high[across] - view.low[across], 1.6 * (view.high[up] - view.low[up])) / MM / 20


def _slanted(x: float, y: float, z: float) -> Point:
    """Return where a place in the block comes on the drawing."""
    return (
        x * SLANT[0][0] + y * SLANT[1][0] + z * SLANT[2][0],
        x * SLANT[0][1] + y * SLANT[1][1] + z * SLANT[2][1],
    )


def _whole_cut(cut: WholeCut, size: float, taken: list[Point]) -> Iterator[Shape]:
    """Yield a cut on the two faces where it shows, and its number beside the block."""
    (x0, y0, z0), (x1, y1, z1) = ([side / MM for side in corner] for corner in (cut.low, cut.high))
    at = cut.at / MM
    corners = {
        2: ((x0, y0, at), (x1, y0, at), (x1, y1, at)),
        1: ((x1, at, z0), (x1, at, z1), (x0, at, z1)),
        0: ((at, y1, z1), (at, y0, z1), (at, y0, z0)),
    }[cut.axis]
    line = tuple(_slanted(*corner) for corner in corners)
    yield Polyline(line, "chalk", "cut")
    away, aside = {2: ((1, 0), (0, -1)), 1: ((-0.7, 0.7), (1, 0)), 0: ((0, -1), (1, 0))}[cut.axis]
    spot = (line[-1][0] + 1.8 * size * away[0], line[-1][1] + 1.8 * size * away[1])
    while any(math.dist(spot, other) < 1.7 * size for other in taken):
        spot = (spot[0] + 0.3 * size * aside[0], spot[1] + 0.3 * size * aside[1])
    taken.append(spot)
    yield Polyline((line[-1], spot), "chalk", "part")
    yield from cut_mark(spot, cut.number, size)


def _slab_names(found: Dissection, size: float) -> Iterator[Shape]:
    """Yield the names of level slabs on the front of the block, where they are thick enough to carry them."""
    angle = math.degrees(math.atan2(SLANT[0][1], SLANT[0][0]))
    slabs = [view for view in found.views if found.axis == 2 and not view.layer]
    for view in slabs if len(slabs) > 1 else []:
        fits = min(size, 0.75 * (view.high[2] - view.low[2]) / MM)
        if fits >= LEAST_LABEL * size:
            middle = ((view.low[0] + view.high[0]) / 2 / MM, view.low[1] / MM, (view.low[2] + view.high[2]) / 2 / MM)
            yield Text(_slanted(*middle), (view.name,), fits, "label", "strong", angle=angle)


def _slab(view: View, size: float, labels: Mapping[str, str]) -> Iterator[Shape]:
    across, up = PLANE[view.axis]
    origin = (view.low[across], view.low[up])
    edge = rectangle(0, 0, (view.high[across] - origin[0]) / MM, (view.high[up] - origin[1]) / MM)
    yield Polygon((edge,), fill="foam", role=None)
    runs = bar_runs(view.regions, THIN * size * MM)
    in_runs = {region.rect for run in runs for region in run.regions}
    alone = [region for region in view.regions if region.rect not in in_runs]
    numbers: list[tuple[Point, int]] = []
    for region in alone:
        for spot, number in zip(_corner_spots(region, origin, size), region.numbers, strict=True):
            numbers.append((beside(spot, size, marks=[mark for mark, _ in numbers]), number))
    in_corners = [spot for spot, _ in numbers]
    names: list[Text | None] = []
    for region in view.regions:
        shape, name = _region(region, origin, view.axis, size, labels, marks=in_corners)
        yield shape
        names.append(name if region in alone else None)
    yield Polygon((edge,), weight="frame")
    for cut in view.cuts:
        yield Polyline(_line(cut, origin), "chalk", "frame")
    of_runs = [name for run in runs if (name := _run_label(run, origin, view.axis, size, labels))]
    shown = [name for name in (*names, *of_runs) if name]
    for name in shown:
        yield from on_ground(name) if name in of_runs else (name,)
    yield from _cut_numbers(view, origin, size, numbers, [Scene((name,)).bounds for name in shown])


def _cut_numbers(
    view: View, origin: tuple[int, int], size: float, numbers: list[tuple[Point, int]], labels: Sequence[Bounds]
) -> Iterator[Shape]:
    """Yield the numbers of the cuts, clear of each other and of the labels; of a close run the first and the last."""
    across, up = PLANE[view.axis]
    slab = (view.high[across] - origin[0]) / MM, (view.high[up] - origin[1]) / MM
    runs = cut_runs(view.cuts, THIN * size * MM)
    between = {cut.number for run in runs for cut in run[1:-1]}
    spots = {}
    for cut in view.cuts:
        if cut.number not in between:
            line = _line(cut, origin)
            spot = number_spot(line, slab, size, marks=[mark for mark, _ in numbers], labels=labels)
            if away := leader(line, spot):
                yield Polyline(away, "chalk", "part")
            spots[cut.number] = spot
            numbers.append((spot, cut.number))
    for run in runs:  # a line from the first to the last stands for those between
        yield Polyline((spots[run[0].number], spots[run[-1].number]), "chalk", "part")
    for spot, number in numbers:
        yield from cut_mark(spot, number, 0.85 * size)


def _run_label(run: BarRun, origin: tuple[int, int], axis: int, size: float, labels: Mapping[str, str]) -> Text | None:
    """Return what like bars side by side are, how many, and which cuts run through them parallel to the view."""
    first = run.regions[0]
    name = ", ".join(dict.fromkeys(labels.get(leaf.name, leaf.name) for leaf in first.leaves))
    deep = f", {first.layers} {STACK[axis]}" if first.layers > 1 else ""
    cuts = f", cuts {run.numbers}" if run.numbers else ""
    left, bottom, right, top = ((side - origin[place % 2]) / MM for place, side in enumerate(run.rect))
    count = f"{len(run.regions)} × "
    words = (f"{count}{name}{deep}{cuts}", f"{count}{name}{cuts}", f"{count}{name}", cuts.removeprefix(", "))
    fitting = (_label(each, (left, bottom, right, top), size) for each in words if each)
    return next((label for label in fitting if label), None)


def _line(cut: CutLine, origin: tuple[int, int]) -> tuple[Point, Point]:
    """Return the two ends of a cut on the drawing, the lower or left one first."""
    first, last = sorted(((x - origin[0]) / MM, (y - origin[1]) / MM) for x, y in (cut.start, cut.end))
    return first, last


def _region(
    region: Region,
    origin: tuple[int, int],
    axis: int,
    size: float,
    labels: Mapping[str, str],
    *,
    marks: Sequence[Point],
) -> tuple[Shape, Text | None]:
    """Return a region with its filling, and its label where one fits beside the numbers that stand already."""
    left, bottom, right, top = ((side - origin[place % 2]) / MM for place, side in enumerate(region.rect))
    corners = rectangle(left, bottom, right, top)
    first = region.leaves[0]
    if all(leaf.kind == "waste" for leaf in region.leaves):
        return Polygon((corners,), fill="foam", role=None, hatch=0.45 * size), None
    shape: Shape = Polygon((corners,), weight="hair")
    if first.kind == "remnant":
        inset = 0.12 * size
        inner = rectangle(left + inset, bottom + inset, right - inset, top - inset)
        shape = Polygon((inner,), role="remnant", dash=True)
    names = dict.fromkeys(labels.get(leaf.name, leaf.name) for leaf in region.leaves if leaf.kind != "waste")
    words = [", ".join(names)]
    if region.layers > 1:
        stack = f"{region.layers} {STACK[axis]}"
        words = [f"{words[0]}, {stack}", stack]
    lying = right - left >= top - bottom
    for x, y in marks:
        if max(left - x, x - right, bottom - y, y - top) < ROUND * size:
            left, bottom = (max(left, x + size), bottom) if lying else (left, max(bottom, y + size))
    fitting = (_label(each, (left, bottom, right, top), size) for each in words)
    return shape, next((label for label in fitting if label), None)


def _corner_spots(region: Region, origin: tuple[int, int], size: float) -> list[Point]:
    """Return where the numbers of cuts parallel to the view stand: in a row from the corner, along the longer side."""
    left, bottom, right, top = ((side - origin[place % 2]) / MM for place, side in enumerate(region.rect))
    dx, dy = (1.5 * size, 0.0) if right - left >= top - bottom else (0.0, 1.5 * size)
    return [(left + 0.9 * size + n * dx, bottom + 0.9 * size + n * dy) for n in range(len(region.numbers))]


def _label(words: str, rect: tuple[float, float, float, float], size: float) -> Text | None:
    """Return the words in the middle of a rectangle, upright or turned, if they fit there.

    Where that is possible they shrink to leave room for the numbers of the cuts at both ends.
    """
    left, bottom, right, top = rect
    centre = ((left + right) / 2, (bottom + top) / 2)
    long = text_width(words, "strong", 1.0)
    ways = ((right - left, top - bottom, 0.0), (top - bottom, right - left, 90.0))
    for reserve in (1.4 * size, 0.0):
        for wide, high, angle in ways:
            fits = min(size, (0.92 * wide - reserve) / long, 0.8 * high)
            if fits >= LEAST_LABEL * size:
                return Text(centre, (words,), fits, "label", "strong", angle=angle)
    return None
