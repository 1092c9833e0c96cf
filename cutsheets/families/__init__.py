"""Parametric families of profiles: a recipe of numbers in, the geometry keys of a job file out."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from cutsheets.errors import CutsheetError
from cutsheets.families.base import Family, Field, Member
from cutsheets.families.flat import BAND
from cutsheets.families.presets import PRESETS, as_typed
from cutsheets.families.sills import SILL
from cutsheets.families.stacked import STACKED
from cutsheets.families.stones import KEYSTONE, QUOIN
from cutsheets.families.turned_profiles import TURNED
from cutsheets.units import Unit

FAMILIES: dict[str, Family] = {family.name: family for family in (STACKED, BAND, SILL, TURNED, KEYSTONE, QUOIN)}

__all__ = ["FAMILIES", "PRESETS", "Family", "Field", "Member", "as_typed", "build"]


def build(recipe: Mapping[str, Any], unit: Unit) -> dict[str, Any]:
    """Return the job-file keys that a recipe draws: `section` and `bare`, `half_profile` or `outlines`, in `unit`.

    Raises CutsheetError with the place inside the recipe: `family-unknown` (at `family`) and what the family refuses.

    >>> build({"family": "stacked", "base": "1", "members": [{"member": "fascia", "height": "3", "out": "1/2"}]}, "in")
    {'section': [[0.0, 0.0], [1.5, 0.0], [1.5, 3.0], [0.0, 3.0]], 'bare': 'wall'}
    """
    name = recipe.get("family")
    if not isinstance(name, str) or name not in FAMILIES:
        raise CutsheetError("family-unknown", f"A family is one of: {', '.join(FAMILIES)}.", "family")
    return FAMILIES[name].build(recipe, unit)
