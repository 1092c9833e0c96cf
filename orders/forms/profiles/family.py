"""A shape by the numbers of a family: its fields, and its members row by row."""

from __future__ import annotations

import re
from collections.abc import Mapping
from functools import partial
from typing import Any

from django import forms
from django.http import QueryDict

from cutsheets.errors import CutsheetError
from cutsheets.families import FAMILIES, PRESETS, Family, Field, Member, as_typed, build
from cutsheets.families.stacked import MOST_MEMBERS
from orders.models import ProfileRevision
from orders.shapes import MEANT, key_of
from shop.models import ShopRules

from .base import RevisionForm

Row = dict[str, str]
# as the buttons of a row have it in their template: the form comes back redrawn, once a name is typed to its end
REDRAWS = {
    "hx-post": "", "hx-trigger": "input consume delay:400ms", "hx-swap": "outerHTML",
    "hx-target": "#profile-form", "hx-select": "#profile-form", "hx-sync": "this:replace",
}  # fmt: skip
CHOICES = {
    field.name for family in FAMILIES.values() for member in family.members for field in member.fields if field.choices
}


class FamilyForm(RevisionForm):
    """A recipe: the fields of its family, and a row for each member, the first the lowest.

    `start`: the family or the preset that a recipe begins with.
    """

    way = "family"
    template = "profiles/ways/family.html"
    family_name = forms.CharField(widget=forms.HiddenInput)

    def __init__(self, data=None, files=None, *, of=None, start=""):
        unit = of.unit if of else ShopRules.current().unit
        self.family, recipe = _begun(data, of, start, unit)
        super().__init__(data, files, of=of, start=start)
        self.recipe = _form(self.family.fields)(data, prefix="recipe", initial=recipe)
        rows = recipe.get("members", ()) if data is None else _rows(data)
        self.rows = [self._row(i, row) for i, row in enumerate(rows)]

    def first(self, of, start):
        return {"family_name": self.family.name, "kind": of.profile.kind if of else MEANT[self.family.shape]}

    @property
    def drawable(self):
        return (self.family.shape,)

    @property
    def full(self) -> bool:
        """Return whether no member can be added."""
        return len(self.rows) >= MOST_MEMBERS

    def starts(self) -> list[tuple[str, list[tuple[str, str]]]]:
        """Return what a recipe may begin with; a profile keeps the shape that it has."""
        names = [family.name for family in FAMILIES.values() if self.of is None or family.shape == self.family.shape]
        presets = [(name, name) for name, recipe in PRESETS.items() if recipe["family"] in names]
        return [("ready to change", presets), ("from nothing", [(name, FAMILIES[name].label) for name in names])]

    def draw(self) -> dict[str, Any]:
        return build(self.typed(), self.typed_unit)

    def shown(self) -> dict[str, Any] | None:
        if self.is_bound:
            return super().shown()
        try:
            return build(self.typed(), self.typed_unit)
        except CutsheetError:
            return None

    def source(self) -> dict[str, Any]:
        return {"recipe": self.typed()}

    def typed(self) -> dict[str, Any]:
        """Return the recipe as typed."""
        recipe = {"family": self.family.name, **_said(self.recipe)}
        return recipe | {"members": [_said(row) for row in self.rows]} if self.family.members else recipe

    def parts(self):
        return [self, self.recipe, *reversed(self.rows)]

    def shown_rows(self) -> list[dict[str, Any]]:
        """Return the rows as they stand above each other, the highest first, each with its number."""
        return [{"form": row, "number": i} for i, row in reversed(list(enumerate(self.rows)))]

    def focus(self, number: int) -> None:
        """Let the page come back at this row."""
        self.rows[number].fields["member"].widget.attrs["autofocus"] = True

    def _row(self, number: int, row: Mapping[str, str]) -> forms.Form:
        made = _form(_member(self.family, row).fields, member=self._members(number), short=True)
        return made(self.data if self.is_bound else None, prefix=f"member-{number}", initial=row)

    def _members(self, number: int) -> forms.Field:
        """Return the choice of a row's member; another one brings its own fields."""
        field = _typed("Member", tuple((member.name, member.label) for member in self.family.members))
        field.widget.attrs |= REDRAWS | {"hx-vals": f'{{"row": "as-{number}"}}'}
        return field

    def place(self, error: CutsheetError) -> None:
        found = re.fullmatch(r"members\[(\d+)\](?:\.(\w+))?", error.where)
        part = self.rows[int(found[1])] if found else self.recipe
        name = found[2] if found else error.where
        part.full_clean()
        if found or name in part.fields:
            part.add_error(name if name in part.fields else None, error.message)
        else:
            super().place(error)


def with_rows(data: QueryDict, act: str) -> tuple[QueryDict, int]:
    """Return what was typed with its rows changed, and the row that was; -1 where there is none.

    `act`: `add` puts a member on top; `up-2`, `down-2` and `out-2` move row 2 or take it out; `as-2` gives it the
    fields of another member. The first row is the lowest.
    """
    rows = _rows(data)
    name, _, number = act.partition("-")
    at = int(number) if number.isdecimal() and int(number) < len(rows) else -1
    if name == "add" and len(rows) < MOST_MEMBERS:
        rows.append({})
        at = len(rows) - 1
    elif name in ROW_ACTS and at >= 0:
        at = ROW_ACTS[name](rows, at)
    return _rewritten(data, rows), at


def _move(rows: list[Row], at: int, by: int) -> int:
    to = min(max(at + by, 0), len(rows) - 1)
    rows.insert(to, rows.pop(at))
    return to


def _take_out(rows: list[Row], at: int) -> int:
    del rows[at]
    return min(at, len(rows) - 1)


def _as_another(rows: list[Row], at: int) -> int:
    """Keep the lengths; whether it steps out or in is as the other member has it."""
    rows[at] = {name: typed for name, typed in rows[at].items() if name not in CHOICES}
    return at


ROW_ACTS = {"up": partial(_move, by=1), "down": partial(_move, by=-1), "out": _take_out, "as": _as_another}


def _rewritten(data: QueryDict, rows: list[Row]) -> QueryDict:
    """Return the data with these rows, fields that a member lacks as they begin."""
    family, unit = _family(data.get("family_name", "")), data.get("unit", "")
    unit = unit if unit in ShopRules.Unit.values else ShopRules.current().unit
    changed = data.copy()
    for name in [name for name in changed if name.startswith("member-")]:
        del changed[name]
    for i, row in enumerate(rows):
        member = _member(family, row)
        changed[f"member-{i}-member"] = member.name
        for field in member.fields:
            changed[f"member-{i}-{field.name}"] = row.get(field.name, as_typed(field.default, unit))
    return changed


def _begun(data, of: ProfileRevision | None, start: str, unit: str) -> tuple[Family, Mapping[str, Any]]:
    """Return the family and the recipe to show: of what is posted, of the last revision, or what was asked for."""
    if data is not None:
        return _family(data.get("family_name", "")), {}
    if of and not start and "recipe" in of.source:
        return _family(of.source["recipe"]["family"]), of.source["recipe"]
    fitting = {name: recipe for name, recipe in PRESETS.items() if not of or _shape(recipe) == key_of(of.shape)}
    if start in FAMILIES and (not of or FAMILIES[start].shape == key_of(of.shape)):
        recipe = _defaults(FAMILIES[start])
    else:
        recipe = fitting.get(start) or next(iter(fitting.values()))
    return _family(recipe["family"]), as_typed(recipe, unit)


def _defaults(family: Family) -> dict[str, Any]:
    recipe = {"family": family.name, **{field.name: field.default for field in family.fields}}
    rows = [{"member": one.name, **{field.name: field.default for field in one.fields}} for one in family.members[:1]]
    return recipe | ({"members": rows} if rows else {})


def _shape(recipe: Mapping[str, Any]) -> str:
    return FAMILIES[recipe["family"]].shape


def _family(name: str) -> Family:
    return FAMILIES.get(name) or next(iter(FAMILIES.values()))


def _member(family: Family, row: Mapping[str, str]) -> Member:
    return next((member for member in family.members if member.name == row.get("member")), family.members[0])


def _rows(data: QueryDict) -> list[Row]:
    """Return the rows that are posted, as typed; more than a stack may have are for the core to refuse."""
    found: list[Row] = []
    while f"member-{len(found)}-member" in data and len(found) <= MOST_MEMBERS:
        prefix = f"member-{len(found)}-"
        found.append({name.removeprefix(prefix): data[name] for name in data if name.startswith(prefix)})
    return found


def _form(fields: tuple[Field, ...], *, short: bool = False, **more: forms.Field) -> type[forms.Form]:
    """Return a form of these fields; whatever is typed is for the core to read.

    `short`: a row among many, which says only what an empty field means, and says it inside the field.
    """
    named = {}
    for field in fields:
        inside = field.help.removeprefix("empty: ") if short and field.optional else ""
        below = "" if short else field.help or ("degrees" if field.sort == "angle" else "")
        named[field.name] = _typed(field.label.capitalize(), field.choices, below, inside)
    return type("RecipeForm", (forms.Form,), {**more, **named})


def _typed(label: str, choices=(), help_text: str = "", placeholder: str = "") -> forms.Field:
    text = forms.TextInput(attrs={"autocomplete": "off", **({"placeholder": placeholder} if placeholder else {})})
    widget = forms.Select(choices=choices) if choices else text
    return forms.CharField(required=False, label=label, widget=widget, help_text=help_text)


def _said(form: forms.Form) -> Row:
    return {name: form[name].value() or "" for name in form.fields}
