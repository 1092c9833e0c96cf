"""Shapes nested on one slab: each turned and put where it lies lowest, dropped from above like a block into a bin.

The bottom-left rule of packing (Baker, Coffman and Rivest, SIAM Journal on Computing 9 (1980) 846-855) on outlines: a
shape is kept as the lowest and the highest point of its foam in narrow columns, grown by half the gap, so V sinks
between two As. Quick and always the same; slabs of some lengths are tried, and the least of foam is taken.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from cutsheets.kinds.outlines import Shape
from cutsheets.kinds.rows import Laid, Slab, placed
from cutsheets.kinds.strokes import Cut

TURNS = (0.0, 90.0, 180.0, 270.0)  # foam has no grain
COLUMNS = 48  # across a shape of middling size
FINE = 8  # points of an outline in a column
MITRE = 1.1  # gaps: sharp corners are kept so far from others, at most
SHARES = (1.0, 0.75, 0.6, 0.5, 0.4, 0.3)  # of the longest slab that are tried
MANY = 100  # parts: of more than these the longest slab only is tried
Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Lying:
    """A shape in one turn: its height in each column, and the corner of its columns from its origin."""

    turn: float
    low: Floats
    high: Floats
    left: float
    base: float


def nest(shapes: Sequence[Shape], cuts: Mapping[str, Cut], *, gap: float, margin: float, longest: float) -> Slab | None:
    """Return the best slab found for shapes, each of which fits `longest` mm; None where none was found."""
    width = _column([cuts[shape.name] for shape in shapes])
    lies = {name: _lies(cut, gap, width) for name, cut in cuts.items()}
    order = sorted(shapes, key=lambda shape: -cuts[shape.name].foam.envelope.area)
    room = longest - 2 * margin + gap
    shares = SHARES if len(shapes) <= MANY else SHARES[:1]
    tried = [_dropped(order, lies, int(room * share / width), width) for share in shares]
    slabs = [_slab(laid, cuts, margin) for laid in tried if laid]
    return min(slabs, key=lambda slab: dearness(slab, longest), default=None)


def dearness(slab: Slab, longest: float) -> tuple[bool, float]:
    """Return how dear a slab is: one that is higher than the longest slab is long comes last, else its area counts."""
    return slab.height > longest, slab.length * slab.height


def _column(cuts: Sequence[Cut]) -> float:
    return float(np.median([cut.foam.length for cut in cuts])) / 4 / COLUMNS


def _lies(cut: Cut, gap: float, width: float) -> list[Lying]:
    """Return a shape in every turn that makes a difference to its columns."""
    grown = cut.foam.buffer(gap / 2, join_style="mitre", mitre_limit=MITRE) if gap else cut.foam
    edge = shapely.get_coordinates(shapely.segmentize(grown, width / FINE))
    return [_lying(edge, turn, width) for turn in TURNS]


def _lying(edge: Floats, turn: float, width: float) -> Lying:
    c, s = {0.0: (1, 0), 90.0: (0, 1), 180.0: (-1, 0), 270.0: (0, -1)}[turn]
    points = edge @ np.array([[c, s], [-s, c]])
    left, base = points.min(axis=0)
    columns = ((points[:, 0] - left) / width).astype(np.int64)
    low = np.full(columns.max() + 1, np.inf)
    high = np.zeros(len(low))
    np.minimum.at(low, columns, points[:, 1] - base)
    np.maximum.at(high, columns, points[:, 1] - base)
    spare = width / FINE  # the edge between two points of different columns
    return Lying(turn, low - spare, high + spare, float(left), float(base))


def _dropped(
    order: Sequence[Shape], lies: Mapping[str, Sequence[Lying]], columns: int, width: float
) -> list[Laid] | None:
    """Return the shapes on a slab of so many columns, None where one is longer. O(parts × columns × its columns)."""
    top = np.zeros(columns)
    laid = []
    for shape in order:
        choices = [(*_lowest(top, lying), lying) for lying in lies[shape.name] if len(lying.low) <= columns]
        if not choices:
            return None
        _, at, rest, lying = min(choices, key=lambda choice: choice[:2])
        top[at : at + len(lying.low)] = rest + lying.high
        laid.append(Laid(shape, at * width - lying.left, rest - lying.base, lying.turn))
    return laid


def _lowest(top: Floats, lying: Lying) -> tuple[float, int, float]:
    """Return where a shape lies lowest: its middle height there, its first column, and the height it rests at."""
    rests = (np.lib.stride_tricks.sliding_window_view(top, len(lying.low)) - lying.low).max(axis=1)
    at = int(rests.argmin())
    return round(float(rests[at] + lying.high.mean()), 6), at, float(rests[at])


def _slab(laid: Sequence[Laid], cuts: Mapping[str, Cut], margin: float) -> Slab:
    """Return the slab round shapes, with the margin on all four sides."""
    left, low, right, high = shapely.total_bounds([placed(cuts[one.shape.name].foam, one) for one in laid]).tolist()
    moved = tuple(Laid(one.shape, one.x - left + margin, one.y - low + margin, one.turn) for one in laid)
    box = (margin, margin, right - left + margin, high - low + margin)
    return Slab(moved, right - left + 2 * margin, high - low + 2 * margin, box, nested=True)
