"""A shape out of a drawing, DXF or SVG. Nothing is saved before somebody has seen in which unit it was read.

The file is read anew as long as the browser sends it. What was read last stands in the page too, signed, so that a page
that comes back with a complaint has not lost it; a reading is smaller than its file, and nobody can have changed it.
Of the file itself nothing is kept but its name.
"""

from __future__ import annotations

import hashlib
import json
from typing import Any

from django import forms
from django.core import signing

from cutsheets.errors import CutsheetError
from cutsheets.files.limits import COARSEST, FINEST, from_plain, read_drawing, to_plain
from cutsheets.kinds.shapes import MOST_POINTS
from cutsheets.tracing import Drawn, as_half_profile, as_outlines, as_section
from cutsheets.tracing.drawn import CHORD, MOST_BYTES, TOLERANCE
from cutsheets.units import read_length, say, say_exact
from orders.shapes import MEANT, from_mm, key_of_kind
from shop.models import ShopRules

from .base import RevisionForm

SALT = "drawing of a profile"
KEPT_FOR = 12 * 3600  # seconds: a shift
LARGEST_READING = 1_500_000  # characters in a page: some 100,000 points
LONGEST_NAME = 100
AS_THE_FILE_SAYS = "as the file says"
ASK_AGAIN = "Choose the file again: it is read anew with other figures."


class DrawingForm(RevisionForm):
    """A drawing read, the outline of it that is wanted, and the word of who looked at its size."""

    way = "drawing"
    template = "profiles/ways/drawing.html"
    file = forms.FileField(
        required=False, label="Drawing, DXF or SVG",
        widget=forms.FileInput(attrs={"accept": ".dxf,.svg", "required": False}),
    )  # fmt: skip
    unit = forms.ChoiceField(
        choices=[("", AS_THE_FILE_SAYS), *ShopRules.Unit.choices], required=False, label="Drawn in"
    )
    tolerance = forms.FloatField(
        initial=TOLERANCE, min_value=FINEST, max_value=COARSEST, label="Join ends within, mm",
        help_text="a larger gap is reported",
    )  # fmt: skip
    chord = forms.FloatField(
        initial=CHORD, min_value=FINEST, max_value=COARSEST, label="Chord error, mm",
        help_text="how far a curve may lie off its straight pieces",
    )  # fmt: skip
    to_wall = forms.BooleanField(required=False, initial=True, label="Move it to the wall and down to 0")
    which = forms.IntegerField(required=False, label="Which outline", widget=forms.Select)
    reading = forms.CharField(required=False, widget=forms.HiddenInput)
    seen = forms.CharField(required=False, label="Size")

    drawn: Drawn | None = None
    name = kept = ""

    def first(self, of, start):
        source = super().first(of, start)
        shown = {name: source[name] for name in ("tolerance", "chord", "to_wall") if name in source}
        return {"unit": ""} | shown

    @property
    def typed_unit(self):
        """Return the unit that the drawing was read in: as somebody says, as its file says, or else the shop's."""
        asked = self.data.get("unit", "")
        if asked in ShopRules.Unit.values:
            return asked
        return (self.drawn and self.drawn.unit) or (self.of.unit if self.of else ShopRules.current().unit)

    def clean(self):
        names = ("tolerance", "chord", "unit")
        if not any(name in self.errors for name in names):
            try:
                self._read({name: self.cleaned_data[name] for name in names})
            except CutsheetError as error:
                self.add_error("unit" if error.code == "drawing-unit" else "file", error.message)
        data = super().clean()
        if self.shape is not None and data["seen"] != self.mark:
            self.add_error("seen", "Look at the size of the drawing, then say that it is right.")
        return data

    def _read(self, figures: dict[str, Any]) -> None:
        """Read the file, or take what was read last; raises CutsheetError."""
        if upload := self.cleaned_data.get("file"):
            if upload.size > MOST_BYTES:
                raise CutsheetError("drawing-size", f"This file is larger than {MOST_BYTES // 10**6} MB.")
            self.name = "".join(sign for sign in upload.name if sign.isprintable())[:LONGEST_NAME]
            self.drawn = read_drawing(self.name, upload.read(), **figures | {"unit": figures["unit"] or None})
        elif self.cleaned_data.get("reading"):
            self._take_last(figures)
        else:
            raise CutsheetError("drawing", "Choose the file of a drawing.")
        self.kept = signing.dumps(
            {"name": self.name, "figures": figures, "drawn": to_plain(self.drawn)}, salt=SALT, compress=True
        )
        if len(self.kept) > LARGEST_READING:
            self.drawn = None
            raise CutsheetError(
                "drawing-size", "This drawing has too many points; allow a larger chord error, or save less of it."
            )

    def _take_last(self, figures: dict[str, Any]) -> None:
        try:
            last = signing.loads(self.cleaned_data["reading"], salt=SALT, max_age=KEPT_FOR)
        except signing.BadSignature:
            raise CutsheetError("drawing", ASK_AGAIN) from None
        if last["figures"] != figures:
            raise CutsheetError("drawing", ASK_AGAIN)
        self.name, self.drawn = last["name"], from_plain(last["drawn"])

    @property
    def mark(self) -> str:
        """Return what stands for what is shown: another outline, unit or tolerance has to be looked at again."""
        shape = {name: value for name, value in self.shape.items() if name != "bare"}
        shown = json.dumps([shape, to_plain(self.drawn), self.typed_unit], sort_keys=True)
        return hashlib.sha256(shown.encode()).hexdigest()[:16]

    def draw(self) -> dict[str, Any]:
        if self.drawn is None:
            raise CutsheetError("drawing", "Choose the file of a drawing.")
        key, data = key_of_kind(self.cleaned_data["kind"]), self.cleaned_data
        which = data["which"] if self.choices() else None
        if self.choices() and which is None and key != "outlines":
            count = len(self.drawn.outlines)
            raise CutsheetError("which", f"There are {count} separate outlines in this drawing; choose one.", "which")
        if key == "section":
            points: Any = as_section(self.drawn, to_wall=data["to_wall"], which=which)
        elif key == "half_profile":
            points = as_half_profile(self.drawn, which)
        else:
            points = as_outlines(self.drawn)
        return {key: from_mm(points, self.typed_unit)}

    def source(self) -> dict[str, Any]:
        data = self.cleaned_data
        kept = {name: data[name] for name in ("tolerance", "chord", "to_wall", "which")}
        return {"file": self.name, "says": self.drawn.unit, "per_unit": self.drawn.per_unit, **kept}

    def place(self, error: CutsheetError) -> None:
        if error.where == "which":
            self.add_error("which", error.message)
        elif error.code == "list-size":
            self.add_error("chord", f"This outline has more than {MOST_POINTS:,} points; allow a larger chord error.")
        elif error.where.startswith("drawing") or error.code == "drawing":
            self.add_error("file", error.message)
        else:
            super().place(error)

    @property
    def is_seen(self) -> bool:
        """Return whether somebody said that the size of this reading is right."""
        return self.data.get("seen") == self.mark

    @property
    def which_now(self) -> int | None:
        """Return the outline that is chosen."""
        return self.cleaned_data.get("which")

    def faults(self):
        return (fault for fault in super().faults() if not fault.startswith("Size: "))  # asked beside the picture

    @property
    def unit_words(self) -> str:
        """Return what the file says of its unit, and what was made of it."""
        said = f"The file says {ShopRules.Unit(self.drawn.unit).label}" if self.drawn.unit else "The file names no unit"
        one = say_exact(self.drawn.per_unit, "mm")
        return f"{said}; one of its units was read as {one} mm. The shape is {self.size_words} over all."

    @property
    def size_words(self) -> str:
        """Return the size of the shape in the unit that it is kept in."""
        value = next(self.shape[key] for key in MEANT if key in self.shape)
        rings = [outline["outer"] for outline in value] if "outlines" in self.shape else [value]
        points = [point for ring in rings for point in ring]
        sides = (max(side) - min(side) for side in zip(*points, strict=True))
        words = " × ".join(say(read_length(side, self.typed_unit), self.typed_unit) for side in sides)
        return f"{words} {ShopRules.Unit(self.typed_unit).label}"

    def choices(self) -> list[tuple[int, str]]:
        """Return the outlines to choose among, where there are several, with their sizes."""
        outlines = self.drawn.outlines if self.drawn else ()
        return [
            (i, f"outline {i + 1}: {self._size(outline.outer)}") for i, outline in enumerate(outlines)
        ] if len(outlines) > 1 else []  # fmt: skip

    def _size(self, ring) -> str:
        xs, ys = [x for x, _ in ring], [y for _, y in ring]
        sides = (max(xs) - min(xs), max(ys) - min(ys))
        return " × ".join(say(side, self.typed_unit) for side in sides)
