"""Fields whose value is the text that was typed, once it was read without complaint: orders keep what people wrote."""

import json
import re

from django import forms

from cutsheets.errors import CutsheetError
from cutsheets.units import Unit, read_angle, read_coordinate, read_length


class TypedLength(forms.CharField):
    """A length; its value is the text as typed. `unit` is set by the form before it is read."""

    unit: Unit = "in"

    def __init__(self, *, zero_ok: bool = False, **kwargs):
        self.zero_ok = zero_ok
        super().__init__(max_length=40, **kwargs)

    def clean(self, value):
        text = super().clean(value)
        if text:
            _read(read_length, text, self.unit, zero_ok=self.zero_ok)
        return text


class TypedAngle(forms.CharField):
    """An angle in degrees; its value is the text as typed."""

    def __init__(self, **kwargs):
        super().__init__(max_length=20, **kwargs)

    def clean(self, value):
        text = super().clean(value)
        if text:
            _read(read_angle, text)
        return text


class PointsField(forms.CharField):
    """The corners of a section, one `x, y` a line or pasted as `[[0, 0], [5, 0], …]`; its value is a list of pairs."""

    unit: Unit = "in"
    most = 4000  # a traced outline has hundreds; more is a mistake that would hold up everybody

    def __init__(self, **kwargs):
        widget = forms.Textarea(attrs={"rows": 6, "spellcheck": "false", "autocomplete": "off"})
        super().__init__(**{"widget": widget, "max_length": 100_000, **kwargs})

    def prepare_value(self, value):
        return "\n".join(f"{x}, {y}" for x, y in value) if isinstance(value, list) else value

    def clean(self, value):
        text = super().clean(value)
        points = [self._point(number, pair) for number, pair in enumerate(self._pairs(text), 1)]
        if text and not 3 <= len(points) <= self.most:
            raise forms.ValidationError(f"A section has at least 3 corners and at most {self.most}; type one a line.")
        return points

    def _pairs(self, text: str) -> list:
        if text.startswith("["):
            try:
                pairs = json.loads(text)
            except (ValueError, RecursionError):
                pairs = None
            if not isinstance(pairs, list):
                raise forms.ValidationError(
                    "These brackets are no list; write [[0, 0], [5, 0], [5, 2]], or one x, y a line."
                )
            return pairs
        return [re.split(r"[,;\t]", line) for line in text.splitlines() if line.strip()]

    def _point(self, number: int, pair) -> list:
        if not isinstance(pair, list) or len(pair) != 2:
            raise forms.ValidationError(f"Corner {number} is not two lengths; write x, a comma, y, such as 5 1/2, 2.")
        sides = [side.strip() if isinstance(side, str) else side for side in pair]
        for side in sides:
            _read(read_coordinate, side, self.unit, place=f"Corner {number}: ")
        return sides


def _read(reader, *args, place: str = "", **kwargs) -> None:
    """Read a text for its complaints only."""
    try:
        reader(*args, **kwargs)
    except CutsheetError as error:
        raise forms.ValidationError(f"{place}{error.message}", code=error.code) from error
