"""Forms of the shop's own pages. Lengths are typed and shown in the unit of the shop."""

from django import forms
from django.contrib.auth.password_validation import validate_password
from django.core.validators import MaxValueValidator, MinValueValidator
from django.utils import timezone

from cutsheets.grades import C578
from cutsheets.sheets.badges import BADGE_GRIDS
from cutsheets.units import KG_M3_PER_PCF
from shop.form_fields import CountField, DensityField, LengthField, MicrometreField
from shop.models import BlockSize, CoatSystem, Device, Grade, Person, ShopRules, Station, StockPiece, WireFeed

DATE = forms.DateInput(attrs={"type": "date"})


class LengthsForm(forms.ModelForm):
    """A model form in which the columns of `lengths`, `sizes` and `densities` are typed with the shop's unit."""

    lengths: tuple[str, ...] = ()
    sizes: tuple[str, ...] = ()
    densities: tuple[str, ...] = ()

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.shop_unit = ShopRules.current().unit
        for names, kind in ((self.lengths, LengthField), (self.sizes, MicrometreField), (self.densities, DensityField)):
            for name in names:
                plain = self.fields[name]
                self.fields[name] = kind(
                    unit=self.shop_unit, required=plain.required, label=plain.label, help_text=plain.help_text,
                    initial=plain.initial,
                )  # fmt: skip


FAULTS = (
    "required", "invalid", "min_value", "max_value", "max_digits", "max_decimal_places", "max_whole_digits",
    "max_length", "invalid_choice",
)  # fmt: skip
CREDITS = ("credit_small", "credit_medium", "credit_large", "credit_whole")
REMEDIES = {
    ("price_foam", "price_cut", "price_keep", "price_hour"):
        "Type an amount of money from 0 to 9,999,999.99, such as 2.60.",
    ("rack_share", *CREDITS): "Type a whole share from 0 to 100 per cent, such as 50.",
    ("minimum_age_days",): "Type whole days from 0 on, such as 7.",
    ("bundle_pieces",): "Type whole pieces from 1 on, such as 6.",
    ("plan_seconds",): f"Type whole seconds from 1 to {ShopRules.LONGEST_PLAN}, such as 10.",
    ("name",): "Type the name of the shop, at most 60 letters.",
    ("unit",): "Choose inches or millimetres.",
    ("paper",): "Choose Letter or A4.",
    ("travellers",): "Choose one traveller an order, or one a line.",
    ("label_dpi",): "Choose 203, 300 or 600 dots an inch.",
}  # fmt: skip


class RulesForm(LengthsForm):
    lengths = (
        "kerf", "wire_kerf", "block_skin", "skim_wall", "skim_other", "end_trim", "blank_step", "longest_stick",
        "shortest_piece", "remnant_l", "remnant_w", "remnant_h", "wire_feed", "wire_over", "length_tolerance",
        "section_tolerance",
    )  # fmt: skip

    groups = (
        ("Name and paper", ("name", "unit", "currency", "paper", "travellers", "label_dpi")),
        ("Saw and wire", ("kerf", "wire_kerf", "wire_over", "wire_feed", "length_tolerance", "section_tolerance")),
        ("Blocks and plans", ("block_skin", "minimum_age_days", "plan_seconds")),
        ("Blanks", ("skim_wall", "skim_other", "end_trim", "blank_step")),
        ("Sticks", ("longest_stick", "shortest_piece")),
        ("Packing", ("bundle_pieces",)),
        ("Smallest remnant worth keeping", ("remnant_l", "remnant_w", "remnant_h")),
        ("What ranks plans", ("price_foam", "rack_share", "price_cut", "price_keep", "price_hour")),
        ("Credit of a kept remnant", ("credit_small", "credit_medium", "credit_large", "credit_whole")),
    )

    class Meta:
        model = ShopRules
        exclude = ("id",)  # noqa: DJ006 - every figure of the shop is on this page

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        for names, remedy in REMEDIES.items():
            for name in names:
                self.fields[name].error_messages |= dict.fromkeys(FAULTS, remedy)
        self.fields["plan_seconds"].validators.append(MaxValueValidator(ShopRules.LONGEST_PLAN))
        for name in ("plan_seconds", "bundle_pieces"):
            self.fields[name].validators.append(MinValueValidator(1))

    def clean(self):
        data = super().clean()
        prices = [data.get(name) for name in ("price_foam", "price_cut", "price_keep")]
        if not any(price is None or price for price in prices):
            self.add_error(
                "price_foam", "With foam, cuts and remnants all at 0 every plan costs the same; type what foam costs."
            )
        for name in CREDITS:
            if (data.get(name) or 0) > data.get("rack_share", 100):
                self.add_error(
                    name,
                    f"A kept remnant cannot be worth more than it is charged at from the rack, {data['rack_share']} %; "
                    "type no more than that, or raise that share.",
                )
        return data

    @property
    def grouped(self):
        """Return the fields under their headings, as the page shows them."""
        return [(heading, [self[name] for name in names]) for heading, names in self.groups]


class GradeForm(LengthsForm):
    """A grade; its type of the standard is chosen from the table, its density is the shop's own and never below it."""

    densities = ("density",)
    c578_type = forms.ChoiceField(
        choices=[("", "none"), *((row.name, row.name) for row in C578)], required=False, label="ASTM C578 type"
    )

    class Meta:
        model = Grade
        fields = ("name", "c578_type", "density", "flame_retardant", "pattern", "ink", "price", "order_at", "active")
        widgets = {"ink": forms.TextInput(attrs={"type": "color"})}

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["density"].label = f"Density, {'lb/ft³' if self.shop_unit == 'in' else 'kg/m³'}"

    def clean(self):
        data = super().clean()
        least = next((row for row in C578 if row.name == data.get("c578_type")), None)
        density = data.get("density")
        if least and density and density < min(least.pcf * KG_M3_PER_PCF, least.kg_m3):
            self.add_error(
                "density",
                f"Type {least.name} weighs at least {least.pcf} lb/ft³ ({least.kg_m3} kg/m³); "
                "weigh a block, or choose another type.",
            )
        return data


class BlockSizeForm(LengthsForm):
    sizes = ("l_um", "w_um", "h_um")

    class Meta:
        model = BlockSize
        fields = ("name", "l_um", "w_um", "h_um")
        labels = {"l_um": "Long", "w_um": "Wide", "h_um": "High"}


NOT_A_STATION = ("pair", "live")


class StationForm(LengthsForm):
    lengths = ("wire", "travel", "height", "swing", "centres", "kerf")

    class Meta:
        model = Station
        fields = ("code", "name", "kind", "wire", "travel", "height", "swing", "centres", "kerf", "scan_gap", "active")

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        for name in self.lengths:
            self.fields[name].help_text = self.fields[name].help_text or "empty: not known, so no limit"
        self.fields["scan_gap"].required = False

    def clean_scan_gap(self):
        return self.cleaned_data["scan_gap"] or self.fields["scan_gap"].initial

    def clean_code(self):
        code = self.cleaned_data["code"]
        if code in NOT_A_STATION:
            raise forms.ValidationError(f"“{code}” is an address of its own; call the station another name.")
        return code


class FeedForm(LengthsForm):
    """How fast the wire goes through a grade; a machine of its own is a wire cutter, or one that turns."""

    lengths = ("feed",)

    class Meta:
        model = WireFeed
        fields = ("grade", "station", "feed", "entry", "handling")

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["feed"].zero_ok = False
        machines = (Station.Kind.CUTTER, Station.Kind.TURNING)
        self.fields["station"].queryset = Station.objects.filter(kind__in=machines)
        self.fields["station"].empty_label = "any machine"
        self.fields["grade"].empty_label = "choose the grade"


class CoatSystemForm(LengthsForm):
    lengths = ("thickness_mm", "mesh_lap")
    densities = ("density",)

    class Meta:
        model = CoatSystem
        fields = ("name", "thickness_mm", "cure_hours", "mesh_lap", "density")
        labels = {"thickness_mm": "Thickness"}


class PersonForm(forms.ModelForm):
    password = forms.CharField(required=False, widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}))

    class Meta:
        model = Person
        fields = ("username", "first_name", "last_name", "role", "is_active")
        labels = {"username": "Sign-in name", "is_active": "May sign in"}
        help_texts = {"username": "", "is_active": ""}

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        keep = "; leave empty to keep the old one" if self.instance.pk else ""
        self.fields["password"].help_text = f"at least ten characters{keep}"
        self.order_fields(["username", "password", "first_name", "last_name", "role", "is_active"])

    def clean_password(self):
        password = self.cleaned_data["password"]
        if not password and not self.instance.pk:
            raise forms.ValidationError("A new person needs a password; type one of at least ten characters.")
        if password:
            validate_password(password, self.instance)
        return password

    def save(self, commit=True):
        if self.cleaned_data["password"]:
            self.instance.set_password(self.cleaned_data["password"])
        return super().save(commit)


class DeviceForm(forms.ModelForm):
    """A device that is to be paired: the station it will stand at, and what it is called."""

    class Meta:
        model = Device
        fields = ("station", "name")
        labels = {"station": "Stands at", "name": "Called"}
        help_texts = {"name": "such as “Tablet at the saw”"}

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["station"].queryset = Station.objects.filter(active=True)
        self.fields["station"].empty_label = "choose the station"


class BadgesForm(forms.Form):
    """What badges are printed on, and the first label that is left on the sheet."""

    grid = forms.ChoiceField(choices=[(name, grid.words) for name, grid in BADGE_GRIDS.items()], label="Printed on")
    start = CountField(
        most=max(grid.per_page for grid in BADGE_GRIDS.values()), label="First label",
        help_text="of a sheet of labels; row by row",
    )  # fmt: skip


class PinForm(forms.Form):
    pin = forms.CharField(
        label="PIN", max_length=8, widget=forms.PasswordInput(attrs={"inputmode": "numeric", "autocomplete": "off"}),
        help_text="4 to 8 digits; tell it to this person only",
    )  # fmt: skip


class ReceiveForm(LengthsForm):
    """Blocks of one grade, size and lot that came off the truck; each gets a tag of its own."""

    count = CountField(most=60, label="How many")
    sizes = ("l_um", "w_um", "h_um")

    class Meta:
        model = StockPiece
        fields = ("grade", "nominal", "l_um", "w_um", "h_um", "lot", "mould_date", "place")
        labels = {"nominal": "Nominal size", "l_um": "Measured long", "w_um": "Measured wide", "h_um": "Measured high"}
        widgets = {"mould_date": DATE}

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["grade"].queryset = Grade.objects.filter(active=True)
        self.fields["nominal"].required = True
        for name in self.sizes:
            self.fields[name].required = False
            self.fields[name].help_text = "empty: as nominal"
        self.order_fields(["grade", "count", *self.Meta.fields[1:]])

    def clean_mould_date(self):
        day = self.cleaned_data["mould_date"]
        if day and day > timezone.localdate():
            raise forms.ValidationError("This day has not come yet; check the mould date on the label.")
        return day

    def clean(self):
        data = super().clean()
        if nominal := data.get("nominal"):
            for name in self.sizes:
                data[name] = data.get(name) or getattr(nominal, name)
                # A block is never much larger than its nominal size: inches typed for feet, or millimetres for inches.
                if not nominal_close(data[name], getattr(nominal, name)):
                    self.add_error(name, f"This is far from the nominal size of {nominal}; measure and type it again.")
        return data


def nominal_close(measured: int, nominal: int) -> bool:
    """Return whether a measured length is within a tenth of the nominal one."""
    return abs(measured - nominal) * 10 <= nominal


class ReasonForm(forms.Form):
    """What a count says about a stock piece needs a reason."""

    reason = forms.CharField(max_length=200, label="Why")

    def __init__(self, *args, piece: StockPiece, **kwargs):
        super().__init__(*args, **kwargs)
        self.piece = piece


class MeasuredForm(ReasonForm):
    """A stock piece as counted: its size on the tape."""

    def __init__(self, *args, piece: StockPiece, **kwargs):
        super().__init__(*args, piece=piece, **kwargs)
        unit = ShopRules.current().unit
        for name, label, size in zip(("l", "w", "h"), ("Long", "Wide", "High"), piece.size_um, strict=True):
            self.fields[name] = MicrometreField(unit=unit, zero_ok=False, label=label, initial=size)
        self.order_fields(["l", "w", "h", "reason"])

    @property
    def size_um(self) -> tuple[int, int, int]:
        """Return the size as typed, whole micrometres."""
        return tuple(self.cleaned_data[name] for name in ("l", "w", "h"))
