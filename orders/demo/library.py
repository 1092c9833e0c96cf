"""The rest of the profile library: every shape, and every way to bring one in."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from cutsheets.families import PRESETS, as_typed, build
from cutsheets.files.dxf import read_dxf
from cutsheets.files.points import read_points
from cutsheets.tracing import as_section
from cutsheets.tracing.drawn import CHORD, TOLERANCE
from cutsheets.units import read_length
from orders import fonts, profiles
from orders.shapes import from_mm
from shop.acts import Act
from shop.models import CoatSystem

from .shop import Shop

DRAWINGS = Path(__file__).parent / "drawings"
MESH = "Base coat and mesh 1/8"
Values = dict[str, Any]
STOOL = "0, 0\n6, 0, bulge 1\n6, 1 1/2\n0, 1 1/2"
# code, what it is, the kind cut from it, preset of a family, usual foam, usual coat
FAMILIES = (
    ("TP-71", "Crown cornice of classical members", "moulding", "crown cornice", "Light 1.0", MESH),
    ("TP-74", "Sill with a drip groove", "moulding", "sill with drip", "Firm 1.5", MESH),
    ("FN-05", "Urn finial", "turned", "urn finial", "Firm 1.5", MESH),
    ("BL-02", "Baluster", "turned", "baluster", "Firm 1.5", MESH),
    ("KS-12", "Keystone, 12 high", "cutout", "keystone", "Light 1.0", MESH),
    ("QN-16", "Quoins, long and short", "cutout", "long and short quoins", "Light 1.0", MESH),
)


def fill_library(shop: Shop, act: Act) -> None:
    """Add profiles made from families, points with an arc, a drawing and letters."""
    coats = {coat.name: coat for coat in CoatSystem.objects.all()}
    for code, name, kind, preset, grade, coat in FAMILIES:
        recipe = as_typed(PRESETS[preset], "in")
        usual = {"grade": shop.grades[grade], "coat_system": coats[coat]}
        drawn = (build(recipe, "in"), {"way": "family", "recipe": recipe})
        profiles.add_profile(code, name, kind, _revision(*drawn) | usual, act)
    profiles.add_profile("TP-80", "Window stool, round nose", "moulding", _revision(*_stool()), act)
    profiles.add_profile("TP-82", "Eaves bracket", "moulding", _revision(*_bracket()), act)
    profiles.add_profile("LT-12", "House numbers, 12 high", "cutout", _revision(*_numbers()), act)


def redraw(shop: Shop, act: Act) -> None:
    """Draw the water table anew: an order on the books has the revision before it."""
    section = [[0, 0], [3.5, 0], [3.5, 3.25], [3.1, 4.2], [2.4, 5.6], [1.5, 7], [0, 8]]
    profiles.revise(
        shop.profiles["TP-52"].profile,
        _revision({"section": section, "bare": "wall"}, {"way": "points"}) | {"note": "face 1/4 higher: flashing"},
        act,
    )


def _stool() -> tuple[Values, Values]:
    return {"section": from_mm(read_points(STOOL, "in"), "in"), "bare": "wall"}, {"way": "points", "text": STOOL}


def _bracket() -> tuple[Values, Values]:
    file = DRAWINGS / "bracket.dxf"
    drawn = read_dxf(file.read_bytes())
    source = {
        "way": "drawing", "file": file.name, "says": drawn.unit, "per_unit": drawn.per_unit, "tolerance": TOLERANCE,
        "chord": CHORD, "to_wall": True, "which": None,
    }  # fmt: skip
    return {"section": from_mm(as_section(drawn, to_wall=True), "in"), "bare": "wall"}, source


def _numbers() -> tuple[Values, Values]:
    typed = {"text": "0123456789", "font": next(iter(fonts.LABELS)), "cap_height": "12"}
    outlines = fonts.set_letters(typed["text"], typed["font"], float(read_length(typed["cap_height"], "in")))
    return {"outlines": from_mm(fonts.as_outlines(outlines), "in")}, {"way": "text", **typed}


def _revision(shape: Values, source: Values) -> Values:
    return {"unit": "in", "shape": shape, "source": source}
