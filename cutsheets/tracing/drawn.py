"""What a drawing holds once it is read, and how much of it is let in."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field

from cutsheets.errors import CutsheetError
from cutsheets.solids import Outline, Point, Ring
from cutsheets.units import Unit

MOST_BYTES = 10_000_000
MOST_ENTITIES = 20_000
MOST_POINTS = 200_000
FARTHEST = 100_000.0  # mm: 100 m
DEEPEST = 16  # blocks within blocks, groups within groups
TOLERANCE = 0.05  # mm: ends nearer than this are one end; no wire tells them apart
CHORD = 0.02  # mm: curves become straight lines that leave them by no more than this


@dataclass(frozen=True, slots=True)
class Trouble:
    """Something in a drawing that somebody must look at: what, in words, and where, mm.

    Codes: `gap` (two loose ends), `loose` (one), `junction` (more than two lines meet), `crossing`, `doubled` (a line
    drawn twice), `zero-length`, `flat` (a loop that encloses nothing), `more` (further ones that are not listed).
    """

    code: str
    message: str
    at: Point


@dataclass(frozen=True, slots=True)
class Drawn:
    """A drawing read and traced; mm, y upwards.

    `outlines` are the closed loops with their holes, largest first; `chains` what is left over: open chains, and
    loops that cross, their first point repeated. `unit` is what the file says (None: nothing), `per_unit` the
    millimetres of one unit of the drawing as it was used, `chord` the error with which curves were flattened.
    `entities` counts what was read, `skipped` what was not understood, by type; `layers` what was read, by layer.
    """

    outlines: tuple[Outline, ...]
    chains: tuple[Ring, ...]
    troubles: tuple[Trouble, ...]
    unit: Unit | None
    per_unit: float
    chord: float
    entities: int
    skipped: Mapping[str, int]
    layers: Mapping[str, int] = field(default_factory=dict)


@dataclass(slots=True)
class Gathering:
    """The lines of a drawing while it is being read, within the limits; raises CutsheetError beyond them.

    Codes: `drawing-size` (too many entities or points), `drawing-range` (no number, or too far out).
    """

    chord: float
    paths: list[Sequence[Point]] = field(default_factory=list)
    entities: int = 0
    points: int = 0
    skipped: Counter[str] = field(default_factory=Counter)
    layers: Counter[str] = field(default_factory=Counter)

    def count(self) -> None:
        """Count one more entity, read or not."""
        self.entities += 1
        if self.entities > MOST_ENTITIES:
            raise too_large(f"holds more than {MOST_ENTITIES:,} lines, curves and blocks")

    def skip(self, name: str) -> None:
        """Note an entity that is not understood."""
        self.skipped[name] += 1

    def add(self, path: Sequence[Point]) -> None:
        """Take in one line of two points or more, mm."""
        self.points += len(path)
        if self.points > MOST_POINTS:
            raise too_large(f"has more than {MOST_POINTS:,} points at this chord error")
        for x, y in path:
            if not (abs(x) <= FARTHEST and abs(y) <= FARTHEST):  # NaN is not within either
                raise out_of_range(x, y)
        self.paths.append(path)


def refusal(code: str, sentence: str) -> CutsheetError:
    """Return the refusal of a drawing."""
    return CutsheetError(code, sentence, "drawing")


@contextmanager
def guarded(remedy: str) -> Iterator[None]:
    """Turn whatever a file from outside sets off in a library into a refusal, `drawing-broken` or `drawing-size`."""
    try:
        yield
    except CutsheetError:
        raise
    except MemoryError:
        raise too_large("needs more memory than any shape for a wire") from None
    except Exception as error:
        raise refusal("drawing-broken", f"This drawing cannot be read; {remedy}.") from error


def too_large(what: str) -> CutsheetError:
    """Return the refusal of a drawing beyond a limit."""
    return refusal("drawing-size", f"This drawing {what}; save only the shape that is to be cut.")


def out_of_range(x: float, y: float) -> CutsheetError:
    """Return the refusal of a coordinate."""
    if math.isfinite(x) and math.isfinite(y):
        said = f"A point lies at {place((x, y))}, more than 100 m out; check the unit, or move the shape to the origin"
    else:
        said = "A coordinate of this drawing is not a number; save it again from the program that drew it"
    return refusal("drawing-range", f"{said}.")


def place(point: Point) -> str:
    """Return a place as people read it.

    >>> place((12.70000001, -3))
    '(12.7, -3) mm'
    """
    x, y = (f"{value:.3f}".rstrip("0").rstrip(".") for value in point)
    return f"({'0' if x == '-0' else x}, {'0' if y == '-0' else y}) mm"
