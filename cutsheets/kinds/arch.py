"""Arch: a flat ring sector, sawn in segments with radial joints that are true arcs, not facets.

Radii are those of the finished opening. Coat lies on the front face and on both curves; joints, ends and back are bare.
Segments: the fewest whose foam is not longer than the longest part, over all: its outer chord, never the arc.
A segment's blank is its chord × rise box, w out from the wall.

Wire: once round each segment's face (two arcs, two joints), and straight across its front and its back where the blank
has skim there; one way in and one way out for each (common practice, no source).
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from cutsheets import arcs
from cutsheets.blanks import blank_notes, group, grown
from cutsheets.costing import Wire, amounts
from cutsheets.errors import CutsheetError
from cutsheets.kerf import wire_figures
from cutsheets.kinds.base import Kind, Line
from cutsheets.kinds.limits import needed, read_within
from cutsheets.kinds.pictures import Rect, rectangle, round_middle, three_sizes
from cutsheets.kinds.shapes import THINNEST
from cutsheets.rules import Rules
from cutsheets.runs import NOISE, SQUARE
from cutsheets.solids import Asks, Box, Figure, Note, Ring, Size, Stick, View, Worked
from cutsheets.units import Unit, read_angle, say, to_unit

RADII = (12.7, 300_000.0)  # mm; likewise below: outside these a size was typed in the other unit
SPANS = (25.4, 60_000.0)
RISES = (1.0, 30_000.0)
WIDTHS = (12.7, 1500.0)
THICKS = (6.0, 1500.0)
LONGEST_ARC = 100_000.0
PARTS = (50.0, 12_000.0)
MOST_SEGMENTS = 1000
ABOVE = 0.03  # of a view's width: words clear of its edge
THIN = 12.7  # mm: foam that breaks in the hand (common practice, no source)


@dataclass(frozen=True, slots=True)
class Arch:
    """An arch as finished, mm, degrees. `bow`: span and rise, where they were typed in place of radius and sweep."""

    inside_radius: float
    sweep: float
    width: float
    thick: float
    longest_part: float | None = None
    bow: tuple[float, float] | None = None


@dataclass(frozen=True, slots=True)
class Sector:
    """A flat ring sector round the origin, its middle straight up; mm, degrees."""

    inside: float
    outside: float
    thick: float
    angle: float

    @property
    def low(self) -> float:
        """Return the height of its lowest corner: beyond a half circle that is an outer one."""
        return (self.inside if self.angle <= 180 else self.outside) * math.cos(math.radians(self.angle) / 2)

    @property
    def rect(self) -> Rect:
        """Return the rectangle round its face."""
        half = arcs.spread(self.outside, self.angle) / 2
        return -half, self.low, half, self.outside

    @property
    def box(self) -> Box:
        """Return its chord × thickness × rise."""
        return Box(arcs.spread(self.outside, self.angle), self.thick, self.outside - self.low)

    @property
    def area(self) -> float:
        """Return the area of its face."""
        return arcs.sector_area(self.inside, self.outside, self.angle)

    @property
    def curves(self) -> float:
        """Return the length of its two arcs together."""
        return arcs.length_of(self.inside + self.outside, self.angle)

    @property
    def outline(self) -> Ring:
        """Return its face as points, counter-clockwise, within `arcs.CHORD_ERROR` of the true arcs."""
        half = self.angle / 2
        return arcs.arc(self.outside, half, -half) + arcs.arc(self.inside, -half, half)


def read(raw: Mapping[str, Any], unit: Unit) -> Arch:
    """Return an arch from the keys of its line; raises CutsheetError."""
    bow = _read_bow(raw, unit)
    if bow:
        radius, sweep = arcs.radius_of(*bow), arcs.angle_of(*bow)
    else:
        radius, sweep = read_within(raw["inside_radius"], unit, "inside_radius", *RADII), _read_sweep(raw["sweep"])
    if radius > RADII[1] or not RADII[0] <= arcs.length_of(radius, sweep) <= LONGEST_ARC:
        raise CutsheetError(
            "range",
            "This opening is flatter, longer or shorter than any arch; correct it, or check its unit.",
            "rise" if bow else "inside_radius",
        )
    longest = raw.get("longest_part")
    return Arch(
        radius, sweep,
        width=read_within(needed(raw, "width", "how wide the arch is, along its radius"), unit, "width", *WIDTHS),
        thick=read_within(needed(raw, "thick", "how far it stands out from the wall"), unit, "thick", *THICKS),
        longest_part=None if longest is None else read_within(longest, unit, "longest_part", *PARTS),
        bow=bow,
    )  # fmt: skip


def write(arch: Arch, unit: Unit) -> dict[str, Any]:
    """Return the keys of the job file."""
    if arch.bow:
        written = dict(zip(("span", "rise"), (to_unit(side, unit) for side in arch.bow), strict=True))
    else:
        written = {"inside_radius": to_unit(arch.inside_radius, unit), "sweep": arch.sweep}
    written |= {"width": to_unit(arch.width, unit), "thick": to_unit(arch.thick, unit)}
    return written | ({"longest_part": to_unit(arch.longest_part, unit)} if arch.longest_part else {})


def work(line: Line) -> Worked:
    """Return the line worked out; raises CutsheetError with a place inside the line."""
    arch: Arch = line.spec
    whole = _sector(arch, line.coat, arch.sweep)
    count = _segments(whole, arch, line.rules)
    foam, finished = _sector(arch, line.coat, arch.sweep / count), _sector(arch, 0.0, arch.sweep / count)
    parts = count * line.qty
    stick = Stick(
        mark=f"{line.mark}1", qty=parts, front=foam.box.l, wall=foam.box.l, left=SQUARE, right=SQUARE,
        blank=grown(foam.box, line.rules), run="segment", overall=foam.box.l,
    )  # fmt: skip
    blanks = group([stick])
    coated = finished.area + finished.curves * finished.thick
    return Worked(
        mark=line.mark, kind=line.kind, grade=line.grade, parts=parts, finished=finished.box, foam=foam.box,
        runs=(), frames=(), sticks=(stick,), blanks=blanks,
        quantities=amounts(
            blanks, volume=parts * foam.area * foam.thick, coat_area=parts * coated if line.coat else 0.0,
            wire=_wire(foam, parts, line.rules), density=line.density, rules=line.rules,
        ),
        notes=(*_notes(foam), *blank_notes(blanks, line.rules, line.unit)),
        part=_figures(arch, foam, count),
        views=(_segment_view(foam, finished, stick, line.unit), _arch_view(arch, whole, stick, count, line.unit)),
        wire=wire_figures(line.rules.wire_kerf),
        asks=_asks(stick, line.rules),
    )  # fmt: skip


def _read_bow(raw: Mapping[str, Any], unit: Unit) -> tuple[float, float] | None:
    """Return span and rise, or None where radius and sweep are given."""
    named = [name for name in ("inside_radius", "sweep", "span", "rise") if name in raw]
    if named not in (["inside_radius", "sweep"], ["span", "rise"]):
        raise CutsheetError("arch-opening", "Give inside radius and sweep, or span and rise, of the finished opening.")
    if "span" not in named:
        return None
    span, rise = (read_within(raw[name], unit, name, *limits) for name, limits in (("span", SPANS), ("rise", RISES)))
    if rise > span / 2:
        raise CutsheetError(
            "arch-rise", "This rise is above half the span; give inside radius and a sweep above 180 instead.", "rise"
        )
    return span, rise


def _read_sweep(raw: Any) -> float:
    sweep = read_angle(raw, "sweep")
    if sweep <= 0:
        raise CutsheetError("sweep", "The sweep is above 0 and at most 360 degrees; a half round is 180.", "sweep")
    return sweep


def _sector(arch: Arch, coat: float, angle: float) -> Sector:
    """Return so many degrees of an arch under its coat; raises CutsheetError where the coat leaves no foam."""
    outside = arch.inside_radius + arch.width
    foam = Sector(arch.inside_radius + coat, outside - coat, arch.thick - coat, angle)
    for name, left in (("width", foam.outside - foam.inside), ("thick", foam.thick)):
        if left < THINNEST:
            raise CutsheetError(
                "coat-swallows-arch", "The coat leaves no foam here; take a thinner coat or a larger size.", name
            )
    return foam


def _segments(whole: Sector, arch: Arch, rules: Rules) -> int:
    """Return the fewest equal segments whose foam, over all, is not longer than the longest part."""
    longest = arch.longest_part or min(rules.longest_stick, rules.longest_across - 2 * rules.end_trim)
    count = math.ceil(whole.angle / arcs.angle_within(whole.outside, longest + NOISE))
    if count > MOST_SEGMENTS:
        raise CutsheetError(
            "too-many-segments", f"This needs {count} segments; check the opening and the longest part.",
            "longest_part" if arch.longest_part else "allow.longest_stick",
        )  # fmt: skip
    return count


def _wire(foam: Sector, parts: int, rules: Rules) -> Wire:
    faces = (rules.skim_wall > 0) + (rules.skim_other > 0)
    path = foam.curves + 2 * (foam.outside - foam.inside) + faces * foam.box.l
    return Wire(parts * path, 2 * (1 + faces) * parts, parts)


def _asks(stick: Stick, rules: Rules) -> tuple[Asks, ...]:
    """Return what the machine must have room for: the wire lies across the thickness and follows the face."""
    blank = stick.blank
    return (Asks(stick.mark, blank.w + rules.wire_over, blank.l, blank.h, may_turn=True),)


def _figures(arch: Arch, foam: Sector, count: int) -> tuple[Figure, ...]:
    return (
        Figure("segments", "segments", count, "count"),
        Figure("segment_angle", "angle of a segment", foam.angle, "angle"),
        Figure("radius", "radius of the opening", arch.inside_radius, "length"),
        Figure("foam_inside_radius", "foam, inside radius", foam.inside, "length"),
        Figure("foam_outside_radius", "foam, outside radius", foam.outside, "length"),
        Figure("foam_thick", "foam, thickness", foam.thick, "length"),
        Figure("outer_chord", "outer chord", arcs.chord(foam.outside, foam.angle), "length"),
        Figure("inner_chord", "inner chord", arcs.chord(foam.inside, foam.angle), "length"),
        Figure("rise_box", "height of its box", foam.box.h, "length"),
        Figure("area", "face of a segment", foam.area, "area"),
        Figure("joint_angle", "joint, each end", foam.angle / 2, "angle"),
    )


def _notes(foam: Sector) -> Iterator[Note]:
    if min(foam.thick, foam.outside - foam.inside) < THIN:
        yield Note("thin-foam", "The coat leaves thin foam that breaks in the hand; take a thinner coat or more width.")
    if foam.angle == 360:
        yield Note("ring", "A ring in one piece needs a cut through one side to let the wire in; or cut it in halves.")


def _segment_view(foam: Sector, finished: Sector, stick: Stick, unit: Unit) -> View:
    blank = round_middle(foam.rect, stick.blank.l, stick.blank.h)
    beside, above = blank[2] / 2, blank[3] + ABOVE * stick.blank.l
    return View(
        "segment", foam=(foam.outline,), finished=(finished.outline,), blank=(rectangle(blank),),
        sizes=three_sizes(foam.rect, finished.rect, blank),
        labels=(
            ((-beside, above), f"inside R {say(foam.inside, unit)}"),
            ((beside, above), f"outside R {say(foam.outside, unit)}"),
        ),
    )  # fmt: skip


def _arch_view(arch: Arch, foam: Sector, stick: Stick, count: int, unit: Unit) -> View:
    """Return the whole arch with its joints; the opening is measured as finished."""
    finished = _sector(arch, 0.0, arch.sweep)
    step = foam.angle / count
    turns = [math.radians(-foam.angle / 2 + i * step) for i in range(1, count)]
    half, low, top = arcs.spread(finished.inside, foam.angle) / 2, finished.low, finished.inside
    spring = top * math.cos(math.radians(foam.angle) / 2)  # the height at which the opening ends
    left, _, right, _ = foam.rect
    return View(
        "arch", foam=(foam.outline,), finished=(finished.outline,),
        lines=tuple(
            tuple((radius * math.sin(turn), radius * math.cos(turn)) for radius in (foam.inside, foam.outside))
            for turn in turns
        ),
        sizes=(
            Size((left, low), (right, low), "foam", -1.0),
            Size((-half, low), (half, low), "finished", -2.0),
            Size((0.0, spring), (0.0, top), "finished", 0.0),
        ),
        labels=(
            ((-half / 2, (3 * spring + top) / 4), f"{say(foam.thick, unit)} thick"),
            ((half / 2, (3 * spring + top) / 4), f"{count} × {stick.mark}"),
        ),
    )  # fmt: skip


ARCH = Kind("arch", ("inside_radius", "sweep", "span", "rise", "width", "thick", "longest_part"), read, write, work)
