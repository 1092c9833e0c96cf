"""Moulding: one section, straight, along walls, round openings or as loose pieces."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any

from cutsheets import runs as sticking
from cutsheets.blanks import group, note_too_long, section_blank
from cutsheets.coat import coated_girth, foam_outline
from cutsheets.costing import quantities, swept_coat
from cutsheets.errors import CutsheetError
from cutsheets.kinds.base import Kind, Line
from cutsheets.kinds.lengths import Lengths, read_lengths, write_lengths
from cutsheets.kinds.shapes import read_section, write_section
from cutsheets.machines import wired_along
from cutsheets.sections import SAME, measure
from cutsheets.solids import Face, FrameSide, Note, Run, Section, Stick, Worked
from cutsheets.units import Unit


@dataclass(frozen=True, slots=True)
class Moulding:
    """The section as finished, and the lengths wanted of it."""

    section: Section
    lengths: Lengths


def read(raw: Mapping[str, Any], unit: Unit) -> Moulding:
    """Return a moulding from the keys of its line; raises CutsheetError."""
    if "sprung" in raw:
        raise CutsheetError(
            "sprung", "Sprung mouldings cannot be worked out yet; draw the section as it stands on the wall.", "sprung"
        )
    section = read_section(raw, unit)
    lengths = read_lengths(raw, unit, max(x for x, _ in section.points))
    if lengths.frames and abs(min(y for _, y in section.points)) > SAME:
        raise CutsheetError(
            "frame-section", "A frame's section lies flat with its opening edge at y = 0; move it there.", "section"
        )
    return Moulding(section, lengths)


def write(moulding: Moulding, unit: Unit) -> dict[str, Any]:
    """Return the keys of the job file."""
    return write_section(moulding.section, unit) | write_lengths(moulding.lengths, unit)


def work(line: Line) -> Worked:
    """Return the line worked out; raises CutsheetError with a place inside the line."""
    section: Section = line.spec.section
    wanted = _times(line.spec.lengths, line.qty)
    finished = measure(section.points, coated_girth(section))
    foam = measure(foam_outline(section, line.coat))
    runs = tuple(
        sticking.work_run(run, finished, foam, coat=line.coat, rules=line.rules, where=f"runs[{i}]")
        for i, run in enumerate(wanted.runs)
    )
    frames = tuple(side for frame in wanted.frames for side in sticking.frame_sides(frame, finished, foam))
    cuts = list(_cuts(wanted, runs, frames, foam, line))
    sticks = sticking.mark_sticks(line.mark, cuts, lambda long: section_blank(foam, long, line.rules))
    blanks = group(sticks)
    coat_area = _coat_area(wanted, section, finished) if line.coat else 0.0
    return Worked(
        mark=line.mark, kind=line.kind, grade=line.grade, parts=sum(stick.qty for stick in sticks),
        finished=finished, foam=foam, runs=runs, frames=frames, sticks=sticks, blanks=blanks,
        quantities=quantities(sticks, blanks, foam, coat_area=coat_area, density=line.density, rules=line.rules),
        notes=(*_notes(section, sticks, line), *note_too_long(blanks, line.rules.block, line.unit)),
        asks=wired_along(blanks, line.rules),
    )  # fmt: skip


def _times(lengths: Lengths, qty: int) -> Lengths:
    """Return the lengths with every count multiplied by the line's."""
    return Lengths(
        tuple(replace(run, qty=run.qty * qty) for run in lengths.runs),
        tuple(replace(frame, qty=frame.qty * qty) for frame in lengths.frames),
        tuple(replace(piece, qty=piece.qty * qty) for piece in lengths.pieces),
    )


def _cuts(
    wanted: Lengths, runs: tuple[Run, ...], frames: tuple[FrameSide, ...], foam: Face, line: Line
) -> Iterator[sticking.Cut]:
    for run in runs:
        yield from sticking.run_cuts(run, sticking.reach(foam))
    for i, side in enumerate(frames):
        yield from sticking.frame_cuts(side, foam, line.rules, f"frames[{i // 2}]")
    for i, piece in enumerate(wanted.pieces):
        yield from sticking.piece_cuts(piece, line.rules, f"pieces[{i}]")


def _coat_area(wanted: Lengths, section: Section, finished: Face) -> float:
    """Return the coated area, finished faces and capped ends, mm²."""
    area = 0.0
    for run in wanted.runs:
        both = (run.left, run.right)
        caps = sum(end.kind == "cap" for end in both)
        area += run.qty * (swept_coat(section, run.wall, sum(map(sticking.lean, both))) + caps * finished.area)
    for frame in wanted.frames:
        area += 2 * frame.qty * sum(swept_coat(section, side, 2.0, axis=1) for side in (frame.width, frame.height))
    return area + sum(piece.qty * swept_coat(section, piece.length, 0.0) for piece in wanted.pieces)


def _notes(section: Section, sticks: tuple[Stick, ...], line: Line) -> Iterator[Note]:
    if min(x for x, _ in section.points) > SAME:
        yield Note("off-the-wall", "No part of this section lies at x = 0; it will stand off the wall.")
    if not line.rules.skim_other:
        yield Note("no-skim", "No skim is left on the wired faces: crust of the block may stay on a finished face.")
    short = [stick.mark for stick in sticks if stick.long < line.rules.shortest_piece - SAME]
    if short:
        yield Note("short-piece", f"Shorter than the shop's shortest piece: {', '.join(short)}.")


MOULDING = Kind(
    "moulding", ("section", "sprung", "bare", "runs", "frames", "pieces"), read, write, work, shape="section"
)
