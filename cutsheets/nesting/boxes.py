"""The plain nest, as a shop lays it out by hand: every part in its own upright box, boxes in columns.

It is there at once, is always right, and is what every better nest is measured against.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace

from shapely.geometry import Polygon

from cutsheets.nesting.faces import Nest, NestInstance, NestItem, NestStock, OpenedFace, Placement, placed

RIGHT_TURNS = (0.0, 90.0, 180.0, 270.0)
ASLANT = tuple(5.0 * n for n in range(72))
NOISE = 1e-9  # of the file's unit: what adding up loses


@dataclass(frozen=True, slots=True)
class _Box:
    """A part in its box: width, height, and where its origin lies in the box."""

    item: NestItem
    turn: float
    w: float
    h: float
    x: float
    y: float


@dataclass(slots=True)
class _Face:
    """A face that is being filled: columns side by side, each as wide as its first box."""

    stock: NestStock
    kerf: float
    placements: list[Placement] = field(default_factory=list)
    left: float = 0.0  # of the column in hand, from the margin
    width: float = 0.0
    height: float = 0.0

    def take(self, box: _Box) -> bool:
        """Put a box on top of the column in hand or at the foot of a new one; False where there is no room."""
        wide, high = self.stock.room.inner
        if box.w > self.width or self.height + box.h > high + NOISE:
            begin = self.left + self.width + self.kerf if self.width else 0.0
            if begin + box.w > wide + NOISE or box.h > high + NOISE:
                return False
            self.left, self.width, self.height = begin, box.w, 0.0
        margin = self.stock.margin
        x, y = margin + self.left + box.x, margin + self.height + box.y
        self.placements.append(Placement(box.item.id, box.turn, False, x, y))
        self.height += box.h + self.kerf
        return True


def fits(item: NestItem, stock: NestStock) -> bool:
    """Return whether a part fits a face in some turn that it may take."""
    return bool(_boxes(item, stock))


def rows(instance: NestInstance) -> Nest:
    """Return the plain nest; what finds no face is not in it."""
    both = [_laid(instance, finish) for finish in (True, False)]
    costs = {each.id: each.cost for each in instance.stock}
    return min(both, key=lambda nest: (-len(nest.placements), sum(costs[face.stock] for face in nest.faces)))


def _laid(instance: NestInstance, finish: bool) -> Nest:
    """Return a nest by always opening the face whose foam comes cheapest; `finish`: or one that holds all that is left.

    A cheap remnant may or may not spare a face.
    """
    left = {item.id: item.qty for item in instance.items}
    stock = {each.id: each.qty for each in instance.stock}
    areas = {item.id: Polygon(item.outline.outer).area for item in instance.items}
    faces: list[OpenedFace] = []
    placements: list[Placement] = []

    def dearness(face: _Face) -> tuple[bool, float]:
        if finish and len(face.placements) == sum(left.values()):
            return False, face.stock.cost
        return True, face.stock.cost / sum(areas[each.item] for each in face.placements)

    while any(left.values()):
        filled = [_filled(instance, each, left) for each in instance.stock if stock[each.id] != 0]
        filled = [face for face in filled if face.placements]
        if not filled:
            break
        best = min(filled, key=dearness)
        on_hand = stock[best.stock.id]
        stock[best.stock.id] = None if on_hand is None else on_hand - 1
        placements += [replace(placement, face=len(faces)) for placement in best.placements]
        faces.append(OpenedFace(best.stock.id, best.stock.room))
        for placement in best.placements:
            left[placement.item] -= 1
    return Nest(tuple(faces), tuple(placements))


def _filled(instance: NestInstance, stock: NestStock, left: dict[str, int]) -> _Face:
    """Return a face filled with what is left, the widest boxes first; a part lies so that its column is narrow."""
    face = _Face(stock, instance.kerf)
    wanted: list[tuple[_Box, int]] = []
    for item in instance.items:
        if left[item.id] and (boxes := _boxes(item, stock)):
            wanted.append((min(boxes, key=lambda box: (box.w, box.turn)), left[item.id]))
    for box, copies in sorted(wanted, key=lambda each: (-each[0].w, -each[0].h)):
        for _ in range(copies):
            if not face.take(box):
                break
    return face


def _boxes(item: NestItem, stock: NestStock) -> list[_Box]:
    """Return the boxes of an item that fit a face, in the turns it may take.

    One that may be turned anyhow lies at a right angle, or aslant where that is the only way.
    """
    wide, high = stock.room.inner
    for turns in (item.turns,) if item.turns is not None else (RIGHT_TURNS, ASLANT):
        boxes = [_box(item, turn) for turn in turns]
        fitting = [box for box in boxes if box.w <= wide + NOISE and box.h <= high + NOISE]
        if fitting:
            return fitting
    return []


def _box(item: NestItem, turn: float) -> _Box:
    left, bottom, right, top = placed(item, Placement(item.id, turn, False, 0.0, 0.0)).bounds
    return _Box(item, turn, right - left, top - bottom, -left, -bottom)
