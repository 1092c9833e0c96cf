"""The picture of a slab with its letters, seen from the front: counters, and the shortest slit into each of them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

import shapely

from cutsheets.kinds.pictures import Rect, rectangle, round_middle, three_sizes
from cutsheets.kinds.rows import Slab, placed
from cutsheets.kinds.strokes import Cut, rings
from cutsheets.solids import Point, Stick, View


def slab_view(slab: Slab, cuts: Mapping[str, Cut], stick: Stick, coat: float, *, named: bool) -> View:
    """Return the picture of one slab; `named`: the shapes bear their names, which letters need not."""
    foam = [placed(cuts[one.shape.name].foam, one) for one in slab.laid]
    # coats of neighbours may meet on the slab, where there is no coat yet: drawn as one
    whole = shapely.union_all([placed(cuts[one.shape.name].finished, one) for one in slab.laid])
    blank = round_middle((0.0, 0.0, slab.length, slab.height), stick.blank.l, stick.blank.w)
    return View(
        f"{stick.run} from the front",
        foam=tuple(ring for face in foam for ring in rings(face)),
        finished=rings(whole) if coat else (),
        blank=(rectangle(blank),),
        lines=tuple(slit for face in foam for slit in slits(face)),
        sizes=three_sizes(slab.box, finished_rect(slab, cuts) if coat else slab.box, blank),
        labels=tuple((_inside(face), one.shape.name) for one, face in zip(slab.laid, foam, strict=True))
        if named
        else (),
    )


def finished_rect(slab: Slab, cuts: Mapping[str, Cut]) -> Rect:
    """Return the rectangle round the finished shapes where they lie on the slab: sharp tips reach beyond the coat."""
    faces = [placed(cuts[one.shape.name].finished, one) for one in slab.laid]
    left, low, right, high = shapely.total_bounds(faces).tolist()
    return left, low, right, high


def slits(face: shapely.MultiPolygon) -> Iterator[tuple[Point, Point]]:
    """Yield the shortest straight way from the outer edge to each counter."""
    for part in face.geoms:
        for counter in part.interiors:
            (x1, y1), (x2, y2) = shapely.shortest_line(part.exterior, counter).coords
            yield (x1, y1), (x2, y2)


def _inside(face: shapely.MultiPolygon) -> Point:
    """Return a point for a word, on foam."""
    spot = face.representative_point()
    return spot.x, spot.y
