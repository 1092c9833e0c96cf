"""Layouts: how grown blanks fill one grown core, and what that costs. Every planner builds these; trees come of them.

All lengths here carry one kerf more than the foam (see `cutsheets.stock`). A layout is plain tuples:

    ("cut", axis, at, lo, hi)   lo is `at` long along the axis, hi the rest; hi is None where nothing is left
    ("blank", number, lie)      one blank, by its number in the instance
    ("free",)                   foam left over
    ("waste",)                  foam left over that is not kept, however large it is
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import permutations
from typing import Any

from cutsheets.planning.hand import START, Hand, Limits, Order
from cutsheets.planning.prices import Prices
from cutsheets.planning.trims import Cuts, Trims, figures
from cutsheets.solids import Triple
from cutsheets.stock import BlankType, Instance, Remnant, Stock, is_useful, lying, parted, volume

Layout = tuple[Any, ...]
FREE: Layout = ("free",)
ORDERS: tuple[Order, ...] = tuple(permutations((0, 1, 2)))


@dataclass(frozen=True, slots=True)
class Source:
    """A kind of foam that may be opened: `core` is its usable inside grown by one kerf, `low` where it begins.

    `above` is what has happened to the core when filling begins. `in_full`: where its skin comes off depends on the
    layout; else it comes off first, along x, y and z.

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
    above: Hand = START
    in_full: bool = False


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
    return Source(
        name=f"{'remnant' if is_remnant else 'stock'}:{raw['id']}", id=raw["id"], is_remnant=is_remnant,
        size=_triple(size), low=_triple(low), core=_triple(core), high=_triple(high), price=raw["price"],
        limit=1 if is_remnant else raw.get("limit"), trims=trims,  # type: ignore[arg-type]
    )  # fmt: skip


@dataclass(frozen=True, slots=True, eq=False)
class Opened:
    """One opened piece: its layout, how many blanks of each number it gives, its part of the score in cents.

    Two pieces are equal only when they are the same one. `sound`: saw and changes of direction allow it.
    """

    source: Source
    layout: Layout
    gives: tuple[tuple[int, int], ...]
    blank_volume: int
    cost: float
    cuts: int
    sound: bool = True


class Job:
    """The blanks of one grade, grown by the kerf, with what the fills look up again and again."""

    def __init__(self, instance: Instance, grade: str, prices: Prices) -> None:
        self.instance, self.grade, self.prices = instance, grade, prices
        self.kerf, self.shave = instance["kerf"], instance["allow_edge_shave"]
        self.limits = Limits(instance)
        self.sources = [self._with_limits(source) for source in sources(instance, grade)]
        self.numbers = self._numbers()
        self.demand = Counter({n: instance["blanks"][n]["qty"] for n in self.numbers})
        self.volumes = {n: volume(instance["blanks"][n]["size"]) for n in self.numbers}
        self.lies = {n: self._lies(n) for n in self.numbers}
        self.per_volume = prices.cheapest(instance, grade)

    def _with_limits(self, source: Source) -> Source:
        limits = self.limits
        if not (limits.any or limits.late):
            return source
        hand = Hand(skin=tuple(a + b for a, b in zip(source.low, source.high, strict=True)))  # type: ignore[arg-type]
        skinned = [axis for axis in range(3) if hand.skin[axis]]
        in_full = limits.late or not limits.may_trim(hand, source.core, skinned)
        return replace(source, above=limits.settled(hand, source.core), in_full=in_full)

    def _numbers(self) -> list[int]:
        """Return the numbers of the blanks, large ones first; the order in which they are listed changes no plan."""
        blanks = self.instance["blanks"]
        numbers = [n for n, blank in enumerate(blanks) if blank["grade"] == self.grade]

        def key(blank: BlankType) -> tuple[object, ...]:
            return -volume(blank["size"]), blank["size"], blank["rot"], blank["qty"], blank.get("from", [])

        return sorted(numbers, key=lambda n: key(blanks[n]))

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
        return self.may_give(source, number) and self.alone(source, number) is not None

    def begins(self, source: Source) -> bool:
        """Return whether the saw can make a first cut into some foam, where its skin needs one."""
        skin = source.above.skin
        return not any(skin) or any(self.limits.saws(source.core, axis, skin) for axis in range(3))

    def alone(self, source: Source, number: int) -> Layout | None:
        """Return a blank in the corner of some foam, or None where foam or limits forbid it."""
        for lie, size in self.lies[number]:
            if self.fits_in(size, source.core):
                for order in ORDERS:
                    if not self.limits.any or self.limits.frees(source.above, source.core, size, order):
                        return self.in_corner(("blank", number, lie), size, source.core, order)
        return None

    def in_corner(self, layout: Layout, size: Triple, box: Triple, order: Order) -> Layout:
        """Return the cuts that bring a layout of some size out of the corner of a box."""
        for axis in reversed(order):
            rest = box[axis] - size[axis]
            if rest > 0:
                layout = ("cut", axis, size[axis], layout, FREE if rest > self.kerf else None)
        return layout

    def keeps(self, piece: Opened) -> bool:
        """Return whether a piece is within the reach of the saw and the changes of direction allowed."""
        return not self.limits.any or self.in_full(piece.source, piece.layout) is not None

    def opened(self, source: Source, layout: Layout) -> Opened:
        """Return a layout as an opened piece with its cost. O(cuts)."""
        in_full = self.in_full(source, layout) if source.in_full else None
        if in_full is not None:
            cuts, free = figures(in_full)
        else:
            cuts, free = self.figures(layout, source.core)
            cuts += source.trims
        gives, cost = blanks(layout), source.price + self.handling(cuts, free)
        made = sum(self.volumes[n] * count for n, count in gives.items())
        sound = in_full is not None or not source.in_full
        return Opened(source, layout, tuple(sorted(gives.items())), made, cost, cuts, sound)

    def figures(self, layout: Layout, box: Triple) -> tuple[int, list[Triple]]:
        """Return the number of cuts in a layout of a grown box, and the sizes of its free foam. O(cuts)."""
        nodes = [(node[0], room) for node, room in walk(layout, box)]
        return sum(name == "cut" for name, _ in nodes), [self.foam(room) for name, room in nodes if name == "free"]

    def handling(self, cuts: int, free: Sequence[Triple]) -> float:
        """Return what cuts and kept remnants add to the score, in cents."""
        cost = self.prices.cut * cuts
        for size in free:
            if is_useful(size, self.instance["min_remnant"]):
                cost += self.prices.kept(volume(size), self.per_volume)
        return cost

    def in_full(self, source: Source, layout: Layout) -> Cuts | None:
        """Return all cuts of a layout, the skin taken off where it costs least; None where the limits forbid it.

        Taken off first it takes the fewest cuts, later it may take fewer changes of direction. O(cuts).
        """
        trims = Trims(self.limits, source.low, source.high, self.instance["min_remnant"])
        axes = [axis for axis in range(3) if source.low[axis] + source.high[axis] and (axis,) != layout[1:2]]
        some = (len(axes), 1, 0) if self.limits.stages is not None else (len(axes), 0)
        early = [order for n in dict.fromkeys(some) for order in permutations(axes, n)]
        found = [trims.written(layout, source.core, order) for order in early if self.limits.late or not order]
        return min(
            (cuts for cuts in found if cuts is not None), key=lambda cuts: self.handling(*figures(cuts)), default=None
        )

    def foam(self, box: Sequence[int]) -> Triple:
        return box[0] - self.kerf, box[1] - self.kerf, box[2] - self.kerf


def cost(pieces: Iterable[Opened]) -> float:
    """Return the score of opened pieces in cents, lower is better."""
    return sum(piece.cost for piece in pieces)


def given(pieces: Iterable[Opened]) -> Counter[int]:
    """Return how many blanks of each number some pieces give."""
    found: Counter[int] = Counter()
    for piece in pieces:
        found.update(dict(piece.gives))
    return found


def walk(layout: Layout, box: Triple) -> list[tuple[Layout, Triple]]:
    """Return every node of a layout with its grown box; leftovers of no foam are left out. O(cuts)."""
    found, todo = [], [(layout, box)]
    while todo:
        node, room = todo.pop()
        found.append((node, room))
        if node[0] == "cut":
            _, axis, at, lo, hi = node
            low, high = parted(room, axis, at)
            todo.append((lo, low))
            if hi is not None:
                todo.append((hi, high))
    return found


def blanks(layout: Layout) -> Counter[int]:
    """Return how many blanks of each number a layout holds. O(cuts)."""
    numbers, todo = [], [layout]
    while todo:
        node = todo.pop()
        if node[0] == "blank":
            numbers.append(node[1])
        elif node[0] == "cut":
            todo += node[3:] if node[4] is not None else node[3:4]
    return Counter(numbers)


def joined(axis: int, at: int, lo: Layout, hi: Layout | None) -> Layout:
    """Return a cut, or no cut where it would part nothing from nothing."""
    return FREE if lo == FREE and (hi is None or hi == FREE) else ("cut", axis, at, lo, hi)


def _triple(sides: Sequence[int]) -> Triple:
    return sides[0], sides[1], sides[2]
