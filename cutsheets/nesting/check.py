"""The checker of nests: whether the wire can cut every part out, true to size. It shares no code with any engine.

It moves the true outlines itself, looks whether each lies on its face inside the margin, whether any two on a face
come closer than one kerf, whether every part is there as often as it was ordered, turned and mirrored only as it may
be, and whether there are as many faces. A part in the counter of another is right where it is clear of it by a kerf.
"""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import dataclass, field

import numpy as np
import shapely
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from cutsheets.nesting.faces import Nest, NestInstance, NestItem, OpenedFace, Placement
from cutsheets.planning.check import Fault
from cutsheets.solids import Outline

TOLERANCE = 1e-6  # of the file's unit: what is lost when coordinates are added up, and far below what a wire can do
TURN = 1e-6  # degrees
SAME = 1e-9  # of the file's unit: a size is the size that was written


@dataclass(frozen=True, slots=True)
class FaceStats:
    """One face: how many parts, their area, that of the face, and how far to the right the last part reaches."""

    parts: int
    area: float
    face_area: float
    x_used: float

    @property
    def share(self) -> float:
        """Return parts ÷ face, 0 to 1."""
        return self.area / self.face_area


@dataclass(slots=True)
class NestVerdict:
    """The faults of a nest (none: it can be cut), its figures, and the least room between two parts (None: one part).

    `close` names the pairs of placements that are too close, `outside` the placements that leave their face.
    """

    faults: list[Fault] = field(default_factory=list)
    faces: list[FaceStats] = field(default_factory=list)
    cost: float = 0.0
    clearance: float | None = None
    close: list[tuple[int, int]] = field(default_factory=list)
    outside: list[int] = field(default_factory=list)

    @property
    def ok(self) -> bool:
        """Return whether the nest may be shown to anybody."""
        return not self.faults

    @property
    def share(self) -> float:
        """Return parts ÷ faces that are opened, 0 to 1."""
        return sum(face.area for face in self.faces) / (sum(face.face_area for face in self.faces) or 1.0)

    def fault(self, code: str, where: str, message: str) -> None:
        self.faults.append(Fault(code, where, message))


def check_nest(instance: NestInstance, nest: Nest) -> NestVerdict:
    """Return the verdict on a nest. O(parts · log parts) where parts are small beside their faces."""
    verdict = NestVerdict()
    _check_faces(instance, nest, verdict)
    items = {item.id: item for item in instance.items}
    lying: list[list[tuple[int, Polygon]]] = [[] for _ in nest.faces]
    for number, placement in enumerate(nest.placements):
        where = f"placements[{number}]"
        item = items.get(placement.item)
        if item is None:
            verdict.fault("item-unknown", where, f"No item is called “{placement.item}”.")
        elif not 0 <= placement.face < len(nest.faces):
            verdict.fault("face-unknown", where, f"There is no face {placement.face}.")
        elif not all(map(math.isfinite, (placement.turn, placement.x, placement.y))):
            verdict.fault("place", where, "A place or a turn is no number.")
        else:
            _check_lie(item, placement, where, verdict)
            lying[placement.face].append((number, _at(item.outline, placement)))
    for face, parts in zip(nest.faces, lying, strict=True):
        _check_face(instance.kerf, face, parts, verdict)
    _check_counts(instance, nest, verdict)
    return verdict


def _check_faces(instance: NestInstance, nest: Nest, verdict: NestVerdict) -> None:
    stock = {each.id: each for each in instance.stock}
    for number, face in enumerate(nest.faces):
        where = f"faces[{number}]"
        bought = stock.get(face.stock)
        if bought is None:
            verdict.fault("stock-unknown", where, f"No stock is called “{face.stock}”.")
            continue
        verdict.cost += bought.cost
        if abs(face.room.w - bought.w) > SAME or abs(face.room.h - bought.h) > SAME:
            verdict.fault("face-size", where, f"{face.stock} is {bought.w:g} × {bought.h:g}.")
        if face.room.margin < bought.margin - SAME:
            verdict.fault("margin", where, f"The margin of {face.stock} is {bought.margin:g}.")
    for name, used in Counter(face.stock for face in nest.faces).items():
        on_hand = stock[name].qty if name in stock else None
        if on_hand is not None and used > on_hand:
            verdict.fault("limit", name, f"{used} of {name} are opened, {on_hand} are on hand.")


def _check_lie(item: NestItem, placement: Placement, where: str, verdict: NestVerdict) -> None:
    if placement.mirrored and not item.mirror:
        verdict.fault("mirror", where, f"{item.id} may not be turned end for end.")
    if item.turns is None:
        return
    if all(abs((placement.turn - turn + 180.0) % 360.0 - 180.0) > TURN for turn in item.turns):
        verdict.fault("turn", where, f"{item.id} may not be turned by {placement.turn:g}°.")


def _check_face(kerf: float, face: OpenedFace, parts: list[tuple[int, Polygon]], verdict: NestVerdict) -> None:
    """Look at the parts of one face: inside its margin, and a kerf apart."""
    room, low = face.room, face.room.margin - TOLERANCE
    for number, part in parts:
        left, bottom, right, top = part.bounds
        if left < low or bottom < low or right > room.w - low or top > room.h - low:
            verdict.outside.append(number)
            verdict.fault("outside", f"placements[{number}]", "The part reaches out of its face or into the margin.")
    shapes = [part for _, part in parts]
    for one, two in _near(shapes, kerf):
        first, second = parts[one][0], parts[two][0]
        apart = _room_between(shapes[one], shapes[two])
        verdict.clearance = apart if verdict.clearance is None else min(verdict.clearance, apart)
        if apart >= kerf - TOLERANCE:
            continue
        verdict.close.append((first, second))
        code, said = ("kerf", f"are {apart:.6f} apart") if apart >= 0 else ("overlap", "lie in the same foam")
        verdict.fault(code, f"placements[{second}]", f"Parts {first} and {second} {said}; the kerf is {kerf:g}.")
    area = sum(part.area for part in shapes)
    right = max((part.bounds[2] for part in shapes), default=0.0)
    verdict.faces.append(FaceStats(len(parts), area, room.w * room.h, right))


def _near(shapes: list[Polygon], kerf: float) -> list[tuple[int, int]]:
    """Return the pairs whose boxes come within a kerf or two, each once, in order."""
    reach = kerf + TOLERANCE
    left, bottom, right, top = shapely.bounds(shapes).reshape(-1, 4).T
    boxes = np.asarray(shapely.box(left - reach, bottom - reach, right + reach, top + reach))
    pairs = shapely.STRtree(boxes).query(boxes, predicate="intersects").T
    return sorted((int(one), int(two)) for one, two in pairs if one < two)


def _room_between(one: Polygon, two: Polygon) -> float:
    """Return the distance of two parts, −1 where they lie in the same foam; touching is 0."""
    apart = float(shapely.distance(one, two))
    if apart:
        return apart
    return -1.0 if _shrunk(one).intersects(_shrunk(two)) else 0.0


def _shrunk(part: Polygon) -> BaseGeometry:
    return part.buffer(-TOLERANCE / 2, join_style="mitre")


def _check_counts(instance: NestInstance, nest: Nest, verdict: NestVerdict) -> None:
    cut = Counter(placement.item for placement in nest.placements)
    for item in instance.items:
        if cut[item.id] != item.qty:
            verdict.fault("count", item.id, f"Item {item.id}: {cut[item.id]} placed, {item.qty} ordered.")


def _at(outline: Outline, placement: Placement) -> Polygon:
    """Return the true outline where it is put: mirrored, turned counter-clockwise, shifted."""
    quarter, rest = divmod(placement.turn % 360.0, 90.0)
    c, s = math.cos(math.radians(rest)), math.sin(math.radians(rest))
    for _ in range(int(quarter)):  # quarter turns move no digit
        c, s = -s, c
    move = np.array([[-c if placement.mirrored else c, -s], [-s if placement.mirrored else s, c]])
    rings = [np.array(ring) @ move.T + (placement.x, placement.y) for ring in outline.rings]
    return Polygon(rings[0], rings[1:])
