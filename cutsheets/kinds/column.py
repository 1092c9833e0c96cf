"""Column: a round or regular plan of some height, as shells round a post or as bevelled staves.

Coat lies outside only, radially or along the normals of the flats; inside, joints and ends are bare. Shells are parted
by radial joints, the first in the middle of a flat; staves meet at the corners, each edge bevelled by 180°/sides. The
height is split as a run is. A shell's blank is the box of its sector with one joint flat: w out from it, h across.

Wire, for each length: once round outside and void and twice along every joint, a face for each neighbour; or once
round each stave. One way in and one way out for each piece (common practice, no source).
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from cutsheets.blanks import blank_notes, group, grown
from cutsheets.costing import ENTRIES, Wire, amounts
from cutsheets.errors import CutsheetError
from cutsheets.kerf import wire_figures
from cutsheets.kinds.base import Kind, Line
from cutsheets.kinds.limits import needed, read_within
from cutsheets.kinds.pictures import rect_round, rectangle, round_middle, three_sizes
from cutsheets.kinds.shapes import THINNEST
from cutsheets.machines import wired_along
from cutsheets.polygons import Plan, least_wall, sector
from cutsheets.records import record
from cutsheets.runs import SQUARE, share
from cutsheets.solids import Box, Figure, Note, Point, Ring, Size, Sized, Stick, View, Worked
from cutsheets.units import Unit, read_count, read_length, say, to_unit

ACROSS = (25.4, 3000.0)  # mm; likewise below: outside these a size was typed in the other unit
HEIGHTS = (50.0, 30_000.0)
VOIDS = (6.0, 3000.0)
THICKS = (3.0, 500.0)
WIDEST_CLEARANCE = 50.8
MOST_SIDES, MOST_SHELLS = 60, 24
THIN = 10.0  # mm: a wall that breaks in the hand (common practice, no source)


@dataclass(frozen=True, slots=True)
class Shells:
    """Shells round a post of this plan, with a clearance all round it, mm."""

    count: int
    post: Plan
    clearance: float = 0.0


@dataclass(frozen=True, slots=True)
class Staves:
    """One stave for each side, of this thickness of foam, mm."""

    thick: float


@dataclass(frozen=True, slots=True)
class Column:
    """A column as finished, mm."""

    plan: Plan
    height: float
    build: Shells | Staves


@dataclass(frozen=True, slots=True)
class Wrap:
    """The foam of a column in plan: `count` pieces called `name` between `outer` and `void`; mm.

    `rings` and `finished` are one piece with a joint, or its back, along the bottom; `wire` serves all of them.
    """

    name: str
    outer: Plan
    void: Plan
    count: int
    wall: float
    width: float
    depth: float
    wire: float
    rings: tuple[Ring, ...]
    finished: tuple[Ring, ...]

    @property
    def area(self) -> float:
        """Return the section of one piece."""
        return (self.outer.area - self.void.area) / self.count


def read(raw: Mapping[str, Any], unit: Unit) -> Column:
    """Return a column from the keys of its line; raises CutsheetError."""
    plan = _read_plan(raw, unit)
    if ("shells" in raw) == ("staves" in raw):
        raise CutsheetError("column-build", "Give shells with a void for the post, or staves with their thickness.")
    build = _read_staves(raw, plan, unit) if "staves" in raw else _read_shells(raw, unit)
    return Column(plan, read_within(needed(raw, "height", "how tall it is"), unit, "height", *HEIGHTS), build)


def write(column: Column, unit: Unit) -> dict[str, Any]:
    """Return the keys of the job file."""
    plan, build = column.plan, column.build
    across = to_unit(plan.across, unit)
    written: dict[str, Any] = (
        {"regular": {"sides": plan.sides, "across_flats": across}} if plan.sides else {"round": across}
    )
    written["height"] = to_unit(column.height, unit)
    if isinstance(build, Staves):
        return written | {"staves": {"thick": to_unit(build.thick, unit)}}
    void = {
        "square" if build.post.sides else "round": to_unit(build.post.across, unit),
        "clearance": to_unit(build.clearance, unit),
    }
    return written | {"shells": build.count, "void": void}


def work(line: Line) -> Worked:
    """Return the line worked out; raises CutsheetError with a place inside the line."""
    column: Column = line.spec
    wrap = _wrap(column, line.coat)
    lengths = share(column.height, line.rules, "height")
    sticks = _sticks(wrap, lengths, line)
    blanks = group(sticks)
    parts = sum(stick.qty for stick in sticks)
    wire = Wire(line.qty * len(lengths) * wrap.wire, ENTRIES * parts, parts)
    return Worked(
        mark=line.mark, kind=line.kind, grade=line.grade, parts=parts,
        finished=_box(column.plan, column.height), foam=_box(wrap.outer, column.height), runs=(), frames=(),
        sticks=sticks, blanks=blanks,
        quantities=amounts(
            blanks, volume=line.qty * wrap.count * wrap.area * column.height,
            coat_area=line.qty * column.plan.girth * column.height if line.coat else 0.0,
            wire=wire, density=line.density, rules=line.rules,
        ),
        notes=(*_notes(wrap), *blank_notes(blanks, line.rules, line.unit)),
        part=(*_figures(wrap, lengths), *(_stave_figures(wrap, column.plan) if wrap.name == "stave" else ())),
        views=(_plan_view(column, wrap, sticks[0]), _piece_view(wrap, sticks[0])),
        wire=wire_figures(line.rules.wire_kerf),
        asks=wired_along(blanks, line.rules),
    )  # fmt: skip


def _read_plan(raw: Mapping[str, Any], unit: Unit) -> Plan:
    if ("round" in raw) == ("regular" in raw):
        raise CutsheetError("column-plan", "Give “round”, a diameter, or “regular”, its sides and size across flats.")
    if "round" in raw:
        return Plan(read_within(raw["round"], unit, "round", *ACROSS))
    given = record(raw["regular"], "regular", required=("sides", "across_flats"))
    sides = read_count(given["sides"], "regular.sides")
    if not 3 <= sides <= MOST_SIDES:
        raise CutsheetError(
            "column-sides", f"A regular plan has 3 to {MOST_SIDES} sides; above, write “round”.", "regular.sides"
        )
    return Plan(read_within(given["across_flats"], unit, "regular.across_flats", *ACROSS), sides)


def _read_staves(raw: Mapping[str, Any], plan: Plan, unit: Unit) -> Staves:
    if not plan.sides:
        raise CutsheetError(
            "column-staves", "Staves are flat: give a regular plan with as many sides as there are staves.", "staves"
        )
    if "void" in raw:
        raise CutsheetError("column-void", "Staves leave the void that their thickness makes; leave it out.", "void")
    given = record(raw["staves"], "staves", required=("thick",))
    return Staves(read_within(given["thick"], unit, "staves.thick", *THICKS))


def _read_shells(raw: Mapping[str, Any], unit: Unit) -> Shells:
    count = read_count(raw["shells"], "shells")
    if count > MOST_SHELLS:
        raise CutsheetError("column-shells", f"More than {MOST_SHELLS} shells: give fewer, or staves.", "shells")
    void = needed(raw, "void", 'the post and its clearance, {"square": 4, "clearance": 0.25}')
    given = record(void, "void", optional=("square", "round", "clearance"))
    if ("square" in given) == ("round" in given):
        raise CutsheetError("column-void", "Give the post as “square”, its side, or as “round”, its diameter.", "void")
    name = "square" if "square" in given else "round"
    clearance = float(read_length(given.get("clearance", 0), unit, "void.clearance"))
    if clearance > WIDEST_CLEARANCE:
        raise CutsheetError(
            "range", f"A clearance above {say(WIDEST_CLEARANCE, unit)} {unit} is none; check its unit.",
            "void.clearance",
        )  # fmt: skip
    across = read_within(given[name], unit, f"void.{name}", *VOIDS)
    return Shells(count, Plan(across, 4 if name == "square" else 0), clearance)


def _wrap(column: Column, coat: float) -> Wrap:
    """Return the foam in plan; raises CutsheetError where coat, void or staves leave none."""
    outer = column.plan.grown(-coat)
    if outer.across < THINNEST:
        place = "regular.across_flats" if outer.sides else "round"
        raise CutsheetError("coat-swallows-column", "The coat leaves no foam; take a thinner coat.", place)
    if isinstance(column.build, Staves):
        return _staves(column.plan, outer, column.build.thick)
    return _shells(column.plan, outer, column.build)


def _shells(plan: Plan, outer: Plan, shells: Shells) -> Wrap:
    void, count = shells.post.grown(shells.clearance), shells.count
    wall = least_wall(outer, void)
    if wall < THINNEST:
        raise CutsheetError(
            "column-void",
            "The void with its clearance reaches the outside of the foam; take a smaller void or a larger column.",
            "void",
        )
    joints = math.fsum(outer.reach(angle) - void.reach(angle) for angle in _turns(count))
    alike = all(one.sides % count == 0 for one in (outer, void))
    boxes = [rect_round(sector(outer, void, i, count)[0]) for i in range(1 if alike else count)]
    return Wrap(
        "shell", outer, void, count, wall,
        width=max(right - left for left, _, right, _ in boxes), depth=max(high - low for _, low, _, high in boxes),
        wire=outer.girth + void.girth + 2 * joints,
        rings=sector(outer, void, 0, count), finished=sector(plan, void, 0, count),
    )  # fmt: skip


def _staves(plan: Plan, outer: Plan, thick: float) -> Wrap:
    if outer.across - 2 * thick < THINNEST:
        raise CutsheetError(
            "stave-too-thick", "These staves are thicker than the column is from its middle; make them thinner.",
            "staves.thick",
        )  # fmt: skip
    void = outer.grown(-thick)
    slope = thick / math.cos(math.pi / outer.sides)
    coat = (plan.across - outer.across) / 2
    return Wrap(
        "stave", outer, void, outer.sides, thick, width=outer.side, depth=thick,
        wire=outer.girth + void.girth + 2 * outer.sides * slope,
        rings=(_trapezium(void.side, outer.side, thick),), finished=(_trapezium(void.side, plan.side, thick + coat),),
    )  # fmt: skip


def _trapezium(inner: float, outer: float, thick: float) -> Ring:
    return (-inner / 2, 0.0), (inner / 2, 0.0), (outer / 2, thick), (-outer / 2, thick)


def _sticks(wrap: Wrap, lengths: tuple[float, ...], line: Line) -> tuple[Stick, ...]:
    """Return one stick for each length that occurs, from the bottom up."""
    jointed = wrap.count > 1
    return tuple(
        Stick(
            mark=f"{line.mark}{i}", qty=line.qty * wrap.count * times, front=long, wall=long, left=SQUARE,
            right=SQUARE, blank=grown(Box(long, wrap.depth, wrap.width), line.rules, wall=jointed), run=wrap.name,
            overall=long,
        )
        for i, (long, times) in enumerate(Counter(lengths).items(), 1)
    )  # fmt: skip


def _figures(wrap: Wrap, lengths: tuple[float, ...]) -> tuple[Figure, ...]:
    size = "across flats" if wrap.outer.sides else "diameter"
    return (
        Figure("foam_across", f"foam, {size}", wrap.outer.across, "length"),
        Figure("void_across", "void, across", wrap.void.across, "length"),
        Figure("area", f"section of a {wrap.name}", wrap.area, "area"),
        Figure("least_wall", "thinnest wall", wrap.wall, "length"),
        Figure("lengths", "lengths, from the bottom", lengths, "length"),
    )


def _stave_figures(wrap: Wrap, plan: Plan) -> tuple[Figure, ...]:
    return (
        Figure("bevel", "bevel of both edges", 180 / wrap.count, "angle"),
        Figure("outer", "foam stave, outer face", wrap.outer.side, "length"),
        Figure("inner", "foam stave, inner face", wrap.void.side, "length"),
        Figure("finished_side", "finished side", plan.side, "length"),
    )


def _notes(wrap: Wrap) -> Iterator[Note]:
    if wrap.wall < THIN:
        yield Note("thin-foam", "The wall is so thin that it breaks in the hand; take a smaller void or thinner coat.")
    if wrap.count == 1:
        yield Note(
            "closed-void",
            "An open wire cannot enter a closed void: slit the wall or thread the wire, and slip it over the post; "
            "or give two shells.",
        )
    if wrap.name == "shell" and any(one.sides * 2 % wrap.count for one in (wrap.outer, wrap.void)):
        yield Note(
            "unlike-shells",
            "So many joints part this plan unevenly: the shells differ, and the area of one is their mean. Another "
            "number of shells makes them alike.",
        )


def _turns(count: int) -> list[float]:
    return [2 * math.pi * i / count for i in range(count)]


def _box(plan: Plan, height: float) -> Box:
    return Box(height, plan.across, plan.across)


def _plan_view(column: Column, wrap: Wrap, stick: Stick) -> View:
    """Return the whole column from above with its joints; an odd plan shows the circle that it is measured by."""
    finished, outer, void = column.plan, wrap.outer, wrap.void
    at_corner = math.pi / wrap.count if wrap.name == "stave" else 0.0
    joints = tuple(
        (_at(void.reach(angle), angle), _at(outer.reach(angle), angle))
        for angle in (turn + at_corner for turn in _turns(wrap.count))
    )
    circle = Plan(outer.across).ring()
    low = -finished.corner
    middle = math.pi / wrap.count - at_corner
    return View(
        "plan", foam=(outer.ring(), void.ring()), finished=(finished.ring(), void.ring()),
        lines=(*joints, *(((*circle, circle[0]),) if outer.sides % 2 else ())),
        sizes=(
            _wide(void, 0.0, "foam", 0.0), _wide(outer, low, "foam", -1.0),
            *([] if finished == outer else [_wide(finished, low, "finished", -2.0)]),
        ),
        labels=((_at((outer.reach(middle) + void.reach(middle)) / 2, middle), stick.mark),),
    )  # fmt: skip


def _piece_view(wrap: Wrap, stick: Stick) -> View:
    """Return one piece in its blank: the joint, or the back of a stave, lies at the bottom."""
    rect = rect_round(wrap.rings[0])
    blank = round_middle(rect, stick.blank.h, stick.blank.w)
    return View(
        wrap.name, foam=wrap.rings, finished=wrap.finished, blank=(rectangle(blank),),
        sizes=three_sizes(rect, rect_round(wrap.finished[0]), blank),
    )  # fmt: skip


def _wide(plan: Plan, at: float, of: Sized, row: float) -> Size:
    """Return the size across a plan, set at a height in the picture."""
    return Size((-plan.across / 2, at), (plan.across / 2, at), of, row)


def _at(radius: float, angle: float) -> Point:
    return radius * math.cos(angle), radius * math.sin(angle)


COLUMN = Kind("column", ("round", "regular", "height", "shells", "void", "staves"), read, write, work)
