"""The foam bar: where the foam of a plan or of a day went, as one sliced bar, and several bars to one scale."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from cutsheets.drawings.lettering import text_width
from cutsheets.drawings.scene import Polygon, Scene, Shape, Text, rectangle

Share = Literal["blanks", "miscut", "remnants", "trim", "kerf"]


@dataclass(frozen=True, slots=True)
class Slice:
    """One share of the foam: its kind, how much (any unit, the same in all slices), and the words for it."""

    kind: Share
    amount: float
    name: str
    value: str


def foam_bar_scene(slices: Sequence[Slice], *, scale: float, height: float = 12.0, text: float = 5.0) -> Scene:
    """Return the bar, `scale` mm for each unit of foam; names stand above, values inside where they fit."""
    shapes: list[Shape] = []
    labels: list[tuple[float, float, int]] = []  # left, right, row
    x = 0.0
    for part in slices:
        wide = part.amount * scale
        shapes.append(_slice(part.kind, x, x + wide, height, text))
        inside = text_width(part.value, "strong", text) < wide - 0.6 * text and part.kind not in {"trim", "kerf"}
        if inside:
            shapes.append(Text((x + wide / 2, height / 2), (part.value,), text, "label", "strong"))
        words = part.name if inside else f"{part.name} {part.value}"
        right = x + text_width(words, "text", text)
        row = 0
        while any(other[2] == row and other[1] + text > x for other in labels):
            row += 1
        labels.append((x, right, row))
        shapes.append(Text((x, height + text * (0.9 + 1.3 * row)), (words,), text, "label", "text", "start"))
        x += wide
    shapes.append(Polygon((rectangle(0, 0, x, height),), weight="frame"))
    return Scene(tuple(shapes))


def _slice(kind: Share, left: float, right: float, height: float, text: float) -> Polygon:
    corners = rectangle(left, 0, right, height)
    if kind == "remnants":
        return Polygon((corners,), fill="foam", role="remnant", dash=True)
    hatch = {"trim": 0.5, "kerf": 0.22, "miscut": 1.0}.get(kind, 0.0) * text
    return Polygon((corners,), fill="foam", weight="hair", hatch=hatch)
