"""The form of one order line: what every line has, and in `part` the fields of its kind.

Lengths stay as typed, in the unit of the order; what they mean together is worked out by the core.
"""

import re
from collections.abc import Iterator

from django import forms
from django.db.models import Q

from cutsheets.errors import CutsheetError
from cutsheets.units import say_exact
from orders.entry import next_mark
from orders.forms.kinds import CHOICES, FORMS
from orders.forms.kinds.base import set_unit
from orders.forms.kinds.shaped import FROM_LIBRARY
from orders.forms.texts import TypedLength
from orders.models import Line, Order, ProfileRevision
from shop.form_fields import CountField
from shop.models import CoatSystem, Grade

FIRST_KIND = "moulding"
KIND = "kind"  # what a page posts as `more` to be shown the fields of another kind
# A kind that is chosen fetches its fields; the form's own trigger, which asks for figures, waits until they are there.
# Its requests stand in a line of their own, or the figures asked for by the last key would take their place.
FETCH = {
    "hx-post": "", "hx-vals": f'{{"more": "{KIND}"}}', "hx-trigger": "change consume", "hx-target": "#kind",
    "hx-swap": "innerHTML", "hx-sync": "this:replace",
}  # fmt: skip
OWN_FIGURES = "allow.longest_stick"  # the one figure of a line's `allow` that a form may show


class LineForm(forms.Form):
    """One line of an order; `version` is the order's when the page was opened.

    With `data` it is read; with `typed` it shows what was typed so far, unread, in the fields of the kind chosen. A new
    line may begin with a `profile`.
    """

    version = forms.IntegerField(widget=forms.HiddenInput)
    mark = forms.CharField(max_length=8, label="Mark")
    title = forms.CharField(max_length=80, required=False, label="What")
    kind = forms.ChoiceField(choices=CHOICES, label="Kind", widget=forms.Select(attrs=FETCH))
    grade = forms.ModelChoiceField(None, label="Foam", empty_label="choose the foam")
    coat_system = forms.ModelChoiceField(CoatSystem.objects, required=False, label="Coat", empty_label="none")
    coat = TypedLength(zero_ok=True, required=False, label="Coat thickness", help_text="empty: as the coat says")
    qty = CountField(label="Times")
    note = forms.CharField(max_length=200, required=False, label="Note")
    lie = forms.ChoiceField(
        choices=Line.Lie, required=False, label="Blanks may lie", help_text="for foam with a grain or a face side"
    )

    def __init__(
        self, data=None, *, order: Order, line: Line | None = None, typed=None, more: str = "",
        profile: ProfileRevision | None = None,
    ):  # fmt: skip
        self.order, self.line, self.profile = order, line, None if line else profile
        shown = {name: typed.get(name) for name in typed} if typed else begun_with(self.profile)
        initial = initial_of(line) if line else {"mark": next_mark(order)}
        super().__init__(data, initial={"version": order.version, **initial, **shown})
        used = [line.grade_id] if line else []
        self.fields["grade"].queryset = Grade.objects.filter(Q(active=True) | Q(pk__in=used))
        self.part = self._part(data, shown, more)
        set_unit(self, order.unit)

    def _part(self, data, shown: dict, more: str):
        kind = (data or shown).get("kind") or (self.line.kind if self.line else FIRST_KIND)
        kind = kind if kind in FORMS else FIRST_KIND
        stored = self.line if self.line and self.line.kind == kind else None
        profile = {"profile": stored.profile_id} if stored and stored.profile_id else {}
        if self.profile and self.profile.profile.kind == kind:
            profile = {"way": FROM_LIBRARY, "profile": self.profile.pk}
        own = {name: value for name, value in shown.items() if name in FORMS[kind].own_names() and value}
        options = {"unit": self.order.unit, "spec": stored.spec if stored else {}, "more": more}
        if FORMS[kind].shape:
            options["used"] = profile.get("profile")
        return FORMS[kind](data, typed={**profile, **own}, **options)

    def every_form(self) -> Iterator[tuple[forms.Form, str]]:
        """Yield every form of the line with its place in words: the line, its kind, the rows that count."""
        yield self, ""
        yield self.part, ""
        for name, rows in self.part.asked().items():
            for number, row in enumerate(rows.forms, 1):
                yield row, f"{name[:-1]} {number}"

    def is_valid(self) -> bool:
        """Return whether the line, its kind and every row that it uses were read without complaint."""
        return all([super().is_valid(), self.part.is_valid()])

    def clean_mark(self):
        mark = self.cleaned_data["mark"].strip().upper()
        if not re.fullmatch(r"[A-Z][A-Z0-9]{0,7}", mark):
            raise forms.ValidationError("A mark is a letter, then letters or digits, such as A or B2.")
        return mark

    def spec(self) -> dict:
        """Return the keys of the job file for this kind, lengths as typed; a job file's own figures stay."""
        spec = self.part.spec()
        stored = self.line.spec.get("allow", {}) if self.line else {}
        typed_here = OWN_FIGURES in map(self.part.place_of, self.part.fields)
        kept = {name: value for name, value in stored.items() if not (typed_here and name == "longest_stick")}
        allow = {**kept, **spec.pop("allow", {})}
        return {**spec, "allow": allow} if allow else spec

    def values(self) -> dict:
        """Return the columns of the line as typed; `coat` follows the coat system where it was left empty."""
        data = self.cleaned_data
        values = {name: data[name] for name in ("mark", "title", "kind", "grade", "qty", "note")}
        values["lie"] = data["lie"] or Line.Lie.ANY
        part = self.part
        values["profile"] = part.cleaned_data["profile"] if part.shape and part.counts("profile") else None
        values["coat_system"] = data["coat_system"] if part.with_coat else None
        values["coat"] = (data["coat"] or self._coat()) if part.with_coat else "0"
        return {**values, "spec": self.spec()}

    def _coat(self) -> str:
        system = self.cleaned_data["coat_system"]
        return say_exact(system.thickness_mm, self.order.unit) if system else "0"

    def place(self, error: CutsheetError) -> None:
        """Put a complaint of the core beside the field that it is about, or above the form."""
        if not self.part.place(error):
            first = error.where.partition(".")[0].partition("[")[0]
            self.add_error(first if first in self.fields else None, error.message)


def begun_with(profile: ProfileRevision | None) -> dict:
    """Return what a new line shows that begins with a profile: its kind, its usual foam and coat."""
    if profile is None:
        return {}
    return {"kind": profile.profile.kind, "grade": profile.grade_id, "coat_system": profile.coat_system_id}


def initial_of(line: Line) -> dict:
    """Return what a stored line shows in the fields that every line has."""
    shown = {name: getattr(line, name) for name in ("mark", "title", "kind", "coat", "qty", "note", "lie")}
    return shown | {"grade": line.grade_id, "coat_system": line.coat_system_id}
