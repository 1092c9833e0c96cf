"""Moulding: one section, straight, along walls, round openings or as loose pieces.

A sprung moulding is a flat one that leans out from the wall. It is worked out as it stands there, a tilted rectangle
whose lower back edge touches the wall; it is cut, sawn and coated lying flat. Its face and both its edges are coated,
its back is bare unless the line says otherwise (common practice, no source).
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any

from cutsheets import runs as sticking
from cutsheets.blanks import blank_notes, group, section_blank
from cutsheets.coat import coated_girth, foam_outline
from cutsheets.costing import quantities, swept_coat
from cutsheets.errors import CutsheetError
from cutsheets.kerf import wire_figures
from cutsheets.kinds.base import Kind, Line
from cutsheets.kinds.lengths import Lengths, read_lengths, write_lengths
from cutsheets.kinds.limits import read_within
from cutsheets.kinds.pictures import rect_round, rectangle, round_middle, three_sizes
from cutsheets.kinds.shapes import (
    SMALLEST,
    THINNEST,
    WIDEST,
    read_bare,
    read_section,
    write_bare,
    write_section,
)  # fmt: skip
from cutsheets.machines import wired_along
from cutsheets.records import record
from cutsheets.sections import SAME, make_section, measure
from cutsheets.solids import Box, Face, FrameSide, Note, Ring, Run, Section, Size, Stick, View, Worked
from cutsheets.sprung import BACK, Sprung, figures, laid_flat
from cutsheets.units import Unit, read_angle, to_unit


@dataclass(frozen=True, slots=True)
class Moulding:
    """The section as finished and as it stands on the wall, and the lengths wanted of it."""

    section: Section
    lengths: Lengths
    sprung: Sprung | None = None

    def lying(self, outline: Ring) -> Ring:
        """Return a section as it lies on the machine: a sprung one on its back, any other as it is."""
        return laid_flat(outline, self.sprung.spring) if self.sprung else outline


def read(raw: Mapping[str, Any], unit: Unit) -> Moulding:
    """Return a moulding from the keys of its line; raises CutsheetError."""
    sprung = _read_sprung(raw, unit) if "sprung" in raw else None
    section = make_section(sprung.outline, _sprung_bare(raw), "sprung") if sprung else read_section(raw, unit)
    lengths = read_lengths(raw, unit, max(x for x, _ in section.points))
    if lengths.frames and sprung:
        raise CutsheetError(
            "sprung-frames", "A frame lies flat on its wall; draw its section, or hang the sprung moulding in runs.",
            "frames",
        )  # fmt: skip
    if lengths.frames and abs(min(y for _, y in section.points)) > SAME:
        raise CutsheetError(
            "frame-section", "A frame's section lies flat with its opening edge at y = 0; move it there.", "section"
        )
    return Moulding(section, lengths, sprung)


def write(moulding: Moulding, unit: Unit) -> dict[str, Any]:
    """Return the keys of the job file."""
    sprung = moulding.sprung
    if sprung is None:
        return write_section(moulding.section, unit) | write_lengths(moulding.lengths, unit)
    sizes = {"face": to_unit(sprung.face, unit), "thick": to_unit(sprung.thick, unit), "spring": sprung.spring}
    return {"sprung": sizes} | write_bare(moulding.section) | write_lengths(moulding.lengths, unit)


def work(line: Line) -> Worked:
    """Return the line worked out; raises CutsheetError with a place inside the line."""
    moulding: Moulding = line.spec
    section, sprung = moulding.section, moulding.sprung
    wanted = _times(moulding.lengths, line.qty)
    finished = measure(section.points, coated_girth(section))
    foam = measure(foam_outline(section, line.coat, "sprung" if sprung else "section"))
    lying = measure(moulding.lying(foam.outline))
    runs = tuple(
        sticking.work_run(run, finished, foam, coat=line.coat, rules=line.rules, where=f"runs[{i}]")
        for i, run in enumerate(wanted.runs)
    )
    frames = tuple(side for frame in wanted.frames for side in sticking.frame_sides(frame, finished, foam))
    cuts = list(_cuts(wanted, runs, frames, foam, line))
    sticks = sticking.mark_sticks(line.mark, cuts, lambda long: section_blank(lying, long, line.rules))
    blanks = group(sticks)
    coat_area = _coat_area(wanted, section, finished) if line.coat else 0.0
    return Worked(
        mark=line.mark, kind=line.kind, grade=line.grade, parts=sum(stick.qty for stick in sticks),
        finished=finished, foam=foam, runs=runs, frames=frames, sticks=sticks, blanks=blanks,
        quantities=quantities(sticks, blanks, foam, coat_area=coat_area, density=line.density, rules=line.rules),
        notes=(*_notes(moulding, sticks, line), *blank_notes(blanks, line.rules, line.unit)),
        sprung=figures(sprung, (end for run in runs for end in (run.left, run.right))) if sprung else (),
        views=_sprung_views(finished, foam, moulding, blanks[0].size) if sprung else (),
        wire=wire_figures(line.rules.wire_kerf),
        asks=wired_along(blanks, line.rules),
    )  # fmt: skip


def _read_sprung(raw: Mapping[str, Any], unit: Unit) -> Sprung:
    if "section" in raw:
        raise CutsheetError("sprung", "Give a section or the sizes of a sprung moulding, not both.", "sprung")
    given = record(raw["sprung"], "sprung", required=("face", "thick", "spring"))
    face = read_within(given["face"], unit, "sprung.face", SMALLEST, WIDEST)
    thick = read_within(given["thick"], unit, "sprung.thick", THINNEST, WIDEST)
    spring = read_angle(given["spring"], "sprung.spring")
    if thick > face:
        raise CutsheetError(
            "range", "This is thicker than its face is wide; check that they have not changed places.", "sprung.thick"
        )
    if not 0 < spring < 90:
        raise CutsheetError(
            "spring", "The spring is the angle between back and wall, above 0 and below 90: 38 or 45.", "sprung.spring"
        )
    return Sprung(face, thick, spring)


def _sprung_bare(raw: Mapping[str, Any]) -> frozenset[int]:
    """Return the edges without coat: the back where nothing else is said."""
    bare = read_bare(raw)
    return frozenset({BACK}) if bare is None else bare


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


def _sprung_views(finished: Face, foam: Face, moulding: Moulding, blank: Box) -> tuple[View, View]:
    """Return the moulding on its wall, and lying flat in its blank."""
    left, low, right, high = rect_round(finished.outline)
    flat, coated = moulding.lying(foam.outline), moulding.lying(finished.outline)
    edge = round_middle(rect_round(flat), blank.w, blank.h)
    return (
        View(
            "on the wall", foam=(foam.outline,), finished=(finished.outline,), lines=(((0.0, low), (0.0, high)),),
            sizes=(
                Size((left, low), (right, low), "finished", -1.0), Size((right, low), (right, high), "finished", -1.0),
            ),
            labels=(((0.0, high), "wall"),),
        ),
        View(
            "lying flat", foam=(flat,), finished=(coated,), blank=(rectangle(edge),),
            sizes=three_sizes(rect_round(flat), rect_round(coated), edge), labels=(((edge[0], 0.0), "back"),),
        ),
    )  # fmt: skip


def _notes(moulding: Moulding, sticks: tuple[Stick, ...], line: Line) -> Iterator[Note]:
    if moulding.sprung:
        yield Note(
            "sprung",
            "Saw it flat on its back: mitre and bevel are the same for inside and outside corners; at an outside "
            "corner the upper edge is the long one.",
        )
    if line.coat and moulding.sprung and moulding.section.bare == {BACK}:
        yield Note("bare-back", "Coat is taken off the face and both edges; the back stays bare.")
    if min(x for x, _ in moulding.section.points) > SAME:
        yield Note("off-the-wall", "No part of this section lies at x = 0; it will stand off the wall.")
    short = [stick.mark for stick in sticks if stick.long < line.rules.shortest_piece - SAME]
    if short:
        yield Note("short-piece", f"Shorter than the shop's shortest piece: {', '.join(short)}.")


MOULDING = Kind(
    "moulding", ("section", "sprung", "bare", "runs", "frames", "pieces"), read, write, work, shape="section"
)
