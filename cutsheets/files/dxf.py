"""Drawings as DXF: lines, arcs and curves of model space in, closed polylines out.

Read are LINE, ARC, CIRCLE, ELLIPSE, SPLINE, LWPOLYLINE and POLYLINE with their bulges, and what INSERT places of a
block. Anything else, anything that does not lie flat and anything on a layer that is switched off is counted, never
drawn. ezdxf understands the file; curves are flattened here, so that the chord error is the stated one.
"""

from __future__ import annotations

import io
import math
from collections.abc import Callable, Iterable, Iterator, Sequence
from itertools import pairwise
from typing import Any

from ezdxf import units as dxf_units
from ezdxf.filemanagement import new, read

from cutsheets.solids import Outline, Point, Ring
from cutsheets.tracing import Drawn
from cutsheets.tracing.curves import arc, bulged, ellipse, spline
from cutsheets.tracing.drawn import CHORD, DEEPEST, MOST_BYTES, TOLERANCE, Gathering, guarded, refusal, too_large
from cutsheets.tracing.loops import trace
from cutsheets.units import Unit, to_unit

MM = {"in": 25.4, "mm": 1.0}
# $INSUNITS (DXF reference, HEADER): the number, whose system it belongs to, its millimetres
UNITS: dict[int, tuple[Unit, float]] = {
    1: ("in", 25.4),
    2: ("in", 304.8),
    4: ("mm", 1.0),
    5: ("mm", 10.0),
    6: ("mm", 1000.0),
}
LEVEL = 1e-3  # of its size: how far a flat entity may rise
TURN = 2 * math.pi
ROUND = 1e-6  # radians: an ellipse that comes so near to its beginning is closed
SPLINE_FRAME = 16  # flag of a vertex that steers a curve and does not lie on it (DXF reference, VERTEX, code 70)
BINARY = b"AutoCAD Binary DXF"

Lines = list[Sequence[Point]]


def read_dxf(data: bytes, *, unit: Unit | None = None, tolerance: float = TOLERANCE, chord: float = CHORD) -> Drawn:
    """Return the drawing in a DXF file, traced; mm.

    `unit` is that of the numbers in the file, None where $INSUNITS is to say it. Raises CutsheetError: `drawing-unit`
    ($INSUNITS says nothing or a unit that is not used here), `drawing-size`, `drawing-range`, `drawing-kind` (binary),
    `drawing-broken`.
    """
    if len(data) > MOST_BYTES:
        raise too_large(f"is larger than {MOST_BYTES // 1_000_000} MB")
    if data.startswith(BINARY):
        raise refusal("drawing-kind", "This is a binary DXF file; save it as text (ASCII) DXF.")
    with guarded("save it again as text (ASCII) DXF"):
        return _read(_text(data), unit, tolerance, chord)


def write_dxf(outlines: Sequence[Outline], unit: Unit, chains: Iterable[Ring] = ()) -> bytes:
    """Return a DXF file with the outlines as closed polylines and the chains as open ones, $INSUNITS set."""
    document = new("R2000", units=1 if unit == "in" else 4)
    space = document.modelspace()
    for layer in ("OUTLINES", "HOLES", "CHAINS"):
        document.layers.add(layer)
    for outline in outlines:
        for i, ring in enumerate(outline.rings):
            space.add_lwpolyline(_in(ring, unit), close=True, dxfattribs={"layer": "HOLES" if i else "OUTLINES"})
    for chain in chains:
        space.add_lwpolyline(_in(chain, unit), dxfattribs={"layer": "CHAINS"})
    stream = io.StringIO()
    document.write(stream)
    return stream.getvalue().encode("utf-8")


def _in(ring: Ring, unit: Unit) -> list[Point]:
    return [(to_unit(x, unit), to_unit(y, unit)) for x, y in ring]


def _text(data: bytes) -> str:
    """Return the file as text; only names of layers and blocks can hold anything but ASCII."""
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        return data.decode("cp1252", errors="replace")


def _read(text: str, unit: Unit | None, tolerance: float, chord: float) -> Drawn:
    document = read(io.StringIO(text))
    said, per_unit = _unit(int(document.header.get("$INSUNITS", 0)), unit)
    gathering = Gathering(chord)
    hidden = {layer.dxf.name.lower() for layer in document.layers if layer.is_off() or layer.is_frozen()}
    for entity in document.modelspace():
        _gather(entity, gathering, per_unit, hidden, 0)
    outlines, chains, troubles = trace(gathering.paths, tolerance=tolerance)
    return Drawn(
        outlines, chains, troubles, unit=said, per_unit=per_unit, chord=chord, entities=gathering.entities,
        skipped=dict(gathering.skipped), layers=dict(gathering.layers),
    )  # fmt: skip


def _unit(insunits: int, unit: Unit | None) -> tuple[Unit | None, float]:
    """Return what the file says its unit is, and the millimetres of one unit as it is used."""
    said, per_unit = UNITS.get(insunits, (None, 0.0))
    if unit:
        return said, MM[unit]
    if said:
        return said, per_unit
    if insunits:
        name = dxf_units.unit_name(insunits).lower()
        told = f"This drawing is in {name}, which no shop draws in"
    else:
        told = "This drawing does not say its unit ($INSUNITS is missing or 0)"
    raise refusal("drawing-unit", f"{told}; say whether its numbers are inches or millimetres.")


def _gather(entity: Any, gathering: Gathering, per_unit: float, hidden: set[str], depth: int) -> None:
    """Take in an entity, and all that a block places."""
    gathering.count()
    kind = entity.dxftype()
    if kind != "INSERT" and kind not in LINES:
        gathering.skip(kind)  # it may be of a sort that has no layer
    elif entity.dxf.layer.lower() in hidden or entity.dxf.get("invisible", 0):
        gathering.skip("hidden")
    elif kind == "INSERT":
        if depth == DEEPEST:
            raise too_large(f"has blocks within blocks more than {DEEPEST} deep")
        for part in _placed(entity, gathering):
            _gather(part, gathering, per_unit, hidden, depth + 1)
    else:
        lines = LINES[kind](entity, gathering.chord / per_unit)
        if lines is None:
            gathering.skip(f"{kind} not flat")
            return
        gathering.layers[entity.dxf.layer] += 1
        for line in lines:
            gathering.add([(x * per_unit, y * per_unit) for x, y in line])


def _placed(insert: Any, gathering: Gathering) -> Iterator[Any]:
    """Yield what a block holds, where it is placed, for each row and column."""
    for one in insert.multi_insert() if insert.mcount > 1 else (insert,):
        gathering.count()  # an empty block counts too, lest a million of them take for ever
        yield from one.virtual_entities(skipped_entity_callback=lambda part, _: gathering.skip(part.dxftype()))


def _line(entity: Any, _: float) -> Lines | None:
    return _level((entity.dxf.start, entity.dxf.end))


def _arc(entity: Any, chord: float) -> Lines | None:
    start, end = math.radians(entity.dxf.start_angle), math.radians(entity.dxf.end_angle)
    return _round(entity, start, (end - start) % TURN or TURN, chord)


def _circle(entity: Any, chord: float) -> Lines | None:
    return _round(entity, 0.0, TURN, chord)


def _round(entity: Any, start: float, sweep: float, chord: float) -> Lines | None:
    side = _side(entity)
    centre = (entity.dxf.center.x, entity.dxf.center.y)
    points = arc(centre, entity.dxf.radius, start=start, sweep=sweep, chord=chord)
    if sweep == TURN:
        points[-1] = points[0]
    return [[(side * x, y) for x, y in points]] if side else None


def _ellipse(entity: Any, chord: float) -> Lines | None:
    side, centre, major = _side(entity), entity.dxf.center, entity.dxf.major_axis
    if not side or abs(major.z) > LEVEL * major.magnitude:
        return None
    ratio = side * entity.dxf.ratio
    start, sweep = entity.dxf.start_param, (entity.dxf.end_param - entity.dxf.start_param) % TURN or TURN
    points = ellipse(
        (centre.x, centre.y), (major.x, major.y), (-major.y * ratio, major.x * ratio),
        start=start, sweep=sweep, chord=chord,
    )  # fmt: skip
    if sweep > TURN - ROUND:
        points[-1] = points[0]
    return [points]


def _spline(entity: Any, chord: float) -> Lines | None:
    """Return a spline; the library's own flattening was seen to miss its chord error where a curve turns twice."""
    curve = entity.construction_tool()
    control = curve.control_points
    frame = _level(control)
    if frame is None:
        return None
    return [spline(frame[0], curve.weights() or [1.0] * len(control), curve.knots(), chord)]


def _lwpolyline(entity: Any, chord: float) -> Lines | None:
    return _bulges(entity, entity.get_points("xyb"), chord)


def _polyline(entity: Any, chord: float) -> Lines | None:
    """Return the line of a polyline; meshes are none, and points of a spline's frame are not on the line."""
    if entity.is_3d_polyline:
        return _level([*entity.points(), *([next(iter(entity.points()))] if entity.is_closed else [])])
    if not entity.is_2d_polyline:
        return None
    corners = [vertex for vertex in entity.vertices if not vertex.dxf.flags & SPLINE_FRAME]
    return _bulges(entity, [(v.dxf.location.x, v.dxf.location.y, v.dxf.get("bulge", 0.0)) for v in corners], chord)


def _bulges(entity: Any, corners: list[tuple[float, float, float]], chord: float) -> Lines | None:
    side = _side(entity)
    if not side or not corners:
        return [] if side else None
    line = [(corners[0][0], corners[0][1])]
    for (x, y, bulge), (nx, ny, _) in pairwise([*corners, *(corners[:1] if entity.is_closed else ())]):
        line += bulged((x, y), (nx, ny), bulge, chord)[1:]
    return [[(side * x, y) for x, y in line]]


def _side(entity: Any) -> int:
    """Return 1 for an entity seen from above, -1 from below (then x runs the other way), 0 where it stands askew."""
    normal = entity.dxf.extrusion
    if math.hypot(normal.x, normal.y) > LEVEL * abs(normal.z):
        return 0
    return 1 if normal.z > 0 else -1


def _level(points: Sequence[Any]) -> Lines | None:
    """Return the one line through points of constant height."""
    heights = [point.z for point in points]
    wide = max(math.dist(points[0], point) for point in points)
    if max(heights) - min(heights) > LEVEL * wide:
        return None
    return [[(point.x, point.y) for point in points]]


LINES: dict[str, Callable[[Any, float], Lines | None]] = {  # entity, chord error in its unit → its lines, in its unit
    "LINE": _line,
    "ARC": _arc,
    "CIRCLE": _circle,
    "ELLIPSE": _ellipse,
    "SPLINE": _spline,
    "LWPOLYLINE": _lwpolyline,
    "POLYLINE": _polyline,
}
