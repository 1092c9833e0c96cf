"""How long a drawing of 5,000 entities takes to become outlines, beside plain calls of the libraries in the same run.

PYTHONPATH=. .venv/bin/python tests/bench/bench_drawings.py

“plain” reads the same bytes with ezdxf or svgelements and joins the lines with shapely.polygonize: no curves within a
stated error, no joining of near ends, no troubles, no limits. The second part lays a coat on a moulding and measures
it, beside plain shapely calls of the same geometry.
"""

import io
import math
import resource
import sys
import time
import tracemalloc
from collections.abc import Callable
from itertools import pairwise

import shapely
import svgelements
from ezdxf.filemanagement import new, read
from shapely import Polygon

from cutsheets.coat import foam_outline
from cutsheets.files.dxf import read_dxf
from cutsheets.files.limits import read_drawing
from cutsheets.files.svg import read_svg
from cutsheets.sections import make_section, measure
from cutsheets.tracing import Drawn

ENTITIES, LIMIT, RUNS = 5000, 1.0, 5  # seconds on one core, without the start of the process
PER_SHAPE, PITCH, SIDE = 8, 70.0, 40.0  # entities of one shape, mm


def corners() -> list[tuple[float, float]]:
    """Return where the shapes stand: each of six lines, one arc and a hole."""
    count = ENTITIES // PER_SHAPE
    return [(PITCH * (i % 25), PITCH * (i // 25)) for i in range(count)]


def sides(x: float, y: float) -> list[tuple[float, float]]:
    return [(x + dx, y + dy) for dx, dy in ((0, SIDE), (0, 20), (0, 0), (20, 0), (SIDE, 0), (SIDE, 20), (SIDE, SIDE))]


def dxf_drawing() -> bytes:
    document = new("R2000", units=4)
    space = document.modelspace()
    for x, y in corners():
        points = sides(x, y)
        for start, end in pairwise(points):
            space.add_line(start, end)
        space.add_arc((x + SIDE / 2, y + SIDE), SIDE / 2, 0, 180)
        space.add_circle((x + SIDE / 2, y + SIDE / 2), 8)
    stream = io.StringIO()
    document.write(stream)
    return stream.getvalue().encode()


def svg_drawing() -> bytes:
    parts = []
    for x, y in corners():
        points = sides(x, y)
        parts += [f'<path d="M{a} {b}L{c} {d}"/>' for (a, b), (c, d) in pairwise(points)]
        parts.append(f'<path d="M{x} {y + SIDE}a20 20 0 0 0 {SIDE} 0"/>')
        parts.append(f'<circle cx="{x + SIDE / 2}" cy="{y + SIDE / 2}" r="8"/>')
    head = '<svg xmlns="http://www.w3.org/2000/svg" width="2000mm" height="2000mm" viewBox="0 0 2000 2000">'
    return (head + "".join(parts) + "</svg>").encode()


def plain_dxf(data: bytes) -> int:
    """Return how many faces plain ezdxf and shapely find."""
    lines = []
    for entity in read(io.StringIO(data.decode())).modelspace():
        if entity.dxftype() == "LINE":
            lines.append([tuple(entity.dxf.start)[:2], tuple(entity.dxf.end)[:2]])
        else:
            lines.append([(point.x, point.y) for point in entity.flattening(0.02)])
    return len(shapely.polygonize([shapely.linestrings(line) for line in lines]).geoms)


def plain_svg(data: bytes) -> int:
    """Return how many faces plain svgelements and shapely find; 16 points a curve."""
    lines = []
    for shape in svgelements.SVG.parse(io.BytesIO(data)).elements():
        if isinstance(shape, svgelements.Shape):
            for segment in svgelements.Path(shape).segments()[1:]:
                if segment.start != segment.end:
                    steps = 1 if isinstance(segment, svgelements.Line) else 16
                    lines.append([tuple(segment.point(i / steps)) for i in range(steps + 1)])
    return len(shapely.polygonize([shapely.linestrings(line) for line in lines]).geoms)


def best(act: Callable[[], object]) -> float:
    """Return the seconds of the quickest of a few runs."""
    took = []
    for _ in range(RUNS):
        start = time.perf_counter()
        act()
        took.append(time.perf_counter() - start)
    return min(took)


def peak(act: Callable[[], object]) -> float:
    """Return the most memory that Python's own objects took meanwhile, MB."""
    tracemalloc.start()
    act()
    most = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    return most / 1e6


def bench_reading(name: str, data: bytes, reader: Callable[[bytes], Drawn], plain: Callable[[bytes], int]) -> bool:
    drawn = reader(data)
    if len(drawn.outlines) != ENTITIES // PER_SHAPE or drawn.troubles or drawn.chains:
        raise AssertionError(f"{name}: {len(drawn.outlines)} outlines, {drawn.troubles[:2]}")
    ours, theirs, whole = best(lambda: reader(data)), best(lambda: plain(data)), best(lambda: read_drawing(name, data))
    points = sum(len(ring) for outline in drawn.outlines for ring in outline.rings)
    print(
        f"{name}, {drawn.entities} entities, {len(data) / 1e6:.1f} MB, {points} points: {ours:.2f} s "
        f"(limit {LIMIT:.0f} s), {peak(lambda: reader(data)):.0f} MB of objects\n"
        f"  in a process of its own, start and answer included: {whole:.2f} s\n"
        f"  plain libraries: {theirs:.2f} s; ours ÷ plain {ours / theirs:.2f}"
    )
    return ours <= LIMIT


def bench_geometry() -> None:
    """Compare the coat's offset and the areas with shapely's buffer and area on a cornice of 200 corners."""
    wave = [(60 + 20 * math.sin(i / 12), 2.0 * i) for i in range(198)]
    section = make_section([(0.0, 0.0), *wave, (0.0, 394.0)])
    polygon = Polygon(section.points)
    offset = best(lambda: [foam_outline(section, 3.0) for _ in range(100)]) / 100
    buffer = best(lambda: [polygon.buffer(-3.0, join_style="mitre", mitre_limit=99) for _ in range(100)]) / 100
    area = best(lambda: [measure(section.points) for _ in range(100)]) / 100
    plain = best(lambda: [Polygon(section.points).area for _ in range(100)]) / 100
    print(
        f"coat on a section of {len(section.points)} corners, edge by edge: {offset * 1000:.2f} ms; shapely's buffer "
        f"(which cannot leave the wall bare) {buffer * 1000:.2f} ms; ours ÷ plain {offset / buffer:.2f}\n"
        f"size, area and centroid: {area * 1000:.3f} ms; plain shapely area {plain * 1000:.3f} ms; "
        f"ours ÷ plain {area / plain:.2f}"
    )


def main() -> int:
    kept = [
        bench_reading("drawing.dxf", dxf_drawing(), read_dxf, plain_dxf),
        bench_reading("drawing.svg", svg_drawing(), read_svg, plain_svg),
    ]
    bench_geometry()
    print(f"most memory of this process: {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:.0f} MB")
    return int(not all(kept))


if __name__ == "__main__":
    sys.exit(main())
