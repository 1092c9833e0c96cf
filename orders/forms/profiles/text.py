"""Letters set in a font: each of their parts becomes a shape of its own."""

from __future__ import annotations

from typing import Any

from django import forms

from cutsheets.errors import CutsheetError
from cutsheets.letters import SHIPPED
from cutsheets.units import read_length
from orders.fonts import as_outlines, font_choices, set_letters
from orders.forms.texts import TypedLength
from orders.shapes import from_mm

from .base import RevisionForm


class TextForm(RevisionForm):
    way = "text"
    template = "profiles/ways/text.html"
    shapes = ("outlines",)

    text = forms.CharField(max_length=60, label="Letters", widget=forms.TextInput(attrs={"autocomplete": "off"}))
    font = forms.ChoiceField(label="Font", initial=SHIPPED[0])
    cap_height = TypedLength(label="Capitals, high", initial="12", help_text="finished, flat capitals such as H")

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["font"].choices = font_choices()
        self.fields["cap_height"].unit = self.typed_unit

    def draw(self) -> dict[str, Any]:
        data = self.cleaned_data
        high = float(read_length(data["cap_height"], self.typed_unit, "cap_height", zero_ok=False))
        letters = set_letters(data["text"], data["font"], high)
        return {"outlines": from_mm(as_outlines(letters), self.typed_unit)}

    def source(self) -> dict[str, Any]:
        return {name: self.cleaned_data[name] for name in ("text", "font", "cap_height")}

    def place(self, error: CutsheetError) -> None:
        name = error.where.partition("[")[0]
        if name in ("text", "font", "cap_height"):
            self.add_error(name, error.message)
        else:
            super().place(error)
