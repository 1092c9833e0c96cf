"""Wall runs, frames and loose pieces, worked out into sticks.

Corners first, then sticks. At an outside corner of two walls at the angle A the front of a part that stands w from the
wall goes beyond the wall's corner by w·tan(turn/2) = w / tan(A/2), turn = 180° - A (plane trigonometry: the joint lies
on the bisector). At an inside corner the wall length already is the long point. A coated free end (cap) gives up the
coat. A splice or a square end adds nothing. The finished part and its foam stand out differently, so each has its own
long length. Then n = ceil(foam length / longest stick): full sticks first, and when the last would be shorter than the
shop's shortest piece, the last full one and it share equally (common practice). Kerf belongs to stock, never to a part.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass

from cutsheets.errors import CutsheetError
from cutsheets.rules import Rules
from cutsheets.solids import Box, End, Face, FrameSide, Run, Stick
from cutsheets.units import Unit, say

SPLICE = End("splice")
SQUARE = End("square")
FRAME_CORNER = End("outside", 90.0)
NOISE = 1e-6  # mm of float noise in a sum of lengths
MOST_STICKS = 1000  # of one run


@dataclass(frozen=True, slots=True)
class WallRun:
    """A wall as measured: its length at the wall face, mm, and its ends; left and right as seen from the front."""

    name: str
    wall: float
    left: End
    right: End
    qty: int = 1


@dataclass(frozen=True, slots=True)
class Frame:
    """Four mitred sides round an opening of this finished size, mm."""

    width: float
    height: float
    qty: int = 1


@dataclass(frozen=True, slots=True)
class Piece:
    """Loose pieces with square, bare ends, mm."""

    length: float
    qty: int = 1


@dataclass(frozen=True, slots=True)
class Cut:
    """A stick before it has a mark and a blank (see `Stick`)."""

    front: float
    wall: float
    overall: float
    left: End
    right: End
    qty: int
    run: str = ""
    flat: bool = False


def mitre(end: End) -> float:
    """Return the saw angle of a corner, half its turn, degrees; 0 at any other end."""
    return (180 - end.angle) / 2 if end.angle is not None else 0.0


def lean(end: End) -> float:
    """Return how much longer the part gets at this end for each mm that it stands out: + outside, - inside corner.

    >>> round(4 * lean(End("outside", 135)), 6), round(4 * lean(End("inside", 90)), 6)
    (1.656854, -4.0)
    """
    if end.angle is None:
        return 0.0
    return (1 if end.kind == "outside" else -1) / math.tan(math.radians(end.angle / 2))


def extension(end: End, width: float, cap: float = 0.0) -> float:
    """Return what an end adds to the wall's length for a part `width` deep, mm; `cap` is taken off a capped end."""
    return -cap if end.kind == "cap" else max(0.0, width * lean(end))


def work_run(run: WallRun, finished: Face, foam: Face, *, coat: float, rules: Rules, where: str = "") -> Run:
    """Return the run with its long lengths and its sticks.

    Raises CutsheetError `run-too-short`, `stick-too-short`, `too-many-sticks`.
    """
    width = reach(foam)
    left, right = extension(run.left, width, coat), extension(run.right, width, coat)
    long = run.wall + left + right
    done = Run(
        name=run.name, qty=run.qty, wall=run.wall,
        finished_long=run.wall + sum(extension(end, reach(finished)) for end in (run.left, run.right)),
        foam_long=long, pieces=share(long, rules, where) if long > NOISE else (),
        left=run.left, right=run.right, left_mitre=mitre(run.left), right_mitre=mitre(run.right),
        left_extension=left, right_extension=right,
    )  # fmt: skip
    if not done.pieces or any(min(cut.front, cut.wall) < NOISE for cut in run_cuts(done, width)):
        if len(done.pieces) > 1:
            raise CutsheetError(
                "stick-too-short",
                "The sticks are shorter than the mitres at their ends; allow a longer stick.",
                "allow.longest_stick",
            )
        raise CutsheetError(
            "run-too-short",
            "This run is shorter than its mitres and caps take; check the length and whether a corner is inside.",
            where,
        )
    return done


def reach(face: Face) -> float:
    """Return how far a section stands out from the wall face (x = 0), mm."""
    return max(x for x, _ in face.outline)


def share(long: float, rules: Rules, where: str = "") -> tuple[float, ...]:
    """Return the stick lengths of a run that is `long` over all, left to right, mm.

    >>> share(240, Rules(longest_stick=96, shortest_piece=24)), share(200, Rules(longest_stick=96, shortest_piece=24))
    ((96, 96, 48), (96, 52.0, 52.0))
    """
    longest = rules.longest_stick
    count = max(1, math.ceil((long - NOISE) / longest))
    if count > MOST_STICKS:
        raise CutsheetError(
            "too-many-sticks", f"This needs {count} sticks; check the length and the longest stick.", where
        )
    last = long - (count - 1) * longest
    if count > 1 and last < rules.shortest_piece - NOISE:
        return (longest,) * (count - 2) + ((longest + last) / 2,) * 2
    return (longest,) * (count - 1) + (last,)


def one_stick(long: float, rules: Rules, unit: Unit, where: str) -> None:
    """Raise CutsheetError `part-too-long` where a part that cannot be spliced is longer than the longest stick."""
    if long > rules.longest_stick + NOISE:
        most = say(rules.longest_stick, unit, "down")
        raise CutsheetError(
            "part-too-long",
            f"This part is in one piece, and the longest stick is {most} {unit}; shorten it, or allow a longer stick.",
            where,
        )


def run_cuts(run: Run, width: float, *, flat: bool = False) -> Iterator[Cut]:
    """Yield the sticks of a run from left to right, for foam that stands out by `width`."""
    for i, long in enumerate(run.pieces):
        left = run.left if i == 0 else SPLICE
        right = run.right if i == len(run.pieces) - 1 else SPLICE
        over = [width * lean(end) for end in (left, right)]
        wall = long - sum(max(0.0, by) for by in over)
        yield Cut(wall + sum(over), wall, long, left, right, run.qty, run.name, flat)


def piece_cuts(piece: Piece, rules: Rules, where: str = "") -> Iterator[Cut]:
    """Yield the sticks of loose pieces: one each, or spliced where a piece is longer than the longest stick."""
    lengths = share(piece.length, rules, where)
    for i, long in enumerate(lengths):
        left, right = (SQUARE if i == 0 else SPLICE), (SQUARE if i == len(lengths) - 1 else SPLICE)
        yield Cut(long, long, long, left, right, piece.qty)


def frame_sides(frame: Frame, finished: Face, foam: Face) -> tuple[FrameSide, FrameSide]:
    """Return head/sill and legs of a frame whose section lies flat: x thickness, y width, opening edge at y = 0.

    A side at the height y of the section is as long as the opening + 2y; coat on the opening edge moves the foam's
    opening edge to y = coat, so its opening is larger by one coat on each side.
    """
    outer = max(y for _, y in finished.outline)
    low, high = _span(foam)

    def side(name: str, opening: float) -> FrameSide:
        return FrameSide(
            side=name, qty=2 * frame.qty,  # type: ignore[arg-type]
            finished_short=opening, finished_long=opening + 2 * outer,
            foam_short=opening + 2 * low, foam_long=opening + 2 * high,
        )  # fmt: skip

    return side("head/sill", frame.width), side("leg", frame.height)


def frame_cuts(side: FrameSide, foam: Face, rules: Rules, where: str = "") -> Iterator[Cut]:
    """Yield the sticks of one side of a frame; both mitres lie in its face and their long points are outside."""
    low, high = _span(foam)
    run = Run(
        name=side.side, qty=side.qty, wall=side.foam_short, finished_long=side.finished_long, foam_long=side.foam_long,
        pieces=share(side.foam_long, rules, where), left=FRAME_CORNER, right=FRAME_CORNER, left_mitre=45.0,
        right_mitre=45.0, left_extension=high - low, right_extension=high - low,
    )  # fmt: skip
    yield from run_cuts(run, high - low, flat=True)


def mark_sticks(mark: str, cuts: list[Cut], blank_of: Callable[[float], Box]) -> tuple[Stick, ...]:
    """Return the sticks with piece marks (A1, A2 … in the order given), each with the blank for its length."""

    def stick(number: int, cut: Cut) -> Stick:
        return Stick(
            mark=f"{mark}{number}", qty=cut.qty, front=cut.front, wall=cut.wall, left=cut.left, right=cut.right,
            blank=blank_of(cut.overall), run=cut.run, overall=cut.overall, flat=cut.flat,
        )  # fmt: skip

    return tuple(stick(number, cut) for number, cut in enumerate(cuts, 1))


def _span(face: Face) -> tuple[float, float]:
    """Return the lowest and the highest y of a section."""
    heights = [y for _, y in face.outline]
    return min(heights), max(heights)
