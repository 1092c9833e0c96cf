"""The plain nest, as a shop lays it out by hand: every part in its own upright box, boxes in columns.

It is there at once, is always right, and is what every better nest is measured against.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace

from cutsheets.planning.faces import Nest, NestInstance, NestItem, NestStock, OpenedFace, Placement, placed

RIGHT_TURNS = (0.0, 90.0, 180.0, 270.0)


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
        if box.w > self.width or self.height + box.h > high + 1e-9:
            begin = self.left + self.width + self.kerf if self.width else 0.0
            if begin + box.w > wide + 1e-9 or box.h > high + 1e-9:
                return False
            self.left, self.width, self.height = begin, box.w, 0.0
        margin = self.stock.margin
        x, y = margin + self.left + box.x, margin + self.height + box.y
        self.placements.append(Placement(box.item.id, box.turn, False, x, y))
        self.height += box.h + self.kerf
        return True


def fits(item: NestItem, stock: NestStock) -> bool:
    """Return whether a part fits a face in some right-angled turn that it may take."""
    wide, high = stock.room.inner
    return any(box.w <= wide + 1e-9 and box.h <= high + 1e-9 for box in _boxes(item))


def rows(instance: NestInstance) -> Nest:
    """Return the plain nest; what finds no face is not in it."""
    left = {item.id: item.qty for item in instance.items}
    stock = {each.id: each.qty for each in instance.stock}
    faces: list[OpenedFace] = []
    placements: list[Placement] = []
    while any(left.values()):
        filled = [_filled(instance, each, left) for each in instance.stock if stock[each.id] != 0]
        filled = [face for face in filled if face.placements]
        if not filled:
            break
        best = min(filled, key=lambda face: _dearness(instance, face, left))
        on_hand = stock[best.stock.id]
        stock[best.stock.id] = None if on_hand is None else on_hand - 1
        placements += [replace(placement, face=len(faces)) for placement in best.placements]
        faces.append(OpenedFace(best.stock.id, best.stock.room))
        for placement in best.placements:
            left[placement.item] -= 1
    return Nest(tuple(faces), tuple(placements))


def _dearness(instance: NestInstance, face: _Face, left: dict[str, int]) -> tuple[bool, float]:
    """Return what a face costs for the foam it holds; one that holds all that is left goes first, by its cost."""
    if len(face.placements) == sum(left.values()):
        return False, face.stock.cost
    sizes = {item.id: _boxes(item)[0] for item in instance.items}
    return True, face.stock.cost / sum(sizes[each.item].w * sizes[each.item].h for each in face.placements)


def _filled(instance: NestInstance, stock: NestStock, left: dict[str, int]) -> _Face:
    """Return a face filled with what is left, the widest boxes first; a part lies so that its column is narrow."""
    wide, high = stock.room.inner
    face = _Face(stock, instance.kerf)
    wanted: list[tuple[_Box, int]] = []
    for item in instance.items:
        boxes = [box for box in _boxes(item) if box.w <= wide + 1e-9 and box.h <= high + 1e-9]
        if boxes and left[item.id]:
            wanted.append((min(boxes, key=lambda box: (box.w, box.turn)), left[item.id]))
    for box, copies in sorted(wanted, key=lambda each: (-each[0].w, -each[0].h)):
        for _ in range(copies):
            if not face.take(box):
                break
    return face


def _boxes(item: NestItem) -> list[_Box]:
    """Return the boxes of an item in the turns it may take; of a free one in the right-angled ones."""
    found = []
    for turn in RIGHT_TURNS if item.turns is None else item.turns:
        left, bottom, right, top = placed(item, Placement(item.id, turn, False, 0.0, 0.0)).bounds
        found.append(_Box(item, turn, right - left, top - bottom, -left, -bottom))
    return found
