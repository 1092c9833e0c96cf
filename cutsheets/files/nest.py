"""Reader and writer of `blockyard-nest-1`: outlines and faces in, faces and placements out. Nothing is guessed.

Lengths stay in the file's unit, as they were written; a text with a unit of its own is turned into it.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from shapely import distance, get_coordinates, linestrings
from shapely import points as make_point
from shapely.geometry import LineString, Polygon
from shapely.geometry.polygon import orient
from shapely.validation import explain_validity

from cutsheets.errors import CutsheetError
from cutsheets.nesting.faces import FaceRoom, Nest, NestInstance, NestItem, NestStock, OpenedFace, Placement
from cutsheets.records import items, once, parse, record, words
from cutsheets.sections import edge_ends
from cutsheets.solids import Outline, Point, Ring
from cutsheets.units import Unit, read_coordinate, to_unit

FORMAT = "blockyard-nest-1"
LARGEST = {"mm": 100_000.0, "in": 4_000.0}  # 100 m: nobody's face, and no coordinate of an outline
MOST_STOCK, MOST_ITEMS, MOST_PARTS = 100, 1000, 5000
MOST_RING, MOST_POINTS = 5000, 100_000  # points of one ring, of all outlines
MOST_TURNS = 360
NOTHING = 1e-6
ASKED = ("kerf", "stock", "items")
HEAD = ("format", "name", "unit", "units", "note")
ANSWER = ("entries", "order", "left_out", "in_counters")


def read_nest_instance(text: str) -> NestInstance:
    """Return what is to be nested; raises CutsheetError with the place of the first fault."""
    raw = record(_tagged(parse(text)), "", required=ASKED, optional=HEAD)
    unit = _unit(raw)
    instance = NestInstance(
        name=words(raw.get("name", "nest"), "name", least=1),
        unit=unit,
        kerf=_kerf(raw["kerf"], unit),
        stock=tuple(
            _stock(each, unit, f"stock[{n}]")
            for n, each in enumerate(items(raw["stock"], "stock", least=1, most=MOST_STOCK))
        ),
        items=tuple(
            _item(each, unit, f"items[{n}]")
            for n, each in enumerate(items(raw["items"], "items", least=1, most=MOST_ITEMS))
        ),
    )
    once((each.id for each in instance.stock), "stock")
    once((each.id for each in instance.items), "items")
    if sum(item.qty for item in instance.items) > MOST_PARTS:
        raise CutsheetError("too-many", f"There are more than {MOST_PARTS} parts; nest them in lots.", "items")
    if sum(len(ring) for item in instance.items for ring in item.outline.rings) > MOST_POINTS:
        raise CutsheetError("too-many-points", f"The outlines have more than {MOST_POINTS} points.", "items")
    return instance


def read_nest(text: str) -> Nest:
    """Return a nest as it stands; whether it is right is for the checker to say. It may hold its instance too."""
    optional = (*ASKED, *HEAD, *ANSWER)
    raw = record(_tagged(parse(text)), "", required=("faces", "placements"), optional=optional)
    unit = _unit(raw)
    faces = []
    for n, each in enumerate(items(raw["faces"], "faces", most=MOST_PARTS)):
        where = f"faces[{n}]"
        face = record(each, where, required=("w", "h", "stock"), optional=("margin",))
        w, h, margin = (_length(face.get(key, 0), unit, f"{where}.{key}") for key in ("w", "h", "margin"))
        faces.append(OpenedFace(words(face["stock"], f"{where}.stock", least=1), FaceRoom(w, h, margin)))
    lying = enumerate(items(raw["placements"], "placements", most=MOST_PARTS))
    return Nest(tuple(faces), tuple(_placement(each, unit, f"placements[{n}]") for n, each in lying))


def instance_as_dict(instance: NestInstance) -> dict[str, Any]:
    """Return an instance as its file has it."""
    return {
        "format": FORMAT,
        "name": instance.name,
        "unit": instance.unit,
        "kerf": instance.kerf,
        "stock": [
            {"id": each.id, "w": each.w, "h": each.h, "margin": each.margin, "qty": each.qty, "cost": each.cost}
            for each in instance.stock
        ],
        "items": [
            {
                "id": item.id,
                "polygon": {"outer": item.outline.outer, "holes": item.outline.holes},
                "qty": item.qty,
                "rotations": item.turns,
                "mirror": item.mirror,
            }
            for item in instance.items
        ],
    }


def nest_as_dict(nest: Nest) -> dict[str, Any]:
    """Return the faces and placements of a nest as its file has them."""
    return {
        "faces": [
            {"w": face.room.w, "h": face.room.h, "margin": face.room.margin, "stock": face.stock} for face in nest.faces
        ],
        "placements": [
            {"item": each.item, "face": each.face, "rotation_deg": each.turn, "mirrored": each.mirrored,
             "x": each.x, "y": each.y}
            for each in nest.placements
        ],
    }  # fmt: skip


def _tagged(raw: object) -> object:
    """Return `raw` unless it says that it is another format; a nest that says nothing is told by its keys."""
    if isinstance(raw, Mapping) and raw.get("format", FORMAT) != FORMAT:
        raise CutsheetError("format", f"This is not a “{FORMAT}” file; choose the right file.", "format")
    return raw


def _unit(raw: Mapping[str, Any]) -> Unit:
    """Return the unit of a file; all its lengths are in the same one, so that a file which names none is inches."""
    named = {raw[key] for key in ("unit", "units") if isinstance(raw.get(key), str)}
    for unit in ("in", "mm"):
        if named <= {unit} and not any(raw.get(key) not in (None, unit) for key in ("unit", "units")):
            return unit
    raise CutsheetError("unit", "Write “in” or “mm”.", "unit" if "unit" in raw else "units")


def _stock(raw: object, unit: Unit, where: str) -> NestStock:
    each = record(raw, where, required=("id", "w", "h"), optional=("margin", "qty", "cost", "note"))
    w, h = (_length(each[key], unit, f"{where}.{key}", zero_ok=False) for key in ("w", "h"))
    margin = _length(each.get("margin", 0), unit, f"{where}.margin")
    if 2 * margin >= min(w, h):
        raise CutsheetError("margin", "The margin leaves nothing of this face; write a smaller one.", f"{where}.margin")
    qty = each.get("qty")
    return NestStock(
        id=words(each["id"], f"{where}.id", least=1, most=80),
        w=w,
        h=h,
        margin=margin,
        qty=None if qty is None else _count(qty, f"{where}.qty", least=0),
        cost=_number(each.get("cost", w * h), f"{where}.cost"),
    )


def _item(raw: object, unit: Unit, where: str) -> NestItem:
    optional = ("qty", "rotations", "mirror", "area", "note")
    each = record(raw, where, required=("id", "polygon"), optional=optional)
    turns = each.get("rotations", [0])
    if turns is not None:
        place = f"{where}.rotations"
        turns = tuple(_number(turn, place, least=-360.0) for turn in items(turns, place, most=MOST_TURNS)) or (0.0,)
    mirror = each.get("mirror", False)
    if not isinstance(mirror, bool):
        raise CutsheetError("yes-no", "Write true or false.", f"{where}.mirror")
    outline = _outline(each["polygon"], unit, f"{where}.polygon")
    name = words(each["id"], f"{where}.id", least=1, most=80)
    return NestItem(name, outline, _count(each.get("qty", 1), f"{where}.qty", least=1), turns, mirror)


def _placement(raw: object, unit: Unit, where: str) -> Placement:
    each = record(raw, where, required=("item", "face", "rotation_deg", "x", "y"), optional=("mirrored",))
    mirrored = each.get("mirrored", False)
    if not isinstance(mirrored, bool):
        raise CutsheetError("yes-no", "Write true or false.", f"{where}.mirrored")
    return Placement(
        item=words(each["item"], f"{where}.item", least=1),
        turn=_number(each["rotation_deg"], f"{where}.rotation_deg", least=-math.inf),
        mirrored=mirrored,
        x=_coordinate(each["x"], unit, f"{where}.x"),
        y=_coordinate(each["y"], unit, f"{where}.y"),
        face=_count(each["face"], f"{where}.face", least=0),
    )


def _outline(raw: object, unit: Unit, where: str) -> Outline:
    """Return a checked outline: rings simple, holes inside it and apart; a ring may be typed either way round."""
    if isinstance(raw, Mapping):
        given = record(raw, where, required=("outer",), optional=("holes",))
        outer = _ring(given["outer"], unit, f"{where}.outer")
        listed = [] if given.get("holes") is None else items(given["holes"], f"{where}.holes", most=100)
        holes = [_ring(hole, unit, f"{where}.holes[{n}]") for n, hole in enumerate(listed)]
    else:
        outer, holes = _ring(raw, unit, where), []
    areas = [Polygon(ring) for ring in (outer, *holes)]
    for n in range(len(holes)):
        _check_hole(areas[: n + 2], f"{where}.holes[{n}]")
    turned = orient(Polygon(outer, holes))
    return Outline(_open(turned.exterior), tuple(_open(hole) for hole in turned.interiors))


def _check_hole(areas: list[Polygon], where: str) -> None:
    """Raise CutsheetError unless the last area lies inside the first and clear of all: what touches leaves no wall."""
    outer, *before, hole = areas
    if not outer.covers(hole):
        raise CutsheetError("hole-outside", "This hole lies outside its outline; move it.", where)
    if hole.intersects(outer.exterior) or any(hole.intersects(other) for other in before):
        raise CutsheetError("hole-crossing", "This hole meets the outline or another hole; move them apart.", where)


def _open(ring: LineString) -> Ring:
    return tuple((float(x), float(y)) for x, y in get_coordinates(ring)[:-1])


def _ring(raw: object, unit: Unit, where: str) -> Ring:
    """Return a ring without repeated points that encloses something and does not cross itself."""
    points: list[Point] = []
    places: list[int] = []
    for n, pair in enumerate(items(raw, where, most=MOST_RING)):
        place = f"{where}[{n}]"
        x, y = (_coordinate(value, unit, place) for value in items(pair, place, least=2, most=2))
        if not points or (x, y) != points[-1]:
            points.append((x, y))
            places.append(n)
    while len(points) > 1 and points[-1] == points[0]:
        points.pop()
    if len(points) < 3:
        raise CutsheetError("outline-open", "An outline needs three points or more; add the others.", where)
    ring = Polygon(points)
    if ring.convex_hull.area <= 0:
        raise CutsheetError("outline-flat", "This outline encloses nothing; check its points.", where)
    if not ring.is_valid:
        place = f"{where}[{places[_crossing(points, ring)]}]"
        raise CutsheetError("outline-crossing", "The outline crosses or touches itself after this point.", place)
    return tuple(points)


def _crossing(points: list[Point], ring: Polygon) -> int:
    """Return the number of an edge that crosses or touches another."""
    said = explain_validity(ring)
    spot = [float(value) for value in said[said.index("[") + 1 : said.index("]")].split()[:2]]
    edges = linestrings(list(edge_ends(points)))
    return int(distance(edges, make_point(spot)).argmin())


def _length(raw: object, unit: Unit, where: str, *, zero_ok: bool = True) -> float:
    length = _coordinate(raw, unit, where)
    if length < 0:
        raise CutsheetError("length-negative", f"{length:g} is less than nothing; a length is 0 or more.", where)
    if not length and not zero_ok:
        raise CutsheetError("length-zero", "This length must be more than 0.", where)
    return length


def _kerf(raw: object, unit: Unit) -> float:
    """Return the kerf; what no geometry can tell from nothing is none."""
    kerf = _length(raw, unit, "kerf")
    return kerf if kerf > NOTHING else 0.0


def _coordinate(raw: Any, unit: Unit, where: str) -> float:
    """Return a length or a place in the unit of the file: a number as it was written, a text as people write it."""
    value = to_unit(read_coordinate(raw, unit, where), unit) if isinstance(raw, str) else _number(raw, where, -math.inf)
    if abs(value) > LARGEST[unit]:
        raise CutsheetError("length-range", "This lies more than 100 m out; check its unit.", where)
    return value


def _number(raw: object, where: str, least: float = 0.0) -> float:
    if isinstance(raw, int | float | Decimal) and not isinstance(raw, bool):
        try:
            value = float(raw)
        except OverflowError:
            value = math.inf
        if math.isfinite(value) and value >= least:
            return value
    raise CutsheetError("number", "This is not a number that can be used here.", where)


def _count(raw: object, where: str, *, least: int) -> int:
    if type(raw) is not int or not least <= raw <= 1_000_000:
        raise CutsheetError("count", f"Write a whole number from {least}.", where)
    return raw
