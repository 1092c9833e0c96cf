"""What the engines place: outlines grown by half a kerf, counters closed, parts that lie in a counter taken along."""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import dataclass, replace

import shapely
from shapely import affinity
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry
from shapely.geometry.polygon import orient

from cutsheets.nesting.boxes import ASLANT, RIGHT_TURNS, fits
from cutsheets.nesting.faces import NestInstance, NestItem, NestStock, Placement, placed
from cutsheets.solids import Point, Ring

FINE = {"in": 0.01, "mm": 0.25}  # how far an outline is moved out to make it simpler, at most
FINE_SHARE = 0.005  # the same, of the smaller side of a part
SIMPLE = 24  # points: outlines of no more stay as they are, so that what fits exactly fits
MITRE = 2.0  # how far a sharp corner may be drawn out, in half kerfs
MOST_HOSTS, MOST_GUESTS = 50, 20  # kinds with counters, and of parts for one counter, that are looked at
GRID = 7  # places along and across a counter that are tried for a part in it
FREE = tuple(45.0 * n for n in range(8))  # turns that are tried in a counter for a part that may be turned anyhow


Part = tuple[int, float, bool, float, float]  # piece, turn, mirrored, x, y


@dataclass(frozen=True, slots=True)
class Laid:
    """A face and the pieces on it, each by its number."""

    stock: NestStock
    parts: tuple[Part, ...]


@dataclass(frozen=True, slots=True)
class Piece:
    """`copies` of an item that are placed as one with what lies in its counters (`guests`, in the item's own frame).

    `outer` is the outline that the engines see; `turns` are those they may use, `free` says that any will do.
    """

    item: NestItem
    copies: int
    outer: Ring
    area: float
    turns: tuple[float, ...]
    free: bool
    mirror: bool
    guests: tuple[Placement, ...] = ()


def make_pieces(instance: NestInstance, *, in_counters: bool = True) -> tuple[Piece, ...]:
    """Return what is to be placed; with `in_counters` parts are put into the counters of others where they fit."""
    left = {item.id: item.qty for item in instance.items}
    pieces: list[Piece] = []
    if in_counters:
        largest = sorted(instance.items, key=lambda item: -_polygon(item).area)
        for item in [item for item in largest if item.outline.holes][:MOST_HOSTS]:
            while left[item.id]:
                guests = _guests(instance, item, largest, left)
                if not guests:
                    break
                copies = left[item.id]
                for name, times in Counter(guest.item for guest in guests).items():
                    copies = min(copies, left[name] // times)
                for guest in guests:
                    left[guest.item] -= copies
                left[item.id] -= copies
                pieces.append(_piece(instance, item, copies, guests))
    pieces += [_piece(instance, item, left[item.id]) for item in instance.items if left[item.id]]
    return tuple(pieces)


def spread(piece: Piece, placement: Placement) -> list[Placement]:
    """Return the placements of a piece: its item and the parts in its counters, all moved together."""
    moved = [replace(placement, item=piece.item.id)]
    for guest in piece.guests:  # a piece with guests is never mirrored
        c, s = math.cos(math.radians(placement.turn)), math.sin(math.radians(placement.turn))
        x, y = guest.x * c - guest.y * s + placement.x, guest.x * s + guest.y * c + placement.y
        moved.append(replace(guest, turn=(guest.turn + placement.turn) % 360.0, x=x, y=y, face=placement.face))
    return moved


def grown(ring: Ring, by: float, fine: float) -> Ring:
    """Return a ring with fewer points that holds `ring` and all that is nearer to it than `by`.

    No point of it is farther from `ring` than `MITRE` · (by + fine) + fine; a bay that the wire cannot enter is closed.

    >>> grown(((0, 0), (6, 0), (6, 2), (0, 2)), 0.5, 0.1)
    ((-0.5, -0.5), (6.5, -0.5), (6.5, 2.5), (-0.5, 2.5))
    """
    true = Polygon(ring)
    if len(ring) <= SIMPLE:
        return _ring(_moved_out(true, by))
    simpler = _moved_out(true, by + fine).simplify(fine)
    if isinstance(simpler, Polygon) and simpler.covers(true.buffer(by * (1 - 1e-6))):
        return _ring(simpler)
    return _ring(_moved_out(true, by))


def _moved_out(true: Polygon, by: float) -> Polygon:
    if not by:
        return true
    moved = true.buffer(by, join_style="mitre", mitre_limit=MITRE)
    return moved if isinstance(moved, Polygon) else true.convex_hull


def _ring(polygon: Polygon) -> Ring:
    points: list[Point] = [(float(x), float(y)) for x, y in orient(polygon).exterior.coords[:-1]]
    first = points.index(min(points))
    return (*points[first:], *points[:first])


def _piece(instance: NestInstance, item: NestItem, copies: int, guests: tuple[Placement, ...] = ()) -> Piece:
    closed = Polygon(item.outline.outer)
    left, bottom, right, top = closed.bounds
    fine = min(FINE[instance.unit], FINE_SHARE * min(right - left, top - bottom))
    return Piece(
        item=item,
        copies=copies,
        outer=grown(item.outline.outer, instance.kerf / 2, fine),
        area=closed.area,
        turns=_turns(instance, item, guests, closed),
        free=item.turns is None and all(_item(instance, guest.item).turns is None for guest in guests),
        mirror=item.mirror and not guests,
        guests=guests,
    )


def _turns(instance: NestInstance, item: NestItem, guests: tuple[Placement, ...], closed: Polygon) -> tuple[float, ...]:
    """Return the turns that the item and all its guests allow; of a free one those that may be worth trying."""
    turns = item.turns
    if turns is None and not any(fits(replace(item, turns=RIGHT_TURNS), stock) for stock in instance.stock):
        turns = tuple(turn for turn in ASLANT if any(fits(replace(item, turns=(turn,)), s) for s in instance.stock))
    elif turns is None:
        turns = RIGHT_TURNS
        corners = shapely.get_coordinates(closed.minimum_rotated_rectangle)
        angle = math.degrees(math.atan2(corners[1][1] - corners[0][1], corners[1][0] - corners[0][0])) % 90.0
        if not guests and 1.0 < angle < 89.0:  # as it lies in its narrowest box
            turns += tuple(turn - angle for turn in RIGHT_TURNS)
    for guest in guests:
        allowed = _item(instance, guest.item).turns
        turns = tuple(turn for turn in turns if allowed is None or _may(allowed, turn + guest.turn))
    return turns


def _may(allowed: tuple[float, ...], turn: float) -> bool:
    return any(abs((turn - each + 180.0) % 360.0 - 180.0) < 1e-9 for each in allowed)


def _item(instance: NestInstance, name: str) -> NestItem:
    return next(item for item in instance.items if item.id == name)


def _guests(
    instance: NestInstance, host: NestItem, largest: list[NestItem], left: dict[str, int]
) -> tuple[Placement, ...]:  # fmt: skip
    """Return for each counter of an item the largest part that goes into it, where one does."""
    found: list[Placement] = []
    for hole in host.outline.holes:
        room = Polygon(hole).buffer(-instance.kerf * (1 + 1e-6))
        taken = [each.item for each in found]
        small = [item for item in largest if _polygon(item).area <= room.area]
        for item in small[:MOST_GUESTS]:
            spare = left[item.id] - taken.count(item.id) - (item.id == host.id)
            if spare > 0 and (guest := _in_room(room, host, item)):
                found.append(guest)
                break
    return tuple(found)


def _in_room(room: BaseGeometry, host: NestItem, item: NestItem) -> Placement | None:
    """Return a place for an item inside a counter, or None; the middle of the counter is tried first."""
    shapely.prepare(room)
    left, bottom, right, top = room.bounds
    for turn in FREE if item.turns is None else RIGHT_TURNS:
        host_turns = RIGHT_TURNS if host.turns is None else host.turns
        if item.turns is not None and not all(_may(item.turns, turn + each) for each in host_turns):
            continue
        origin = placed(item, Placement(item.id, turn, False, 0.0, 0.0))
        l, b, r, t = origin.bounds  # noqa: E741 - left, bottom, right, top
        wide, high = right - left - (r - l), top - bottom - (t - b)
        if wide < 0 or high < 0:
            continue
        for step in sorted(range(GRID * GRID), key=lambda n: abs(n % GRID - GRID // 2) + abs(n // GRID - GRID // 2)):
            x = left - l + wide * (step % GRID) / (GRID - 1)
            y = bottom - b + high * (step // GRID) / (GRID - 1)
            if room.covers(affinity.translate(origin, x, y)):
                return Placement(item.id, turn, False, x, y)
    return None


def _polygon(item: NestItem) -> Polygon:
    return Polygon(item.outline.outer, item.outline.holes)
