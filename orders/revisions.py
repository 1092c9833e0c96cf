"""A change of a released order that alters a size, a quantity or a grade makes a new sheet; any other change does not.

What changed is kept in words, old and new, and read out when older paper is scanned.
"""

from __future__ import annotations

import json
from collections import defaultdict
from dataclasses import dataclass

from cutsheets.drawings.runs import name_marks
from cutsheets.errors import CutsheetError
from cutsheets.figures import figures_json
from cutsheets.solids import Box, Face, Worked
from cutsheets.units import say
from orders.fitting import need_no_objection
from orders.layout import alike, lay_out, size_words
from orders.lines import work_out
from orders.models import Blank, Line, Piece, Revision
from orders.moves import raise_revision
from shop.acts import Act
from shop.refusals import Refused

END_WORDS = {"outside": "outside corner", "inside": "inside corner"}
CUTTING = ("mark", "kind", "grade_id", "profile_id", "coat", "qty", "spec", "way")  # what can alter a size or a count


def cutting_input(line: Line) -> tuple:
    """Return what of a line can alter a size, a quantity or a grade; equal values need no new sheet."""
    nest = line.gang.get("chosen") if line.way == Line.Way.GANG else None
    return *(getattr(line, name) for name in CUTTING), nest


@dataclass(frozen=True, slots=True)
class Facts:
    """What the sheet in force says about a line: its mark, foam, section, blanks and pieces."""

    mark: str
    foam: str
    shape: dict[str, str]
    rows: dict[str, str]

    def named(self, mark: str) -> dict[str, str]:
        """Return every fact by the name that a person would use for it, under this mark of the line."""
        own = {"mark": self.mark, "foam": self.foam} | self.shape
        return {f"{mark} {name}": said for name, said in own.items()} | self.rows


def facts(line: Line) -> Facts:
    """Return what its sheet says about a line: shapes are worked out, blanks and pieces read from the printed rows."""
    mark, unit = line.mark, line.order.unit
    rows = {}
    for number, blank in enumerate(line.blanks.filter(live=True, replaces=None), 1):
        rows |= _counted(f"{mark} blank {number}", size_words(blank) + _gives_words(blank), blank.qty)
    same: dict[tuple, list[Piece]] = defaultdict(list)
    for piece in line.pieces.filter(live=True):
        same[alike(piece)].append(piece)
    for pieces in same.values():  # whatever blanks they come out of
        marks = name_marks(list(dict.fromkeys(each for piece in pieces for each in piece.marks)))
        rows |= _counted(marks, _piece_words(pieces[0], unit), sum(piece.qty for piece in pieces))
    return Facts(mark, str(line.grade), _shape(line), rows)


def _gives_words(blank: Blank) -> str:
    return f", {blank.gives} pieces out of each" if blank.gives > 1 else ""


def _counted(name: str, said: str, count: int) -> dict[str, str]:
    """Return a thing and its count as two facts: where only the count changed, the floor reads nothing else."""
    return {name: said, f"{name}, count": str(count)}


def revise(line: Line, before: Facts | None, worked: Worked, act: Act) -> Revision | None:
    """Bring the rows of a saved line of a released order up to date; return the new sheet, or None if none is needed.

    `before` are the facts of the line before it was saved, None for a new line. Raises Refused where the change
    cannot be cut, or undercuts what is counted.
    """
    order = line.order
    need_no_objection(order, [(line, worked)])
    if before is None:
        lay_out(line, worked)
        changes = [{"what": f"line {line.mark}", "old": "", "new": f"{worked.parts} pieces of {line.grade}"}]
    else:
        other_foam = before.foam != str(line.grade)
        lay_out(line, worked, other_shape=before.shape != _shape(line), other_foam=other_foam)
        changes = _changes(before.named(line.mark), facts(line).named(line.mark))
    return raise_revision(order, changes, act) if changes else None


def remove(line: Line, act: Act) -> Revision:
    """Take a line off a released order as a new sheet; a line with foam sawn or planned for it cannot go."""
    order, mark = line.order, line.mark
    if order.lines.count() == 1:
        raise Refused("last-line", f"{mark} is the only line of order {order}; cancel the order instead.")
    for blank in line.blanks.all():
        if blank.sawn or blank.saw_miscut:
            raise Refused("line-in-work", f"Foam is sawn for line {mark}; it stays. Lower its quantity instead.")
        if blank.planned.exists():
            raise Refused("line-planned", f"A cutting plan holds blanks of line {mark}; throw that plan away first.")
    old = f"{sum(piece.qty for piece in line.pieces.all())} pieces of {line.grade}"
    line.delete()
    return raise_revision(order, [{"what": f"line {mark}", "old": old, "new": "taken off"}], act)


def _changes(before: dict[str, str], after: dict[str, str]) -> list[dict[str, str]]:
    names = [*before, *(name for name in after if name not in before)]
    return [
        {"what": name, "old": before.get(name, ""), "new": after.get(name, "")}
        for name in names
        if before.get(name) != after.get(name)
    ]


def _shape(line: Line) -> dict[str, str]:
    """Return the finished and the foam size, and the section or the profile that they are of."""
    try:
        worked = work_out(line)
    except CutsheetError:
        return {}  # the shop's rules changed since: only the rows can still be compared
    unit = line.order.unit
    shape = {"finished": _size(worked.finished, unit), "foam size": _size(worked.foam, unit)}
    if isinstance(worked.foam, Face):
        shape["section"] = str(line.profile or "points " + _points(worked.foam, unit))
    elif line.profile:  # letters of the same size over all may be other letters
        shape["profile"] = str(line.profile)
    # exact numbers, not words: a finial that changed below a sixteenth is another finial
    exact = figures_json(worked.part, unit)
    return shape | {figure.label: json.dumps(exact[figure.key], ensure_ascii=False) for figure in worked.part}


def _size(of: Face | Box, unit: str) -> str:
    sides = (of.width, of.height) if isinstance(of, Face) else (of.l, of.w, of.h)
    return " × ".join(say(side, unit, denominator=64) for side in sides)


def _points(face: Face, unit: str) -> str:
    return " ".join(f"{say(x, unit, denominator=64)},{say(y, unit, denominator=64)}" for x, y in face.outline)


def _piece_words(piece: Piece, unit: str) -> str:
    front, wall = (say(length, unit, denominator=64) for length in (piece.front, piece.wall))
    places = ("outside", "opening") if piece.flat else ("in front", "wall")
    length = f"{front} long" if front == wall else f"{front} {places[0]}, {wall} at the {places[1]}"
    return f"{length}, left {_end_words(piece.left)}, right {_end_words(piece.right)}"


def _end_words(end: dict) -> str:
    word = END_WORDS.get(end["kind"], end["kind"])
    return word if end["angle"] in (None, 90) else f"{word} {end['angle']:g}°"
