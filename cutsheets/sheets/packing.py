"""The pieces of an order as the coat bench and the packer have them: coat, mesh and weight of each, and the bundles.

Whole-line figures are those of `Worked.quantities`; here they are shared out among the pieces. Of a moulding the share
is the piece's own: its coat is each coated edge × the piece's length at the middle of that edge, and a whole section
for a capped end; its foam is the section × its length at the centroid. Other parts share by their length.

Mesh: the coat, and one lap along each of the two long edges of every piece. Bundles: pieces of one line in the order
of their marks, until the shop's count is reached, until the next piece would make it heavier than one person lifts, or
until pieces are too unlike in length to lie together. Laps, count and lengths are common practice, no source.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field, replace

from cutsheets.costing import MM3_PER_M3, core_volume
from cutsheets.drawings.profile import coated_edges
from cutsheets.drawings.runs import corner_words, end_words, group_sticks, name_marks
from cutsheets.errors import CutsheetError
from cutsheets.runs import SQUARE, lean
from cutsheets.sheets.page import NO_BREAK
from cutsheets.solids import Box, Face, Stick, Worked

LIFT = 23.0  # kg, 51 lb: load constant of the revised NIOSH lifting equation (Publication 94-110), the most there is
UNLIKE = 2.0  # the longest piece of a bundle is at most so many times as long as its shortest
MOST_BUNDLES = 999
LAPS = 2  # of mesh, one along each long edge of a piece
HANDS = ("left", "right")
NO_BLANK = Box(0.0, 0.0, 0.0)


@dataclass(frozen=True, slots=True)
class Coat:
    """A coat of a line.

    `name`: the shop's ("Base coat and mesh 1/8"), `faces`: what is coated and what stays bare. `thick`: mm. `hours`
    of cure, 0: not known. `lap`: of the mesh, mm, 0: no mesh. `density`: kg/m³, 0: not known.
    """

    name: str
    faces: str
    thick: float
    hours: int = 0
    lap: float = 0.0
    density: float = 0.0


@dataclass(frozen=True, slots=True)
class Pieces:
    """Pieces of a line that are alike.

    `marks`: piece marks with how many pieces bear each. `long`: mm of foam, 0: not known one by one. `ends`: hand and
    ends in words. `coat`: mm² of one piece, `caps` of it on its ends. `kg`: of one piece, with its coat.
    """

    marks: tuple[tuple[str, int], ...]
    long: float
    ends: str
    coat: float
    caps: float
    kg: float

    @property
    def names(self) -> str:
        """Return the marks in as few words as possible: “A2–A5”."""
        return name_marks([mark for mark, _ in self.marks])

    @property
    def qty(self) -> int:
        """Return how many pieces there are."""
        return sum(count for _, count in self.marks)

    def mesh(self, lap: float) -> float:
        """Return the mesh of one piece with its laps, mm²."""
        return self.coat + LAPS * lap * self.long if lap and self.coat else 0.0


@dataclass(frozen=True, slots=True)
class PackedLine:
    """A line as it is coated and packed: what the core worked out, its name, its coat, its profile's code."""

    worked: Worked
    what: str
    coat: Coat | None = None
    profile: str = ""
    pieces: tuple[Pieces, ...] = field(init=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "pieces", _pieces(self.worked, self.coat))

    @property
    def kg(self) -> float:
        """Return what all pieces weigh together."""
        return sum(row.qty * row.kg for row in self.pieces)

    @property
    def qty(self) -> int:
        """Return how many pieces there are."""
        return sum(row.qty for row in self.pieces)

    @property
    def girth(self) -> float:
        """Return how far it is across the coated edges of the finished section, mm; 0 for a part without one."""
        return self.worked.finished.coated_girth if self.coat and isinstance(self.worked.finished, Face) else 0.0

    @property
    def mesh(self) -> float:
        """Return the mesh of the whole line, mm²; 0 for a coat without mesh."""
        return sum(row.qty * row.mesh(self.coat.lap) for row in self.pieces) if self.coat else 0.0


@dataclass(frozen=True, slots=True)
class Bundle:
    """What is tied together: its number and how many there are, its line, its marks with their counts, its weight."""

    number: int
    of: int
    line: PackedLine
    marks: tuple[tuple[str, int], ...]
    kg: float

    @property
    def qty(self) -> int:
        """Return how many pieces it holds."""
        return sum(count for _, count in self.marks)

    @property
    def names(self) -> str:
        """Return its marks in as few words as possible; of marks with several pieces each, how many of which."""
        if len(self.marks) > 1 and self.qty > len(self.marks):
            return ", ".join(f"{count}{NO_BREAK}×{NO_BREAK}{mark}" for mark, count in self.marks)
        return name_marks([mark for mark, _ in self.marks])


def make_bundles(lines: Sequence[PackedLine], most: int) -> tuple[Bundle, ...]:
    """Return the bundles of an order, at most so many pieces in each; raises CutsheetError `too-many-bundles`."""
    if sum(-(-line.qty // most) for line in lines) > MOST_BUNDLES:
        raise _too_many()
    tied = [(line, group) for line in lines for group in _groups(line, most)]
    if len(tied) > MOST_BUNDLES:
        raise _too_many()
    return tuple(
        Bundle(number, len(tied), line, _counted(group), sum(row.kg for _, row in group))
        for number, (line, group) in enumerate(tied, 1)
    )


def _too_many() -> CutsheetError:
    return CutsheetError(
        "too-many-bundles",
        f"These are more than {MOST_BUNDLES} bundles; let more pieces go into one, or split the order.",
    )


def _groups(line: PackedLine, most: int) -> Iterator[list[tuple[str, Pieces]]]:
    """Yield the pieces of each bundle, one by one, with their marks."""
    group: list[tuple[str, Pieces]] = []
    each = ((mark, like) for like in line.pieces for mark, count in like.marks for _ in range(count))
    for mark, row in each:
        if group and not _goes_with(row, [held for _, held in group], most):
            yield group
            group = []
        group.append((mark, row))
    if group:
        yield group


def _goes_with(row: Pieces, held: list[Pieces], most: int) -> bool:
    """Return whether one more piece may be tied to those of a bundle."""
    longs = [each.long for each in (*held, row)]
    light = sum(each.kg for each in held) + row.kg <= LIFT
    return len(held) < most and light and max(longs) <= UNLIKE * min(longs)


def _counted(group: list[tuple[str, Pieces]]) -> tuple[tuple[str, int], ...]:
    counts: dict[str, int] = {}
    for mark, _ in group:
        counts[mark] = counts.get(mark, 0) + 1
    return tuple(counts.items())


def _pieces(worked: Worked, coat: Coat | None) -> tuple[Pieces, ...]:
    """Return the pieces of a line, alike ones together, each with its share of coat and weight."""
    sticks = _as_packed(worked)
    thick, density = (coat.thick, coat.density) if coat else (0.0, 0.0)
    area_of = _sharing(worked.quantities.coat_area, sticks, lambda stick: _coated(worked, stick, thick))
    mass_of = _sharing(worked.quantities.core_mass, sticks, lambda stick: _volume(worked, stick))
    rows = []
    for like in group_sticks(sticks, by_run=bool(worked.part)):
        area = area_of(like.stick)
        rows.append(
            Pieces(
                marks=tuple((stick.mark, stick.qty) for stick in sticks if stick.mark in like.marks),
                long=like.stick.long, ends=_ends(worked, like.stick), coat=area,
                caps=_caps(worked, like.stick) if area else 0.0,
                kg=mass_of(like.stick) + area * thick / MM3_PER_M3 * density,
            )
        )  # fmt: skip
    return tuple(rows)


def _as_packed(worked: Worked) -> list[Stick]:
    """Return the sticks, each mark once and without its blank; a single one for all where parts are not sticks."""
    if sum(stick.qty for stick in worked.sticks) != worked.parts:  # panels; letters, many out of one slab
        long = worked.foam.l if isinstance(worked.foam, Box) and not worked.sticks else 0.0
        return [Stick(worked.mark, worked.parts, long, long, SQUARE, SQUARE, NO_BLANK)]
    sticks: dict[str, Stick] = {}
    for stick in worked.sticks:
        earlier = sticks[stick.mark].qty if stick.mark in sticks else 0
        sticks[stick.mark] = replace(stick, qty=earlier + stick.qty, blank=NO_BLANK, gives=1)
    return list(sticks.values())


def _sharing(total: float, sticks: list[Stick], of: Callable[[Stick], float]) -> Callable[[Stick], float]:
    """Return what gives each stick its share of a whole-line figure, in proportion to `of`."""
    whole = sum(stick.qty * of(stick) for stick in sticks)
    return lambda stick: total * of(stick) / whole if whole else 0.0


def _coated(worked: Worked, stick: Stick, thick: float) -> float:
    """Return the coat of a stick of a section, mm²; of any other part its length."""
    finished, foam = worked.finished, worked.foam
    if isinstance(finished, Box) or isinstance(foam, Box):
        return stick.long or 1.0
    ends = (stick.left, stick.right)
    capped = sum(end.kind == "cap" for end in ends)
    if stick.flat:  # a side of a frame: mitred in its face, from the finished opening outwards
        mitred = sum(end.angle is not None for end in ends)
        axis, length = 1, stick.wall - mitred * min(y for _, y in foam.outline)
    else:
        axis, length = 0, stick.wall + capped * thick
    out = sum(map(lean, ends))
    faces = (
        math.dist(a, b) * (length + out * (a[axis] + b[axis]) / 2)
        for a, b in coated_edges(foam=finished, finished=foam)
    )
    return math.fsum(faces) + capped * finished.area


def _caps(worked: Worked, stick: Stick) -> float:
    capped = sum(end.kind == "cap" for end in (stick.left, stick.right))
    return capped * worked.finished.area if isinstance(worked.finished, Face) else 0.0


def _volume(worked: Worked, stick: Stick) -> float:
    """Return the foam of a stick of a section, mm³; of any other part its length."""
    if isinstance(worked.foam, Box):
        return stick.long or 1.0
    return core_volume([replace(stick, qty=1)], worked.foam)


def _ends(worked: Worked, stick: Stick) -> str:
    """Return hand and ends as the packer sees them, the face towards him."""
    if stick.run in HANDS:
        return f"{stick.run.upper()} hand"
    if worked.part:
        return stick.run
    words = corner_words if worked.sprung else end_words
    left, right = words(stick.left), words(stick.right)
    return f"{left} both ends" if left == right else f"{left} left, {right} right"
