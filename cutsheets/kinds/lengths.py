"""Lengths of a moulding in a job file: `runs` with their ends, `frames`, `pieces`."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, get_args

from cutsheets.errors import CutsheetError
from cutsheets.records import items, record, words
from cutsheets.runs import Frame, Piece, WallRun
from cutsheets.solids import End, EndKind
from cutsheets.units import Unit, names_unit, read_angle, read_count, read_length, to_unit

SHORTEST = 1.0  # mm: nothing that a wire or a saw leaves
LONGEST = 300_000.0  # mm: no wall; it was typed in the other unit
SHARPEST = 15.0  # degrees between two walls: below, the mitre is a blade that no wire cuts and no truck carries
CORNERS = ("outside", "inside")


@dataclass(frozen=True, slots=True)
class Lengths:
    """What is wanted of a section: along walls, round openings, loose; mm."""

    runs: tuple[WallRun, ...] = ()
    frames: tuple[Frame, ...] = ()
    pieces: tuple[Piece, ...] = ()


def read_lengths(raw: Mapping[str, Any], unit: Unit, stand: float) -> Lengths:
    """Return the lengths of a line whose section stands `stand` mm out from the wall; raises CutsheetError."""
    runs, frames, pieces = (items(raw.get(key, []), key) for key in ("runs", "frames", "pieces"))
    if not (runs or frames or pieces):
        raise CutsheetError("no-lengths", "There is no length to cut; add runs, frames or pieces.")
    return Lengths(
        tuple(_read_run(run, unit, stand, f"runs[{i}]", f"run {i + 1}") for i, run in enumerate(runs)),
        tuple(_read_frame(frame, unit, f"frames[{i}]") for i, frame in enumerate(frames)),
        tuple(_read_piece(piece, unit, f"pieces[{i}]") for i, piece in enumerate(pieces)),
    )


def write_lengths(lengths: Lengths, unit: Unit) -> dict[str, Any]:
    """Return the keys of the job file; empty lists are left out."""
    written = {
        "runs": [_write_run(run, unit) for run in lengths.runs],
        "frames": [
            {"width": to_unit(frame.width, unit), "height": to_unit(frame.height, unit), "qty": frame.qty}
            for frame in lengths.frames
        ],
        "pieces": [{"length": to_unit(piece.length, unit), "qty": piece.qty} for piece in lengths.pieces],
    }
    return {name: entries for name, entries in written.items() if entries}


def read_end(raw: object, where: str) -> End:
    """Return an end of a run: a corner with the angle between its walls, or a word. Raises `end`, `corner-angle`."""
    kinds: tuple[EndKind, ...] = get_args(EndKind)
    for kind in kinds:
        if kind not in CORNERS and raw == kind:
            return End(kind)
        if kind in CORNERS and isinstance(raw, Mapping) and list(raw) == [kind]:
            return End(kind, _read_corner(record(raw, where, optional=CORNERS)[kind], where))
    raise CutsheetError(
        "end", 'Write {"outside": 90}, {"inside": 90}, "cap", "square" or "splice" for this end.', where
    )


def _read_corner(raw: Any, where: str) -> float:
    angle = read_angle(raw, where)
    if not SHARPEST <= angle < 180:
        raise CutsheetError(
            "corner-angle",
            f"{angle:g}° is no angle between two walls; write that of the corner itself, 15 to 179 (square: 90).",
            where,
        )
    return angle


def _read_run(raw: object, unit: Unit, stand: float, where: str, name: str) -> WallRun:
    given = record(raw, where, required=("wall", "left", "right"), optional=("name", "qty"))
    return WallRun(
        name=words(given.get("name", name), f"{where}.name", most=40),
        wall=_read_long(given["wall"], unit, f"{where}.wall", least=stand),
        left=read_end(given["left"], f"{where}.left"),
        right=read_end(given["right"], f"{where}.right"),
        qty=read_count(given.get("qty", 1), f"{where}.qty"),
    )


def _read_frame(raw: object, unit: Unit, where: str) -> Frame:
    given = record(raw, where, required=("width", "height"), optional=("qty",))
    width, height = (_read_long(given[name], unit, f"{where}.{name}") for name in ("width", "height"))
    return Frame(width, height, read_count(given.get("qty", 1), f"{where}.qty"))


def _read_piece(raw: object, unit: Unit, where: str) -> Piece:
    given = record(raw, where, required=("length",), optional=("qty",))
    length = _read_long(given["length"], unit, f"{where}.length")
    return Piece(length, read_count(given.get("qty", 1), f"{where}.qty"))


def _read_long(raw: Any, unit: Unit, where: str, *, least: float = 0.0) -> float:
    """Return a length along the wall; one that looks typed in the other unit is asked to name its unit."""
    long = float(read_length(raw, unit, where, zero_ok=False))
    if long < SHORTEST:
        raise CutsheetError("range", f"{raw} is no length to cut; write 1 mm or more.", where)
    if not names_unit(raw) and not least <= long <= LONGEST:
        far = "longer than 300 m" if long > LONGEST else "shorter than the section stands out from the wall"
        raise CutsheetError(
            "range", f"{raw} {unit} is {far}; correct it, or write “{raw} {unit}” if it is meant.", where
        )
    return long


def _write_run(run: WallRun, unit: Unit) -> dict[str, Any]:
    # the unit is named, so that a length which was asked about once is not asked about again
    wall = f"{to_unit(run.wall, unit):.9f}".rstrip("0").rstrip(".")
    return {
        "name": run.name, "wall": f"{wall} {unit}", "left": _write_end(run.left), "right": _write_end(run.right),
        "qty": run.qty,
    }  # fmt: skip


def _write_end(end: End) -> Any:
    return end.kind if end.angle is None else {end.kind: end.angle}
