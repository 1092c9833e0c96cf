"""Outlines on faces: the values of a nest. Lengths are in the unit of the instance, angles in degrees.

A placement moves an item in this order: mirror (x → −x) where it says so, turn counter-clockwise about the item's own
origin, shift by (x, y). The lower left corner of a face is (0, 0).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from shapely.geometry import Polygon

from cutsheets.solids import Outline, Point, Ring

RIGHT = {0.0: (1.0, 0.0), 90.0: (0.0, 1.0), 180.0: (-1.0, 0.0), 270.0: (0.0, -1.0)}  # cosine, sine: no rounding


@dataclass(frozen=True, slots=True)
class FaceRoom:
    """A face of `w` × `h` with a margin all round that no part may reach into."""

    w: float
    h: float
    margin: float = 0.0

    @property
    def inner(self) -> tuple[float, float]:
        """Return the width and height inside the margin; below 0 where it leaves nothing."""
        return self.w - 2 * self.margin, self.h - 2 * self.margin


@dataclass(frozen=True, slots=True)
class Placement:
    """One part on a face: which item, how it is turned and mirrored, where its origin goes, the number of the face."""

    item: str
    turn: float
    mirrored: bool
    x: float
    y: float
    face: int = 0


@dataclass(frozen=True, slots=True)
class NestItem:
    """An outline that is wanted `qty` times. `turns` None: any; `mirror`: the part may be turned end for end."""

    id: str
    outline: Outline
    qty: int = 1
    turns: tuple[float, ...] | None = (0.0,)
    mirror: bool = False


@dataclass(frozen=True, slots=True)
class NestStock:
    """Faces of one size: `qty` on hand (None: as many as are wanted), `cost` of opening one."""

    id: str
    w: float
    h: float
    margin: float
    qty: int | None
    cost: float

    @property
    def room(self) -> FaceRoom:
        return FaceRoom(self.w, self.h, self.margin)


@dataclass(frozen=True, slots=True)
class NestInstance:
    """What is to be cut from which faces. Parts lie at least one kerf apart."""

    name: str
    unit: Literal["in", "mm"]
    kerf: float
    stock: tuple[NestStock, ...]
    items: tuple[NestItem, ...]


@dataclass(frozen=True, slots=True)
class OpenedFace:
    """A face that is used: the id of its stock, its size and margin."""

    stock: str
    room: FaceRoom


@dataclass(frozen=True, slots=True)
class Nest:
    """Faces that are opened and what lies on them."""

    faces: tuple[OpenedFace, ...]
    placements: tuple[Placement, ...]

    def on(self, face: int) -> list[Placement]:
        """Return what lies on a face."""
        return [placement for placement in self.placements if placement.face == face]


def placed(item: NestItem, placement: Placement) -> Polygon:
    """Return the outline of an item where a placement puts it."""
    return laid(item.outline, placement)


def laid(outline: Outline, placement: Placement) -> Polygon:
    """Return an outline where a placement puts it, exact at right angles.

    >>> laid(Outline(((0, 0), (2, 0), (0, 1))), Placement("", 90, True, 10, 0)).bounds
    (9.0, -2.0, 10.0, 0.0)
    """
    return Polygon(moved_ring(outline.outer, placement), [moved_ring(hole, placement) for hole in outline.holes])


def moved_ring(ring: Ring, placement: Placement) -> tuple[Point, ...]:
    """Return the points of a ring where a placement puts them."""
    turn = placement.turn % 360.0
    c, s = RIGHT.get(turn) or (math.cos(math.radians(turn)), math.sin(math.radians(turn)))
    side = -1.0 if placement.mirrored else 1.0
    return tuple((side * x * c - y * s + placement.x, side * x * s + y * c + placement.y) for x, y in ring)
