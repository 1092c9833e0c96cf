"""Cut lists, `blockyard-cutlist-1`: every line of a job worked out into foam sizes, sticks, blanks and quantities."""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from typing import Any

from cutsheets.blanks import blocks_at_least
from cutsheets.figures import figures_json, tidy
from cutsheets.files.fonts import fonts_beside
from cutsheets.files.job import Job, read_job
from cutsheets.files.texts import read_text, write_text
from cutsheets.kinds import KINDS
from cutsheets.solids import Blank, Box, End, Face, FrameSide, Note, Run, Stick, Worked
from cutsheets.units import Unit, board_feet, to_area, to_mass, to_unit, to_volume

FORMAT = "blockyard-cutlist-1"
# Foam plastic indoors: thermal barrier, IBC 2603.4; interior trim, IBC 2604.2 (memory). A job file does not say where a
# part will hang, so the cut list says it for every kind that ends on a building.
INDOORS = Note(
    "indoor-foam",
    "Indoors, foam plastic needs a thermal barrier (IBC 2603.4), and ordinary EPS is no interior trim (IBC 2604.2); "
    "follow local codes and ask a licensed professional.",
)
# 29 CFR 1910.1000 Table Z-2 limits styrene; Zhang et al., Environ. Sci. Technol., 2012 counted the particles.
FUMES = Note(
    "fumes",
    "A hot wire gives off styrene and fine smoke: exhaust at the wire, fresh air, nobody's head above the cut; follow "
    "local limits and the machine maker's instructions.",
)
LONG_POINT = {"outside": "front", "inside": "wall"}


def cut_list(job: Job) -> list[Worked]:
    """Return every line of a job worked out, in order; its reader has refused a job with one that cannot be."""
    return list(job.worked)


def as_json(job: Job, worked: Sequence[Worked]) -> dict[str, Any]:
    """Return the cut list as the object of its file, in the unit of the job."""
    return {
        "format": FORMAT,
        "unit": job.unit,
        "lines": [_line(line, job.unit) for line in worked],
        "totals": {
            grade: _totals([line for line in worked if line.grade == grade], job)
            for grade in dict.fromkeys(line.grade for line in worked)
        },
    }


def run(job_path: str, out: str | None) -> int:
    """Read a job file and write its cut list; return the exit code. Raises CutsheetError, nothing written."""
    job = read_job(read_text(job_path), fonts=fonts_beside(job_path))
    write_text(json.dumps(as_json(job, cut_list(job)), indent=1, ensure_ascii=False) + "\n", out)
    return 0


def _line(line: Worked, unit: Unit) -> dict[str, Any]:
    amounts = line.quantities
    more = [INDOORS] if KINDS[line.kind].on_buildings else []
    more += [FUMES] if amounts.wire_length else []
    written = {
        "mark": line.mark, "kind": line.kind, "grade": line.grade, "parts": line.parts,
        "finished": _finished(line.finished, unit),
        "foam": _foam(line.foam, unit),
        "runs": [_run(run, unit) for run in line.runs],
        "frames": [_frame(side, unit) for side in line.frames],
        "sticks": [_stick(stick, unit) for stick in line.sticks],
        "blanks": [{**_box(blank.size, unit), "qty": blank.qty, "marks": list(blank.marks)} for blank in line.blanks],
        "core_volume": tidy(to_volume(amounts.core_volume, unit)),
        "blank_volume": tidy(to_volume(amounts.blank_volume, unit)),
        "core_bf": tidy(board_feet(amounts.core_volume)),
        "blank_bf": tidy(board_feet(amounts.blank_volume)),
        "core_mass": tidy(to_mass(amounts.core_mass, unit)),
        "coat_area": tidy(to_area(amounts.coat_area, unit)),
        "wire_length": _length(amounts.wire_length, unit),
        "wire_minutes": tidy(amounts.wire_minutes),
        "yield": tidy(amounts.core_volume / amounts.blank_volume),
        "part": figures_json(line.part, unit),
        "wire": figures_json(line.wire, unit),
        "notes": [{"code": note.code, "text": note.text} for note in (*line.notes, *more)],
    }  # fmt: skip
    return written | ({"sprung": figures_json(line.sprung, unit)} if line.sprung else {})


def _finished(face: Face | Box, unit: Unit) -> dict[str, float]:
    if isinstance(face, Box):
        return _box(face, unit)
    return {
        "width": _length(face.width, unit), "height": _length(face.height, unit),
        "area": tidy(to_area(face.area, unit)), "coated_girth": _length(face.coated_girth, unit),
    }  # fmt: skip


def _foam(face: Face | Box, unit: Unit) -> dict[str, Any]:
    if isinstance(face, Box):
        return _box(face, unit)
    return {
        "outline": [[_length(x, unit), _length(y, unit)] for x, y in face.outline],
        "width": _length(face.width, unit), "height": _length(face.height, unit),
        "area": tidy(to_area(face.area, unit)), "centroid_x": _length(face.centroid_x, unit),
    }  # fmt: skip


def _run(run: Run, unit: Unit) -> dict[str, Any]:
    return {
        "name": run.name, "qty": run.qty, "wall": _length(run.wall, unit),
        "finished_long": _length(run.finished_long, unit), "foam_long": _length(run.foam_long, unit),
        "pieces": [_length(piece, unit) for piece in run.pieces],
        "left": _end(run.left, run.left_mitre, run.left_extension, unit),
        "right": _end(run.right, run.right_mitre, run.right_extension, unit),
    }  # fmt: skip


def _end(end: End, mitre: float, extension: float, unit: Unit) -> dict[str, Any]:
    """Return an end of a run; only a mitre has a long point."""
    return {
        "end": end.kind, "angle": end.angle, "mitre": tidy(mitre), "extension": _length(extension, unit),
        "long_point": LONG_POINT.get(end.kind),
    }  # fmt: skip


def _frame(side: FrameSide, unit: Unit) -> dict[str, Any]:
    return {
        "side": side.side, "qty": side.qty,
        "finished_short": _length(side.finished_short, unit), "finished_long": _length(side.finished_long, unit),
        "foam_short": _length(side.foam_short, unit), "foam_long": _length(side.foam_long, unit),
    }  # fmt: skip


def _stick(stick: Stick, unit: Unit) -> dict[str, Any]:
    return {
        "mark": stick.mark, "qty": stick.qty, "run": stick.run, "long": _length(stick.long, unit),
        "front": _length(stick.front, unit), "wall": _length(stick.wall, unit),
        "left": stick.left.kind, "right": stick.right.kind, "flat": stick.flat, "blank": _box(stick.blank, unit),
    }  # fmt: skip


def _totals(lines: Sequence[Worked], job: Job) -> dict[str, Any]:
    """Return the totals of one grade; without a block size there is no bound."""
    blanks: Iterable[Blank] = [blank for line in lines for blank in line.blanks]
    block = job.rules.block
    return {
        "parts": sum(line.parts for line in lines),
        "blank_bf": tidy(board_feet(sum(line.quantities.blank_volume for line in lines))),
        "core_mass": tidy(to_mass(sum(line.quantities.core_mass for line in lines), job.unit)),
        "blocks_at_least": blocks_at_least(blanks, block, job.rules.kerf) if block else None,
    }


def _box(box: Box, unit: Unit) -> dict[str, float]:
    return {"l": _length(box.l, unit), "w": _length(box.w, unit), "h": _length(box.h, unit)}


def _length(mm: float, unit: Unit) -> float:
    return tidy(to_unit(mm, unit))
