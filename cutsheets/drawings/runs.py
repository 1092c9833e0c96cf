"""Sticks of a wall run from above: wall at the top, face towards the reader, so that right is right on the bench.

The strip is not to scale: a stick is as wide as its mark, since what matters is the order and the hand of the ends.
Like sticks are named together ("A2–A5"), and the lengths of a run are added up in words that can be checked by hand.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from itertools import groupby

from cutsheets.drawings.lettering import Figure, Parts, feet_parts, length_parts, text_width
from cutsheets.drawings.scene import Dimension, Polygon, Polyline, Scene, Shape, Text, rectangle
from cutsheets.runs import mitre
from cutsheets.solids import End, Run, Stick
from cutsheets.units import Unit, read_length, say

MOST_CELLS = 8  # above, like neighbours share one cell
DEEP = 1.6  # depth of a strip, in text heights
NOISE = 1e-4  # mm: lengths this near to each other are one length


@dataclass(frozen=True, slots=True)
class Like:
    """Sticks that are cut alike: one of them, all their marks, and how many pieces that makes."""

    stick: Stick
    marks: tuple[str, ...]
    qty: int


def group_sticks(sticks: Iterable[Stick], *, by_run: bool = False) -> tuple[Like, ...]:
    """Return like sticks together, in the order in which each first comes.

    `by_run` keeps those of different runs apart: a left and a right part measure the same.
    """
    groups: dict[object, list[Stick]] = {}
    for stick in sticks:
        groups.setdefault((_likeness(stick), by_run and stick.run), []).append(stick)
    return tuple(Like(same[0], tuple(s.mark for s in same), sum(s.qty for s in same)) for same in groups.values())


def one_a_mark(sticks: Iterable[Stick]) -> tuple[Stick, ...]:
    """Return each mark once: where its pieces come out of several faces it stands there several times."""
    return tuple({stick.mark: stick for stick in sticks}.values())


def name_marks(marks: Sequence[str]) -> str:
    """Return marks in as few words as possible, in the order given.

    >>> name_marks(["A1", "A2", "A3", "A5", "B1", "sill"])
    'A1–A3, A5, B1, sill'
    """
    runs: list[list[str]] = []
    for mark in marks:
        if runs and _follows(runs[-1][-1], mark):
            runs[-1].append(mark)
        else:
            runs.append([mark])
    return ", ".join(run[0] if len(run) == 1 else f"{run[0]}–{run[-1]}" for run in runs)


def end_words(end: End, *, flat: bool = False) -> str:
    """Return the end of a stick in the cutter's words; the saw angle of a mitre is half the turn of the wall.

    The sides of a frame lie `flat`: all their mitres go the same way, and no wall turns.

    >>> end_words(End("outside", 90)), end_words(End("inside", 135)), end_words(End("splice"))
    ('mitre 45° outside', 'mitre 22.5° inside', 'splice')
    >>> end_words(End("outside", 90), flat=True)
    'mitre 45°'
    """
    if end.kind in {"outside", "inside"}:
        return f"mitre {mitre(end):.4g}°" + ("" if flat else f" {end.kind}")
    return end.kind


def corner_words(end: End) -> str:
    """Return the end of a sprung stick by its corner: on the bench it is cut to a mitre and a bevel of its own.

    >>> corner_words(End("inside", 135)), corner_words(End("splice"))
    ('135° inside', 'splice')
    """
    return f"{end.angle:g}° {end.kind}" if end.angle is not None else end.kind


def strip_scene(sticks: Sequence[Stick], unit: Unit, *, text: float = 10.0, lengths: bool = True) -> Scene:
    """Return the sticks of one run, or one piece on its own, in wall order from left to right.

    `lengths` adds the long point of every stick and of the whole run below (for the office; the cutter has a table).
    """
    groups = [[stick] for stick in sticks]
    if len(sticks) > MOST_CELLS:
        groups = [list(group) for _, group in groupby(sticks, _likeness)]
    shapes: list[Shape] = []
    x = 0.0
    for group in groups:
        cell = _Cell(x, tuple(group), text)
        shapes += cell.shapes()
        if lengths:
            each = length_parts(group[0].long, unit)
            shapes.append(Text((cell.centre, -text), each, 0.8 * text, "dim", "figures"))
        x += cell.width
    flat = sticks[0].flat  # the side of a frame: its mitres lie in its face, and no wall is near
    sides = (("opening" if flat else "wall", (DEEP - 0.3) * text), ("outside" if flat else "face", 0.3 * text))
    shapes += [Text((-0.4 * text, y), (word,), 0.7 * text, "label", "text", "end") for word, y in sides]
    if not flat:
        wall = rectangle(0, DEEP * text, x, (DEEP + 0.5) * text)
        shapes.append(Polygon((wall,), role=None, hatch=0.35 * text))
    if lengths and len(sticks) > 1:
        total = length_parts(sum(stick.long for stick in sticks), unit)
        shapes.append(Dimension((0, -text), (x, -text), -1.5 * text, total, text))
    return Scene(tuple(shapes))


def check_parts(run: Run, unit: Unit) -> Parts:
    """Return the check line of a run: its pieces added up, and the same from the wall.

    Lengths are exact and only printed rounded, so the printed figures may miss the sum by a sixteenth; then it is said.
    """
    counted = [(len(list(same)), length) for length, same in groupby(run.pieces, lambda piece: round(piece, 4))]
    line: list[str | Figure] = []
    for count, length in counted:
        line += [" + " if line else "", f"{count} × " if count > 1 else "", *length_parts(length, unit)]
    if len(run.pieces) > 1:
        line += [" = ", *length_parts(run.foam_long, unit)]
    line += [" = ", *(feet_parts(run.wall) if unit == "in" else length_parts(run.wall, unit)), " wall"]
    both = sorted((run.left_extension, run.right_extension), reverse=True)
    ends = [end for end in both if abs(end) > NOISE]  # what is added comes first: a run and its mirror say the same
    if len(ends) == 2 and abs(ends[0] - ends[1]) < NOISE:
        line += [" + " if ends[0] > 0 else " − ", "2 × ", *length_parts(abs(ends[0]), unit)]
    else:
        for end in ends:
            line += [" + " if end > 0 else " − ", *length_parts(abs(end), unit)]
    if not _adds_up(counted, ends, run, unit):
        line.append(", each figure rounded")
    return tuple(part for part in line if part != "")


@dataclass(frozen=True, slots=True)
class _Cell:
    """One stick of a strip, or like ones under one name."""

    left: float
    sticks: tuple[Stick, ...]
    text: float

    @property
    def slants(self) -> tuple[float, float]:
        """Return by how much the face goes beyond the wall at both ends; less than 0 where it falls short."""
        return _slant(self.sticks[0].left, self.text), _slant(self.sticks[-1].right, self.text)

    @property
    def name(self) -> str:
        return name_marks([stick.mark for stick in self.sticks])

    @property
    def width(self) -> float:
        slants = sum(abs(slant) for slant in self.slants)
        return max(text_width(self.name, "figures", self.text) + self.text + slants, 4 * self.text)

    @property
    def centre(self) -> float:
        left, right = (abs(slant) for slant in self.slants)
        return self.left + (self.width + left - right) / 2

    def shapes(self) -> Iterator[Shape]:
        """Yield the stick, its mitres drawn heavy, and its mark."""
        (left, right), end, high = self.slants, self.left + self.width, DEEP * self.text
        near = (self.left + max(0.0, -left), self.left + max(0.0, left))  # at the face, at the wall
        far = (end - max(0.0, -right), end - max(0.0, right))
        yield Polygon((((near[0], 0.0), (far[0], 0.0), (far[1], high), (near[1], high)),), fill="foam")
        for slant, (face, wall) in ((left, near), (right, far)):
            if slant:
                yield Polyline(((face, 0.0), (wall, high)), "chalk", "cut")
        yield Text((self.centre, high / 2), (self.name,), self.text, "label", "figures")


def _likeness(stick: Stick) -> object:
    return (round(stick.front, 4), round(stick.wall, 4), stick.left, stick.right, stick.blank)


def _slant(end: End, text: float) -> float:
    if end.kind not in {"outside", "inside"}:
        return 0.0
    slant = min(1.5, max(0.3, math.tan(math.radians(min(80.0, mitre(end)))))) * DEEP * text / 1.6
    return slant if end.kind == "outside" else -slant


def _follows(first: str, second: str) -> bool:
    """Return whether the second mark is the next number with the same letters before it."""
    a, b = (re.fullmatch(r"(.*?)(\d+)", mark) for mark in (first, second))
    return bool(a and b and a[1] == b[1] and int(b[2]) == int(a[2]) + 1)


def _adds_up(counted: list[tuple[int, float]], ends: list[float], run: Run, unit: Unit) -> bool:
    """Return whether the printed figures of a check line add up as they stand."""

    def shown(mm: float) -> Decimal:
        return (-1 if mm < 0 else 1) * read_length(say(abs(mm), unit), unit)

    total = shown(run.foam_long)
    pieces = sum(count * shown(length) for count, length in counted)
    return pieces == total == shown(run.wall) + sum(shown(end) for end in ends)
