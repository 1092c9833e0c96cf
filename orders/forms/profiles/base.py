"""What the forms of a profile share, whichever way its shape is brought in: checked by the core as a line would."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from typing import Any, ClassVar

from django import forms
from django.db.models import Q

from cutsheets.errors import CutsheetError
from orders.forms.texts import BareField
from orders.lines import KIND_WORDS
from orders.models import Profile, ProfileRevision
from orders.shapes import MEANT, WORDS, key_of, kinds_of, read_shape, takes_bare
from shop.models import CoatSystem, Grade, ShopRules


class HeadForm(forms.Form):
    """What a profile is called."""

    code = forms.CharField(max_length=20)
    name = forms.CharField(max_length=80, label="What it is")

    def clean_code(self):
        code = self.cleaned_data["code"].strip().upper()
        if not re.fullmatch(r"[A-Z0-9][A-Z0-9.-]*", code):
            raise forms.ValidationError("A code has letters, digits, points and hyphens only, such as TP-14.")
        if Profile.objects.filter(code__iexact=code).exists():
            raise forms.ValidationError(f"{code} is on the list already; open it and draw its next revision.")
        return code


class RevisionForm(forms.Form):
    """One revision of a profile. Each way draws its shape: the keys of a job file, in `unit`, finished size.

    `of`: the revision that the next one follows; it stays the kind that it is. `start`: what a new one begins with.
    """

    way: ClassVar[str]
    template: ClassVar[str]
    shapes: ClassVar[tuple[str, ...]] = tuple(MEANT)  # what this way can draw

    kind = forms.ChoiceField(label="Usually cut as", widget=forms.Select(attrs={"data-shows": ""}))
    unit = forms.ChoiceField(choices=ShopRules.Unit, label="Lengths in")
    bare = BareField()
    grade = forms.ModelChoiceField(None, required=False, label="Usual foam", empty_label="none")
    coat_system = forms.ModelChoiceField(CoatSystem.objects, required=False, label="Usual coat", empty_label="none")
    note = forms.CharField(max_length=200, required=False, label="What changed")
    after = forms.IntegerField(required=False, widget=forms.HiddenInput)

    def __init__(self, data=None, files=None, *, of: ProfileRevision | None = None, start: str = ""):
        self.of, self.start = of, start
        self.shape: dict[str, Any] | None = None
        initial = {"unit": ShopRules.current().unit, "kind": MEANT[self.drawable[0]]}
        if of is not None:
            initial = {
                "unit": of.unit, "kind": of.profile.kind, "grade": of.grade_id, "coat_system": of.coat_system_id,
                "bare": of.shape.get("bare") or "wall", "after": of.number,
            }  # fmt: skip
        super().__init__(data, files, initial=initial | self.first(of, start))
        names = [of.profile.kind] if of else kinds_of(self.drawable)
        self.fields["kind"].choices = [(name, KIND_WORDS[name]) for name in names]
        self.fields["grade"].queryset = Grade.objects.filter(Q(active=True) | Q(pk=of.grade_id if of else None))
        if of is not None:
            self.fields["kind"].required = False
            self.fields["kind"].widget = forms.HiddenInput(attrs={"data-shows": ""})

    def first(self, of: ProfileRevision | None, start: str) -> dict[str, Any]:
        """Return what the fields of this way show before anything is typed."""
        return of.source if of and of.source.get("way") == self.way else {}

    def draw(self) -> dict[str, Any]:
        """Return the shape; raises CutsheetError."""
        raise NotImplementedError

    def source(self) -> dict[str, Any]:
        """Return what this way was given, for the form of the next revision."""
        raise NotImplementedError

    def place(self, error: CutsheetError) -> None:
        """Put a complaint beside the field that it is about, or above the form."""
        self.add_error("bare" if error.where == "bare" or error.code == "section-edge" else None, error.message)

    @property
    def drawable(self) -> tuple[str, ...]:
        """Return the shapes that may come out of this form."""
        return (key_of(self.of.shape),) if self.of else self.shapes

    @property
    def chosen_kind(self) -> str:
        """Return the kind that is chosen, as the page shows it."""
        asked = self.data.get("kind", "") if self.is_bound else self.initial["kind"]
        names = [name for name, _ in self.fields["kind"].choices]
        return asked if asked in names else names[0]

    @property
    def typed_unit(self) -> str:
        """Return the unit in which lengths are typed."""
        asked = self.data.get("unit", "") if self.is_bound else ""
        return asked if asked in ShopRules.Unit.values else self.initial["unit"]

    def clean_kind(self):
        return self.of.profile.kind if self.of else self.cleaned_data["kind"]

    def clean(self):
        data = super().clean()
        if not self.errors:
            try:
                shape = self._drawn()
                read_shape(data["kind"], shape, self.typed_unit)
            except CutsheetError as error:
                self.place(error)
            else:
                self.shape = shape
        return data

    def _drawn(self) -> dict[str, Any]:
        shape, kind = self.draw(), self.cleaned_data["kind"]
        if kind not in kinds_of([key_of(shape)]):
            raise CutsheetError("profile-kind", f"A {kind} is not cut from {WORDS[key_of(shape)]}; choose another.")
        shape.pop("bare", None)
        return shape | {"bare": self.cleaned_data["bare"]} if takes_bare(kind) else shape

    def is_valid(self) -> bool:
        """Return whether there is a shape that can be saved."""
        return super().is_valid() and self.shape is not None

    def shown(self) -> dict[str, Any] | None:
        """Return the shape as typed so far, or as it stands where nothing is typed yet."""
        if not self.is_bound:
            return self.of.shape if self.of else None
        return self.shape if self.is_valid() or self.shape else None

    def parts(self) -> list[forms.Form]:
        """Return the forms whose fields stand on the page."""
        return [self]

    def faults(self) -> Iterator[str]:
        """Yield what keeps the shape from being drawn, each with the name of its field."""
        for part in self.parts():
            for name, errors in part.errors.items():
                label = part.fields[name].label if name in part.fields else ""
                yield from (f"{label}: {error}" if label else error for error in errors)

    def values(self) -> Mapping[str, Any]:
        """Return the columns of the revision."""
        columns = {name: self.cleaned_data[name] for name in ("grade", "coat_system", "note")}
        return columns | {"unit": self.typed_unit, "shape": self.shape, "source": {"way": self.way, **self.source()}}
