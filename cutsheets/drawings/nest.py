"""One face of a nest as a drawing: parts with their names, the order in which they come free, lead-in cuts.

Drawings are millimetres; the face is seen as it stands before the wire, y up.
"""

from __future__ import annotations

from collections.abc import Iterator

import shapely
from shapely.geometry import Polygon as Area

from cutsheets.drawings.lettering import text_width
from cutsheets.drawings.scene import Polygon, Polyline, Scene, Shape, Text, cut_mark, rectangle
from cutsheets.nesting.cuts import NestCut
from cutsheets.nesting.faces import Nest, NestInstance, Placement, placed
from cutsheets.solids import Point

MM = {"in": 25.4, "mm": 1.0}  # in the unit of a nest
TEXT = 50  # numbers: a share of the longer side of the face
LEAST = 0.4  # of that size: what is smaller cannot be read
STACKED = 1.5  # sizes from the middle of a number and a name, one above the other, to their corners
ROUND = 0.9  # of the circle that fits into a part: what its number may take


def face_scene(
    instance: NestInstance, nest: Nest, number: int, cuts: tuple[NestCut, ...], *, text: float | None = None
) -> Scene:
    """Return one face: its margin, its parts, each numbered from 1 as it comes free, and its lead-in cuts."""
    scale = MM[instance.unit]
    room = nest.faces[number].room
    size = text or max(room.w, room.h) * scale / TEXT
    items = {item.id: item for item in instance.items}
    lying = {n: each for n, each in enumerate(nest.placements) if each.face == number}
    areas = {n: _scaled(placed(items[each.item], each), scale) for n, each in lying.items()}
    here = [cut for cut in cuts if cut.placement in lying]
    freed = [cut.placement for cut in here if cut.ring == 0]
    margin = room.margin * scale
    inner = rectangle(margin, margin, room.w * scale - margin, room.h * scale - margin)
    shapes: list[Shape] = [Polygon((rectangle(0.0, 0.0, room.w * scale, room.h * scale),), "foam", weight="frame")]
    if margin:
        shapes.append(Polygon((inner,), role="dim", weight="hair", dash=True))
    shapes += [Polygon(_rings(area), "wash", weight="part") for area in areas.values()]
    for cut in here:
        if cut.lead is not None:
            shapes.append(Polyline(tuple((x * scale, y * scale) for x, y in cut.lead), "chalk", "cut"))
    for count, n in enumerate(freed, 1):
        shapes += _marked(areas[n], lying[n], count, size)
    return Scene(tuple(shapes))


def _marked(area: Area, placement: Placement, count: int, size: float) -> Iterator[Shape]:
    """Yield the number of a part where it is widest, and its name under it where both have room."""
    circle = shapely.maximum_inscribed_circle(area, size / 10)
    (x, y), _ = shapely.get_coordinates(circle)
    radius = float(circle.length) * ROUND
    both = min(size, radius / STACKED, 1.6 * radius / text_width(placement.item, "strong", 1.0))
    alone = min(size, radius / max(0.75, 0.7 * text_width(str(count), "figures", 1.0)))
    if both >= LEAST * size:
        yield from cut_mark((float(x), float(y) + 0.6 * both), count, 0.8 * both)
        yield Text((float(x), float(y) - 0.9 * both), (placement.item,), both, "label", "strong")
    elif alone >= LEAST * size:
        yield from cut_mark((float(x), float(y)), count, alone)


def _scaled(area: Area, scale: float) -> Area:
    return shapely.transform(area, lambda points: points * scale)


def _rings(area: Area) -> tuple[tuple[Point, ...], ...]:
    rings = (area.exterior, *area.interiors)
    return tuple(tuple((float(x), float(y)) for x, y in shapely.get_coordinates(ring)[:-1]) for ring in rings)
