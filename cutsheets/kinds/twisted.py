"""Twisted: one section that turns evenly about its axis, the centroid of the finished section, along a length.

The section is drawn for a right-hand twist, which turns clockwise as it goes away from the eye; a left-hand part is its
mirror image, section and all. Coat lies on the long faces along the normals of the edges, in the plane of the section;
ends are bare. Volume = area × length, whatever the twist (Cavalieri). Coated area: strips of helicoids (see
`twisted_faces`), more than girth × length.

Wire: across the axis, along each face of the section once while the part turns: the way of the outermost edge for each
face, one way in and one way out each time (common practice, no source).
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray
from shapely import Polygon

from cutsheets.blanks import blank_notes, group, grown
from cutsheets.coat import coated_girth, foam_outline
from cutsheets.costing import ENTRIES, Wire, amounts
from cutsheets.errors import CutsheetError
from cutsheets.kerf import wire_figures
from cutsheets.kinds.base import Kind, Line
from cutsheets.kinds.limits import needed, read_within
from cutsheets.kinds.pictures import rect_round, rectangle, round_middle, three_sizes
from cutsheets.kinds.shapes import SMALLEST, WIDEST, read_free_section, write_points
from cutsheets.polygons import Plan
from cutsheets.runs import SQUARE, one_stick
from cutsheets.sections import make_section, measure
from cutsheets.solids import Asks, Box, Face, Figure, Note, Point, Ring, Section, Size, Stick, View, Worked
from cutsheets.units import Unit, read_number, to_unit
from cutsheets.volumes import twisted_faces

LENGTHS = (50.0, 12_000.0)  # mm: outside these a length was typed in the other unit
MOST_TURNS = 100.0
STEEP = 45.0  # degrees from the axis, above which the wire drags rather than cuts (common practice, no source)
STATIONS, MOST_STATIONS = 24, 1200  # in the picture from the side: of one turn, and in all
MOST_EDGES = 8
HANDS = {"right": ("right",), "left": ("left",), "pair": ("right", "left")}


@dataclass(frozen=True, slots=True)
class Twisted:
    """A twisted part as finished; mm. `square`: the side of the section, where that was typed in its place."""

    section: Section
    length: float
    turns: float
    hand: str
    square: float | None = None


@dataclass(frozen=True, slots=True)
class Twist:
    """The foam about its axis, which is the origin, drawn for the right hand; mm."""

    finished: Ring
    foam: Ring
    length: float
    turns: float

    @property
    def radius(self) -> float:
        """Return the radius of the circle that the section sweeps."""
        return max(math.hypot(x, y) for x, y in self.foam)

    @property
    def edge(self) -> float:
        """Return the length of its outermost edge, a helix: √(L² + (2π·r·turns)²)."""
        return math.hypot(self.length, 2 * math.pi * self.radius * self.turns)

    @property
    def helix_angle(self) -> float:
        """Return the angle between that edge and the axis, degrees."""
        return math.degrees(math.atan2(2 * math.pi * self.radius * self.turns, self.length))


def read(raw: Mapping[str, Any], unit: Unit) -> Twisted:
    """Return a twisted part from the keys of its line; raises CutsheetError."""
    if ("section" in raw) == ("square" in raw):
        raise CutsheetError("twisted-section", "Give the points of a section, or “square”, the side of one.")
    square = read_within(raw["square"], unit, "square", SMALLEST, WIDEST) if "square" in raw else None
    section = make_section(Plan(square, 4).ring(), frozenset(), on_wall=False) if square else None
    hand = raw.get("hand", "right")
    if not isinstance(hand, str) or hand not in HANDS:
        raise CutsheetError("hand", "Write “right”, “left” or “pair”, which is one of each.", "hand")
    return Twisted(
        section or read_free_section(raw["section"], unit, "section"),
        read_within(needed(raw, "length", "how long it is"), unit, "length", *LENGTHS),
        _read_turns(needed(raw, "turns", "how often it turns, 0.5 for half a turn")),
        hand, square,
    )  # fmt: skip


def write(twisted: Twisted, unit: Unit) -> dict[str, Any]:
    """Return the keys of the job file."""
    written: dict[str, Any] = (
        {"square": to_unit(twisted.square, unit)}
        if twisted.square
        else {"section": write_points(twisted.section, unit)}
    )
    return written | {"length": to_unit(twisted.length, unit), "turns": twisted.turns, "hand": twisted.hand}


def work(line: Line) -> Worked:
    """Return the line worked out; raises CutsheetError with a place inside the line."""
    twisted: Twisted = line.spec
    one_stick(twisted.length, line.rules, line.unit, "length")
    finished = measure(twisted.section.points, coated_girth(twisted.section))
    foam = measure(foam_outline(twisted.section, line.coat, "section" if twisted.square is None else "square"))
    twist = _twist(twisted, finished, foam)
    sticks = _sticks(twist, line)
    blanks = group(sticks)
    parts = sum(stick.qty for stick in sticks)
    faces = len(twist.foam)
    coated = twisted_faces(twist.length, twist.finished, twist.turns) if line.coat else 0.0
    return Worked(
        mark=line.mark, kind=line.kind, grade=line.grade, parts=parts, finished=_as_cut(finished, finished, twisted),
        foam=_as_cut(foam, finished, twisted), runs=(), frames=(),
        sticks=sticks, blanks=blanks,
        quantities=amounts(
            blanks, volume=parts * foam.area * twist.length, coat_area=parts * coated,
            wire=Wire(parts * faces * twist.edge, ENTRIES * parts * faces, parts), density=line.density,
            rules=line.rules,
        ),
        notes=(*_notes(twist, twisted.hand), *blank_notes(blanks, line.rules, line.unit)),
        part=(
            Figure("turns", "turns in its length", twist.turns, "ratio"),
            Figure("turning_circle", "turning circle", 2 * twist.radius, "length"),
            Figure("volume", "foam of one", foam.area * twist.length, "volume"),
            Figure("edge_length", "outermost edge, along its helix", twist.edge, "length"),
            Figure("helix_angle", "that edge from the axis", twist.helix_angle, "angle"),
        ),
        views=tuple(view for stick in sticks for view in (_end_view(twist, stick), _side_view(twist, stick))),
        wire=wire_figures(line.rules.wire_kerf),
        asks=_asks(sticks[0]),
    )  # fmt: skip


def _read_turns(raw: Any) -> float:
    turns = read_number(raw, "turns")
    if not 0 < turns <= MOST_TURNS:
        raise CutsheetError(
            "turns", f"Write how often it turns over its length, above 0 and at most {MOST_TURNS:g}.", "turns"
        )
    return turns


def _twist(twisted: Twisted, finished: Face, foam: Face) -> Twist:
    """Return finished and foam section about the axis."""
    x, y = finished.centroid_x, finished.centroid_y
    coated, bare = (tuple((u - x, v - y) for u, v in face.outline) for face in (finished, foam))
    return Twist(coated, bare, twisted.length, twisted.turns)


def _sticks(twist: Twist, line: Line) -> tuple[Stick, ...]:
    """Return one stick for each hand."""
    blank = grown(Box(twist.length, 2 * twist.radius, 2 * twist.radius), line.rules, wall=False)
    return tuple(
        Stick(
            mark=f"{line.mark}{i}", qty=line.qty, front=twist.length, wall=twist.length, left=SQUARE, right=SQUARE,
            blank=blank, run=hand, overall=twist.length,
        )
        for i, hand in enumerate(HANDS[line.spec.hand], 1)
    )  # fmt: skip


def _asks(stick: Stick) -> tuple[Asks, ...]:
    """Return what the machine must have room for: the blank turns about its long axis."""
    return (Asks(stick.mark, swing=math.hypot(stick.blank.w, stick.blank.h), centres=stick.blank.l),)


def _as_cut(face: Face, finished: Face, twisted: Twisted) -> Face:
    """Return a section as the part of this hand has it: a left one is mirrored about the axis of the finished one."""
    if twisted.hand != "left":
        return face
    first, *others = ((2 * finished.centroid_x - x, y) for x, y in face.outline)
    return measure((first, *reversed(others)), face.coated_girth)


def _notes(twist: Twist, hand: str) -> Iterator[Note]:
    foam = Polygon(twist.foam)
    if hand != "right" and foam.symmetric_difference(Polygon(_mirrored(twist.foam, "left"))).area > 1e-6 * foam.area:
        yield Note("mirrored", "The left-hand part is the mirror image of the section as typed; see its picture.")
    if foam.convex_hull.area - foam.area > 1e-6 * foam.area:
        yield Note(
            "hollow-section",
            "A straight wire across the axis cannot reach into the hollows of this section; bend a wire to its shape, "
            "or take a section without hollows.",
        )
    if twist.helix_angle > STEEP:
        yield Note("steep-twist", "The edges run flatter than 45°: the wire drags. Take fewer turns or a longer part.")


def _turned(ring: Ring, turns: float) -> Ring:
    """Return a ring turned clockwise about the axis."""
    sine, cosine = math.sin(-2 * math.pi * turns), math.cos(-2 * math.pi * turns)
    return tuple((x * cosine - y * sine, x * sine + y * cosine) for x, y in ring)


def _mirrored(points: Sequence[Point], hand: str) -> Ring:
    """Return points as the picture of this hand has them."""
    return tuple(points) if hand == "right" else tuple((-x, y) for x, y in points)


def _end_view(twist: Twist, stick: Stick) -> View:
    """Return the nearer end in its turning circle and blank, and the section a little farther away as a line."""
    foam, finished = _mirrored(twist.foam, stick.run), _mirrored(twist.finished, stick.run)
    farther = _mirrored(_turned(twist.foam, min(twist.turns, 0.04)), stick.run)
    circle = Plan(2 * twist.radius).ring()
    around = round_middle(rect_round(circle), stick.blank.w, stick.blank.h)
    return View(
        f"end, {stick.run} hand", foam=(foam,), finished=(finished,), blank=(rectangle(around),),
        lines=((*circle, circle[0]), (*farther, farther[0])),
        sizes=(
            *three_sizes(rect_round(foam), rect_round(finished), around),
            Size((-twist.radius, around[3]), (twist.radius, around[3]), "foam", 1.0),
        ),
    )  # fmt: skip


def _side_view(twist: Twist, stick: Stick) -> View:
    """Return the part from the side, its nearer end at the left, with the outermost edges on the side of the eye."""
    count = min(MOST_STATIONS, math.ceil(STATIONS * max(1.0, twist.turns)))
    turn = np.exp(-2j * math.pi * twist.turns * np.linspace(0, 1, count + 1))
    spots = np.outer(turn, [complex(x, y) for x, y in sorted(twist.foam, key=lambda point: -math.hypot(*point))])
    along = np.linspace(0, twist.length, count + 1).tolist()
    highest, lowest = (list(zip(along, edge.tolist(), strict=True)) for edge in (spots.imag.max(1), spots.imag.min(1)))
    near = spots.real > 0 if stick.run == "right" else spots.real < 0
    edges = [
        tuple((along[i], float(spots[i, corner].imag)) for i in seen)
        for corner in range(min(MOST_EDGES, len(twist.foam)))
        for seen in _unbroken(np.flatnonzero(near[:, corner]))
    ]
    outline = (*lowest, *reversed(highest))
    left, low, right, _ = around = round_middle(rect_round(outline), stick.blank.l, stick.blank.h)
    return View(
        f"side, {stick.run} hand", foam=(outline,), blank=(rectangle(around),),
        lines=tuple(edge for edge in edges if len(edge) > 1),
        sizes=(Size((0.0, low), (twist.length, low), "foam", -1.0), Size((left, low), (right, low), "blank", -2.0)),
    )  # fmt: skip


def _unbroken(numbers: NDArray[np.intp]) -> list[NDArray[np.intp]]:
    """Return rising whole numbers, parted where one is left out."""
    return np.split(numbers, np.flatnonzero(np.diff(numbers) > 1) + 1)


TWISTED = Kind("twisted", ("section", "square", "length", "turns", "hand"), read, write, work, shape="section")
