"""Sprung mouldings: a flat moulding that leans out from the wall, its lower edge on it.

`spring` is the angle between the moulding's back and the wall. Drop = face·cos(spring), projection = face·sin(spring).
Laid flat on its back, at a corner where the walls meet at the angle C, inside or outside: mitre of the saw =
atan(sin(spring) / tan(C/2)), bevel of the blade = asin(cos(spring)·cos(C/2)) (plane and solid trigonometry).
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

from cutsheets.solids import End, Figure, Ring

BACK = 3  # the number of the edge that lies towards the wall


@dataclass(frozen=True, slots=True)
class Sprung:
    """The size of the finished moulding as it lies flat, mm, and how far it leans out, degrees."""

    face: float
    thick: float
    spring: float

    @property
    def drop(self) -> float:
        """Return how far the back reaches down the wall."""
        return self.face * math.cos(math.radians(self.spring))

    @property
    def projection(self) -> float:
        """Return how far the back reaches out from the wall."""
        return self.face * math.sin(math.radians(self.spring))

    @property
    def outline(self) -> Ring:
        """Return the section as it stands on the wall, counter-clockwise: lower edge 0, face 1, upper edge 2, back 3.

        The lower edge of the back touches the wall, at the origin.
        """
        out, up = self.projection, self.drop
        x, y = self.thick * up / self.face, -self.thick * out / self.face
        return (0.0, 0.0), (x, y), (out + x, up + y), (out, up)


def saw_angles(spring: float, corner: float) -> tuple[float, float]:
    """Return mitre and bevel, degrees, for a moulding that lies flat on its back; `corner` is between the walls.

    >>> [round(angle, 6) for angle in saw_angles(38, 135)]
    [14.306377, 17.551244]
    """
    lean, half = math.radians(spring), math.radians(corner / 2)
    mitre = math.atan(math.sin(lean) / math.tan(half))
    bevel = math.asin(math.cos(lean) * math.cos(half))
    return math.degrees(mitre), math.degrees(bevel)


def laid_flat(outline: Ring, spring: float) -> Ring:
    """Return a section that stands on the wall as it lies flat: x across its thickness, y along its face.

    >>> [(round(x, 6), round(y, 6)) for x, y in laid_flat(Sprung(40, 10, 30).outline, 30)]
    [(0.0, 0.0), (10.0, 0.0), (10.0, 40.0), (0.0, 40.0)]
    """
    sine, cosine = math.sin(math.radians(spring)), math.cos(math.radians(spring))
    return tuple((x * cosine - y * sine, x * sine + y * cosine) for x, y in outline)


def figures(sprung: Sprung, ends: Iterable[End]) -> tuple[Figure, ...]:
    """Return drop, projection and the settings of the saw, one row for each angle at which walls meet."""
    corners = dict.fromkeys(end.angle for end in ends if end.angle is not None)
    return (
        Figure("drop", "drop", sprung.drop, "length"),
        Figure("projection", "projection", sprung.projection, "length"),
        Figure("saw", "saw, laid flat on its back", tuple(_row(sprung.spring, corner) for corner in corners), "rows"),
    )


def _row(spring: float, corner: float) -> tuple[Figure, ...]:
    mitre, bevel = saw_angles(spring, corner)
    named = {"angle": corner, "mitre": mitre, "bevel": bevel}
    return tuple(Figure(key, key, value, "angle") for key, value in named.items())
