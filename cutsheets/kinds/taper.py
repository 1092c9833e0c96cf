"""Taper: a part that runs evenly from its base to its top, both round or both sections of as many points.

Coat: radially on round work; on sections along the normals of all edges, in the plane of the section. Both ends are
bare, so that the length stays. The wire joins points of the same number in straight lines; volume by the prismoidal
formula, which is exact for them. The blank is the box round both ends together, so a top that lies aside counts.

Wire: once round the longer of the two ends, since both run in the same time; one way in and one way out. The wire lies
along the part (common practice, no source).
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from shapely import Polygon

from cutsheets.blanks import blank_notes, group, grown
from cutsheets.coat import foam_outline
from cutsheets.costing import ENTRIES, Wire, amounts
from cutsheets.errors import CutsheetError
from cutsheets.kerf import wire_figures
from cutsheets.kinds.base import Kind, Line
from cutsheets.kinds.limits import needed, read_within
from cutsheets.kinds.pictures import Rect, middle, rect_round, rectangle, round_middle, three_sizes
from cutsheets.kinds.shapes import SMALLEST, THINNEST, WIDEST, read_free_section, write_points
from cutsheets.machines import wired_along
from cutsheets.polygons import Plan
from cutsheets.records import record
from cutsheets.runs import SQUARE, one_stick
from cutsheets.sections import perimeter
from cutsheets.solids import Box, Figure, Note, Ring, Section, Size, Sized, Stick, View, Worked
from cutsheets.units import Unit, to_unit
from cutsheets.volumes import between, loft_faces, prismatoid

DIAMETERS = (5.0, WIDEST)  # mm; likewise below: outside these a size was typed in the other unit
ENDS = ("base", "top")
LENGTHS = (50.0, 12_000.0)
STATIONS = 16  # places along the length at which the section between both ends is checked
THIN = 10.0  # mm: an end that breaks in the hand (common practice, no source)


@dataclass(frozen=True, slots=True)
class Loft:
    """A solid between two ends, finished or foam: outlines, areas of base, middle and top, girths; mm.

    `faces` is the area of its sides, `lean` how far the line that leans most moves across from end to end.
    """

    base: Ring
    top: Ring
    length: float
    areas: tuple[float, float, float]
    girths: tuple[float, float]
    faces: float
    lean: float

    @property
    def volume(self) -> float:
        """Return its volume."""
        return prismatoid(self.length, *self.areas)

    @property
    def rect(self) -> Rect:
        """Return the rectangle round both ends together."""
        return rect_round(self.base + self.top)

    @property
    def box(self) -> Box:
        """Return its length × width × height over all."""
        left, low, right, high = self.rect
        return Box(self.length, right - left, high - low)


@dataclass(frozen=True, slots=True)
class RoundTaper:
    """A taper as finished, mm: diameters of base and top."""

    base: float
    top: float
    length: float

    def loft(self, coat: float) -> Loft:
        """Return the taper under its coat; raises CutsheetError where the coat leaves none."""
        base, top = Plan(_less(self.base, coat, "base")), Plan(_less(self.top, coat, "top"))
        half_way, lean = Plan((base.across + top.across) / 2), abs(base.across - top.across) / 2
        return Loft(
            base.ring(), top.ring(), self.length,
            areas=(base.area, half_way.area, top.area), girths=(base.girth, top.girth),
            faces=half_way.girth * math.hypot(self.length, lean), lean=lean,
        )  # fmt: skip


@dataclass(frozen=True, slots=True)
class SectionTaper:
    """A taper as finished, mm: sections of base and top, each point joined to the one with its number."""

    base: Section
    top: Section
    length: float

    def loft(self, coat: float) -> Loft:
        """Return the taper under its coat; raises CutsheetError where the coat leaves none or lines cross."""
        base, top = _outline(self.base, coat, "base"), _outline(self.top, coat, "top")
        _check_between(base, top)
        first, middle, last = (Polygon(between(base, top, share)).area for share in (0, 0.5, 1))
        return Loft(
            base, top, self.length, areas=(first, middle, last), girths=(perimeter(base), perimeter(top)),
            faces=loft_faces(self.length, base, top),
            lean=max(math.dist(a, b) for a, b in zip(base, top, strict=True)),
        )  # fmt: skip


Taper = RoundTaper | SectionTaper


def read(raw: Mapping[str, Any], unit: Unit) -> Taper:
    """Return a taper from the keys of its line; raises CutsheetError."""
    (base_form, base), (top_form, top) = (
        _form(needed(raw, name, '{"round": 10} or the points of its section'), name) for name in ENDS
    )
    if base_form != top_form:
        raise CutsheetError("taper-end", "One end is round and the other a section; give both in the same way.", "top")
    length = read_within(needed(raw, "length", "how long it is"), unit, "length", *LENGTHS)
    if base_form == "section":
        return _matching(
            SectionTaper(read_free_section(base, unit, "base"), read_free_section(top, unit, "top"), length)
        )
    taper = RoundTaper(
        read_within(base, unit, "base.round", *DIAMETERS), read_within(top, unit, "top.round", *DIAMETERS), length
    )
    if max(taper.base, taper.top) < SMALLEST:
        raise CutsheetError("range", "Both ends are too small for a part; correct them, or check their unit.", "base")
    return taper


def write(taper: Taper, unit: Unit) -> dict[str, Any]:
    """Return the keys of the job file."""
    if isinstance(taper, SectionTaper):
        ends: dict[str, Any] = {"base": write_points(taper.base, unit), "top": write_points(taper.top, unit)}
    else:
        ends = {"base": {"round": to_unit(taper.base, unit)}, "top": {"round": to_unit(taper.top, unit)}}
    return ends | {"length": to_unit(taper.length, unit)}


def work(line: Line) -> Worked:
    """Return the line worked out; raises CutsheetError with a place inside the line."""
    one_stick(line.spec.length, line.rules, line.unit, "length")
    finished, foam = line.spec.loft(0.0), line.spec.loft(line.coat)
    stick = Stick(
        mark=f"{line.mark}1", qty=line.qty, front=foam.length, wall=foam.length, left=SQUARE, right=SQUARE,
        blank=grown(foam.box, line.rules, wall=False), overall=foam.length,
    )  # fmt: skip
    blanks = group([stick])
    return Worked(
        mark=line.mark, kind=line.kind, grade=line.grade, parts=line.qty, finished=finished.box, foam=foam.box,
        runs=(), frames=(), sticks=(stick,), blanks=blanks,
        quantities=amounts(
            blanks, volume=line.qty * foam.volume, coat_area=line.qty * finished.faces if line.coat else 0.0,
            wire=Wire(line.qty * max(foam.girths), ENTRIES * line.qty, line.qty), density=line.density,
            rules=line.rules,
        ),
        notes=(*_notes(foam), *blank_notes(blanks, line.rules, line.unit)),
        part=_figures(foam, is_round=isinstance(line.spec, RoundTaper)),
        views=(_side_view(finished, foam, stick.blank), _ends_view(finished, foam, stick.blank)),
        wire=wire_figures(line.rules.wire_kerf),
        asks=wired_along(blanks, line.rules),
    )  # fmt: skip


def _form(raw: object, name: str) -> tuple[str, Any]:
    """Return whether an end is round or a section, and what was written for it."""
    if isinstance(raw, list | tuple):
        return "section", raw
    given = record(raw, name, optional=("round", "section")) if isinstance(raw, Mapping) else {}
    if len(given) != 1:
        raise CutsheetError("taper-end", 'Write {"round": 10}, a diameter, or the points of a section here.', name)
    return next(iter(given.items()))


def _matching(taper: SectionTaper) -> SectionTaper:
    """Return a taper whose ends a wire can join; raises CutsheetError for any other."""
    base, top = len(taper.base.points), len(taper.top.points)
    if base != top:
        raise CutsheetError(
            "taper-points",
            f"The base has {base} points and the top {top}; the wire joins them one by one, so give both as many.",
            "top",
        )
    if taper.base.turned != taper.top.turned:
        raise CutsheetError(
            "taper-crossing", "Base and top run round in opposite ways; reverse the points of one.", "top"
        )
    return taper


def _outline(section: Section, coat: float, name: str) -> Ring:
    """Return the foam of an end; a point that the coat takes would leave the points of the other without its mate."""
    outline = foam_outline(section, coat, name)
    if len(outline) != len(section.points):
        raise CutsheetError(
            "taper-coat",
            "The coat takes short edges at the end of a curve, and the wire needs every point: leave out the points "
            "nearest to the corner, at both ends, or take a thinner coat.",
            name,
        )
    return outline


def _check_between(base: Ring, top: Ring) -> None:
    """Refuse ends whose lines cross on the way, so that a section between them is none."""
    if not all(Polygon(between(base, top, i / STATIONS)).is_valid for i in range(1, STATIONS)):
        raise CutsheetError(
            "taper-crossing",
            "The lines from base to top cross on the way; begin both sections at points that belong together.",
            "top",
        )


def _less(diameter: float, coat: float, name: str) -> float:
    if diameter - 2 * coat < THINNEST:
        raise CutsheetError("coat-swallows-end", "The coat leaves no foam at this end; take a thinner coat.", name)
    return diameter - 2 * coat


def _figures(foam: Loft, *, is_round: bool) -> tuple[Figure, ...]:
    base, top = (
        right - left if is_round else (right - left, high - low)
        for left, low, right, high in (rect_round(foam.base), rect_round(foam.top))
    )
    size = "diameter" if is_round else "width × height"
    half_angle = math.degrees(math.atan2(foam.lean, foam.length))
    return (
        Figure("foam_base", f"foam base, {size}", base, "length"),
        Figure("foam_top", f"foam top, {size}", top, "length"),
        Figure("volume", "foam of one", foam.volume, "volume"),
        Figure("slant", "longest line from end to end", math.hypot(foam.length, foam.lean), "length"),
        Figure("half_angle", "steepest line, from the length", half_angle, "angle"),
    )


def _notes(foam: Loft) -> Iterator[Note]:
    base, _, top = foam.areas
    if not math.isclose(base, top):
        yield Note(
            "bigger-end",
            f"The {'BASE' if base > top else 'TOP'} is the bigger end: set both sections at the towers as the picture "
            "names them, for swapped ends spoil the whole cut.",
        )
    if min(min(rect[2] - rect[0], rect[3] - rect[1]) for rect in (rect_round(foam.base), rect_round(foam.top))) < THIN:
        yield Note("thin-foam", "One end is so thin that it breaks in the hand; take a larger end or a thinner coat.")


def _side_view(finished: Loft, foam: Loft, blank: Box) -> View:
    """Return the part from the side, its base at the left."""
    left, low, right, high = around = round_middle((0.0, foam.rect[1], foam.length, foam.rect[3]), blank.l, blank.h)
    sizes: list[Size] = [
        Size((0.0, low), (foam.length, low), "foam", -1.0), Size((left, low), (right, low), "blank", -2.0),
        Size((right, low), (right, high), "blank", -3.0),
    ]  # fmt: skip
    rows: tuple[tuple[Loft, Sized, float], ...] = ((foam, "foam", 1.0), (finished, "finished", 2.0))
    for loft, of, row in rows[: 1 if finished == foam else 2]:
        for edge, ring, way in ((left, loft.base, row), (right, loft.top, -row)):
            sizes.append(Size((edge, rect_round(ring)[1]), (edge, rect_round(ring)[3]), of, way))
    return View(
        "side", foam=(_side(foam),), finished=(_side(finished),), blank=(rectangle(around),), sizes=tuple(sizes),
        labels=tuple(
            ((share * foam.length, middle(rect_round(ring))[1]), words)
            for share, ring, words in ((0.1, foam.base, "BASE"), (0.9, foam.top, "TOP"))
        ),
    )  # fmt: skip


def _side(loft: Loft) -> Ring:
    (_, base_low, _, base_high), (_, top_low, _, top_high) = rect_round(loft.base), rect_round(loft.top)
    return (0.0, base_low), (loft.length, top_low), (loft.length, top_high), (0.0, base_high)


def _ends_view(finished: Loft, foam: Loft, blank: Box) -> View:
    """Return the bigger end in the blank, and the other as a line."""
    bigger, other = ("base", "top") if foam.areas[0] >= foam.areas[2] else ("top", "base")
    outline, line, coated = getattr(foam, bigger), getattr(foam, other), getattr(finished, bigger)
    around = round_middle(foam.rect, blank.w, blank.h)
    left, low, right, high = rect_round(outline)
    return View(
        "ends", foam=(outline,), finished=(coated,), blank=(rectangle(around),), lines=((*line, line[0]),),
        sizes=three_sizes((left, low, right, high), rect_round(coated), around),
        labels=(
            (middle(rect_round(line)), other.upper()),
            (((left + right) / 2, high - (high - low) / 20), bigger.upper()),
        ),
    )  # fmt: skip


TAPER = Kind("taper", ("base", "top", "length"), read, write, work)
