"""Recipes to start from, made up for this shop: every number of them is meant to be changed.

Lengths name their unit, so that a recipe means the same in any file. `as_typed` writes them for a form.
"""

from __future__ import annotations

from typing import Any

from cutsheets.units import Unit, read_length, say_exact

Row = dict[str, str]


def _row(member: str, height: str, out: str = "0", direction: str = "out", **more: str) -> Row:
    """Return one member of a stack; its numbers are inches."""
    inches = {"height": height, "out": out, **more}
    return {"member": member, **{name: f"{number} in" for name, number in inches.items()}, "direction": direction}


def _round(member: str, height: str) -> Row:
    return {"member": member, "height": f"{height} in"}


def _stack(base: str, *rows: Row, family: str = "stacked") -> dict[str, Any]:
    return {"family": family, "base": f"{base} in", "members": list(rows)}


PRESETS: dict[str, dict[str, Any]] = {
    "three-step cornice": _stack("1", _row("fascia", "3"), _row("fascia", "3", "2"), _row("fascia", "3", "2")),
    "crown cornice": _stack(
        "1", _row("fascia", "3"), _row("cyma_reversa", "1 1/2", "1 1/2"), _row("fillet", "1/2", "1/4"),
        _row("fascia", "2 1/2", "2"), _row("fillet", "1/2", "1/4"), _row("cyma_recta", "2 1/2", "2 1/2"),
        _row("fillet", "1/2"),
    ),
    "window head": _stack(
        "1 1/2", _row("fascia", "4"), _row("fillet", "1/2", "1/2"), _row("cavetto", "1 1/2", "1 1/2"),
        _row("fillet", "1/2", "1/4"), _row("ovolo", "1", "1"), _row("fillet", "1/2", "1/4"),
    ),
    "belt course": _stack(
        "1", _row("fillet", "3/4"), _row("cavetto", "1", "1"), _row("fillet", "1/2", "1/4"), _round("torus", "2"),
        _row("fillet", "1/2"), _row("cavetto", "1", "1", "in"), _row("fillet", "3/4", "1/4", "in"),
    ),
    "wall base": _stack(
        "4", _row("fascia", "6"), _row("fillet", "1/4", "1", "in"), _round("torus", "2"), _row("fillet", "1/4"),
        _row("scotia", "1 1/4", "1/2", "in"), _row("fillet", "1/4"), _round("torus", "1 1/4"), _row("fillet", "1/2"),
        _row("cavetto", "1", "1", "in"), _row("fillet", "1/2"),
    ),
    "round-edged band": {
        "family": "band", "height": "6 in", "out": "2 in", "edge": "round", "size": "1/2 in",
    },
    "sill with drip": {
        "family": "sill", "out": "6 in", "nose": "3 in", "slope": "10", "fall": "", "radius": "1/4 in",
        "groove": "round", "groove_width": "1/2 in", "groove_depth": "1/4 in", "groove_from": "1 in",
    },
    "baluster": _stack(
        "3", _row("fascia", "3"), _row("fillet", "1/4", "1/2", "in"), _round("torus", "1"), _row("fillet", "1/4"),
        _row("scotia", "1 1/2", "3/4", "in"), _row("fillet", "1/2"), _row("ovolo", "3", "1 1/4"),
        _row("cyma_reversa", "12", "1 3/4", "in", lower="5"), _row("fillet", "1/2", "1/4"), _round("bead", "3/4"),
        _row("fillet", "1 1/2", "1/4", "in"), _row("cavetto", "1", "1"), _row("fascia", "3", "1/4"),
        family="turned",
    ),
    "ball finial": _stack(
        "4", _row("fascia", "3"), _row("fillet", "1/4", "1/2", "in"), _row("cavetto", "2", "2", "in"),
        _row("fillet", "1/2", "1/4"), {"member": "ball", "radius": "4 in", "end": "0 in"}, family="turned",
    ),
    "urn finial": _stack(
        "4", _row("fascia", "2"), _row("fillet", "1/4", "1/2", "in"), _row("cavetto", "2", "2", "in"),
        _row("fillet", "1/2", "1/2"), _row("ovolo", "4", "2 1/2"), _row("fillet", "1/2", "1/4"),
        _row("fillet", "1/4", "1/4", "in"), _row("cyma_recta", "3", "3 1/2", "in"), _row("fillet", "1/4", "1/4"),
        {"member": "ball", "radius": "1 1/2 in", "end": "0 in"}, family="turned",
    ),
    "keystone": {"family": "keystone", "height": "12 in", "top": "9 in", "bottom": "6 in", "foot_radius": ""},
    "long and short quoins": {
        "family": "quoin", "long": "16 in", "short": "10 in", "height": "8 in", "corners": "bevel", "margin": "3/4 in",
    },
}  # fmt: skip


def as_typed(recipe: Any, unit: Unit) -> Any:
    """Return a preset, or the default of a field, as a form of that unit shows it: a metric shop has 25 mm to the inch.

    >>> as_typed({"height": "1 1/2 in", "members": [{"out": "0 in"}], "slope": "10"}, "mm")
    {'height': '37.5', 'members': [{'out': '0'}], 'slope': '10'}
    """
    if isinstance(recipe, dict):
        return {name: as_typed(value, unit) for name, value in recipe.items()}
    if isinstance(recipe, list):
        return [as_typed(value, unit) for value in recipe]
    number = str(recipe).removesuffix(" in")
    if number == recipe or unit == "in":
        return number
    return say_exact(read_length(number, "in") / read_length(1, "in") * 25, "mm")
