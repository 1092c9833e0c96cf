"""Gang cutting: many sections of one profile wired out of the face of one big blank, laid into a line worked out.

Width and height of such a blank carry the sections, its length is that of the sticks with trim at both ends; mitres
are sawn afterwards, as they are where every stick has a blank of its own. Lengths in mm.
"""

from __future__ import annotations

import hashlib
import json
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import asdict, dataclass, replace
from typing import Any

from shapely import Polygon
from shapely.ops import polylabel

from cutsheets.blanks import group
from cutsheets.costing import ENTRIES, Wire, blank_volume, wire_minutes
from cutsheets.kinds.pictures import rect_round, rectangle, three_sizes
from cutsheets.machines import wired_along
from cutsheets.nesting.faces import Placement, moved_ring
from cutsheets.rules import Rules
from cutsheets.sections import perimeter
from cutsheets.solids import Box, Face, Note, Outline, Point, Ring, Size, Stick, View, Worked

LYING = "lying flat"  # the view of a sprung moulding as it is wired


@dataclass(frozen=True, slots=True)
class GangFace:
    """Blanks of one size with the sections on their face, in the order of cutting.

    `size` is the blank: its face is wide × high. `wire` is the way of the wire on one face: round the sections and
    along the `leads`, cuts of their own from where the wire is to the next section.
    """

    size: Box
    qty: int
    placed: tuple[Placement, ...]
    wire: float
    leads: tuple[tuple[Point, Point], ...] = ()

    @property
    def gives(self) -> int:
        """Return how many pieces come out of one blank."""
        return len(self.placed)


@dataclass(frozen=True, slots=True)
class Gang:
    """The faces of a line, and which section they carry: they serve no line with another `basis`."""

    basis: str
    faces: tuple[GangFace, ...]

    def as_json(self) -> dict[str, Any]:
        """Return the nest as plain data."""
        return asdict(self)


def read_gang(stored: Mapping[str, Any]) -> Gang:
    """Return a nest from what `as_json` returned."""
    return Gang(stored["basis"], tuple(map(_read_face, stored["faces"])))


def _read_face(stored: Mapping[str, Any]) -> GangFace:
    placed = tuple(Placement(**one) for one in stored["placed"])
    leads = tuple(((a[0], a[1]), (b[0], b[1])) for a, b in stored["leads"])
    return GangFace(Box(**stored["size"]), stored["qty"], placed, stored["wire"], leads)


def is_straight(worked: Worked) -> bool:
    """Return whether one section runs straight through every piece: only then may a face carry many."""
    return isinstance(worked.foam, Face)


def section(worked: Worked) -> Outline:
    """Return the foam's section as it lies on the machine, its lower left corner at (0, 0); for straight parts."""
    lying = next((view.foam[0] for view in worked.views if view.name == LYING), _outline(worked.foam))
    left, low, _, _ = rect_round(lying)
    return Outline(tuple((x - left, y - low) for x, y in lying))


def margin(rules: Rules) -> float:
    """Return what is left all round a face: its sides may be the crust of the block."""
    return max(rules.skim_wall, rules.skim_other)


def basis(worked: Worked, rules: Rules) -> str:
    """Return what a nest of sections holds for, as a short text: the section, the kerf of the wire, the margin."""
    return fingerprint([section(worked).outer, rules.wire_kerf, margin(rules)])


def fingerprint(known: object) -> str:
    """Return a short text that is another one where anything of this plain data is."""
    return hashlib.sha256(json.dumps(known).encode()).hexdigest()[:16]


def ganged(worked: Worked, gang: Gang, rules: Rules) -> Worked:
    """Return a line with the faces of its nest as blanks. The nest must be of this section: `gang.basis` says so.

    Only faces that are wanted whole are used; pieces beyond them keep a blank of their own, and a note says so.
    """
    faces = carried(worked, gang)
    outline = section(worked)
    sticks = tuple(_allot(worked.sticks, faces))
    blanks = group(sticks)
    count = sum(face.qty for face in faces)
    single = sum(stick.qty for stick in sticks) - sum(face.qty * face.gives for face in faces)
    path = sum(face.qty * face.wire for face in faces) + single * perimeter(outline.outer)
    wire = Wire(path, ENTRIES * (count + single), count + single)
    quantities = replace(
        worked.quantities, blank_volume=blank_volume(blanks), wire_length=path, wire_minutes=wire_minutes(wire, rules)
    )
    return replace(
        worked, sticks=sticks, blanks=blanks, quantities=quantities, asks=wired_along(blanks, rules),
        views=(*_part_views(worked), *face_views(outline, faces, rules.wire_kerf)),
        notes=(*worked.notes, *_single_notes(single)),
    )  # fmt: skip


def carried(worked: Worked, gang: Gang) -> tuple[GangFace, ...]:
    """Return the faces of a nest that a line wants whole, as its blanks are ordered; none for other lengths."""
    left = Counter[float]()
    for stick in worked.sticks:
        left[stick.blank.l] += stick.qty
    faces = []
    for face in sorted(gang.faces, key=_rank):
        if wanted := min(face.qty, left[face.size.l] // face.gives):
            left[face.size.l] -= wanted * face.gives
            faces.append(replace(face, qty=wanted))
    return tuple(faces)


def _rank(face: GangFace) -> tuple[float, ...]:
    """Return what sorts faces as `cutsheets.blanks.group` sorts their blanks: so both halves of a sheet agree."""
    return -face.size.l, -face.size.w, -face.size.h, -face.gives


def face_name(gives: int | str) -> str:
    """Return what the view of a face is called; with no number what all of them begin with.

    >>> face_name(12)
    'face of 12'
    """
    return f"face of {gives}"


def face_views(outline: Outline, faces: Iterable[GangFace], kerf: float) -> tuple[View, ...]:
    """Return a picture of each different face: its sections numbered in the order of cutting, and the leads."""
    alike = {(face.size.w, face.size.h, face.placed): face for face in faces}
    return tuple(_face_view(outline, face, kerf) for face in alike.values())


def _allot(sticks: Iterable[Stick], faces: Iterable[GangFace]) -> Iterator[Stick]:
    """Yield the sticks with their new blanks; one mark may go on from one face to the next."""
    rooms: dict[float, list[tuple[GangFace, int]]] = defaultdict(list)
    for face in faces:
        rooms[face.size.l].append((face, face.qty * face.gives))
    for stick in sticks:
        left, own = stick.qty, rooms[stick.blank.l]
        while left and own:
            face, room = own.pop(0)
            taken = min(left, room)
            yield replace(stick, qty=taken, blank=face.size, gives=face.gives)
            left -= taken
            own[:0] = [(face, room - taken)] if room > taken else []
        if left:
            yield replace(stick, qty=left)


def _single_notes(single: int) -> tuple[Note, ...]:
    if not single:
        return ()
    who = "1 piece is" if single == 1 else f"{single} pieces are"
    words = f"{who} on no face and cut from single blanks; compare the two ways of this line anew."
    return (Note("part-nest", words),)


def _part_views(worked: Worked) -> tuple[View, ...]:
    """Return the pictures of the part without the blank that every stick would have had."""
    if worked.views:
        return tuple(
            replace(view, blank=(), sizes=tuple(size for size in view.sizes if size.of != "blank"))
            for view in worked.views
        )
    foam, finished = _outline(worked.foam), _outline(worked.finished)
    _, low, _, high = around = rect_round(finished)
    sizes = tuple(size for size in three_sizes(rect_round(foam), around, around) if size.of != "blank")
    wall = ((0.0, low), (0.0, high))
    return (View("section", foam=(foam,), finished=(finished,), lines=(wall,), sizes=sizes),)


def _outline(of: Face | Box) -> Ring:
    if isinstance(of, Box):
        raise TypeError("a box has no section: ask is_straight first")
    return of.outline


def _face_view(outline: Outline, face: GangFace, kerf: float) -> View:
    inside = polylabel(Polygon(outline.outer), tolerance=1.0)
    spot = ((float(inside.x), float(inside.y)),)
    w, h = face.size.w, face.size.h
    return View(
        face_name(face.gives), foam=tuple(moved_ring(outline.outer, place) for place in face.placed),
        blank=(rectangle((0.0, 0.0, w, h)),), lines=face.leads,
        sizes=(Size((0.0, 0.0), (w, 0.0), "blank", -1.0), Size((w, 0.0), (w, h), "blank", -1.0)),
        numbers=tuple(moved_ring(spot, place)[0] for place in face.placed), kerf=kerf,
    )  # fmt: skip
