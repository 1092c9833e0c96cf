"""Fields whose value is the text that was typed, once it was read without complaint: orders keep what people wrote."""

import json
import re

from django import forms

from cutsheets.errors import CutsheetError
from cutsheets.units import Unit, read_angle, read_coordinate, read_length

SECTION_HELP = "one corner a line: x from the wall, y up; the last joins the first"
BARE_HELP = "“wall”, “none”, or the numbers of edges, such as 0, 5"


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

    def __init__(self, *, least: int = 3, **kwargs):
        self.least = least
        widget = forms.Textarea(attrs={"rows": 6, "spellcheck": "false", "autocomplete": "off"})
        super().__init__(**{"widget": widget, "max_length": 100_000, **kwargs})

    def prepare_value(self, value):
        return "\n".join(f"{x}, {y}" for x, y in value) if isinstance(value, list) else value

    def clean(self, value):
        return self.points(super().clean(value))

    def points(self, text: str) -> list[list]:
        """Return the pairs of a text, as typed; raises ValidationError."""
        points = [self._point(number, pair) for number, pair in enumerate(self._pairs(text), 1)]
        if text and not self.least <= len(points) <= self.most:
            raise forms.ValidationError(
                f"Here belong at least {self.least} corners and at most {self.most}; type one a line."
            )
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


class RingsField(PointsField):
    """Several closed outlines, an empty line between them; its value is a list of lists of pairs."""

    def prepare_value(self, value):
        return "\n\n".join(map(super().prepare_value, value)) if isinstance(value, list) else value

    def points(self, text: str) -> list[list]:
        return [super(RingsField, self).points(part) for part in re.split(r"\n\s*\n", text.replace("\r", "")) if part]


class BareField(forms.CharField):
    """Which edges of a section stay without coat, as the job file writes it: “wall”, “none” or edge numbers."""

    def __init__(self, **kwargs):
        options = {
            "max_length": 200,
            "required": False,
            "initial": "wall",
            "label": "Bare faces",
            "help_text": BARE_HELP,
        }
        super().__init__(**{**options, **kwargs})

    def prepare_value(self, value):
        return ", ".join(map(str, value)) if isinstance(value, list) else value

    def clean(self, value):
        text = super().clean(value).strip().lower() or "wall"
        if text in ("wall", "none"):
            return text
        if not re.fullmatch(r"\d{1,4}( *[,; ] *\d{1,4})*", text):
            raise forms.ValidationError(f"Write {BARE_HELP}.")
        return [int(number) for number in re.findall(r"\d+", text)]


class NumbersField(forms.CharField):
    """Plain numbers with commas between them, such as 0.3, 0.6; its value is a list of numbers."""

    def prepare_value(self, value):
        return ", ".join(map(_plain, value)) if isinstance(value, list) else value

    def clean(self, value):
        return [_number(text.strip()) for text in super().clean(value).split(",") if text.strip()]


class TypedNumber(forms.CharField):
    """A plain number, 0 or more; its value is that number, None where nothing is typed."""

    def __init__(self, **kwargs):
        super().__init__(max_length=20, **kwargs)

    def prepare_value(self, value):
        return _plain(value)

    def clean(self, value):
        text = super().clean(value)
        return _number(text) if text else None


def _plain(value) -> str:
    """Return a number as people write it: 3, not 3.0."""
    return "" if value is None else str(value).removesuffix(".0")


def _number(text: str) -> float:
    if not re.fullmatch(r"\d{1,9}(\.\d{1,9})?|\.\d{1,9}", text, re.ASCII):
        raise forms.ValidationError(f"“{text[:20]}” is no plain number; write 0.5 or 3.")
    return float(text)


def _read(reader, *args, place: str = "", **kwargs) -> None:
    """Read a text for its complaints only."""
    try:
        reader(*args, **kwargs)
    except CutsheetError as error:
        raise forms.ValidationError(f"{place}{error.message}", code=error.code) from error
