"""What is typed at a station."""

from django import forms

from cutsheets.units import say
from orders.models import RunRemnant
from shop.form_fields import MicrometreField

LABELS = ("Long", "Wide", "High")


class PutBackForm(forms.Form):
    """A remnant as measured; the planned size and its parent's place stand there already."""

    place = forms.CharField(max_length=40, required=False, label="Place on the rack")

    def __init__(self, *args, remnant: RunRemnant, unit, **kwargs):
        super().__init__(*args, **kwargs)
        planned = (remnant.l_um, remnant.w_um, remnant.h_um)
        sizes = {name.lower(): MicrometreField(unit=unit, zero_ok=False, label=name) for name in LABELS}
        self.fields = sizes | self.fields
        for name, um in zip(LABELS, planned, strict=True):
            self.initial[name.lower()] = say(um / 1000, unit, "down")
        self.initial["place"] = remnant.source.piece.place
        for field in self.fields.values():
            field.widget.attrs |= {"class": "st-field", "autocomplete": "off"}

    @property
    def size_um(self) -> tuple[int, int, int]:
        """Return long, wide, high in whole micrometres, once the form is valid."""
        return tuple(self.cleaned_data[name.lower()] for name in LABELS)
