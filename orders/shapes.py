"""The three shapes that a profile may hold, read, drawn and written: sections, half profiles, outlines."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from cutsheets.drawings.outline import outline_scene
from cutsheets.drawings.scene import Scene
from cutsheets.drawings.shapes import half_profile_scene, outlines_scene
from cutsheets.files.dxf import write_dxf
from cutsheets.files.svg import write_svg
from cutsheets.kinds import KINDS
from cutsheets.kinds import turned as turning
from cutsheets.kinds.outlines import Shape as Named
from cutsheets.kinds.outlines import read_outlines
from cutsheets.kinds.shapes import read_free_section, read_section
from cutsheets.solids import Outline, Point, Section
from cutsheets.units import Unit, to_unit

Shape = Mapping[str, Any]  # the keys of a job file that a profile fills
Half = tuple[Point, ...]  # (height, radius)
MEANT = {"section": "moulding", "half_profile": "turned", "outlines": "cutout"}  # the kind, where nobody says
WORDS = {"section": "section", "half_profile": "half profile", "outlines": "outlines"}
WRITERS = {"svg": (write_svg, "image/svg+xml"), "dxf": (write_dxf, "image/vnd.dxf")}


def key_of(shape: Shape) -> str:
    """Return which shape it is."""
    return next(key for key in MEANT if key in shape)


def key_of_kind(kind: str) -> str:
    """Return which shape a kind of part is cut from."""
    return KINDS[kind].shape


def kinds_of(keys: Sequence[str]) -> list[str]:
    """Return the kinds of part that are cut from one of these shapes."""
    return [kind.name for kind in KINDS.values() if kind.shape in keys]


def takes_bare(kind: str) -> bool:
    """Return whether some edges of this kind's shape may stay without coat."""
    return "bare" in KINDS[kind].keys


def read_shape(kind: str, shape: Shape, unit: Unit) -> Section | Half | tuple[Named, ...]:
    """Return a shape as its kind reads it, mm; raises CutsheetError."""
    if "half_profile" in shape:
        return turning.read(shape, unit).half_profile
    if "outlines" in shape:
        return read_outlines(shape["outlines"], unit)
    return read_section(shape, unit) if takes_bare(kind) else read_free_section(shape["section"], unit, "section")


def shape_scene(kind: str, shape: Shape, unit: Unit, *, numbered: bool = True, text: float | None = None) -> Scene:
    """Return the picture of a shape with its size over all; raises CutsheetError."""
    read = read_shape(kind, shape, unit)
    if "half_profile" in shape:
        return half_profile_scene(read, unit, text=text)
    if not isinstance(read, Section):
        return outlines_scene([(one.name, part) for one in read for part in one.parts], unit, text=text)
    if takes_bare(kind):
        return outline_scene(read, unit, numbered=numbered, text=text)
    return outlines_scene([(kind, Outline(read.points))], unit, text=text)


def write_shape(kind: str, shape: Shape, unit: Unit, form: str) -> bytes:
    """Return a shape as a file, `form` svg or dxf; a half profile as the half to the right of its axis, x = 0."""
    read = read_shape(kind, shape, unit)
    write, _ = WRITERS[form]
    if "half_profile" in shape:
        right = [(radius, height) for height, radius in read]
        half = ((0.0, right[0][1]), *right, (0.0, right[-1][1]))
        return write([Outline(tuple(dict.fromkeys(half)))], unit)
    if isinstance(read, Section):
        return write([Outline(read.points)], unit)
    return write([part for one in read for part in one.parts], unit)


def from_mm(value: Any, unit: Unit) -> Any:
    """Return points, or outlines with their names, whose lengths were mm."""
    if isinstance(value, Mapping):
        return {name: one if name in ("name", "qty") else from_mm(one, unit) for name, one in value.items()}
    if isinstance(value, list | tuple):
        return [from_mm(one, unit) for one in value]
    return to_unit(value, unit)
