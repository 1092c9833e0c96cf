"""Two ways to cut straight parts, side by side: a blank for every piece, or many pieces wired out of one face.

Both are planned by the same code over the same foam, with a fixed number of rounds, so that the comparison comes out
the same every time. Cost is what the plan of the blanks costs (foam opened less what goes back to the rack, saw cuts)
and the minutes at the wire: cutting, and putting blanks on and off the machine. Saw cuts of the ends are the same
both ways and are not counted. All prices are the shop's own (common practice, no source).
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import asdict, dataclass, field
from typing import Any, Literal

from shapely import Polygon, STRtree

from cutsheets.blanks import NOISE, step_up
from cutsheets.kinds.pictures import rect_round
from cutsheets.machines import Machine, lacks
from cutsheets.nesting.faces import FaceRoom, Placement, laid
from cutsheets.nesting.lattice import pack_face
from cutsheets.nesting.order import cut_order
from cutsheets.planning import plan
from cutsheets.planning.gang import Gang, GangFace, basis, ganged, margin, section
from cutsheets.planning.lengths import sticks_from_lengths
from cutsheets.rules import Rules
from cutsheets.sections import perimeter
from cutsheets.solids import Asks, Blank, Box, Outline, Triple, Worked
from cutsheets.stock import LIES, Instance, PriceList, Saw, Useful, volume
from cutsheets.units import um_up

ROUNDS = 150  # of the planner for each way: enough to rank two ways, and a second of work
MOST_PACKED = 6  # faces that are tried, the largest first
MOST_PLANNED = 4  # nests that are planned: those with the smallest blanks
GROW = 1.12  # from one trial of a smaller last face to the next
TURNED_OVER = "LHW"  # the lie that lets a blank be turned about its length, and a section on its face likewise
MITRED = ("outside", "inside")
CUBIC_FOOT = 304_800**3  # µm³
WayName = Literal["each", "gang"]


@dataclass(frozen=True, slots=True)
class Supply:
    """The foam of a grade and what it and the work cost, in cents; lengths in whole micrometres.

    `blocks`: whole sizes as delivered, as many as are wanted; `skin` comes off every face. `per_ft3`: price of a cubic
    foot; `hour`: of work. `remnants`: sizes and prices of what stands on the rack. `useful`, `prices`, `lies` and `saw`
    are those of a cutting plan. `machines`: the wire cutters.
    """

    blocks: tuple[Triple, ...]
    skin: int
    kerf: int
    useful: Useful
    per_ft3: float
    hour: float
    prices: PriceList | None = None
    machines: tuple[Machine, ...] = ()
    lies: tuple[str, ...] = tuple(LIES)
    remnants: tuple[tuple[Triple, int], ...] = ()
    saw: Saw | None = None


@dataclass(frozen=True, slots=True)
class Way:
    """One way worked out: blanks, foam (cubic micrometres), saw cuts, minutes at the wire, cost in cents.

    `lengths`: the fewest lengths of foam that its blanks come out of, laid end to end.
    """

    name: WayName
    blanks: tuple[Blank, ...]
    core: float
    opened: int
    kept: int
    lengths: int
    saw_cuts: int
    wire_minutes: float
    handling_minutes: float
    foam_cost: float
    work_cost: float

    @property
    def cost(self) -> float:
        """Return what foam, saw cuts and minutes at the wire cost, cents."""
        return self.foam_cost + self.work_cost

    @property
    def yielded(self) -> float:
        """Return foam in the parts ÷ foam opened and not kept, 0 to 1."""
        return self.core / (self.opened - self.kept)


@dataclass(frozen=True, slots=True)
class Ways:
    """Both ways of one line. Without a `gang` the reason says why no face carries more than one section."""

    basis: str
    each: Way | None
    gang: Way | None
    nest: Gang | None
    better: WayName
    reason: str

    def as_json(self) -> dict[str, Any]:
        """Return the comparison as plain data, with cost and yield of each way."""
        return asdict(self) | {name: _with_sums(way) for name, way in (("each", self.each), ("gang", self.gang))}


def compare(worked: Worked, rules: Rules, supply: Supply, *, rounds: int = ROUNDS) -> Ways:
    """Return both ways of a straight line, and which of them is cheaper; of two that cost the same it is "each"."""
    each = _way("each", worked, rules, supply, rounds)
    planned = [
        (way, nest)
        for nest in _nests(worked, rules, supply)
        if (way := _way("gang", ganged(worked, nest, rules), rules, supply, rounds))
    ]
    gang, nest = min(planned, key=lambda pair: pair[0].cost, default=(None, None))
    better: WayName = "gang" if gang and (each is None or gang.cost < each.cost - 0.5) else "each"
    return Ways(basis(worked, rules), each, gang, nest, better, _reason(each, gang))


def _reason(each: Way | None, gang: Way | None) -> str:
    if each is None and gang is None:
        return "No foam of this grade holds these blanks; enter a larger block, or shorten or splice the part."
    if gang is None:
        return "No face that a block and a wire cutter allow carries two sections beside each other."
    if each is None:
        return "No block holds the single blanks as they may lie."
    less = abs(each.cost - gang.cost)
    if less < 0.5:
        return "Both ways cost the same; single blanks are simpler."
    cheaper, other = (gang, each) if gang.cost < each.cost else (each, gang)
    minutes = [way.wire_minutes + way.handling_minutes for way in (cheaper, other)]
    return (
        f"It costs {less / 100:,.2f} less: {100 * cheaper.yielded:.1f} % of the foam used ends in parts against "
        f"{100 * other.yielded:.1f} %, {minutes[0]:,.0f} minutes at the wire against {minutes[1]:,.0f}, "
        f"{cheaper.saw_cuts} saw cuts against {other.saw_cuts}."
    )


def _with_sums(way: Way | None) -> dict[str, Any] | None:
    return None if way is None else asdict(way) | {"cost": way.cost, "yielded": way.yielded}


# One way --------------------------------------------------------------------------------------------------------------


def _way(name: WayName, worked: Worked, rules: Rules, supply: Supply, rounds: int) -> Way | None:
    """Return a way planned out of the rack and whole blocks; None where no foam holds one of its blanks."""
    found = plan(_instance(worked.blanks, supply), iterations=rounds)
    if found.left_out:
        return None
    handling = sum(blank.qty for blank in worked.blanks) * rules.handling
    minutes = worked.quantities.wire_minutes
    return Way(
        name, worked.blanks, core=worked.quantities.core_volume * 1e9, opened=found.stats.opened,
        kept=found.stats.kept, lengths=_lengths(worked.blanks, supply), saw_cuts=found.stats.cuts,
        wire_minutes=minutes - handling, handling_minutes=handling,
        foam_cost=round(found.score), work_cost=round(minutes * supply.hour / 60),  # so that the cents shown add up
    )  # fmt: skip


def _lengths(blanks: Iterable[Blank], supply: Supply) -> int:
    """Return how many lengths of foam blanks end to end need, whatever their width and height."""
    demand: Counter[int] = Counter()
    for blank in blanks:
        demand[um_up(blank.size.l)] += blank.qty
    usable = {max(block) - 2 * supply.skin for block in supply.blocks} | {max(size) for size, _ in supply.remnants}
    cutting = sticks_from_lengths([(side, None, side // 1000) for side in usable], list(demand.items()), supply.kerf)
    return sum(pattern.times for pattern in cutting.patterns)


def _instance(blanks: Iterable[Blank], supply: Supply) -> Instance:
    """Return the blanks of one line out of what stands on the rack and as many whole blocks as they need."""
    made: Instance = {
        "format": "blockyard-stock-1", "name": "ways", "unit": "um", "kerf": supply.kerf, "allow_edge_shave": True,
        "min_remnant": supply.useful, "max_cuts": None, "max_stages": None,
        "remnants": [
            {"id": f"remnant {number}", "grade": "foam", "size": list(size), "price": price}
            for number, (size, price) in enumerate(supply.remnants, 1)
        ],
        "stock": [
            {"id": f"block {number}", "grade": "foam", "size": list(size), "skin": [[supply.skin, supply.skin]] * 3,
             "limit": None, "price": max(1, round(volume(size) * supply.per_ft3 / CUBIC_FOOT))}
            for number, size in enumerate(supply.blocks, 1)
        ],
        "blanks": [
            {"id": f"blank {number}", "grade": "foam", "qty": blank.qty, "rot": list(supply.lies),
             "size": [um_up(blank.size.l), um_up(blank.size.w), um_up(blank.size.h)]}
            for number, blank in enumerate(blanks, 1)
        ],
    }  # fmt: skip
    if supply.prices:
        made["prices"] = supply.prices
    if supply.saw:
        made["saw"] = supply.saw
    return made


# Faces ----------------------------------------------------------------------------------------------------------------


@dataclass
class _Packer:
    """Packs one section into faces, each face once."""

    outline: Outline
    rules: Rules
    turns: tuple[float, ...]
    mirror: bool
    done: dict[tuple[float, float, int], tuple[Placement, ...]] = field(default_factory=dict)

    def pack(self, w: float, h: float, most: int) -> tuple[Placement, ...]:
        """Return at most so many sections on a face of w × h; none where they would not be a kerf apart."""
        asked, room = (w, h, most), FaceRoom(w, h, margin(self.rules))
        if not self._holds_one(room):
            return ()
        if asked not in self.done:
            found = pack_face(self.outline, room, self.rules.wire_kerf, turns=self.turns, mirror=self.mirror, most=most)
            self.done[asked] = tuple(found) if found and apart(self.outline, found, room, self.rules.wire_kerf) else ()
        return self.done[asked]

    def _holds_one(self, room: FaceRoom) -> bool:
        _, _, wide, high = rect_round(self.outline.outer)
        return room.inner[0] >= wide and room.inner[1] >= high


def apart(outline: Outline, placed: Iterable[Placement], room: FaceRoom, kerf: float) -> bool:
    """Return whether sections lie inside a face less its margin, and one kerf from each other."""
    parts = [laid(outline, one) for one in placed]
    edge = room.margin - NOISE
    if not all(
        x0 >= edge and y0 >= edge and x1 <= room.w - edge and y1 <= room.h - edge
        for x0, y0, x1, y1 in (part.bounds for part in parts)
    ):
        return False
    pairs = STRtree(parts).query(parts, predicate="dwithin", distance=kerf - NOISE)
    return all(a == b for a, b in zip(*pairs, strict=True))


def _nests(worked: Worked, rules: Rules, supply: Supply) -> list[Gang]:
    """Return the nests worth planning, those with the smallest blanks first."""
    lengths: dict[float, int] = {}
    for stick in worked.sticks:
        lengths[stick.blank.l] = lengths.get(stick.blank.l, 0) + stick.qty
    square = not any(end.kind in MITRED for stick in worked.sticks for end in (stick.left, stick.right))
    over = TURNED_OVER in supply.lies
    packer = _Packer(section(worked), rules, (0.0, 180.0) if over else (0.0,), mirror=square and over)
    rooms = sorted(set(_rooms(max(lengths), rules, supply)), key=lambda room: (-room[0] * room[1], room))
    tried = [slab for room in rooms[:MOST_PACKED] for slab in _slabs(packer, room, max(lengths.values()), supply.kerf)]
    key = basis(worked, rules)
    nests = [
        Gang(key, tuple(face for l, qty in lengths.items() for face in _faces(packer, room, l, qty)))  # noqa: E741
        for room in dict.fromkeys(tried)
    ]
    shared = [nest for nest in nests if any(face.gives > 1 for face in nest.faces)]
    return sorted(shared, key=lambda nest: sum(face.size.volume * face.qty for face in nest.faces))[:MOST_PLANNED]


def _rooms(length: float, rules: Rules, supply: Supply) -> Iterator[tuple[float, float]]:
    """Yield the faces that foam has beside `length`, either way up, as far as a wire cutter reaches."""
    cores = [[side - 2 * supply.skin for side in block] for block in supply.blocks]
    for core in (*cores, *(size for size, _ in supply.remnants)):
        sides = [side / 1000 for side in core]
        for axis in range(3):
            across = sides[:axis] + sides[axis + 1 :]
            if sides[axis] >= length - NOISE:
                for w, h in (across, across[::-1]):
                    yield from _reached(w, h, length, rules, supply)


def _slabs(packer: _Packer, room: tuple[float, float], most: int, kerf_um: int) -> Iterator[tuple[float, float]]:
    """Yield a face that carries a section, and its halves where it cannot carry all."""
    found, (w, h), kerf = len(packer.pack(*room, most)), room, kerf_um / 1000
    if found:
        yield room
    if 1 < found < most:
        halves = ((w - kerf) / 2, h), (w, (h - kerf) / 2)
        yield from (half for half in halves if packer.pack(*half, most))


def _reached(w: float, h: float, length: float, rules: Rules, supply: Supply) -> Iterator[tuple[float, float]]:
    """Yield a face as each wire cutter can take it."""
    for machine in supply.machines or (Machine("any"),):
        most = machine.travel or math.inf, machine.height or math.inf
        for wide, high in (most, most[::-1]):
            asks = Asks("face", length + rules.wire_over, min(w, wide), min(h, high), may_turn=True)
            if not lacks(asks, machine, "mm"):
                yield asks.travel, asks.height


def _faces(packer: _Packer, room: tuple[float, float], length: float, qty: int) -> Iterator[GangFace]:
    """Yield full faces, then the last one no larger than it must be."""
    full = packer.pack(*room, qty)
    whole, rest = divmod(qty, len(full)) if len(full) < qty else (0, qty)
    if whole:
        yield _face(packer, full, room, length, whole)
    if rest:
        yield _last(packer, room, length, rest)


def _last(packer: _Packer, room: tuple[float, float], length: float, rest: int) -> GangFace:
    """Return the smallest face found that carries `rest` sections: narrower or lower than a full one."""
    narrow, low = (_smallest(packer, room, side, rest) for side in (0, 1))
    faces = [_face(packer, packer.pack(*each, rest), each, length, 1) for each in (narrow, low)]
    return min(faces, key=lambda face: face.size.w * face.size.h)


def _smallest(packer: _Packer, room: tuple[float, float], side: int, rest: int) -> tuple[float, float]:
    """Return a face with one side as short as it can be for `rest` sections, from no waste at all upwards."""
    across = room[1 - side]
    short = rest * Polygon(packer.outline.outer).area / across
    while short < room[side]:
        tried = (short, across) if side == 0 else (across, short)
        if len(packer.pack(*tried, rest)) >= rest:
            return tried
        short *= GROW
    return room


def _face(
    packer: _Packer, placed: tuple[Placement, ...], room: tuple[float, float], length: float, qty: int
) -> GangFace:
    """Return blanks drawn in to their sections, and the sections in the order of cutting."""
    parts = [laid(packer.outline, one) for one in placed]
    left, low = min(part.bounds[0] for part in parts), min(part.bounds[1] for part in parts)
    right, high = max(part.bounds[2] for part in parts), max(part.bounds[3] for part in parts)
    edge, step = margin(packer.rules), packer.rules.blank_step
    w, h = (
        round(min(step_up(size + 2 * edge, step), most), 6)
        for size, most in zip((right - left, high - low), room, strict=True)
    )
    moved = [Placement(one.item, one.turn, one.mirrored, one.x - left + edge, one.y - low + edge) for one in placed]
    cuts = cut_order([laid(packer.outline, one) for one in moved], FaceRoom(w, h), packer.rules.wire_kerf)
    leads = tuple(cut.lead for cut in cuts if cut.lead)
    wire = len(moved) * perimeter(packer.outline.outer) + math.fsum(math.dist(*lead) for lead in leads)
    return GangFace(Box(length, w, h), qty, tuple(moved[cut.part] for cut in cuts), wire, leads)
