"""What is typed at a station."""

from django import forms

from cutsheets.units import say
from orders.models import RunRemnant
from shop.account import Size
from shop.form_fields import MicrometreField
from shop.models import StockPiece

LABELS = ("Long", "Wide", "High")


class SizeForm(forms.Form):
    """A piece of foam as measured; `stands` is the size that stands there already."""

    def __init__(self, *args, unit, stands: Size | None = None, **kwargs):
        super().__init__(*args, **kwargs)
        sizes = {name.lower(): MicrometreField(unit=unit, zero_ok=False, label=name) for name in LABELS}
        self.fields = sizes | self.fields
        for name, um in zip(LABELS, stands or (), strict=False):
            self.initial[name.lower()] = say(um / 1000, unit, "down")
        for field in self.fields.values():
            field.widget.attrs |= {"class": "st-field", "autocomplete": "off"}

    @property
    def size_um(self) -> Size:
        """Return long, wide, high in whole micrometres, once the form is valid."""
        return tuple(self.cleaned_data[name.lower()] for name in LABELS)


class RestForm(SizeForm):
    """A rest that is kept, and where it goes; its parent's place stands there already."""

    place = forms.CharField(max_length=40, required=False, label="Place on the rack")

    def __init__(self, *args, parent: StockPiece, **kwargs):
        super().__init__(*args, **kwargs)
        self.initial["place"] = parent.place


class PutBackForm(RestForm):
    """A planned remnant as measured; the planned size stands there already."""

    def __init__(self, *args, remnant: RunRemnant, **kwargs):
        planned = (remnant.l_um, remnant.w_um, remnant.h_um)
        super().__init__(*args, parent=remnant.source.piece, stands=planned, **kwargs)


class MeasuredForm(SizeForm):
    """A block or remnant that is not as large as the books say, and why; their size stands there already."""

    reason = forms.CharField(max_length=200, label="Why")

    def __init__(self, *args, piece: StockPiece, **kwargs):
        self.booked = piece.size_um
        super().__init__(*args, stands=piece.size_um, **kwargs)

    @property
    def size_um(self) -> Size:
        """Return the measured size; a side that was left as it stood is the one of the books, to the micrometre."""
        typed = zip(LABELS, super().size_um, self.booked, strict=True)
        return tuple(
            um if self[name.lower()].value().strip() == self.initial[name.lower()] else measured
            for name, measured, um in typed
        )
