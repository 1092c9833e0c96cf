"""Faces laid in blocks of rows, some along x and some along y: cut apart straight through, or in a pinwheel.

As boxes are laid on pallets: blocks beside each other, and four round a fifth (Steudel, Management Science 25 (1979)
997-1004; Bischoff and Dowsland, Journal of the Operational Research Society 33 (1982) 271-280; both *(memory)*). Each
of them may be cut in two again. Between blocks lies one kerf.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence

import numpy as np
from numpy.typing import NDArray

from cutsheets.nesting.interlock import Part, Shapes
from cutsheets.nesting.rows import Stack, counted, rising, spans, stacked, unlike

SOURCES = 3  # fullest and densest rows of each right angle, whose lengths and heights are tried as sides of blocks
KINDS = 12  # fullest rows of each right angle, that blocks are filled with
# Of how many parts of a side one length each is looked at; how many are tried, those of most gain, and what they leave.
STRAIGHT, ROUND = (800, 100), (100, 40)
PROBES = 80  # lengths of the other side, by which a length is judged
PARTS = 100  # on a face: of more, fewer lengths are looked at
DEPTH = 3  # times that blocks are cut in two
NOISE = 1e-9  # of the face
Counts = NDArray[np.int32]
Indices = NDArray[np.intp]
Lengths = NDArray[np.float64]
Room = tuple[float, float]
Fine = tuple[int, int]


def in_blocks(shapes: Shapes, along_x: Sequence[Stack], along_y: Sequence[Stack], room: Room) -> list[list[Part]]:
    """Return the fullest face that is cut straight through and, where it is fuller, the fullest pinwheel."""
    if not along_x or not along_y:
        return []
    fullest = max(int(stack.counts[-1]) for stack in (*along_x, *along_y))
    share = min(PARTS / fullest, 1.0)
    fine = max(int(STRAIGHT[0] * share**2), ROUND[0]), max(int(STRAIGHT[1] * share), ROUND[1])
    straight = Blocks(shapes, (along_x, along_y), room, fine).straight()
    return [straight, Blocks(shapes, (along_x, along_y), room, ROUND).pinwheel(len(straight))]


class Side:
    """Widths of blocks, rising: the first is that of no block at all, the last that of the face."""

    def __init__(self, some: Lengths, whole: float, kerf: float) -> None:
        left = whole - kerf - some
        self.kerf, self.noise = kerf, NOISE * whole
        self.sizes = np.unique(np.concatenate([[-kerf], some, left[left > 0], [whole]]))
        numbers = np.arange(len(self.sizes))
        self.one = np.minimum(numbers, numbers[:, None])  # of two that go into a width: no wider than that
        self.other = self.rest(numbers[:, None], self.one)
        narrower = (self.one <= self.other).sum(axis=1) - 1
        self.halves = np.minimum(narrower, numbers)  # up to here the first of two is the narrower one

    def rest(self, whole: Indices | int, less: Indices) -> Indices:
        """Return the number of the widest that goes beside another one into a width; 0 where none does."""
        room = self.sizes[whole] - self.sizes[less] - self.kerf + self.noise
        numbers: Indices = np.maximum(np.searchsorted(self.sizes, room, side="right") - 1, 0)
        return numbers

    def beside(self, number: int) -> float:
        """Return where a block begins that lies beside one of this width."""
        return float(self.sizes[number]) + self.kerf

    def last(self, number: int) -> float:
        """Return where a block of this width begins that ends with the face."""
        return float(self.sizes[-1] - self.sizes[number])


class Blocks:
    """How many parts blocks hold, by the numbers of their width and height: of rows, then cut in two, and again."""

    def __init__(self, shapes: Shapes, rows: tuple[Sequence[Stack], Sequence[Stack]], room: Room, fine: Fine) -> None:
        upright, aside = rows
        self.shapes = shapes
        self.x, self.y = _sides(shapes, (_sources(upright), _sources(aside)), room, fine)
        upright, aside = _fullest(upright), _fullest(aside)
        self.kinds = [(each.rows, False) for each in upright] + [(each.rows, True) for each in aside]
        self.rows = _held(shapes, upright, aside, self.x.sizes, self.y.sizes)
        self.counts: list[Counts] = [self.rows.max(axis=0)]
        for _ in range(DEPTH):
            last = self.counts[-1]
            self.counts.append(np.maximum(_halved(last, self.x), _halved(last.T, self.y).T))

    def straight(self) -> list[Part]:
        """Return the parts of the fullest face that is cut straight through, and its parts likewise."""
        return list(self._parts(DEPTH, -1, -1, 0.0, 0.0))

    def pinwheel(self, most: int) -> list[Part]:
        """Return the parts of the fullest face of four blocks round a fifth; none where it is no more than `most`.

        The lower left one is `a` wide and `c` high, the upper left one `b` wide, the lower right one `d` high.
        """
        held, x, y = self.counts[DEPTH], self.x, self.y
        left = held[:, None, :] + held[:, y.other[-1]]  # of a, b and c
        right = held[x.other[-1]][:, None, :] + held[np.ix_(x.other[-1], y.other[-1])]  # of a, b and d
        middle = x.other.T  # of a and b
        bound = left.max(axis=2) + right.max(axis=2) + held[middle, -1]
        bound[np.tril_indices(len(bound), -1)] = 0  # b is no narrower than a
        lower = y.one == np.arange(len(y.sizes))  # d is no higher than c
        chosen = [0, 0, 0, 0]
        for a, b in zip(*np.unravel_index(np.argsort(-bound, axis=None), bound.shape), strict=True):
            if bound[a, b] <= most:
                break
            total = (left[a, b][:, None] + right[a, b] + held[middle[a, b]][y.other]) * lower
            c, d = np.unravel_index(total.argmax(), total.shape)
            if total[c, d] > most:
                most, chosen = int(total[c, d]), [int(n) for n in (a, b, c, d)]
        if not any(chosen):
            return []
        a, b, c, d = chosen
        beside, over = [x.other[-1, n] for n in (a, b)], [y.other[-1, n] for n in (c, d)]
        return [
            *self._parts(DEPTH, a, c, 0.0, 0.0),
            *self._parts(DEPTH, beside[0], d, x.last(beside[0]), 0.0),
            *self._parts(DEPTH, x.other[b, a], y.other[c, d], x.beside(a), y.beside(d)),
            *self._parts(DEPTH, b, over[0], 0.0, y.last(over[0])),
            *self._parts(DEPTH, beside[1], over[1], x.last(beside[1]), y.last(over[1])),
        ]

    def _parts(self, depth: int, w: int, h: int, x: float, y: float) -> Iterator[Part]:
        """Yield the parts of a block, given by its numbers, whose lower left corner lies at (x, y)."""
        if not depth:
            yield from self._in_rows(w, h, x, y)
            return
        held = self.counts[depth - 1]
        widths = held[self.x.one[w], h] + held[self.x.other[w], h]
        heights = held[w, self.y.one[h]] + held[w, self.y.other[h]]
        if widths.max() >= heights.max():
            one, other = self.x.one[w, widths.argmax()], self.x.other[w, widths.argmax()]
            yield from self._parts(depth - 1, one, h, x, y)
            yield from self._parts(depth - 1, other, h, x + self.x.sizes[w] - self.x.sizes[other], y)
        else:
            one, other = self.y.one[h, heights.argmax()], self.y.other[h, heights.argmax()]
            yield from self._parts(depth - 1, w, one, x, y)
            yield from self._parts(depth - 1, w, other, x, y + self.y.sizes[h] - self.y.sizes[other])

    def _in_rows(self, w: int, h: int, x: float, y: float) -> Iterator[Part]:
        if not self.counts[0][w, h]:
            return
        rows, aside = self.kinds[self.rows[:, w, h].argmax()]
        size = float(self.x.sizes[w]), float(self.y.sizes[h])
        stack = stacked(self.shapes, rows, *(size[::-1] if aside else size))
        parts = stack.parts(self.shapes, -1) if stack else []
        for part in (upright(part, size[0]) for part in parts) if aside else parts:
            yield Part(part.turn, part.mirrored, part.x + x, part.y + y)


def upright(part: Part, width: float) -> Part:
    """Return a part of a face laid on its side as it lies on the face itself, of that width."""
    return Part((part.turn + 90.0) % 360.0, part.mirrored, width - part.y, part.x)


def _sources(found: Sequence[Stack]) -> list[Stack]:
    """Return the fullest rows of each right angle, and those of the least foam a part."""
    return [
        each
        for alike in _by_angle(found)
        for each in (*alike[:SOURCES], *sorted(alike, key=lambda stack: stack.rows.foam)[:SOURCES], *_strips(alike))
    ]


def _fullest(found: Sequence[Stack]) -> list[Stack]:
    kept = [each for alike in _by_angle(found) for each in (*alike[:KINDS], *_strips(alike))]
    return list({id(each): each for each in kept}.values())


def _strips(found: Sequence[Stack]) -> list[Stack]:
    """Return the rows that give more than all others in a strip of some height, the lowest first."""
    owners = [stack for stack in found for _ in stack.counts]
    kept = rising(np.concatenate([stack.heights for stack in found]), np.concatenate([stack.counts for stack in found]))
    return list({id(owners[n]): owners[n] for n in kept}.values())


def _by_angle(found: Sequence[Stack]) -> Iterable[list[Stack]]:
    """Return the stacks of rows that differ, apart for each right angle; of each the fullest first, the lower first."""
    kept: dict[float, list[Stack]] = {}
    for each in sorted(unlike(found), key=lambda stack: (-stack.counts[-1], round(stack.heights[-1], 6))):
        kept.setdefault(round(each.rows.cell.parts[0].turn % 180.0, 6), []).append(each)
    return kept.values()


def _sides(shapes: Shapes, rows: tuple[Sequence[Stack], Sequence[Stack]], room: Room, fine: Fine) -> tuple[Side, Side]:
    """Return the widths and heights of blocks that are worth trying."""
    every, tried = fine
    upright, aside = rows
    widths, heights = _lengths(shapes, upright, aside, room[0], every), _lengths(shapes, aside, upright, room[1], every)
    wide = _gaining(widths, _held(shapes, upright, aside, widths, _probes(heights)).max(axis=0), tried)
    high = _gaining(heights, _held(shapes, upright, aside, _probes(widths), heights).max(axis=0).T, tried)
    return Side(wide, room[0], shapes.kerf), Side(high, room[1], shapes.kerf)


def _lengths(
    shapes: Shapes, along: Sequence[Stack], across: Sequence[Stack], whole: float, every: int
) -> Lengths:  # fmt: skip
    """Return lengths that rows along or across them fill without a rest, rising: of each part of a face one."""
    found = [*(spans(shapes, each.rows, whole) for each in along), *(each.heights for each in across)]
    lengths = np.unique(np.concatenate(found))
    differing = lengths[np.diff(lengths, append=np.inf) > NOISE * whole]
    _, first = np.unique(np.floor(differing / whole * every), return_index=True)
    return differing[first]


def _held(
    shapes: Shapes, upright: Sequence[Stack], aside: Sequence[Stack], widths: Lengths, heights: Lengths
) -> Counts:  # fmt: skip
    """Return how many parts blocks hold of each kind of rows: kind, width, height."""
    return np.stack([
        *(counted(shapes, each.rows, widths, heights) for each in upright),
        *(counted(shapes, each.rows, heights, widths).T for each in aside),
    ])  # fmt: skip


def _probes(lengths: Lengths) -> Lengths:
    """Return some of these lengths, rising, the last among them."""
    return lengths[:: -math.ceil(len(lengths) / PROBES)][::-1]


def _gaining(lengths: Lengths, held: Counts, most: int) -> Lengths:
    """Return the lengths at which blocks begin to hold more, those of most gain."""
    gains = np.diff(held, axis=0, prepend=0).sum(axis=1)
    return lengths[np.argsort(-gains, kind="stable")[:most]]


def _halved(held: Counts, side: Side) -> Counts:
    """Return how many parts blocks hold that are cut in two across this side, or left whole."""
    rows = [
        (held[: half + 1] + held[rest[: half + 1]]).max(axis=0)
        for rest, half in zip(side.other, side.halves, strict=True)
    ]
    return np.stack(rows)
