"""Forms of profiles: a section by its points, checked by the core as a line would check it."""

import re

from django import forms

from cutsheets.errors import CutsheetError
from cutsheets.kinds.shapes import read_section
from cutsheets.solids import Section
from orders.models import Profile, ProfileRevision
from shop.models import ShopRules

from .texts import SECTION_HELP, BareField, PointsField


class RevisionForm(forms.Form):
    """One revision of a profile: the finished section, and which of its edges stay bare."""

    unit = forms.ChoiceField(choices=ShopRules.Unit, label="Points in")
    section = PointsField(label="Points", help_text=SECTION_HELP)
    bare = BareField()
    note = forms.CharField(max_length=200, required=False, label="What changed")

    def __init__(self, data=None, *, of: ProfileRevision | None = None):
        initial = {"unit": ShopRules.current().unit}
        if of is not None:
            bare = of.shape.get("bare") or "wall"
            initial = {"unit": of.unit, "section": of.shape.get("section"), "bare": bare}
        super().__init__(data, initial=initial)
        self.read: Section | None = None
        unit = self.data.get("unit", "")
        self.fields["section"].unit = unit if unit in ShopRules.Unit.values else initial["unit"]

    def clean(self):
        data = super().clean()
        if data.get("section") and "bare" in data and "unit" in data:
            try:
                self.read = read_section({"section": data["section"], "bare": data["bare"]}, data["unit"])
            except CutsheetError as error:
                self.add_error(
                    "bare" if "bare" in error.where or error.code == "section-edge" else "section", error.message
                )
        return data

    def values(self) -> dict:
        """Return the columns of the revision, the points as typed."""
        data = self.cleaned_data
        shape = {"section": data["section"], "bare": data["bare"]}
        return {"unit": data["unit"], "shape": shape, "source": {"way": "points"}, "note": data["note"]}


class ProfileForm(RevisionForm):
    """A new profile with its first revision."""

    code = forms.CharField(max_length=20)
    name = forms.CharField(max_length=80, label="What it is")

    field_order = ("code", "name", "unit", "section", "bare", "note")

    def clean_code(self):
        code = self.cleaned_data["code"].strip().upper()
        if not re.fullmatch(r"[A-Z0-9][A-Z0-9.-]*", code):
            raise forms.ValidationError("A code has letters, digits, points and hyphens only, such as TP-14.")
        if Profile.objects.filter(code__iexact=code).exists():
            raise forms.ValidationError(f"{code} is on the list already; open it and draw its next revision.")
        return code
