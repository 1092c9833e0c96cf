"""Mould: foam round a cast piece of concrete, in halves split along the middle of its long side, and a core.

A half is a trough: its foam is its blank less its share of the cast piece's outer box, so that the foam of a line is
that of the halves and of the cores. The core fills the cavity, which is open at the top and tapers by the draft on all
four sides. Nothing is coated.

Liquid concrete is taken at its full head, p = w·h (ACI 347), on a side wall ½·w·h² for each length; it lifts the core
with the weight of what the core displaces, less the core's own (Archimedes). Standard gravity 9.80665 m/s².

Wire: round the cast piece in plan once, shared by the halves, and round the core's opening once; one way in and one way
out for each part. Floors and tops are straight cuts of the saw (common practice, no source).
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any

from cutsheets.blanks import group, grown, note_too_long
from cutsheets.costing import MM3_PER_M3, Wire, amounts
from cutsheets.errors import CutsheetError
from cutsheets.figures import say_figure
from cutsheets.kerf import wire_figures
from cutsheets.kinds.base import Kind, Line
from cutsheets.kinds.limits import needed, read_within
from cutsheets.kinds.pictures import Rect, rectangle, round_middle
from cutsheets.machines import wired_along
from cutsheets.records import items
from cutsheets.rules import Rules
from cutsheets.runs import SQUARE
from cutsheets.solids import Box, Figure, Note, Ring, Size, Stick, View, Worked
from cutsheets.units import KG_M3_PER_PCF, Unit, read_angle, read_count, read_density, to_unit
from cutsheets.volumes import prismatoid

GRAVITY = 9.80665  # m/s², standard: NIST SP 811
CONCRETE = 150 * float(KG_M3_PER_PCF)  # kg/m³: 150 lb/ft³ (common practice, no source)
CONCRETES = (300.0, 6000.0)  # kg/m³, from foamed to heavy: outside these it was typed in the other unit
SIZES = (12.7, 6000.0)  # mm, likewise
LEAST_PIECE = 50.0  # mm, the long side of a cast piece
FOAM_WALLS = (12.7, 1000.0)
STEEPEST = 45.0  # degrees of draft


@dataclass(frozen=True, slots=True)
class Mould:
    """The cavity (opening and depth), its draft, the cast piece, foam wall and floor; mm, degrees, kg/m³."""

    cavity: Box
    draft: float
    piece: Box
    wall: float
    floor: float
    halves: int = 2
    concrete_density: float = CONCRETE

    @property
    def bottom(self) -> tuple[float, float]:
        """Return length and width of the cavity at its bottom."""
        less = 2 * self.cavity.h * math.tan(math.radians(self.draft))
        return self.cavity.l - less, self.cavity.w - less

    @property
    def core_volume(self) -> float:
        """Return the volume of the core, a prismatoid."""
        top, bottom = (self.cavity.l, self.cavity.w), self.bottom
        middle = [(a + b) / 2 for a, b in zip(top, bottom, strict=True)]
        return prismatoid(self.cavity.h, math.prod(top), math.prod(middle), math.prod(bottom))

    @property
    def outside(self) -> Box:
        """Return the closed mould."""
        return Box(self.piece.l + 2 * self.wall, self.piece.w + 2 * self.wall, self.piece.h + self.floor)

    @property
    def half(self) -> Box:
        """Return the blank of a half: its foam's box, without allowances."""
        return replace(self.outside, w=self.outside.w / self.halves)


def read(raw: Mapping[str, Any], unit: Unit) -> Mould:
    """Return a mould from the keys of its line; raises CutsheetError."""
    mould = Mould(
        cavity=_read_box(raw, "cavity", unit, "[length, width, depth] of the opening"),
        draft=_read_draft(needed(raw, "draft", "the degrees that each side of the cavity leans, 0 for none")),
        piece=_read_box(raw, "piece", unit, "[length, width, height] of the cast piece"),
        wall=read_within(needed(raw, "wall", "the foam beside the piece"), unit, "wall", *FOAM_WALLS),
        floor=read_within(needed(raw, "floor", "the foam below the piece"), unit, "floor", *FOAM_WALLS),
        halves=_read_halves(raw.get("halves", 2)),
        concrete_density=_read_concrete(raw["concrete_density"], unit) if "concrete_density" in raw else CONCRETE,
    )
    _check(mould)
    return mould


def write(mould: Mould, unit: Unit) -> dict[str, Any]:
    """Return the keys of the job file."""
    boxes = {
        name: [to_unit(side, unit) for side in (box.l, box.w, box.h)]
        for name, box in (("cavity", mould.cavity), ("piece", mould.piece))
    }
    return boxes | {
        "draft": mould.draft, "wall": to_unit(mould.wall, unit), "floor": to_unit(mould.floor, unit),
        "halves": mould.halves,
        "concrete_density": round(mould.concrete_density / (float(KG_M3_PER_PCF) if unit == "in" else 1.0), 12),
    }  # fmt: skip


def work(line: Line) -> Worked:
    """Return the line worked out; raises CutsheetError with a place inside the line."""
    mould: Mould = line.spec
    if line.coat:
        raise CutsheetError("coat-mould", "A mould is not coated; enter coat 0 and coat it with release agent.", "coat")
    sticks = _sticks(mould, line)
    blanks = group(sticks)
    parts = sum(stick.qty for stick in sticks)
    piece, cavity = mould.piece, mould.cavity
    foam = mould.outside.volume - piece.volume + mould.core_volume
    figures = _figures(mould, line)
    wire = Wire(line.qty * 2 * (piece.l + piece.w + cavity.l + cavity.w), 2 * parts, parts)
    return Worked(
        mark=line.mark, kind=line.kind, grade=line.grade, parts=parts, finished=mould.outside, foam=mould.outside,
        runs=(), frames=(), sticks=sticks, blanks=blanks,
        quantities=amounts(
            blanks, volume=line.qty * foam, coat_area=0.0, wire=wire, density=line.density, rules=line.rules
        ),
        notes=(*_notes(mould, figures, line.unit), *note_too_long(blanks, line.rules.block, line.unit)),
        part=tuple(figures.values()),
        views=(_section_view(mould, sticks[-1].blank), _plan_view(mould)),
        wire=wire_figures(line.rules.wire_kerf),
        asks=wired_along(blanks, line.rules),
    )  # fmt: skip


def _read_box(raw: Mapping[str, Any], name: str, unit: Unit, how: str) -> Box:
    sides = items(needed(raw, name, how), name, least=3, most=3)
    return Box(*(read_within(side, unit, f"{name}[{i}]", *SIZES) for i, side in enumerate(sides)))


def _read_draft(raw: Any) -> float:
    draft = read_angle(raw, "draft")
    if not 0 <= draft <= STEEPEST:
        raise CutsheetError("draft", f"{draft:g}° is no draft; write 0 to {STEEPEST:g} degrees.", "draft")
    return draft


def _read_halves(raw: Any) -> int:
    halves = read_count(raw, "halves")
    if halves > 2:
        raise CutsheetError("halves", "A mould is one piece or two halves; write 1 or 2.", "halves")
    return halves


def _read_concrete(raw: Any, unit: Unit) -> float:
    density = float(read_density(raw, unit, "concrete_density"))
    if not CONCRETES[0] <= density <= CONCRETES[1]:
        raise CutsheetError(
            "range", "No concrete weighs this; write about 150 lb/ft3 or 2400 kg/m3, and check the unit.",
            "concrete_density",
        )  # fmt: skip
    return density


def _check(mould: Mould) -> None:
    """Refuse a cavity that is not inside its piece (`cavity-outside`) or runs to a point (`cavity-draft`)."""
    cavity, piece = mould.cavity, mould.piece
    if max(piece.l, piece.w) < LEAST_PIECE:
        raise CutsheetError("range", "This cast piece is very small; check the unit of its sizes.", "piece")
    if piece.w > piece.l:
        raise CutsheetError(
            "mould-length", "Write the long side first: the halves are split along it. Turn piece and cavity.", "piece"
        )
    rooms = zip((cavity.l, cavity.w, cavity.h), (piece.l, piece.w, piece.h), strict=True)
    for i, (hollow, room) in enumerate(rooms):
        if hollow >= room:
            raise CutsheetError(
                "cavity-outside", "The cavity is as large as the cast piece; leave some concrete round it.",
                f"cavity[{i}]",
            )  # fmt: skip
    if min(mould.bottom) <= 0:
        raise CutsheetError(
            "cavity-draft",
            "With this draft the cavity closes above its bottom; take less draft or less depth.",
            "draft",
        )


def _sticks(mould: Mould, line: Line) -> tuple[Stick, ...]:
    """Return the halves and the core, which is last; the core's blank has skim on every side."""
    core = grown(mould.cavity, _skim_all_round(line.rules), wall=False)
    halves = ("half left", "half right") if mould.halves == 2 else ("mould",)
    wanted = [(name, mould.half, mould.half.l) for name in halves] + [("core", core, mould.cavity.l)]
    return tuple(
        Stick(
            mark=f"{line.mark}{i}", qty=line.qty, front=long, wall=long, left=SQUARE, right=SQUARE, blank=blank,
            run=name, overall=long,
        )
        for i, (name, blank, long) in enumerate(wanted, 1)
    )  # fmt: skip


def _skim_all_round(rules: Rules) -> Rules:
    return replace(rules, end_trim=rules.skim_other)


def _figures(mould: Mould, line: Line) -> dict[str, Figure]:
    """Return the figures of one mould by their key."""
    piece, half = mould.piece, mould.half
    core = grown(mould.cavity, _skim_all_round(line.rules), wall=False)
    core_mass = mould.core_volume / MM3_PER_M3 * line.density
    concrete = piece.volume - mould.core_volume
    weight = mould.concrete_density * GRAVITY  # N/m³
    pressure = weight * piece.h / 1e3  # Pa, as h is in mm
    figures = (
        Figure("cavity_bottom", "cavity at its bottom", mould.bottom, "length"),
        Figure("core_volume", "core, foam", mould.core_volume, "volume"),
        Figure("core_blank", "blank of the core", (core.l, core.w, core.h), "length"),
        Figure("core_mass", "core, weight", core_mass, "mass"),
        Figure("half_blank", "blank of a half", (half.l, half.w, half.h), "length"),
        Figure("concrete_volume", "concrete of one", concrete, "bulk"),
        Figure("concrete_mass", "concrete of one, weight", concrete / MM3_PER_M3 * mould.concrete_density, "mass"),
        Figure("uplift", "lift on the core", weight * mould.core_volume / MM3_PER_M3 - core_mass * GRAVITY, "force"),
        Figure("base_pressure", "pressure at the bottom", pressure / 1e3, "pressure"),
        Figure(
            "side_forces", "push on the long × the short side wall",
            tuple(pressure / 2 * (piece.h / 1e3) * (long / 1e3) for long in (piece.l, piece.w)), "force",
        ),
    )  # fmt: skip
    return {figure.key: figure for figure in figures}


def _notes(mould: Mould, figures: Mapping[str, Figure], unit: Unit) -> Iterator[Note]:
    lift, pressure = (say_figure(figures[key], unit) for key in ("uplift", "base_pressure"))
    yield Note(
        "uplift",
        f"Liquid concrete lifts the core with {lift}: tie it down to something that holds more; have it checked.",
    )
    yield Note(
        "liquid-head",
        f"Liquid concrete presses with {pressure} at the bottom: shore and strap the mould, pour in lifts; have it "
        "checked by a licensed engineer.",
    )
    if mould.halves == 2:
        yield Note("pairs", "Left and right half are mirror pictures: cut and count them in pairs, and key the joint.")
    if not mould.draft:
        yield Note("no-draft", "Without draft the core must be broken out of the set concrete; give it 1 to 3 degrees.")


def _section_view(mould: Mould, core_blank: Box) -> View:
    """Return mould and core cut across the middle; what lies between them is concrete."""
    width, inside, height = mould.outside.w, mould.piece.w, mould.outside.h
    opening, bottom, deep = mould.cavity.w / 2, mould.bottom[1] / 2, height - mould.cavity.h
    core: Ring = ((-bottom, deep), (bottom, deep), (opening, height), (-opening, height))
    around = round_middle((-opening, deep, opening, height), core_blank.w, core_blank.h)
    trough: Ring = (
        (-width / 2, 0.0), (width / 2, 0.0), (width / 2, height), (inside / 2, height), (inside / 2, mould.floor),
        (-inside / 2, mould.floor), (-inside / 2, height), (-width / 2, height),
    )  # fmt: skip
    return View(
        "section", foam=(trough, core), blank=(rectangle(around),),
        lines=(((0.0, 0.0), (0.0, mould.floor)),) if mould.halves == 2 else (),
        sizes=(
            Size((-inside / 2, 0.0), (inside / 2, 0.0), "foam", -1.0),
            Size((-width / 2, 0.0), (width / 2, 0.0), "foam", -2.0),
            Size((-bottom, deep), (bottom, deep), "foam", 1.0),
            Size((-opening, height), (opening, height), "foam", 1.0),
            Size((-width / 2, 0.0), (-width / 2, mould.floor), "foam", 1.0),
            Size((-width / 2, 0.0), (-width / 2, height), "foam", 2.0),
            Size((width / 2, deep), (width / 2, height), "foam", -1.0),
        ),
        labels=(((0.0, (deep + height) / 2), "core"), ((0.0, (mould.floor + deep) / 2), "concrete")),
    )  # fmt: skip


def _plan_view(mould: Mould) -> View:
    """Return the halves from above, opened a little, as mirror pictures; or the mould in one piece."""
    outside, piece = mould.outside, mould.piece
    whole = (-outside.w / 2, -outside.l / 2, outside.w / 2, outside.l / 2)
    recess = (-piece.w / 2, -piece.l / 2, piece.w / 2, piece.l / 2)
    if mould.halves == 1:
        return View(
            "plan", foam=(rectangle(whole), rectangle(recess)[::-1]), sizes=_plan_sizes(whole, recess, 0.0),
            labels=(((0.0, 0.0), "mould"),),
        )  # fmt: skip
    apart = mould.wall / 2
    right: Ring = (
        (0.0, whole[1]), (whole[2], whole[1]), (whole[2], whole[3]), (0.0, whole[3]),
        (0.0, recess[3]), (recess[2], recess[3]), (recess[2], recess[1]), (0.0, recess[1]),
    )  # fmt: skip
    right = tuple((x + apart, y) for x, y in right)
    left: Ring = tuple((-x, y) for x, y in reversed(right))
    return View(
        "plan, left and right half", foam=(left, right), sizes=_plan_sizes(whole, recess, apart),
        lines=(((0.0, whole[1]), (0.0, whole[3])),),
        labels=(((-apart - recess[2] / 2, 0.0), "left"), ((apart + recess[2] / 2, 0.0), "right")),
    )  # fmt: skip


def _plan_sizes(whole: Rect, recess: Rect, apart: float) -> tuple[Size, ...]:
    """Return lengths at the left; widths, of one half or of the mould in one piece, below and in the recess."""
    left = whole[0] - apart
    start, inner = (apart, apart) if apart else (whole[0], recess[0])
    return (
        Size((left, recess[1]), (left, recess[3]), "foam", 1.0),
        Size((left, whole[1]), (left, whole[3]), "foam", 2.0),
        Size((start, whole[1]), (apart + whole[2], whole[1]), "foam", -1.0),
        Size((inner, recess[1]), (apart + recess[2], recess[1]), "foam", 1.0),
    )


MOULD = Kind(
    "mould", ("cavity", "draft", "piece", "wall", "floor", "halves", "concrete_density"), read, write, work,
    on_buildings=False,
)  # fmt: skip
