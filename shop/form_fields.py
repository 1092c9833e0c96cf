"""Form fields that read and show lengths as people write them, in the unit of the shop."""

from decimal import Decimal

from django import forms

from cutsheets.errors import CutsheetError
from cutsheets.units import KG_M3_PER_PCF, Unit, read_density, read_length, say_exact, um_down


class CountField(forms.IntegerField):
    """How many, from 1."""

    def __init__(self, *, most: int = 1_000_000, **kwargs):
        remedy = f"Type a whole number from 1 to {most:,}."
        messages = dict.fromkeys(("invalid", "required", "min_value", "max_value"), remedy)
        super().__init__(**{"min_value": 1, "max_value": most, "initial": 1, "error_messages": messages, **kwargs})


class LengthField(forms.Field):
    """A length typed as people write it (`5 1/2`, `14'-2"`, `1220 mm`); its value is exact millimetres."""

    def __init__(self, *, unit: Unit = "in", zero_ok: bool = True, **kwargs):
        self.unit, self.zero_ok = unit, zero_ok
        example = "inches, such as 5-1/2" if unit == "in" else "millimetres, such as 140"
        super().__init__(**{"error_messages": {"required": f"Type a length in {example}."}, **kwargs})

    def to_python(self, value):
        if value in self.empty_values:
            return None
        try:
            return read_length(value, self.unit, zero_ok=self.zero_ok)
        except CutsheetError as error:
            raise forms.ValidationError(error.message, code=error.code) from error

    def prepare_value(self, value):
        return say_exact(value, self.unit) if isinstance(value, Decimal) else value

    def has_changed(self, initial, data):
        try:
            return self.to_python(data) != initial
        except forms.ValidationError:
            return True


class MicrometreField(LengthField):
    """A length of stock as measured: whole micrometres, rounded down so that no plan counts on foam it has not got."""

    def to_python(self, value):
        mm = super().to_python(value)
        return None if mm is None else um_down(mm)

    def prepare_value(self, value):
        return say_exact(Decimal(value) / 1000, self.unit) if isinstance(value, int) else value


class DensityField(forms.Field):
    """A density, lb/ft³ in an inch shop and kg/m³ in a metric one; its value is kg/m³."""

    def __init__(self, *, unit: Unit = "in", **kwargs):
        self.unit = unit
        super().__init__(**kwargs)

    def to_python(self, value):
        if value in self.empty_values:
            return None
        try:
            return read_density(value, self.unit).quantize(Decimal("0.000001"))
        except CutsheetError as error:
            raise forms.ValidationError(error.message, code=error.code) from error

    def prepare_value(self, value):
        if not isinstance(value, Decimal):
            return value
        shown = value / KG_M3_PER_PCF if self.unit == "in" else value
        return f"{shown:.4f}".rstrip("0").rstrip(".")
