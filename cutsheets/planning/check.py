"""The checker: whether a cutting plan can be sawn and gives every blank. It shares no code with any planner.

A plan is a tree of edge-to-edge cuts for each opened piece. The checker walks each tree, taking the kerf off at every
cut, and then looks at the leaves a second time without the tree: boxes inside the piece, none touching another, and
leaves + kerf equal to the piece to the last cubic micrometre. What the plan costs is worked out from the same walk.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field

from cutsheets.planning.prices import Prices
from cutsheets.solids import Placed, Triple
from cutsheets.stock import AXES, CutNode, Instance, Node, Plan, Remnant, Stock, is_useful, lying, volume


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing wrong with a plan: a code, the place in the plan, a sentence."""

    code: str
    where: str
    message: str


@dataclass(slots=True)
class Stats:
    """What a plan does, volumes in cubic micrometres; opened = blanks + kept + waste + kerf, exactly.

    `price` is that of the opened foam, `score` the whole cost as `prices` has it, both in cents.
    """

    new_blocks: int = 0
    remnants_used: int = 0
    remnants_kept: int = 0
    cuts: int = 0
    stages: int = 0
    opened: int = 0
    blanks: int = 0
    kept: int = 0
    waste: int = 0
    kerf: int = 0
    price: int = 0
    score: float = 0.0

    @property
    def yield_gross(self) -> float:
        """Return blanks ÷ opened, 0 to 1."""
        return self.blanks / self.opened if self.opened else 0.0

    @property
    def yield_net(self) -> float:
        """Return blanks ÷ (opened − kept), 0 to 1: what is kept is not lost."""
        return self.blanks / (self.opened - self.kept) if self.opened > self.kept else 0.0


@dataclass(slots=True)
class Verdict:
    """The faults of a plan (none: it can be sawn) and its figures."""

    faults: list[Fault] = field(default_factory=list)
    stats: Stats = field(default_factory=Stats)

    @property
    def ok(self) -> bool:
        """Return whether the plan may be shown to anybody."""
        return not self.faults

    def fault(self, code: str, where: str, message: str) -> None:
        self.faults.append(Fault(code, where, message))


def check(instance: Instance, plan: Plan) -> Verdict:
    """Return the verdict on a plan. O(cuts + leaves²) for each opened piece."""
    verdict = Verdict()
    if plan["instance"] != instance["name"]:
        verdict.fault("instance", "instance", f"The plan is for “{plan['instance']}”, not “{instance['name']}”.")
    made: Counter[str] = Counter()
    kept: Counter[str] = Counter()
    sources: Counter[str] = Counter()
    for n, piece in enumerate(plan["pieces"]):
        where = f"pieces[{n}]"
        sources[piece["source"]] += 1
        source = _source(instance, piece["source"])
        if source is None:
            verdict.fault("source", where, f"“{piece['source']}” is no block or remnant of this instance.")
            continue
        walk = Walk(instance, source, verdict, where)
        walk.run(piece["tree"])
        made.update(leaf.name for leaf in walk.leaves if leaf.kind == "blank")
        kept.update(leaf.name for leaf in walk.leaves if leaf.kind == "remnant")
    _check_sources(instance, sources, verdict)
    _check_counts(instance, made, kept, verdict)
    most = instance["max_cuts"]
    if most is not None and verdict.stats.cuts > most:
        verdict.fault("max-cuts", "pieces", f"{verdict.stats.cuts} cuts; at most {most} are allowed.")
    return verdict


def leaves(instance: Instance, source_name: str, tree: Node) -> list[Placed]:
    """Return where every leaf of one opened piece lies; an unknown source has none."""
    source = _source(instance, source_name)
    if source is None:
        return []
    walk = Walk(instance, source, Verdict(), source_name)
    walk.run(tree)
    return walk.leaves


class Walk:
    """One walk through the tree of one opened piece: collects leaves, kerf and faults."""

    def __init__(self, instance: Instance, source: Stock | Remnant, verdict: Verdict, where: str) -> None:
        self.instance, self.source, self.verdict, self.where = instance, source, verdict, where
        self.size: Triple = (source["size"][0], source["size"][1], source["size"][2])
        skin = source["skin"] if "limit" in source else [[0, 0]] * 3
        self.core = tuple((low, side - high) for side, (low, high) in zip(self.size, skin, strict=True))
        self.blanks = {blank["id"]: blank for blank in instance["blanks"]}
        self.leaves: list[Placed] = []
        self.kerf: list[Placed] = []
        self.cuts = self.stages = 0

    def run(self, tree: Node) -> None:
        before = len(self.verdict.faults)
        todo: list[tuple[Node, Triple, Triple, str, int, str]] = [(tree, (0, 0, 0), self.size, "", 0, "")]
        while todo:
            node, pos, size, axis, stage, path = todo.pop()
            if "axis" in node:
                todo.extend(self.cut(node, pos, size, (axis, stage), path))
            else:
                self.leaf(node, pos, size, path)
        if len(self.verdict.faults) == before:
            self.check_boxes()
        self.add_up()

    def cut(
        self, node: CutNode, pos: Triple, size: Triple, before: tuple[str, int], path: str
    ) -> Iterator[tuple[Node, Triple, Triple, str, int, str]]:
        """Yield the two parts of a cut, and note what is wrong with it."""
        name, at, kerf = node["axis"], node["at"], self.instance["kerf"]
        axis = AXES.index(name)
        self.cuts += 1
        stage = before[1] + (name != before[0])
        self.stages = max(self.stages, stage)
        if not 0 < at < size[axis]:
            self.fault("cut-outside", path, f"A cut at {at} lies outside the piece in hand, {size[axis]} along {name}.")
            return
        self.check_saw(axis, size, path)
        rest = size[axis] - at - kerf
        lost = min(kerf, size[axis] - at)
        if lost:
            self.kerf.append(Placed("waste", "kerf", _moved(pos, axis, at), _sized(size, axis, lost)))
        yield node["lo"], pos, _sized(size, axis, at), name, stage, f"{path}.lo"
        high = node["hi"]
        if high is None and rest > 0:
            self.fault("left-out", path, f"{rest} beyond the kerf is left out of the plan.")
        elif high is None and rest < 0 and not self.instance["allow_edge_shave"]:
            self.fault("edge-shave", path, "The cut runs partly in the air, which this saw may not do.")
        elif high is not None and rest <= 0:
            self.fault("kerf", path, "The kerf leaves nothing of the high part.")
        elif high is not None:
            yield high, _moved(pos, axis, at + kerf), _sized(size, axis, rest), name, stage, f"{path}.hi"

    def check_saw(self, axis: int, size: Triple, path: str) -> None:
        """Note a cut whose face is higher or longer than the saw reaches, whichever way the piece is turned."""
        saw = self.instance.get("saw")
        if saw is None:
            return
        low, long = sorted(side for other, side in enumerate(size) if other != axis)
        if saw["height"] is not None and low > saw["height"]:
            self.fault("saw-height", path, f"The cut is {low} high; this saw reaches {saw['height']}.")
        if saw["length"] is not None and long > saw["length"]:
            self.fault("saw-length", path, f"The cut is {long} long; this saw reaches {saw['length']}.")

    def leaf(self, node: Node, pos: Triple, size: Triple, path: str) -> None:
        if "blank" in node:
            self.leaves.append(Placed("blank", node["blank"], pos, size))
            self.check_blank(node["blank"], node["rot"], pos, size, path)
        elif "remnant" in node:
            self.leaves.append(Placed("remnant", node["remnant"], pos, size))
            if not is_useful(size, self.instance["min_remnant"]):
                self.fault("remnant-small", path, f"Remnant {node['remnant']} is smaller than what is worth keeping.")
        else:
            self.leaves.append(Placed("waste", "", pos, size))

    def check_blank(self, name: str, lie: str, pos: Triple, size: Triple, path: str) -> None:
        blank = self.blanks.get(name)
        if blank is None:
            self.fault("blank-unknown", path, f"No blank is called “{name}”.")
            return
        if lie not in blank["rot"]:
            self.fault("lie", path, f"Blank {name} may not lie {lie}.")
        elif lying(blank["size"], lie) != size:
            self.fault("blank-size", path, f"Blank {name} needs {lying(blank['size'], lie)}, this leaf is {size}.")
        if blank["grade"] != self.source["grade"]:
            self.fault("grade", path, f"Blank {name} is {blank['grade']}, the foam is {self.source['grade']}.")
        if self.source["id"] not in blank.get("from", (self.source["id"],)):
            self.fault("not-from", path, f"Blank {name} may not come out of {self.source['id']}.")
        if any(pos[a] < low or pos[a] + size[a] > high for a, (low, high) in enumerate(self.core)):
            self.fault("skin", path, f"Blank {name} lies in the skin of the block.")

    def check_boxes(self) -> None:
        """Look at the boxes without the tree: inside, apart, and adding up exactly."""
        boxes = self.leaves + self.kerf
        if not all(_inside(part, self.size) for part in boxes):
            self.fault("outside", "", "A part lies outside the piece.")
        if first_overlap(self.leaves) is not None:
            self.fault("overlap", "", "Two parts lie in the same foam.")
        if sum(volume(p.size) for p in boxes) != volume(self.size):
            self.fault("volume", "", "Parts and kerf do not add up to the piece.")

    def add_up(self) -> None:
        stats = self.verdict.stats
        is_remnant = "skin" not in self.source
        stats.new_blocks += not is_remnant
        stats.remnants_used += is_remnant
        stats.cuts += self.cuts
        stats.stages = max(stats.stages, self.stages)
        stats.opened += volume(self.size)
        stats.kerf += sum(volume(p.size) for p in self.kerf)
        prices = Prices.of(self.instance)
        new_foam = prices.cheapest(self.instance, self.source["grade"])
        stats.price += self.source["price"]
        stats.score += self.source["price"] + prices.cut * self.cuts
        for leaf in self.leaves:
            name = {"blank": "blanks", "remnant": "kept", "waste": "waste"}[leaf.kind]
            setattr(stats, name, getattr(stats, name) + volume(leaf.size))
            if leaf.kind == "remnant":
                stats.remnants_kept += 1
                stats.score += prices.kept(volume(leaf.size), new_foam)
        most = self.instance["max_stages"]
        if most is not None and self.stages > most:
            self.fault("max-stages", "", f"{self.stages} changes of direction; at most {most} are allowed.")

    def fault(self, code: str, path: str, message: str) -> None:
        self.verdict.fault(code, f"{self.where}{path}", message)


def first_overlap(parts: Sequence[Placed]) -> tuple[Placed, Placed] | None:
    """Return the first two parts that share foam, or None."""
    ordered = sorted(parts, key=lambda part: part.pos)
    for n, one in enumerate(ordered):
        for two in ordered[n + 1 :]:
            if two.pos[0] >= one.pos[0] + one.size[0]:
                break
            if all(_meet(one, two, axis) for axis in (1, 2)):
                return one, two
    return None


def can_be_sawn(parts: Sequence[Placed], size: Triple) -> bool:
    """Return whether boxes lie in a piece without overlap and can be cut free edge to edge (kerf left aside).

    A cut must run right across the piece in hand without meeting a part; each side is then a piece of its own. Taking
    any such cut is enough: a cut never hinders another one. O(parts² log parts).
    """
    if first_overlap(parts) is not None or not all(_inside(part, size) for part in parts):
        return False
    todo = [list(parts)]
    while todo:
        inside = todo.pop()
        if len(inside) < 2:
            continue
        split = _free_cut(inside)
        if split is None:
            return False
        todo += split
    return True


def _free_cut(parts: list[Placed]) -> tuple[list[Placed], list[Placed]] | None:
    """Return the parts on both sides of a cut that meets none of them, or None."""
    for axis in range(3):
        ordered = sorted(parts, key=lambda part: part.pos[axis])
        reach = 0
        for n, part in enumerate(ordered):
            if n and part.pos[axis] >= reach:
                return ordered[:n], ordered[n:]
            reach = max(reach, part.pos[axis] + part.size[axis])
    return None


def _check_sources(instance: Instance, sources: Counter[str], verdict: Verdict) -> None:
    for name, times in sources.items():
        if times > 1:
            verdict.fault("source-twice", name, f"{name} is opened twice.")
    for stock in instance["stock"]:
        used = sum(times for name, times in sources.items() if _stock_id(name) == stock["id"])
        if stock["limit"] is not None and used > stock["limit"]:
            verdict.fault("limit", stock["id"], f"{used} of {stock['id']} are opened, {stock['limit']} are on hand.")


def _check_counts(instance: Instance, made: Counter[str], kept: Counter[str], verdict: Verdict) -> None:
    for blank in instance["blanks"]:
        if made[blank["id"]] != blank["qty"]:
            message = f"Blank {blank['id']}: {made[blank['id']]} cut, {blank['qty']} ordered."
            verdict.fault("count", blank["id"], message)
    rack = {remnant["id"] for remnant in instance["remnants"]}
    for name, times in kept.items():
        if times > 1 or name in rack:
            verdict.fault("remnant-id", name, f"The tag {name} is not new.")


def _source(instance: Instance, name: str) -> Stock | Remnant | None:
    wanted: Iterable[Stock | Remnant] = ()
    if name.startswith("stock:") and "#" in name:
        wanted = (stock for stock in instance["stock"] if stock["id"] == _stock_id(name))
    elif name.startswith("remnant:"):
        wanted = (remnant for remnant in instance["remnants"] if f"remnant:{remnant['id']}" == name)
    return next(iter(wanted), None)


def _stock_id(name: str) -> str:
    return name.removeprefix("stock:").rsplit("#", 1)[0] if name.startswith("stock:") else ""


def _inside(part: Placed, size: Triple) -> bool:
    return all(part.pos[axis] >= 0 and part.pos[axis] + part.size[axis] <= size[axis] for axis in range(3))


def _meet(one: Placed, two: Placed, axis: int) -> bool:
    return one.pos[axis] < two.pos[axis] + two.size[axis] and two.pos[axis] < one.pos[axis] + one.size[axis]


def _sized(size: Triple, axis: int, side: int) -> Triple:
    return (
        side if axis == 0 else size[0], side if axis == 1 else size[1], side if axis == 2 else size[2],
    )  # fmt: skip


def _moved(pos: Triple, axis: int, by: int) -> Triple:
    return _sized(pos, axis, pos[axis] + by)
