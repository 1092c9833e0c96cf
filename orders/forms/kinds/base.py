"""What the form of every kind shares: fields with their place in the line, choices that decide which of them count.

A form of a kind shows and writes the keys that the job file has for it. Lengths stay as typed; what they mean together
is worked out by the core, whose complaints come back to the field that they are about.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from typing import Any, ClassVar

from django import forms

from cutsheets.errors import CutsheetError
from orders.forms.texts import PointsField, TypedLength

EMPTY = ("", None, [])


class Choice(forms.ChoiceField):
    """One of several ways to say a thing; it hides the fields of the others. Where `kept`, it is a key of the line."""

    def __init__(self, label: str, *choices: tuple[str, str], kept: bool = False):
        self.kept = kept
        widget = forms.Select(attrs={"data-shows": ""})
        super().__init__(choices=choices, initial=choices[0][0], required=False, label=label, widget=widget)

    def clean(self, value):
        return super().clean(value) or self.initial


class Row(forms.Form):
    """One of several things alike in a line: a run, a piece, an outline."""

    def entry(self) -> dict[str, Any]:
        """Return this row as the job file writes it."""
        return {name: value for name, value in self.cleaned_data.items() if value not in EMPTY}

    @staticmethod
    def initial_of(entry: Mapping[str, Any]) -> Mapping[str, Any]:
        """Return what a stored row shows in the form."""
        return entry


class Rows(forms.BaseFormSet):
    """Rows that may stay empty: an untouched row counts for nothing, emptying a row drops it."""

    def initial_form_count(self):
        return 0

    @property
    def used(self) -> list[Row]:
        """Return the rows that say something, in their order; the core names them by these numbers."""
        return [form for form in self.forms if form.has_changed()]

    @property
    def in_use(self) -> bool:
        """Return whether any row says something, stored or typed."""
        return bool(self.used if self.is_bound else self.initial)


class RowSet:
    """Rows of a kind: the form of one of them, and the words of the page."""

    def __init__(self, form: type[Row], title: str, more: str, *, most: int = 60):
        self.form, self.title, self.more = form, title, more
        self.kind = forms.formset_factory(form, formset=Rows, max_num=most, absolute_max=most + 1, validate_max=True)

    def stored(self, name: str, entries: list[Mapping[str, Any]], *, one_more: bool) -> Rows:
        """Return the rows of a stored line, with an empty one where there is none or one more is asked for."""
        extra = len(entries) + (not entries or one_more)
        kind = type(self.kind.__name__, (self.kind,), {"extra": extra})
        return kind(initial=[self.form.initial_of(entry) for entry in entries], prefix=name)


class KindForm(forms.Form):
    """The fields of one kind. Whatever is not `optional` must be filled where it counts.

    `at`: the place of a field in the line, where that is not its own name; `size.0` is the first of a list.
    `when`: the choice that a field, a choice or a set of rows belongs to, as `plan:round`.
    `layout`: the fields row by row; `row_sets`: the rows that repeat; `shape`: the key that a profile fills.
    """

    at: ClassVar[dict[str, str]] = {}
    when: ClassVar[dict[str, str]] = {}
    optional: ClassVar[tuple[str, ...]] = ()
    layout: ClassVar[tuple[tuple[str, ...], ...]] = ()
    row_sets: ClassVar[dict[str, RowSet]] = {}
    shape: ClassVar[str] = ""
    with_coat: ClassVar[bool] = True

    def __init__(self, data=None, *, unit: str, spec: Mapping[str, Any], typed: Mapping[str, Any], more: str = ""):
        """Read `data`, or show a stored `spec`, and over it what was `typed` in fields of the same name."""
        super().__init__(data, initial={**self.initial_of(spec), **typed})
        self.sets = {
            name: rows.kind(data, prefix=name)
            if data is not None
            else rows.stored(name, spec.get(name, []), one_more=more == name)
            for name, rows in self.row_sets.items()
        }
        for form in (self, *(row for rows in self.sets.values() for row in (*rows.forms, rows.empty_form))):
            set_unit(form, unit)

    # What the page shows

    def rows(self) -> Iterator[list[dict[str, Any]]]:
        """Yield the fields row by row, each with its width and with the choices that it belongs to."""
        for names in self.layout:
            yield [self._shown(name) for name in names]

    def _shown(self, name: str) -> dict[str, Any]:
        field = self.fields[name]
        sizes = {PointsField: "large", forms.ModelChoiceField: "double"}
        size = next((sizes[kind] for kind in sizes if isinstance(field, kind)), "")
        return {
            "field": self[name], "size": size,
            "echo": isinstance(field, TypedLength), "when": self.conditions(name),
        }  # fmt: skip

    def shown_sets(self) -> list[dict[str, Any]]:
        """Return the rows that repeat with their words; the first is open where none says anything yet."""
        counting = [name for name in self.sets if self.sets[name].in_use] or list(self.sets)[:1]
        return [
            {"name": name, "rows": rows, "open": name in counting, "when": self.conditions(name),
             "title": self.row_sets[name].title, "more": self.row_sets[name].more}
            for name, rows in self.sets.items()
        ]  # fmt: skip

    def conditions(self, name: str) -> str:
        """Return every choice that must be made for a field to be shown: `build:shells void:square`."""
        condition = self.when.get(name, "")
        return f"{self.conditions(condition.partition(':')[0])} {condition}".strip() if condition else ""

    # What was typed

    def is_valid(self) -> bool:
        """Return whether the fields and every row that counts were read without complaint."""
        return all([super().is_valid(), *(rows.is_valid() for rows in self.asked().values())])

    def clean(self):
        data = super().clean()
        for name, field in self.fields.items():
            if not self.counts(name):
                self._errors.pop(name, None)
            elif name not in (*self.optional, *self.errors) and data.get(name) in EMPTY and field.label:
                self.add_error(name, self.missing(name))
        return data

    def missing(self, name: str) -> str:
        """Return the sentence for a field that must be filled."""
        return f"Type this: {self.fields[name].label.lower()}."

    def counts(self, name: str) -> bool:
        """Return whether the choices made ask for this field or these rows."""
        made = [condition.split(":") for condition in self.conditions(name).split()]
        return all(self.cleaned_data.get(choice) == value for choice, value in made)

    def asked(self) -> dict[str, Rows]:
        """Return the rows that count, by name."""
        if not self.is_bound:
            return self.sets
        self.errors  # noqa: B018 - reads the choices
        return {name: rows for name, rows in self.sets.items() if self.counts(name)}

    def spec(self) -> dict[str, Any]:
        """Return the keys of the job file, lengths as typed."""
        spec: dict[str, Any] = {}
        for name in self.own_names():
            if self.counts(name) and self.cleaned_data.get(name) not in EMPTY:
                _put(spec, self.place_of(name), self.cleaned_data[name])
        amounts = {name: [row.entry() for row in rows.used] for name, rows in self.asked().items()}
        return _lists(spec) | {name: entries for name, entries in amounts.items() if entries}

    @classmethod
    def initial_of(cls, spec: Mapping[str, Any]) -> dict[str, Any]:
        """Return what a stored line shows in the form, its choices with it."""
        found = {name: _get(spec, cls.place_of(name)) for name in cls.own_names()}
        shown = {name: value for name, value in found.items() if value is not None and not isinstance(value, Mapping)}
        made = [cls.when[name].split(":") for name in (*shown, *spec) if name in cls.when]
        return {choice: value for choice, value in made if choice not in shown} | shown

    @classmethod
    def place_of(cls, name: str) -> str:
        """Return the place of a field in the line."""
        return cls.at.get(name, name)

    @classmethod
    def own_names(cls) -> list[str]:
        """Return the fields that are keys of the line: no ways to say it, and no profile, which has its own column."""
        fields = cls.base_fields.items()
        return [name for name, field in fields if getattr(field, "kept", not isinstance(field, forms.ModelChoiceField))]

    # What the core complains of

    def place(self, error: CutsheetError) -> bool:
        """Put a complaint beside the field or the row that it is about; return whether there is one."""
        where = re.sub(r"\[(\d+)\]", r".\1", error.where)
        first, _, rest = where.partition(".")
        if first in self.asked() and self.sets[first].used:
            return self._place_in_row(self.sets[first].used, rest, error)
        name = self._field_at(where)
        if name:
            self.add_error(name, error.message)
        return bool(name)

    def _place_in_row(self, used: list[Row], rest: str, error: CutsheetError) -> bool:
        number, _, name = rest.partition(".")
        row = used[int(number)] if number.isdecimal() and int(number) < len(used) else used[0]
        name = name.partition(".")[0]
        row.add_error(name if name in row.fields else None, error.message)
        return True

    def _field_at(self, where: str) -> str:
        """Return the field at a place of the line, or at the nearest place around it."""
        places = {self.place_of(name): name for name in self.own_names() if self.counts(name)}
        while where:
            inside = [place for place in places if place == where or place.startswith(f"{where}.")]
            if inside:
                return places[inside[0]]
            where = where.rpartition(".")[0]
        return ""


def set_unit(form: forms.Form, unit: str) -> None:
    """Let every length of a form be read in this unit."""
    for field in form.fields.values():
        if hasattr(field, "unit"):
            field.unit = unit


def _put(spec: dict[str, Any], place: str, value: Any) -> None:
    *way, last = place.split(".")
    for step in way:
        spec = spec.setdefault(step, {})
    spec[last] = value


def _get(spec: Any, place: str) -> Any:
    """Return what stands at a place of a line, or None."""
    for step in place.split("."):
        if isinstance(spec, Mapping):
            spec = spec.get(step)
        elif isinstance(spec, list | tuple) and step.isdecimal() and int(step) < len(spec):
            spec = spec[int(step)]
        else:
            return None
    return spec


def _lists(value: Any) -> Any:
    """Return the value with lists where its keys are numbers."""
    if not isinstance(value, dict):
        return value
    if value and all(name.isdecimal() for name in value):
        return [_lists(value[name]) for name in sorted(value, key=int)]
    return {name: _lists(one) for name, one in value.items()}
