"""Rows of interlocked cells on a face of a certain width: how many parts they give below every height."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from cutsheets.nesting.interlock import Cell, Part, Shapes, is_row, next_rows, pitches

NOISE = 1e-9  # of the face: what fits but for float noise fits
STRETCHED = 3  # rows with so many cells less than fit are tried: wider apart, the next may nest deeper
BEST = 5  # rows of which that is tried
CLOSEST = 2  # next rows that are tried
PHASES = 6  # places of the first cell, that are counted for blocks
Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Rows:
    """Cells `pitch` apart along x; the next row lies `shift` along and `rise` up."""

    cell: Cell
    pitch: float
    shift: float
    rise: float

    @property
    def steps(self) -> tuple[float, ...]:
        """Return the steps from cell to cell and from row to row, less float noise."""
        return tuple(round(step, 4) for step in (self.pitch, self.shift, self.rise))

    @property
    def spots(self) -> tuple[tuple[float, bool, float, float], ...]:
        """Return how the parts of a cell lie and where, less float noise."""
        return tuple((part.turn, part.mirrored, round(part.x, 4), round(part.y, 4)) for part in self.cell.parts)

    @property
    def foam(self) -> float:
        """Return the area that a part takes in endless rows, less float noise."""
        return round(self.pitch * self.rise / len(self.cell.parts), 4)


@dataclass(frozen=True, slots=True)
class Stack:
    """How many parts rows give below each height, both rising, and where the first cell lies for that."""

    rows: Rows
    width: float
    heights: Floats
    counts: NDArray[np.int32]
    starts: Floats

    def parts(self, shapes: Shapes, number: int) -> list[Part]:
        """Return the parts below a height, given by its number."""
        x0, y0 = self.starts[number]
        found = []
        for part, lines in _rows_of(shapes, self.rows, y0, self.heights[number]):
            left, right = _along(shapes, part, self.width)
            for j in lines:
                x = left + _phase(np.array(x0 + j * self.rows.shift - left), self.rows.pitch).item()
                y = y0 + j * self.rows.rise
                for k in range(math.floor((right - x) / self.rows.pitch + NOISE) + 1):
                    found.append(Part(part.turn, part.mirrored, x + k * self.rows.pitch + part.x, y + part.y))
        return found


def closest(found: Iterable[Cell]) -> list[Rows]:
    """Return the rows of cells as close as they can repeat, each once: the same for every face."""
    every = (rows for cell in found for rows in _rows(cell, pitches(cell.near)[:1]))
    return list({(rows.steps, rows.spots): rows for rows in every}.values())


def stacks(shapes: Shapes, found: Sequence[Rows], face: tuple[float, float]) -> list[Stack]:
    """Return what rows give on a face; those of the best cells are tried wider apart too."""
    plain = _stacked(shapes, found, face)
    best = unlike(plain)[:BEST]
    wider = [rows for each in best for rows in _rows(each.rows.cell, _wider(shapes, each.rows, face[0]))]
    return plain + _stacked(shapes, wider, face)


def unlike(found: Iterable[Stack]) -> list[Stack]:
    """Return one stack of those whose rows have the same steps, the fullest first."""
    differing = {stack.rows.steps: stack for stack in sorted(found, key=lambda stack: stack.counts[-1])}
    return sorted(differing.values(), key=lambda stack: -stack.counts[-1])


def _rows(cell: Cell, along: Iterable[float]) -> Iterator[Rows]:
    for pitch in along:
        for shift, rise in next_rows(cell.near, (pitch, 0.0), CLOSEST):
            yield Rows(cell, pitch, shift, rise)


def _stacked(shapes: Shapes, found: Iterable[Rows], face: tuple[float, float]) -> list[Stack]:
    return [each for rows in found if (each := stacked(shapes, rows, *face))]


def _wider(shapes: Shapes, rows: Rows, width: float) -> list[float]:
    """Return pitches at which some parts of a row touch both sides of the face."""
    ends = [_along(shapes, part, width) for part in rows.cell.parts]
    found = set()
    for left, _ in ends:
        for _, right in ends:
            times = math.floor((right - left) / rows.pitch * (1 + NOISE))
            found |= {(right - left) / n for n in range(max(times - STRETCHED, 1), times + 1)}
    return [pitch for pitch in sorted(found) if pitch > rows.pitch and is_row(rows.cell.near, (pitch, 0.0))]


def stacked(shapes: Shapes, rows: Rows, width: float, height: float) -> Stack | None:
    """Return the table of one way to lay rows, None where nothing fits. O(rows²)."""
    tables = [table for y0 in _bases(shapes, rows) if (table := _table(shapes, rows, y0, (width, height)))]
    if not tables:
        return None
    heights, counts, starts = (np.concatenate(each) for each in zip(*tables, strict=True))
    kept = rising(heights, counts)
    return Stack(rows, width, heights[kept], counts[kept], starts[kept]) if len(kept) else None


def rising(heights: Floats, counts: NDArray[np.int32]) -> NDArray[np.intp]:
    """Return the numbers of those that give more than all lower ones, the lowest first."""
    order = np.lexsort((-counts, heights))
    most = np.maximum.accumulate(np.concatenate([[0], counts[order]]))
    return order[counts[order] > most[:-1]]


def _table(
    shapes: Shapes, rows: Rows, y0: float, face: tuple[float, float]
) -> tuple[Floats, NDArray[np.int32], Floats] | None:
    """Return heights, counts and starts for a first row of cells at y0, with the best x for each height."""
    lines = _lines(shapes, rows, y0, face[1])
    if lines is None:
        return None
    x0, (below,) = _below(rows, lines, np.array(face[:1]))
    best = below.argmax(axis=0)
    return lines.tops, below.max(axis=0), np.column_stack([x0[best], np.full(len(lines.tops), y0)])


def counted(shapes: Shapes, rows: Rows, widths: Floats, heights: Floats) -> NDArray[np.int32]:
    """Return how many parts rows give in blocks of every one of these widths and heights."""
    counts = np.zeros((len(widths), len(heights)), dtype=np.int32)
    reached = heights + NOISE * heights.max()
    for y0 in _bases(shapes, rows):
        if lines := _lines(shapes, rows, y0, float(heights.max())):
            most = _below(rows, lines, widths, PHASES)[1].max(axis=1)
            found = np.hstack([np.zeros((len(widths), 1), dtype=np.int32), most])
            counts = np.maximum(counts, found[:, np.searchsorted(lines.tops, reached, side="right")])
    return counts


@dataclass(frozen=True, slots=True)
class _Lines:
    """Parts of rows that lie on one line each, the lowest first: how high they reach, where the cell lies for that.

    On a face of a width the cell lies from `left` to `right` + that width. A line is shifted to the one below it.
    """

    tops: Floats
    left: Floats
    right: Floats
    shifts: Floats


def _bases(shapes: Shapes, rows: Rows) -> Iterator[float]:
    """Yield where the first cell lies for each of its parts to stand on the edge of the face."""
    for part in rows.cell.parts:
        yield -part.y - shapes.bounds((part.turn, part.mirrored))[1]


def _lines(shapes: Shapes, rows: Rows, y0: float, height: float) -> _Lines | None:
    parts = list(_rows_of(shapes, rows, y0, height))
    number = np.concatenate([np.arange(lines.start, lines.stop) for _, lines in parts])
    if not len(number):
        return None
    which = np.repeat(np.arange(len(parts)), [len(lines) for _, lines in parts])
    ends = np.array([_along(shapes, part, 0.0) for part, _ in parts])
    reach = np.array([y0 + part.y + shapes.bounds((part.turn, part.mirrored))[3] for part, _ in parts])
    tops = reach[which] + number * rows.rise
    order = np.argsort(tops, kind="stable")
    left, right = ends[which[order]].T
    return _Lines(tops[order], left, right, number[order] * rows.shift)


def _below(rows: Rows, lines: _Lines, widths: Floats, places: int | None = None) -> tuple[Floats, NDArray[np.int32]]:
    """Return places of the first cell, and how many parts lie below every line: for each width, each place.

    `places`: so many are looked at, where there are more.
    """
    x0 = np.unique(np.round(_phase(lines.left - lines.shifts, rows.pitch), 9))
    x0 = x0[:: math.ceil(len(x0) / places)] if places else x0
    at = x0[:, None] + lines.shifts
    before = np.floor((at - lines.left) / rows.pitch + (1 + NOISE))
    held = np.floor(((lines.right - at) / rows.pitch + NOISE) + (widths / rows.pitch)[:, None, None]) + before
    return x0, np.cumsum(np.maximum(held, 0, out=held), axis=2, dtype=np.int32)


def _rows_of(shapes: Shapes, rows: Rows, y0: float, height: float) -> Iterator[tuple[Part, range]]:
    """Yield each part of the cell with the numbers of the rows in which it lies between 0 and a height."""
    for part in rows.cell.parts:
        _, low, _, high = shapes.bounds((part.turn, part.mirrored))
        begin = math.ceil((-part.y - low - y0 - NOISE * height) / rows.rise)
        end = math.floor((height - part.y - high - y0 + NOISE * height) / rows.rise)
        yield part, range(begin, max(end + 1, begin))


def _along(shapes: Shapes, part: Part, width: float) -> tuple[float, float]:
    """Return between which x the cell may lie for its part to be on the face."""
    left, _, right, _ = shapes.bounds((part.turn, part.mirrored))
    return -part.x - left, width - part.x - right


def _phase(x: Floats, pitch: float) -> Floats:
    """Return x in a row that repeats every pitch, from 0 on; a pitch less noise is 0."""
    phase = np.mod(x, pitch)
    return np.where(phase > pitch * (1 - NOISE), 0.0, phase)


def spans(shapes: Shapes, rows: Rows, most: float) -> Floats:
    """Return how long rows of some parts are from end to end, up to `most`."""
    ends = [_along(shapes, part, 0.0) for part in rows.cell.parts]
    most_times = math.ceil(most / rows.pitch) + 1
    times = np.arange(-most_times, most_times + 1) * rows.pitch
    found = np.concatenate([left - right + times for left, _ in ends for _, right in ends])
    return found[(found >= min(left - right for left, right in ends)) & (found <= most)]
