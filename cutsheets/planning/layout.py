"""Layouts: how grown blanks fill one grown core, and what that costs. Every planner builds these; trees come of them.

All lengths here carry one kerf more than the foam (see `cutsheets.stock`). A layout is plain tuples:

    ("cut", axis, at, lo, hi)   lo is `at` long along the axis, hi the rest; hi is None where nothing is left
    ("blank", number, lie)      one blank, by its number in the instance
    ("free",)                   foam left over
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import permutations
from typing import Any

from cutsheets.planning.prices import Prices
from cutsheets.solids import Triple
from cutsheets.stock import AXES, CutNode, Instance, Node, Remnant, Stock, is_useful, lying, resized, volume

Layout = tuple[Any, ...]
FREE: Layout = ("free",)
Above = tuple[int, int]  # the axis of the cut before, and how many times the direction has changed by then
NO_CUT: Above = (-1, 0)
Order = tuple[int, ...]
ORDERS: tuple[Order, ...] = tuple(permutations((0, 1, 2)))


@dataclass(frozen=True, slots=True)
class Source:
    """A kind of foam that may be opened: `core` is its usable inside grown by one kerf, `low` where it begins.

    `name` is its own, as a plan has it (“stock:B48”, “remnant:R7”); `id` may belong to a block and to a remnant.
    """

    name: str
    id: str
    is_remnant: bool
    size: Triple
    low: Triple
    core: Triple
    high: Triple
    price: int
    limit: int | None
    trims: int
    above: Above = NO_CUT


def sources(instance: Instance, grade: str) -> list[Source]:
    """Return what may be opened for a grade: remnants first, then blocks as listed."""
    found = [_source(instance, remnant, [[0, 0]] * 3) for remnant in instance["remnants"] if remnant["grade"] == grade]
    return found + [_source(instance, stock, stock["skin"]) for stock in instance["stock"] if stock["grade"] == grade]


def _source(instance: Instance, raw: Stock | Remnant, skin: list[list[int]]) -> Source:
    kerf, size = instance["kerf"], raw["size"]
    low, core, high, trims = [], [], [], 0
    for side, (first, last) in zip(size, skin, strict=True):
        # The cut that takes the skin off puts its kerf inside the skin; a skin thinner than the kerf costs a sliver.
        begin = max(first, kerf + 1) if first else 0
        spare = last if not last or last >= kerf or instance["allow_edge_shave"] else kerf
        low.append(begin)
        core.append(max(side - begin - spare, 0) + kerf)
        high.append(spare)
        trims += bool(begin) + bool(spare)
    is_remnant = "limit" not in raw
    trimmed = [axis for axis in range(3) if low[axis] or high[axis]]
    return Source(
        name=f"{'remnant' if is_remnant else 'stock'}:{raw['id']}", id=raw["id"], is_remnant=is_remnant,
        size=_triple(size), low=_triple(low), core=_triple(core), high=_triple(high), price=raw["price"],
        limit=1 if is_remnant else raw.get("limit"), trims=trims,  # type: ignore[arg-type]
        above=(trimmed[-1], len(trimmed)) if trimmed else NO_CUT,
    )  # fmt: skip


@dataclass(frozen=True, slots=True, eq=False)
class Opened:
    """One opened piece: its layout, how many blanks of each number it gives, its part of the score in cents.

    Two pieces are equal only when they are the same one.
    """

    source: Source
    layout: Layout
    gives: tuple[tuple[int, int], ...]
    blank_volume: int
    cost: float
    cuts: int


class Job:
    """The blanks of one grade, grown by the kerf, with what the fills look up again and again."""

    def __init__(self, instance: Instance, grade: str, prices: Prices) -> None:
        self.instance, self.grade, self.prices = instance, grade, prices
        self.kerf, self.shave = instance["kerf"], instance["allow_edge_shave"]
        self.stages = instance["max_stages"]
        saw = instance.get("saw")
        reach = (saw["height"] or 0, saw["length"] or 0) if saw else (0, 0)
        self.saw = reach if any(reach) else None
        self.sources = sources(instance, grade)
        self.numbers = self._numbers()
        self.demand = Counter({n: instance["blanks"][n]["qty"] for n in self.numbers})
        self.volumes = {n: volume(instance["blanks"][n]["size"]) for n in self.numbers}
        self.lies = {n: self._lies(n) for n in self.numbers}
        self.per_volume = prices.cheapest(instance, grade)

    def _numbers(self) -> list[int]:
        """Return the numbers of the blanks, large ones first; the order in which they are listed changes no plan."""
        blanks = self.instance["blanks"]
        numbers = [n for n, blank in enumerate(blanks) if blank["grade"] == self.grade]
        keys = {n: (-volume(blanks[n]["size"]), blanks[n]["size"], blanks[n]["rot"], blanks[n]["qty"]) for n in numbers}
        return sorted(numbers, key=lambda n: keys[n])

    def _lies(self, number: int) -> list[tuple[str, Triple]]:
        """Return the allowed lies that differ, each with the grown size along x, y, z."""
        blank = self.instance["blanks"][number]
        found: dict[Triple, str] = {}
        for lie in blank["rot"]:
            a, b, c = lying(blank["size"], lie)
            found.setdefault((a + self.kerf, b + self.kerf, c + self.kerf), lie)
        return [(lie, size) for size, lie in found.items()]

    def fits(self, side: int, room: int) -> bool:
        """Return whether a grown side can be cut off a grown room: no kerf hangs half in the air unless it may."""
        return side == room or room - side >= (0 if self.shave else self.kerf)

    def fits_in(self, size: Triple, box: Triple) -> bool:
        if size[0] > box[0] or size[1] > box[1] or size[2] > box[2]:
            return False
        return self.shave or all(self.fits(side, room) for side, room in zip(size, box, strict=True))

    def has_source(self, number: int) -> bool:
        """Return whether some block or remnant can give this blank at all."""
        return any(self.holds(source, number) for source in self.sources)

    def may_give(self, source: Source, number: int) -> bool:
        """Return whether a blank is not kept for other foam."""
        return source.id in self.instance["blanks"][number].get("from", (source.id,))

    def holds(self, source: Source, number: int) -> bool:
        """Return whether this foam can give a blank that may come out of it."""
        may = self.may_give(source, number) and self.trims_off(source)
        return may and any(
            self.fits_in(size, source.core) and any(self.frees(source.core, size, order) for order in ORDERS)
            for _, size in self.lies[number]
        )

    def saws(self, box: Triple, axis: int) -> bool:
        """Return whether the saw reaches across a grown box: the smaller side high, the larger long."""
        if self.saw is None:
            return True
        low, long = sorted(side - self.kerf for other, side in enumerate(box) if other != axis)
        height, length = self.saw
        return (not height or low <= height) and (not length or long <= length)

    def trims_off(self, source: Source) -> bool:
        """Return whether the saw can take the skin off: x first, then y, then z."""
        size = (source.size[0] + self.kerf, source.size[1] + self.kerf, source.size[2] + self.kerf)
        return all(
            self.saws((source.core[:axis] + size[axis:]), axis)  # type: ignore[arg-type]
            for axis in range(3) if source.low[axis] or source.high[axis]
        )  # fmt: skip

    def frees(
        self, box: Triple, size: Triple, order: Order, counts: Triple = (1, 1, 1), above: Above | None = None
    ) -> bool:
        """Return whether saw and stages allow the cuts that free a group out of a box, and then its blanks."""
        axis, stage = above or NO_CUT
        blank = (size[0] // counts[0], size[1] // counts[1], size[2] // counts[2])
        for inside, axes in ((size, order), (blank, order[::-1])):
            for each in axes:
                if box[each] > inside[each]:
                    if not self.saws(box, each):
                        return False
                    stage, axis = stage + (each != axis), each
                    box = resized(box, each, inside[each])
        return above is None or self.stages is None or stage <= self.stages

    def keeps_limits(self, piece: Opened) -> bool:
        """Return whether every cut of a piece is within the reach of the saw."""
        return self.saw is None or (self.trims_off(piece.source) and all(
            node[0] != "cut" or self.saws(box, node[1]) for node, box in walk(piece.layout, piece.source.core)
        ))  # fmt: skip

    def too_many_stages(self, piece: Opened) -> bool:
        """Return whether the direction of the cuts changes more often than is allowed."""
        if self.stages is None:
            return False
        todo: list[tuple[Layout, Above]] = [(piece.layout, piece.source.above)]
        while todo:
            node, (axis, stage) = todo.pop()
            if stage > self.stages:
                return True
            if node[0] == "cut":
                above = (node[1], stage + (node[1] != axis))
                todo += [(part, above) for part in node[3:] if part is not None]
        return False

    def opened(self, source: Source, layout: Layout) -> Opened:
        """Return a layout as an opened piece with its cost. O(cuts)."""
        gives: Counter[int] = Counter()
        cuts, free = source.trims, []
        for node, box in walk(layout, source.core):
            if node[0] == "cut":
                cuts += 1
            elif node[0] == "blank":
                gives[node[1]] += 1
            else:
                free.append(self.foam(box))
        cost = source.price + self.prices.cut * cuts
        for size in free:
            if is_useful(size, self.instance["min_remnant"]):
                cost += self.prices.kept(volume(size), self.per_volume)
        made = sum(self.volumes[n] * count for n, count in gives.items())
        return Opened(source, layout, tuple(sorted(gives.items())), made, cost, cuts)

    def foam(self, box: Sequence[int]) -> Triple:
        return box[0] - self.kerf, box[1] - self.kerf, box[2] - self.kerf


def walk(layout: Layout, box: Triple) -> list[tuple[Layout, Triple]]:
    """Return every node of a layout with its grown box; leftovers of no foam are left out. O(cuts)."""
    found, todo = [], [(layout, box)]
    while todo:
        node, room = todo.pop()
        found.append((node, room))
        if node[0] == "cut":
            _, axis, at, lo, hi = node
            todo.append((lo, resized(room, axis, at)))
            if hi is not None:
                todo.append((hi, resized(room, axis, room[axis] - at)))
    return found


def joined(axis: int, at: int, lo: Layout, hi: Layout | None) -> Layout:
    """Return a cut, or no cut where it would part nothing from nothing."""
    return FREE if lo == FREE and (hi is None or hi == FREE) else ("cut", axis, at, lo, hi)


def tree(job: Job, piece: Opened, tags: Iterator[str]) -> Node:
    """Return the plan's tree of an opened piece: skins off first, then the layout; kept remnants take their tags."""
    node = _node(job, piece.layout, piece.source.core, tags)
    for axis in (2, 1, 0):
        node = _trim(job, piece.source, axis, node)
    return node


def _trim(job: Job, source: Source, axis: int, inside: Node) -> Node:
    """Put the cuts round a core that take the skin off along one axis."""
    node, name = inside, AXES[axis]
    if source.high[axis]:
        rest = source.high[axis] - job.kerf
        node = {
            "axis": name, "at": source.core[axis] - job.kerf, "lo": node, "hi": {"waste": True} if rest > 0 else None,
        }  # fmt: skip
    if source.low[axis]:
        node = {"axis": name, "at": source.low[axis] - job.kerf, "lo": {"waste": True}, "hi": node}
    return node


def _node(job: Job, layout: Layout, box: Triple, tags: Iterator[str]) -> Node:
    if layout[0] == "blank":
        return {"blank": job.instance["blanks"][layout[1]]["id"], "rot": layout[2]}
    if layout[0] == "free":
        size = job.foam(box)
        return {"remnant": next(tags)} if is_useful(size, job.instance["min_remnant"]) else {"waste": True}
    row: list[tuple[int, int, Node]] = []  # a row may be longer than calls can be nested
    rest: Layout | None = layout
    while rest is not None and rest[0] == "cut":
        _, axis, at, lo, rest = rest
        row.append((axis, at - job.kerf, _node(job, lo, resized(box, axis, at), tags)))
        box = resized(box, axis, box[axis] - at)
    node = None if rest is None else _node(job, rest, box, tags)
    for axis, at, low in reversed(row):
        node = _peeled({"axis": AXES[axis], "at": at, "lo": low, "hi": node}, job.kerf)
    assert node is not None  # noqa: S101 - a cut was made of it
    return node


def _peeled(node: CutNode, kerf: int) -> CutNode:
    """Return the same cuts in normal form: what a cut takes off is never cut again along the same axis.

    The setting of every cut is then the size of one thing, measured from the face the saw hand has against the fence.
    """
    row: list[tuple[int, Node]] = []
    low = node["lo"]
    while "axis" in low and low["axis"] == node["axis"] and low["hi"] is not None:
        row.append((low["at"], low["lo"]))
        node = {"axis": node["axis"], "at": node["at"] - low["at"] - kerf, "lo": low["hi"], "hi": node["hi"]}
        low = low["hi"]
    for at, first in reversed(row):
        node = {"axis": node["axis"], "at": at, "lo": first, "hi": node}
    return node


def _triple(sides: Sequence[int]) -> Triple:
    return sides[0], sides[1], sides[2]
