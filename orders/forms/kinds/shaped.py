"""Forms of kinds whose shape comes out of the library, or is drawn for this line alone."""

from __future__ import annotations

from typing import Any

from django import forms
from django.db.models import OuterRef, Q, Subquery

from cutsheets.kinds import KINDS
from orders.forms.kinds.base import KindForm
from orders.models import ProfileRevision

FROM_LIBRARY = "profile"


class ProfileSelect(forms.Select):
    """Revisions of profiles; each carries its usual foam and coat, which the page puts into fields left empty."""

    def create_option(self, name, value, *args, **kwargs):
        option = super().create_option(name, value, *args, **kwargs)
        if revision := getattr(value, "instance", None):
            usual = {"data-grade": revision.grade_id, "data-coat_system": revision.coat_system_id}
            option["attrs"] |= {attribute: pk for attribute, pk in usual.items() if pk}
        return option


class ProfileField(forms.ModelChoiceField):
    """A revision of a profile, offered with the profile's name: nobody knows every code."""

    def __init__(self, **kwargs):
        widget = ProfileSelect(attrs={"data-fills": ""})
        super().__init__(
            None, required=False, label="Profile", empty_label="choose the profile", widget=widget, **kwargs
        )

    def label_from_instance(self, obj: ProfileRevision) -> str:
        return f"{obj}, {obj.profile.name}"


class ShapedForm(KindForm):
    """A kind with a `way` to give its shape, one of them a `profile` of the library that holds such a shape."""

    def __init__(self, *args, typed: dict[str, Any], used: int | None = None, **kwargs):
        super().__init__(*args, typed=typed, **kwargs)
        offered = revisions(self.shape, used)
        self.fields["profile"].queryset = offered
        way = self.fields["way"]
        if not self.is_bound and way.initial == FROM_LIBRARY and not offered.exists():
            self.initial.setdefault("way", way.choices[1][0])  # a shop begins without a library

    def missing(self, name: str) -> str:
        if name == "profile":
            return "Choose a profile, or give the shape in another way."
        return super().missing(name)

    def _field_at(self, where: str) -> str:
        if self.cleaned_data.get("way") == FROM_LIBRARY and where.partition(".")[0] in (self.shape, "bare"):
            return "profile"
        return super()._field_at(where)


def revisions(shape: str, used: int | None):
    """Return the newest revision of each active profile that holds this shape, and the one that a line uses already."""
    kinds = [kind.name for kind in KINDS.values() if kind.shape == shape]
    newest = ProfileRevision.objects.filter(profile=OuterRef("profile")).order_by("-number").values("pk")[:1]
    fresh = Q(pk=Subquery(newest), profile__active=True, profile__kind__in=kinds)
    return (
        ProfileRevision.objects.filter(fresh | Q(pk=used))
        .select_related("profile")
        .order_by("profile__code", "-number")
    )
