"""A shape by its points: corners typed or pasted, arcs by bulge or radius."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

from django import forms

from cutsheets.errors import CutsheetError
from cutsheets.files.points import read_points
from cutsheets.solids import Point
from cutsheets.tracing import Drawn, as_outlines, trace
from cutsheets.tracing.drawn import CHORD, TOLERANCE
from orders.forms.texts import PointsField
from orders.shapes import Shape, from_mm, key_of, key_of_kind

from .base import RevisionForm

HELP = {
    "section": "one corner a line: x from the wall, y up; the last joins the first",
    "half_profile": "one corner a line: height from the base, radius; from the base up",
    "outlines": "one corner a line: x, y; an empty line before the next outline or a hole",
}


class CornersField(PointsField):
    """Corners one a line, or pasted as `[[0, 0], [5, 0], …]`; its value is the text, one corner a line."""

    def clean(self, value):
        text = forms.CharField.clean(self, value).replace("\r", "")
        return self.prepare_value(self.points(text)) if text.startswith("[") else text


class PointsForm(RevisionForm):
    """Corners typed; a third value makes the way to the next corner an arc."""

    way = "points"
    template = "profiles/ways/points.html"
    text = CornersField(label="Points")

    def first(self, of, start):
        return {"text": super().first(of, start).get("text") or _written(of.shape)} if of else {}

    def helps(self) -> list[tuple[str, str]]:
        """Return what the corners are, for each kind that may be chosen."""
        return [(kind, HELP[key_of_kind(kind)]) for kind, _ in self.fields["kind"].choices]

    def draw(self) -> dict[str, Any]:
        text, key = self.cleaned_data["text"], key_of_kind(self.cleaned_data["kind"])
        if key == "outlines":
            return {key: from_mm(as_outlines(self._traced(text)), self.typed_unit)}
        points = read_points(text, self.typed_unit, "text", closed=key == "section")
        return {key: from_mm(points, self.typed_unit)}

    def source(self) -> dict[str, Any]:
        return {"text": self.cleaned_data["text"]}

    def place(self, error: CutsheetError) -> None:
        if "bare" in error.where or error.code in ("section-edge", "profile-kind"):
            super().place(error)
        else:
            self.add_error("text", error.message)

    def _traced(self, text: str) -> Drawn:
        """Return several rings sorted into outlines and holes; refused where any of them crosses another."""
        rings = [read_points(part, self.typed_unit, "text") for part in re.split(r"\n\s*\n", text) if part.strip()]
        outlines, chains, troubles = trace([[*ring, ring[0]] for ring in rings], tolerance=TOLERANCE)
        if troubles:
            raise CutsheetError("points-crossing", troubles[0].message, "text")
        return Drawn(outlines, chains, troubles, None, 1.0, CHORD, len(rings), {})


def _written(shape: Shape) -> str:
    """Return a shape as it would be typed."""
    rings = list(_rings(shape["outlines"])) if "outlines" in shape else [shape[key_of(shape)]]
    return "\n\n".join("\n".join(f"{x}, {y}" for x, y in ring) for ring in rings)


def _rings(outlines: list[Shape]) -> Iterator[list[Point]]:
    for outline in outlines:
        yield from (outline["outer"], *outline.get("holes", ()))
