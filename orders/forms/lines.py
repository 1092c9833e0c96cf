"""The form of one order line: what it is, and the rows of runs, frames and pieces that say how much of it.

Lengths stay as typed, in the unit of the order; what they mean together is worked out by the core.
"""

import re

from django import forms
from django.db.models import OuterRef, Q, Subquery

from cutsheets.errors import CutsheetError
from cutsheets.units import say_exact
from orders.entry import next_mark
from orders.models import Line, Order, ProfileRevision
from shop.form_fields import CountField
from shop.models import CoatSystem, Grade

from .texts import PointsField, TypedAngle, TypedLength

KINDS = (("moulding", "Moulding"), ("panel", "Panel"))
ENDS = (
    ("outside", "outside corner"), ("inside", "inside corner"), ("cap", "free end, coated"),
    ("square", "square, bare"), ("splice", "joins another"),
)  # fmt: skip
CORNERS = ("outside", "inside")
SECTION_HELP = "one corner a line: x from the wall, y up; the last joins the first"
BARE_HELP = "“wall”, “none”, or the numbers of edges, such as 0, 5"


class RunForm(forms.Form):
    """One wall run, as seen from the front."""

    name = forms.CharField(max_length=40, required=False, label="Run")
    wall = TypedLength(label="Wall length")
    left = forms.ChoiceField(choices=ENDS, initial="outside", label="Left end")
    left_angle = TypedAngle(initial="90", required=False, label="Angle")
    right = forms.ChoiceField(choices=ENDS, initial="outside", label="Right end")
    right_angle = TypedAngle(initial="90", required=False, label="Angle")
    qty = CountField(label="Count")

    def entry(self) -> dict:
        """Return this run as the job file writes it."""
        data = self.cleaned_data
        named = {"name": data["name"]} if data["name"] else {}
        return {
            **named,
            "wall": data["wall"],
            "left": self._end("left"),
            "right": self._end("right"),
            "qty": data["qty"],
        }

    def _end(self, side: str):
        kind = self.cleaned_data[side]
        return {kind: self.cleaned_data[f"{side}_angle"] or "90"} if kind in CORNERS else kind

    @staticmethod
    def initial_of(entry: dict) -> dict:
        """Return what a stored run shows in the form."""
        shown = {"name": entry.get("name", ""), "wall": entry["wall"], "qty": entry.get("qty", 1)}
        for side in ("left", "right"):
            end = entry[side]
            kind, angle = next(iter(end.items())) if isinstance(end, dict) else (end, "90")
            shown |= {side: kind, f"{side}_angle": angle}
        return shown


class FrameForm(forms.Form):
    """A window or door surround: four mitred sides round an opening."""

    width = TypedLength(label="Opening, wide")
    height = TypedLength(label="Opening, high")
    qty = CountField(label="Count")

    def entry(self) -> dict:
        return dict(self.cleaned_data)


class PieceForm(forms.Form):
    """Straight pieces, cut square."""

    length = TypedLength(label="Length")
    qty = CountField(label="Count")

    def entry(self) -> dict:
        return dict(self.cleaned_data)


class Rows(forms.BaseFormSet):
    """Rows that may stay empty: an untouched row counts for nothing, emptying a row drops it."""

    def initial_form_count(self):
        return 0

    @property
    def used(self) -> list[forms.Form]:
        """Return the rows that say something, in their order; the core names them by these numbers."""
        return [form for form in self.forms if form.has_changed()]

    @property
    def in_use(self) -> bool:
        """Return whether any row says something, stored or typed."""
        return bool(self.used if self.is_bound else self.initial)


def rows(form, most: int = 60) -> type[Rows]:
    return forms.formset_factory(form, formset=Rows, max_num=most, absolute_max=most + 1, validate_max=True)


SETS = {"runs": rows(RunForm), "frames": rows(FrameForm), "pieces": rows(PieceForm)}


class ProfileField(forms.ModelChoiceField):
    """A revision of a profile, offered with the profile's name: nobody knows every code."""

    def label_from_instance(self, obj: ProfileRevision) -> str:
        return f"{obj}, {obj.profile.name}"


class LineForm(forms.Form):
    """One line of an order, with its rows in `self.sets`; `version` is the order's when the page was opened."""

    version = forms.IntegerField(widget=forms.HiddenInput)
    mark = forms.CharField(max_length=8, label="Mark")
    title = forms.CharField(max_length=80, required=False, label="What")
    kind = forms.ChoiceField(choices=KINDS, widget=forms.Select(attrs={"data-shows": ""}))
    profile = ProfileField(None, required=False, label="Profile", empty_label="none: own section")
    section = PointsField(required=False, label="Own section", help_text=SECTION_HELP)
    bare = forms.CharField(max_length=200, required=False, initial="wall", label="Bare faces", help_text=BARE_HELP)
    l = TypedLength(required=False, label="Long")  # noqa: E741 - long, wide, high, as the trade says it
    w = TypedLength(required=False, label="Wide")
    h = TypedLength(required=False, label="High")
    grade = forms.ModelChoiceField(None, label="Foam", empty_label="choose the foam")
    coat_system = forms.ModelChoiceField(CoatSystem.objects, required=False, label="Coat", empty_label="none")
    coat = TypedLength(zero_ok=True, required=False, label="Coat thickness", help_text="empty: as the coat says")
    qty = CountField(label="Times")
    longest_stick = TypedLength(required=False, label="Longest stick", help_text="empty: the shop's rule")
    note = forms.CharField(max_length=200, required=False, label="Note")

    def __init__(self, data=None, *, order: Order, line: Line | None = None, more: str = ""):
        initial = None if data is not None else initial_of(line) if line else {"mark": next_mark(order)}
        super().__init__(data, initial={"version": order.version, **(initial or {})})
        self.order, self.line = order, line
        used = [line.grade_id] if line else []
        self.fields["grade"].queryset = Grade.objects.filter(Q(active=True) | Q(pk__in=used))
        self.fields["profile"].queryset = revisions(line.profile_id if line else None)
        self.sets = {name: self._rows(name, kind, data, line, more) for name, kind in SETS.items()}
        for form in (self, *(row for rows in self.sets.values() for row in (*rows.forms, rows.empty_form))):
            set_unit(form, order.unit)

    def _rows(self, name: str, kind: type[Rows], data, line: Line | None, more: str) -> Rows:
        if data is not None:
            return kind(data, prefix=name)
        stored = line.spec.get(name, []) if line else []
        shown = [RunForm.initial_of(entry) for entry in stored] if name == "runs" else stored
        kind = type(kind.__name__, (kind,), {"extra": len(shown) + (not shown) + (more == name)})
        return kind(initial=shown, prefix=name)

    @property
    def opened(self) -> str:
        """Return the rows to begin with where none says anything yet."""
        return "" if any(rows.in_use for rows in self.sets.values()) else "runs"

    @property
    def asked(self) -> tuple[str, ...]:
        """Return the rows that this kind of line asks for."""
        return tuple(SETS) if self.data.get("kind", "moulding") == "moulding" else ()

    def is_valid(self) -> bool:
        """Return whether the line and every row that it uses were read without complaint."""
        return all([super().is_valid(), *(self.sets[name].is_valid() for name in self.asked)])

    def clean(self):
        data = super().clean()
        if data.get("kind") == "panel":
            for side in ("l", "w", "h"):
                if side not in self.errors and not data.get(side):
                    self.add_error(side, "Type this side of the panel.")
        elif not data.get("profile") and "section" not in self.errors and not data.get("section"):
            self.add_error("profile", "Choose a profile, or type the corners of an own section.")
        return data

    def clean_mark(self):
        mark = self.cleaned_data["mark"].strip().upper()
        if not re.fullmatch(r"[A-Z][A-Z0-9]{0,7}", mark):
            raise forms.ValidationError("A mark is a letter, then letters or digits, such as A or B2.")
        return mark

    def clean_bare(self):
        return clean_bare(self.cleaned_data["bare"])

    def spec(self) -> dict:
        """Return the keys of the job file for this kind, lengths as typed."""
        data = self.cleaned_data
        kept = self._kept()
        if data["kind"] == "panel":
            return {"size": [data["l"], data["w"], data["h"]], **kept}
        shape = {} if data["profile"] else {"section": data["section"], "bare": data["bare"]}
        amounts = {name: [row.entry() for row in self.sets[name].used] for name in self.asked}
        return shape | {name: entries for name, entries in amounts.items() if entries} | kept

    def _kept(self) -> dict:
        """Return the shop figures that are the line's own: one is typed here, others stay as a job file left them."""
        allow = {**self.line.spec.get("allow", {})} if self.line else {}
        allow.pop("longest_stick", None)
        if self.cleaned_data["longest_stick"]:
            allow["longest_stick"] = self.cleaned_data["longest_stick"]
        return {"allow": allow} if allow else {}

    def values(self) -> dict:
        """Return the columns of the line as typed; `coat` follows the coat system where it was left empty."""
        data = self.cleaned_data
        values = {name: data[name] for name in ("mark", "title", "kind", "grade", "coat_system", "qty", "note")}
        values["profile"] = data["profile"] if data["kind"] == "moulding" else None
        values["coat"] = data["coat"] or self._coat()
        return {**values, "spec": self.spec()}

    def _coat(self) -> str:
        system = self.cleaned_data["coat_system"]
        return say_exact(system.thickness_mm, self.order.unit) if system else "0"

    def place(self, error: CutsheetError) -> None:
        """Put a complaint of the core beside the field that it is about, or above the form."""
        found = re.match(r"(?:.*\.)?(runs|frames|pieces)\[(\d+)\](?:\.(\w+))?", error.where)
        if found and int(found[2]) < len(self.sets[found[1]].used):
            row = self.sets[found[1]].used[int(found[2])]
            row.add_error(found[3] if found[3] in row.fields else None, error.message)
            return
        last = re.sub(r"\[\d+\]", "", error.where).rsplit(".", 1)[-1]
        name = {"size": "l", "section": "profile" if self.cleaned_data.get("profile") else "section"}.get(last, last)
        self.add_error(name if name in self.fields else None, error.message)


def clean_bare(text: str) -> str | list[int]:
    """Return which edges stay bare, as the job file writes it: “wall”, “none” or edge numbers."""
    text = text.strip().lower() or "wall"
    if text in ("wall", "none"):
        return text
    if not re.fullmatch(r"\d{1,4}( *[,; ] *\d{1,4})*", text):
        raise forms.ValidationError(f"Write {BARE_HELP}.")
    return [int(number) for number in re.findall(r"\d+", text)]


def set_unit(form: forms.Form, unit: str) -> None:
    """Let every length of a form be read in this unit."""
    for field in form.fields.values():
        if isinstance(field, TypedLength | PointsField):
            field.unit = unit


def revisions(used: int | None):
    """Return the newest revision of each active profile, and the one that a line uses already."""
    newest = ProfileRevision.objects.filter(profile=OuterRef("profile")).order_by("-number").values("pk")[:1]
    fresh = Q(pk=Subquery(newest), profile__active=True)
    return (
        ProfileRevision.objects.filter(fresh | Q(pk=used))
        .select_related("profile")
        .order_by("profile__code", "-number")
    )


def initial_of(line: Line) -> dict:
    """Return what a stored line shows in the form."""
    spec = line.spec
    shown = {name: getattr(line, name) for name in ("mark", "title", "kind", "coat", "qty", "note")}
    shown |= {"grade": line.grade_id, "coat_system": line.coat_system_id, "profile": line.profile_id}
    bare = spec.get("bare", "wall")
    shown["bare"] = bare if isinstance(bare, str) else ", ".join(map(str, bare))
    shown["section"] = spec.get("section")
    shown |= dict(zip(("l", "w", "h"), spec.get("size", ()), strict=False))
    return shown | {"longest_stick": spec.get("allow", {}).get("longest_stick", "")}
