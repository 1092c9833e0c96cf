"""The values that the core hands around: sections, ends, pieces, blanks, and what comes out of a line.

Lengths are millimetres (float) unless a name ends in `_um`: cutting plans use whole micrometres.
Three sizes never mix: *finished* (after coating), *foam* (what the wire leaves), *blank* (what the saw cuts).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal

Point = tuple[float, float]
Ring = tuple[Point, ...]
Triple = tuple[int, int, int]
EndKind = Literal["outside", "inside", "cap", "square", "splice"]
Measure = Literal[
    "length", "fine", "area", "volume", "bulk", "mass", "angle", "count", "ratio", "pressure", "force", "text", "rows"
]
Sized = Literal["finished", "foam", "blank"]


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangular size, long × wide × high, in millimetres."""

    l: float  # noqa: E741 - the trade's own letter, and the file format's
    w: float
    h: float

    @property
    def volume(self) -> float:
        """Return the volume in cubic millimetres."""
        return self.l * self.w * self.h


@dataclass(frozen=True, slots=True)
class Section:
    """A closed cross-section: x is the projection from the wall, y is up; edge i runs from point i to point i + 1.

    Points are counter-clockwise, without a repeated last point. `bare` holds the numbers of the edges without coat.
    `turned`: the points were typed clockwise, so the edges had other numbers then (`typed_edge`).
    """

    points: tuple[Point, ...]
    bare: frozenset[int] = frozenset()
    turned: bool = False

    def typed_edge(self, edge: int) -> int:
        """Return the number that an edge had when the section was typed, or the other way round."""
        return len(self.points) - 1 - edge if self.turned else edge


@dataclass(frozen=True, slots=True)
class Outline:
    """A closed outline with holes, mm: the outer ring counter-clockwise, holes clockwise, no repeated last point."""

    outer: Ring
    holes: tuple[Ring, ...] = ()

    @property
    def rings(self) -> tuple[Ring, ...]:
        """Return the outer ring and the holes, as an even-odd fill wants them."""
        return (self.outer, *self.holes)


@dataclass(frozen=True, slots=True)
class End:
    """One end of a stick, left or right as seen from the front. `angle` is the angle between the two walls, degrees."""

    kind: EndKind
    angle: float | None = None


@dataclass(frozen=True, slots=True)
class Stick:
    """Foam pieces that are alike: mark, count, lengths of the foam at its long and its short side, ends, blank.

    `mark` is the piece mark ("A1"); `qty` counts the pieces of that mark in the whole line. `front` and `wall` are
    the foam lengths measured along the front (largest projection) and along the wall face. The mitres of a frame's
    side lie in its face (`flat`): there `front` is the outer edge and `wall` the edge at the opening. `overall` goes
    from the outermost point at the left to the outermost at the right; between an outside and an inside corner it is
    more than both. `run` names the run along a wall, or which part of its piece this is ("left", "core"). `gives` is
    how many pieces are wired out of one blank.
    """

    mark: str
    qty: int
    front: float
    wall: float
    left: End
    right: End
    blank: Box
    run: str = ""
    overall: float = 0.0
    flat: bool = False
    gives: int = 1

    @property
    def long(self) -> float:
        """Return the length over all: what must fit in the blank."""
        return max(self.front, self.wall, self.overall)


@dataclass(frozen=True, slots=True)
class Run:
    """One wall run worked out: wall + both extensions = foam_long = the sum of `pieces` (in mm).

    `qty` counts the runs in the whole line.
    """

    name: str
    qty: int
    wall: float
    finished_long: float
    foam_long: float
    pieces: tuple[float, ...]
    left: End
    right: End
    left_mitre: float
    right_mitre: float
    left_extension: float
    right_extension: float


@dataclass(frozen=True, slots=True)
class FrameSide:
    """One pair of sides of a mitred frame: short points at the opening, long points outside."""

    side: Literal["head/sill", "leg"]
    qty: int
    finished_short: float
    finished_long: float
    foam_short: float
    foam_long: float


@dataclass(frozen=True, slots=True)
class Blank:
    """Blanks of one size: how many, the marks of the pieces that are cut from them, and how many each one gives."""

    size: Box
    qty: int
    marks: tuple[str, ...] = ()
    gives: int = 1


@dataclass(frozen=True, slots=True)
class Face:
    """What a section (finished or foam) measures, mm and mm²; `coated_girth` is 0 on a foam section."""

    outline: tuple[Point, ...]
    width: float
    height: float
    area: float
    centroid_x: float
    coated_girth: float = 0.0
    centroid_y: float = 0.0


@dataclass(frozen=True, slots=True)
class Quantities:
    """Whole-line quantities: mm³, mm², mm, kg, minutes."""

    core_volume: float
    blank_volume: float
    core_mass: float
    coat_area: float
    wire_length: float
    wire_minutes: float


@dataclass(frozen=True, slots=True)
class Note:
    """A remark that the trade needs to see: a code for machines, a sentence for people."""

    code: str
    text: str


@dataclass(frozen=True, slots=True)
class Figure:
    """One figure of a part: `key` is its name in the cut list, `label` the words beside it on page and paper.

    `value` is in mm, mm², mm³, kg, degrees, kPa or N, as `of` says; a tuple or a mapping holds several of one measure.
    `of` "rows": a tuple of rows, each a tuple of figures; "fine": a length said to 1/64 in; "bulk": a volume of
    anything but foam.
    """

    key: str
    label: str
    value: Any
    of: Measure


@dataclass(frozen=True, slots=True)
class Size:
    """A dimension in a view, from `a` to `b`, `row` rows of figures to the left of that direction (below 0: right)."""

    a: Point
    b: Point
    of: Sized
    row: float = 1.0


@dataclass(frozen=True, slots=True)
class View:
    """One picture of a part as plain geometry, mm, y upwards; the drawings give it lines, hatches and figures.

    `foam`, `finished` and `blank` are rings (even-odd), `lines` axes, joints and hidden edges, `labels` words.
    Where many parts come out of one face, `numbers` count them, each at a spot well inside its part, and `kerf` is what
    the wire takes between them.
    """

    name: str
    foam: tuple[Ring, ...]
    finished: tuple[Ring, ...] = ()
    blank: tuple[Ring, ...] = ()
    lines: tuple[tuple[Point, ...], ...] = ()
    sizes: tuple[Size, ...] = ()
    labels: tuple[tuple[Point, str], ...] = ()
    numbers: tuple[Point, ...] = ()
    kerf: float = 0.0


@dataclass(frozen=True, slots=True)
class Asks:
    """What cutting a part asks of a machine, mm, 0: nothing. `may_turn`: travel and height may change places."""

    what: str
    wire: float = 0.0
    travel: float = 0.0
    height: float = 0.0
    swing: float = 0.0
    centres: float = 0.0
    may_turn: bool = False


@dataclass(frozen=True, slots=True)
class Loose:
    """Shapes of one thickness that lie as the foam wants them: `of` ("capitals", "tallest") says what is `high`, mm."""

    of: str
    high: float
    thick: float


@dataclass(frozen=True, slots=True)
class Worked:
    """One line worked out: everything that the cut list, the order page and the sheets say about it.

    `loose`: the finished size of letters and shapes in words; their `finished` is a box round one slab's. `part` holds
    the figures of the kind, `sprung` those of a sprung moulding, `wire` the kerf and the wire's path;
    without `views` the section is the picture. `asks` is what the machine must have room for.
    """

    mark: str
    kind: str
    grade: str
    parts: int
    finished: Face | Box
    foam: Face | Box
    runs: tuple[Run, ...]
    frames: tuple[FrameSide, ...]
    sticks: tuple[Stick, ...]
    blanks: tuple[Blank, ...]
    quantities: Quantities
    notes: tuple[Note, ...] = ()
    part: tuple[Figure, ...] = ()
    sprung: tuple[Figure, ...] = ()
    wire: tuple[Figure, ...] = ()
    views: tuple[View, ...] = ()
    asks: tuple[Asks, ...] = ()
    loose: Loose | None = None


@dataclass(frozen=True, slots=True)
class Placed:
    """A leaf of a cutting plan in its opened piece: blank, remnant or waste; position and size in micrometres."""

    kind: Literal["blank", "remnant", "waste"]
    name: str
    pos: Triple
    size: Triple


@dataclass(frozen=True, slots=True)
class SawStep:
    """One edge-to-edge cut, in the order it is made.

    `axis` 0, 1, 2 is x, y, z of the opened piece; `at_um` is the setting from the datum face of the piece in
    hand (`pos`, `size`: where that piece lies in the opened one). `action` is the saw hand's word; `datum`, `off` and
    `rest` say in words where to measure from, what comes off and what stays in hand.
    """

    number: int
    action: Literal["slab", "rip", "cross"]
    axis: int
    at_um: int
    pos: Triple
    size: Triple
    datum: str
    off: str
    rest: str


@dataclass(frozen=True, slots=True)
class OpenedPiece:
    """One block or remnant of a plan, with its leaves and its numbered cuts; sizes in micrometres."""

    source: str
    grade: str
    size: Triple
    placed: tuple[Placed, ...]
    steps: tuple[SawStep, ...]
