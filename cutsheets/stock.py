"""Foam to cut from and blanks to cut, as `blockyard-stock-1` has them: whole micrometres, plain data.

Kerf trick (Gilmore and Gomory): give every blank and every usable core one kerf more in each direction, then forget the
kerf. Blanks that fit the grown core without overlap fit the core with one kerf between neighbours.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal, NotRequired, TypedDict, final

from cutsheets.solids import Triple

Size = list[int]
Axis = Literal["x", "y", "z"]
AXES: tuple[Axis, ...] = ("x", "y", "z")
LIES = {
    "LWH": (0, 1, 2), "LHW": (0, 2, 1), "WLH": (1, 0, 2), "WHL": (1, 2, 0), "HLW": (2, 0, 1), "HWL": (2, 1, 0),
}  # fmt: skip


class Useful(TypedDict):
    """The smallest offcut worth keeping: its sides, smallest first, and its volume."""

    dims: Size
    volume: int


@final
class Stock(TypedDict):
    id: str
    grade: str
    size: Size
    skin: list[Size]
    limit: int | None
    price: int


@final
class Remnant(TypedDict):
    id: str
    grade: str
    size: Size
    price: int


class Saw(TypedDict):
    """How far the saw reaches: of every cut's face, the smaller side and the larger side at most; None: any."""

    height: int | None
    length: int | None


class PriceList(TypedDict):
    """What ranks plans: cents a cut, cents a kept remnant, and its credit as shares of the price of new foam.

    A credit is (below so many cubic feet, share), small remnants first; the last one, below None, is for all others.
    """

    cut: int
    keep: int
    credit: list[tuple[float | None, float]]


# The ids of the stock sizes and remnants that alone may give a blank; a functional form, as `from` is a keyword.
Locked = TypedDict("Locked", {"from": NotRequired[list[str]]})


class BlankType(Locked):
    id: str
    grade: str
    size: Size
    qty: int
    rot: list[str]


class Instance(TypedDict):
    """A day's cutting for the planner: `blockyard-stock-1`."""

    format: Literal["blockyard-stock-1"]
    name: str
    unit: Literal["um"]
    note: NotRequired[str]
    kerf: int
    allow_edge_shave: bool
    min_remnant: Useful
    max_cuts: int | None
    max_stages: int | None
    stock: list[Stock]
    remnants: list[Remnant]
    blanks: list[BlankType]
    saw: NotRequired[Saw]
    prices: NotRequired[PriceList]


@final
class CutNode(TypedDict):
    """A cut right across the piece in hand: `at` is the size of the low part, then the kerf, then the high part."""

    axis: Axis
    at: int
    lo: Node
    hi: Node | None


@final
class BlankLeaf(TypedDict):
    blank: str
    rot: str


@final
class RemnantLeaf(TypedDict):
    remnant: str


@final
class WasteLeaf(TypedDict):
    waste: Literal[True]


Node = CutNode | BlankLeaf | RemnantLeaf | WasteLeaf


class PlanPiece(TypedDict):
    source: str
    tree: Node


class Plan(TypedDict):
    """A cutting plan, one tree of edge-to-edge cuts for each opened piece: `blockyard-plan-1`."""

    format: Literal["blockyard-plan-1"]
    instance: str
    pieces: list[PlanPiece]


def volume(size: Sequence[int]) -> int:
    """Return long × wide × high in cubic micrometres.

    >>> volume((2, 3, 4))
    24
    """
    return size[0] * size[1] * size[2]


def resized(box: Triple, axis: int, side: int) -> Triple:
    """Return the box with another side along one axis.

    >>> resized((10, 20, 30), 1, 5)
    (10, 5, 30)
    """
    if axis == 0:
        return side, box[1], box[2]
    return (box[0], side, box[2]) if axis == 1 else (box[0], box[1], side)


def parted(box: Triple, axis: int, at: int) -> tuple[Triple, Triple]:
    """Return the two boxes that a box becomes at a place along one axis.

    >>> parted((10, 20, 30), 1, 5)
    ((10, 5, 30), (10, 15, 30))
    """
    x, y, z = box
    if axis == 0:
        return (at, y, z), (x - at, y, z)
    return ((x, at, z), (x, y - at, z)) if axis == 1 else ((x, y, at), (x, y, z - at))


def lying(size: Sequence[int], lie: str) -> Triple:
    """Return the size along x, y, z of a blank that lies `lie` ("WLH": width along x).

    >>> lying((30, 20, 10), "WLH")
    (20, 30, 10)
    """
    a, b, c = LIES[lie]
    return size[a], size[b], size[c]


def is_useful(size: Sequence[int], least: Useful) -> bool:
    """Return whether an offcut is worth keeping: no side and no volume below the shop's smallest.

    >>> is_useful((610_000, 100_000, 320_000), {"dims": [101_600, 304_800, 609_600], "volume": 0})
    False
    """
    return all(a >= b for a, b in zip(sorted(size), least["dims"], strict=True)) and volume(size) >= least["volume"]
