"""Turned: a round part, its half profile given as heights from the base and radii.

The coat lowers every radius and the top face; the base is bare (common practice, no source). Where the profile runs out
to a point at its top, the foam ends where its radius is one coat. Volume: sum of frusta; area and centroid of the half
profile by the shoelace formula, so that the two can be held against each other (Pappus).

Wire: along the foam's half profile once, from base to top, while the work turns; one way in and one way out. Stubs and
ends are cut off by the saw (common practice, no source).
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import accumulate, pairwise
from typing import Any

from cutsheets.blanks import blank_notes, group, grown
from cutsheets.costing import Wire, amounts
from cutsheets.errors import CutsheetError
from cutsheets.kerf import wire_figures
from cutsheets.kinds.base import Kind, Line
from cutsheets.kinds.limits import needed
from cutsheets.kinds.pictures import Rect, rectangle, round_middle, three_sizes
from cutsheets.kinds.shapes import MOST_POINTS, SMALLEST, THINNEST, WIDEST
from cutsheets.records import items, record
from cutsheets.runs import SQUARE
from cutsheets.sections import SAME, measure
from cutsheets.solids import Asks, Box, Face, Figure, Note, Point, Ring, Size, Stick, View, Worked
from cutsheets.units import Unit, read_length, say, to_unit

TALLEST = 6000.0  # mm: a part beyond these was typed in the other unit
LONGEST_STUB = 304.8
APART = 0.08  # of the length: two diameters in the picture are no nearer than this
ABOVE = 0.02  # of a view's height: words clear of its edge
WEAK = 12.7  # mm, radius of a neck that breaks while it turns (common practice, no source)


@dataclass(frozen=True, slots=True)
class Turned:
    """A half profile as finished, (height, radius) from the base up, and the stubs for the chucks; mm."""

    half_profile: tuple[Point, ...]
    base_stub: float = 0.0
    top_stub: float = 0.0

    @property
    def first(self) -> int:
        """Return the number of the point where the side begins: a point on the axis before it only closes the base."""
        return int(_closes(*self.half_profile[:2]))

    @property
    def side(self) -> tuple[Point, ...]:
        """Return the half profile without points on the axis that only close the base or the top."""
        closed = _closes(*self.half_profile[:-3:-1])
        return self.half_profile[self.first : -1 if closed else None]


def read(raw: Mapping[str, Any], unit: Unit) -> Turned:
    """Return a turned part from the keys of its line; raises CutsheetError."""
    given = needed(raw, "half_profile", "its points [[height, radius], …] from the base up")
    points = tuple(
        _read_point(point, unit, f"half_profile[{i}]")
        for i, point in enumerate(items(given, "half_profile", least=2, most=MOST_POINTS))
    )
    stub = record(raw.get("stub", {}), "stub", optional=("base", "top"))
    turned = Turned(points, *(_read_stub(stub.get(end, 0), unit, f"stub.{end}") for end in ("base", "top")))
    _check_heights(points)
    _check_side(turned)
    _likely_size(turned, unit)
    return turned


def write(turned: Turned, unit: Unit) -> dict[str, Any]:
    """Return the keys of the job file."""
    return {
        "half_profile": [[to_unit(height, unit), to_unit(radius, unit)] for height, radius in turned.half_profile],
        "stub": {"base": to_unit(turned.base_stub, unit), "top": to_unit(turned.top_stub, unit)},
    }


def work(line: Line) -> Worked:
    """Return the line worked out; raises CutsheetError with a place inside the line."""
    turned: Turned = line.spec
    side = _foam_side(turned, line.coat)
    foam, finished = _box(side), _box(turned.side)
    held = Box(foam.l + turned.base_stub + turned.top_stub, foam.w, foam.h)
    stick = Stick(
        mark=f"{line.mark}1", qty=line.qty, front=foam.l, wall=foam.l, left=SQUARE, right=SQUARE,
        blank=grown(held, line.rules, wall=False), overall=foam.l,
    )  # fmt: skip
    blanks = group([stick])
    wire = Wire(line.qty * math.fsum(math.dist(a, b) for a, b in pairwise(side)), 2 * line.qty, line.qty)
    return Worked(
        mark=line.mark, kind=line.kind, grade=line.grade, parts=line.qty, finished=finished, foam=foam,
        runs=(), frames=(), sticks=(stick,), blanks=blanks,
        quantities=amounts(
            blanks, volume=line.qty * volume(side), coat_area=line.qty * _surface(turned.side) if line.coat else 0.0,
            wire=wire, density=line.density, rules=line.rules,
        ),
        notes=(*_notes(turned, side, line), *blank_notes(blanks, line.rules, line.unit)),
        part=_figures(side, foam),
        views=(_view(turned, side, stick.blank),),
        wire=wire_figures(line.rules.wire_kerf),
        asks=(Asks(stick.mark, swing=math.hypot(stick.blank.w, stick.blank.h), centres=stick.blank.l),),
    )  # fmt: skip


def volume(side: Sequence[Point]) -> float:
    """Return the volume of a turned part: π/3·h·(r1² + r1·r2 + r2²) for each frustum."""
    return math.pi / 3 * math.fsum((h2 - h1) * (r1**2 + r1 * r2 + r2**2) for (h1, r1), (h2, r2) in pairwise(side))


def _closes(end: Point, inner: Point) -> bool:
    """Return whether the first or last point lies on the axis at the height of its neighbour."""
    return end[1] == 0 and end[0] == inner[0]


def _read_point(raw: object, unit: Unit, where: str) -> Point:
    height, radius = (float(read_length(value, unit, where)) for value in items(raw, where, least=2, most=2))
    return height, radius


def _read_stub(raw: Any, unit: Unit, where: str) -> float:
    stub = float(read_length(raw, unit, where))
    if stub > LONGEST_STUB:
        raise CutsheetError("range", f"A stub is at most {say(LONGEST_STUB, unit)} {unit}; check its unit.", where)
    return stub


def _check_heights(points: Sequence[Point]) -> None:
    """Refuse a profile that does not climb from the base: `profile-base`, `profile-points`, `profile-falls`."""
    if points[0][0]:
        raise CutsheetError(
            "profile-base", "Heights count from the base; begin the half profile at height 0.", "half_profile[0]"
        )
    for i, (before, after) in enumerate(pairwise(points), 1):
        where = f"half_profile[{i}]"
        if before == after:
            raise CutsheetError("profile-points", "This point is the same as the one before it; leave one out.", where)
        if after[0] < before[0]:
            raise CutsheetError(
                "profile-falls", "Heights never fall from base to top; put the points in their order.", where
            )


def _check_side(turned: Turned) -> None:
    """Refuse a side with a step at an end or three points at one height, or that meets the axis between its ends."""
    side = turned.side
    last = len(side) - 1
    for i in range(1, last + 1):
        where = f"half_profile[{turned.first + i}]"
        height, radius = side[i]
        if height == side[i - 1][0] and (i in (1, last) or height == side[i - 2][0]):
            raise CutsheetError(
                "profile-step", "A step is two points at one height, between base and top; leave this one out.", where
            )
        if radius == 0 and i < last:
            raise CutsheetError("profile-axis", "The part is cut in two here; give this point a radius.", where)


def _likely_size(turned: Turned, unit: Unit) -> None:
    """Refuse a part that looks typed in the other unit."""
    box = _box(turned.side)
    if box.w > WIDEST or box.l > TALLEST:
        far = f"more than {say(WIDEST, unit)} across or {say(TALLEST, unit)} tall"
    elif min(box.w, box.l) < SMALLEST:
        far = f"less than {say(SMALLEST, unit)} across or tall"
    else:
        return
    raise CutsheetError(
        "range", f"This part is {far} {unit}; correct it, or type it in the unit it was drawn in.", "half_profile"
    )


def _foam_side(turned: Turned, coat: float) -> tuple[Point, ...]:
    """Return the side of the foam: radii less the coat, up to the coated top or to where the radius runs out.

    Raises CutsheetError `coat-swallows-part` (nothing left at the base, or of the length), `coat-splits-part`.
    """
    if not coat:
        return turned.side
    shrunk = [(height, radius - coat) for height, radius in turned.side]
    side = _below(shrunk, shrunk[-1][0] - coat)
    out = [i for i, (_, radius) in enumerate(side) if radius < SAME]
    if not side or (out and out[0] == 0):
        raise CutsheetError(
            "coat-swallows-part", "The coat leaves no foam at the base; take a thinner coat or a wider base.",
            f"half_profile[{turned.first}]",
        )  # fmt: skip
    if out and out != list(range(out[0], len(side))):
        raise CutsheetError(
            "coat-splits-part", "The coat leaves no foam at this point and would cut the part in two; widen the neck.",
            f"half_profile[{turned.first + out[0]}]",
        )  # fmt: skip
    side = _to_axis(side, out[0]) if out else side
    if side[-1][0] < THINNEST:
        raise CutsheetError("coat-swallows-part", "The coat leaves no length of foam; take a thinner coat.", "coat")
    return side


def _below(side: Sequence[Point], top: float) -> tuple[Point, ...]:
    """Return the side cut off square at the height `top`; nothing where it begins higher."""
    kept = [point for point in side if point[0] < top - SAME / 2]
    if not kept:
        return ()
    (h1, r1), (h2, r2) = kept[-1], side[len(kept)]
    return (*kept, (top, r1 + (r2 - r1) * (top - h1) / (h2 - h1)))


def _to_axis(side: Sequence[Point], at: int) -> tuple[Point, ...]:
    """Return the side up to where it meets the axis, before point `at`, the first without a radius."""
    (h1, r1), (h2, r2) = side[at - 1], side[at]
    return (*side[:at], (h1 + (h2 - h1) * min(1.0, r1 / (r1 - r2)), 0.0))


def _box(side: Sequence[Point]) -> Box:
    across = 2 * max(radius for _, radius in side)
    return Box(side[-1][0], across, across)


def _half(side: Sequence[Point]) -> Face:
    """Return what the half profile measures: x is the radius, so that `centroid_x` is that of its centroid."""
    return measure([(0.0, side[0][0]), *((radius, height) for height, radius in side), (0.0, side[-1][0])])


def _surface(side: Sequence[Point]) -> float:
    """Return the coated area of the finished part: π·(r1 + r2)·slant of each frustum, and the top face; base bare."""
    slants = math.fsum((a[1] + b[1]) * math.dist(a, b) for a, b in pairwise(side))
    return math.pi * (slants + side[-1][1] ** 2)


def _figures(side: Sequence[Point], foam: Box) -> tuple[Figure, ...]:
    half = _half(side)
    return (
        Figure("volume", "foam of one", volume(side), "volume"),
        Figure("largest_diameter", "foam, largest diameter", foam.w, "length"),
        Figure("half_area", "area of the half profile", half.area, "area"),
        Figure("centroid_radius", "radius of its centroid", half.centroid_x, "length"),
        Figure("foam_length", "foam, length", foam.l, "length"),
    )


def _notes(turned: Turned, side: Sequence[Point], line: Line) -> Iterator[Note]:
    if not turned.base_stub + turned.top_stub:
        yield Note("no-stub", "No stub is left, so there is nothing for the chuck to hold; give it a stub at the base.")
    if line.coat and side[-1][1] < SAME:
        short = say(turned.side[-1][0] - side[-1][0], line.unit)
        yield Note("pointed-top", f"The point is all coat: its foam ends {short} {line.unit} below the finished top.")
    above = accumulate((radius for _, radius in reversed(side)), max)
    necks = [h for (h, r), most in zip(reversed(side), above, strict=True) if h and r < WEAK and r < most - SAME]
    if necks:
        yield Note(
            "weak-neck",
            f"The neck at height {say(min(necks), line.unit)} {line.unit} is thinner than {say(2 * WEAK, line.unit)} "
            f"{line.unit} and may break while it turns; widen it or turn the part in two.",
        )


def _view(turned: Turned, side: Sequence[Point], blank: Box) -> View:
    """Return the part standing on its base, its stubs dashed."""
    most, long = max(radius for _, radius in side), side[-1][0]
    held = (-most, -turned.base_stub, most, long + turned.top_stub)
    edge = round_middle(held, blank.w, blank.l)
    stubs = [(0.0, held[1]), (long, held[3])]
    return View(
        "turned part", foam=(_mirrored(side),), finished=(_mirrored(turned.side),), blank=(rectangle(edge),),
        lines=(
            ((0.0, edge[1]), (0.0, edge[3])),
            *(((-most, at), (-most, end), (most, end), (most, at)) for at, end in stubs if at != end),
        ),
        sizes=(
            *three_sizes(_rect(side), _rect(turned.side), edge),
            *(Size((edge[0], min(stub)), (edge[0], max(stub)), "blank", 1.0) for stub in stubs if stub[0] != stub[1]),
            *(Size((-radius, height), (radius, height), "foam", 0.0) for height, radius in _stations(side)),
        ),
        labels=(((0.0, edge[3] + ABOVE * blank.l), "top"),),
    )  # fmt: skip


def _mirrored(side: Sequence[Point]) -> Ring:
    return (*((radius, height) for height, radius in side), *((-radius, height) for height, radius in reversed(side)))


def _rect(side: Sequence[Point]) -> Rect:
    most = max(radius for _, radius in side)
    return -most, side[0][0], most, side[-1][0]


def _stations(side: Sequence[Point]) -> list[Point]:
    """Return where the part is thickest or thinnest, and its ends, so far apart that their figures can be read."""
    inner = [
        here for before, here, after in zip(side, side[1:], side[2:], strict=False)
        if here[1] != before[1] and (here[1] - before[1]) * (after[1] - here[1]) <= 0
    ]  # fmt: skip
    found: list[Point] = []
    for point in (side[0], *inner, side[-1]):
        if point[1] > SAME and (not found or point[0] - found[-1][0] > APART * side[-1][0]):
            found.append(point)
    return found


TURNED = Kind("turned", ("half_profile", "stub"), read, write, work, shape="half_profile")
