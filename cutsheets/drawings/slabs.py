"""A cutting plan seen slab by slab: what lies where, and which numbered cut runs where.

The tree of cuts is found again from the leaves: the piece that a step cuts is the one that holds all leaves of that
branch. Trims come first and belong to the block. Then all cuts along the first axis together give the *slabs*
(bars or lengths, where the first real cut is not level), and each slab is looked at along that axis. Where a slab is
cut again parallel to the view, its layers lie on top of each other: the region says how many, and a layer that is cut
further gets a view of its own. Every view has the name that the cut which frees it gives to it.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache

from cutsheets.solids import OpenedPiece, Placed, SawStep, Triple

Rect = tuple[int, int, int, int]
PLANE = {0: (1, 2), 1: (0, 2), 2: (0, 1)}  # the axes that lie to the right and up when looking along an axis


@dataclass(frozen=True, slots=True)
class Piece:
    """A branch of the plan: its leaves, the cut that divides it, and what that cut leaves on both sides."""

    leaves: tuple[Placed, ...]
    name: str = ""
    step: SawStep | None = None
    at: int = 0  # where the cut runs, µm along its axis in the opened piece
    parts: tuple[Piece, ...] = ()

    @property
    def low(self) -> Triple:
        x, y, z = (min(leaf.pos[axis] for leaf in self.leaves) for axis in range(3))
        return (x, y, z)

    @property
    def high(self) -> Triple:
        x, y, z = (max(leaf.pos[axis] + leaf.size[axis] for leaf in self.leaves) for axis in range(3))
        return (x, y, z)

    @property
    def is_waste(self) -> bool:
        return all(leaf.kind == "waste" for leaf in self.leaves)


@dataclass(frozen=True, slots=True)
class Region:
    """A part of a view: its rectangle in the view's plane, and the leaves that lie there, the nearest first.

    `layers` counts what lies on top of each other without trim; `numbers` are the cuts, parallel to the view, between.
    """

    rect: Rect
    leaves: tuple[Placed, ...]
    layers: int = 1
    numbers: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class CutLine:
    """A cut seen end on: its number and the two ends of its line in the view's plane."""

    number: int
    start: tuple[int, int]
    end: tuple[int, int]


@dataclass(frozen=True, slots=True)
class View:
    """One slab looked at along `axis`: where it lies, what lies in it, which cuts run through it.

    `layer`: whether it is a part of the slab before it, cut free parallel to that view.
    """

    name: str
    layer: bool
    axis: int
    low: Triple
    high: Triple
    regions: tuple[Region, ...]
    cuts: tuple[CutLine, ...]


@dataclass(frozen=True, slots=True)
class WholeCut:
    """A cut that is seen on the whole block: where it runs, µm along its axis, and the piece that it goes through."""

    number: int
    axis: int
    at: int
    low: Triple
    high: Triple


@dataclass(frozen=True, slots=True)
class Dissection:
    """An opened piece: the cuts on the whole block, the axis along which slabs are looked at, and their views."""

    whole: tuple[WholeCut, ...]
    axis: int
    views: tuple[View, ...]


@lru_cache(maxsize=64)  # block and slabs of one piece are drawn one after the other, at several text sizes
def dissect(opened: OpenedPiece) -> Dissection:
    """Return the views of an opened piece, in the order in which the saw frees the slabs."""
    root = piece = grow(opened.placed, opened.steps, opened.source)
    whole: list[WholeCut] = []
    while piece.step and any(part.is_waste for part in piece.parts):
        whole.append(_whole_cut(piece.step, piece))
        piece = next((part for part in piece.parts if not part.is_waste), Piece(()))
    if not piece.step:  # one blank out of a remnant: looked at from above, its trims are seen best
        return Dissection((), 2, (_view(root, 2),))
    axis = piece.step.axis
    whole += [_whole_cut(step, node) for step, node in _chain(piece, axis)]
    slabs = sorted(_layers(piece, axis), key=lambda slab: (slab[0], slab[1].low[axis]))
    views = [view for _, slab in slabs if not slab.is_waste for view in _views(slab, axis)]
    return Dissection(tuple(whole), axis, tuple(views))


def grow(leaves: Sequence[Placed], steps: Iterable[SawStep], name: str) -> Piece:
    """Return the tree of cuts over these leaves; `name` is what the piece in hand is called."""
    leaves = tuple(leaves)
    own = [step for step in sorted(steps, key=lambda step: step.number) if any(_inside(leaf, step) for leaf in leaves)]
    for step in own:
        if all(_inside(leaf, step) for leaf in leaves):
            at = step.pos[step.axis] + step.at_um
            near = [leaf for leaf in leaves if leaf.pos[step.axis] < at]
            far = [leaf for leaf in leaves if leaf.pos[step.axis] >= at]
            rest = [other for other in own if other.number != step.number]
            parts = tuple(grow(side, rest, word) for side, word in ((near, step.off), (far, step.rest)) if side)
            return Piece(leaves, name, step, at, parts)
    return Piece(leaves, name)


def _inside(leaf: Placed, step: SawStep) -> bool:
    return all(
        step.pos[a] <= leaf.pos[a] and leaf.pos[a] + leaf.size[a] <= step.pos[a] + step.size[a] for a in range(3)
    )


def _layers(piece: Piece, axis: int, freed: int = 0) -> Iterator[tuple[int, Piece]]:
    """Yield what cuts along one axis make of a piece, each with the number of the cut that frees it."""
    if piece.step and piece.step.axis == axis:
        for part in piece.parts:
            yield from _layers(part, axis, piece.step.number)
    else:
        yield freed, piece


def _chain(piece: Piece, axis: int) -> Iterator[tuple[SawStep, Piece]]:
    """Yield those cuts, each with the piece that it goes through."""
    if piece.step and piece.step.axis == axis:
        yield piece.step, piece
        for part in piece.parts:
            yield from _chain(part, axis)


def _whole_cut(step: SawStep, piece: Piece) -> WholeCut:
    return WholeCut(step.number, step.axis, piece.at, piece.low, piece.high)


def _views(slab: Piece, axis: int, *, layer: bool = False) -> Iterator[View]:
    """Yield the view of a slab, and after it those of its layers that are cut further."""
    yield _view(slab, axis, layer=layer)
    for stack in _stacks(slab, axis):
        for _, part in _layers(stack, axis):
            if part.step:
                yield from _views(part, axis, layer=True)


def _stacks(piece: Piece, axis: int) -> Iterator[Piece]:
    """Yield the parts of a slab that are cut again parallel to the view."""
    if piece.step and piece.step.axis == axis:
        yield piece
    else:
        for part in piece.parts:
            yield from _stacks(part, axis)


def _view(slab: Piece, axis: int, *, layer: bool = False) -> View:
    lines, spots = [], []
    for piece in _seen(slab, axis):
        if piece.step and piece.step.axis != axis:
            lines.append(_line(piece.step, piece, axis))
        else:
            nearest = tuple(sorted(piece.leaves, key=lambda leaf: (-leaf.pos[axis], leaf.pos)))
            layers = sum(not layer.is_waste for _, layer in _layers(piece, axis))
            numbers = tuple(step.number for step, _ in _chain(piece, axis))
            spots.append(Region(_rect(piece, axis), nearest, layers, numbers))
    return View(
        slab.name, layer, axis, slab.low, slab.high, tuple(spots), tuple(sorted(lines, key=lambda line: line.number))
    )


def _seen(piece: Piece, axis: int) -> Iterator[Piece]:
    """Yield every piece that can be told apart when looking along an axis."""
    yield piece
    if piece.step and piece.step.axis != axis:
        for part in piece.parts:
            yield from _seen(part, axis)


def _line(step: SawStep, piece: Piece, axis: int) -> CutLine:
    left, bottom, right, top = _rect(piece, axis)
    if step.axis == PLANE[axis][0]:
        return CutLine(step.number, (piece.at, bottom), (piece.at, top))
    return CutLine(step.number, (left, piece.at), (right, piece.at))


def _rect(piece: Piece, axis: int) -> Rect:
    across, up = PLANE[axis]
    return (piece.low[across], piece.low[up], piece.high[across], piece.high[up])
