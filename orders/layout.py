"""The blanks and pieces of a line as rows: written at release, brought up to date when a released line changes.

A row whose size stays is kept with its counts. A row whose size is gone is deleted if nothing happened to it, else it
stays, no longer live, so that what was sawn and cut remains on the books.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import asdict
from itertools import groupby

from django.db.models import F

from cutsheets.solids import Box, Stick, Worked
from cutsheets.units import read_length, say, um_up
from orders.models import Blank, Line, Piece
from shop.models import Station
from shop.refusals import Refused

Size = tuple[int, int, int]
Sort = tuple[int, int, int, int]


def size_um(box: Box) -> Size:
    """Return long, wide, high of a blank in whole micrometres, rounded up."""
    return um_up(box.l), um_up(box.w), um_up(box.h)


def say_size(size: Size, unit: str) -> str:
    """Return “97 × 8-3/8 × 9-1/4”: long × wide × high, as the shop reads it; a blank is never said too small."""
    return " × ".join(say(um / 1000, unit, "up") for um in size)


def size_words(blank: Blank) -> str:
    """Return the size of a blank in the unit of its order."""
    return say_size(blank.size_um, blank.line.order.unit)


def for_the_wire(worked: Worked) -> bool:
    """Return whether the wire has to cut this line; a panel is done when it is sawn, and has no pieces of its own."""
    return worked.quantities.wire_length > 0


def lay_out(line: Line, worked: Worked, *, other_shape: bool = False, other_foam: bool = False) -> None:
    """Write the blanks and pieces of a line, keeping the rows whose sizes stay. Runs in the caller's transaction.

    `other_shape`: pieces that are cut have the section of an older sheet and do not serve; `other_foam`: neither do
    the blanks. Raises Refused: `below-sawn` and `below-cut` for a quantity under what is counted already.
    """
    old, singles = defaultdict(list), []
    stay = set() if other_shape or other_foam else {(*size_um(blank.size), blank.gives) for blank in worked.blanks}
    for piece in line.pieces.filter(live=True).select_related("blank__replaces"):
        big = piece.blank.replaces
        if big and _sort(big) in stay:
            singles.append(piece)
        elif other_shape or other_foam or big:
            _retire_piece(piece)
        else:
            old[_likeness(piece)].append(piece)
    if other_foam:
        for blank in line.blanks.filter(live=True):
            retire_blank(blank)
    matched = []
    steps = steps_of(line, worked)
    for group in _alike(worked.sticks if steps["wired"] or steps["wants_pack"] else ()):
        fresh = _piece(line, group, steps)
        kept = old[_likeness(fresh)]
        matched.append((kept.pop(0) if kept else fresh, fresh))
    for gone in [piece for pieces in old.values() for piece in pieces]:
        _retire_piece(gone)
    blanks = _write_blanks(line, worked)
    for position, (row, fresh) in enumerate(matched):
        row.blank = blanks[_sort(fresh.blank)]
        fresh.qty -= _given_alone(row, fresh, singles)
        _write_piece(row, fresh, position)


def steps_of(line: Line, worked: Worked) -> dict[str, bool]:
    """Return which operations the pieces of a line go through after the saw, as a shop with these stations does it."""
    stations = {station.kind for station in Station.in_use(Station.Kind.COAT, Station.Kind.PACK)}
    coated = read_length(line.coat, line.order.unit) > 0
    return {
        "wired": for_the_wire(worked),
        "wants_coat": coated and Station.Kind.COAT in stations,
        "wants_pack": Station.Kind.PACK in stations,
    }


def _given_alone(row: Piece, fresh: Piece, singles: list[Piece]) -> int:
    """Return how many pieces of a row come out of single blanks, because they were ruined out of its big ones."""
    own = next((one for one in singles if one.blank.replaces_id == row.blank.pk and alike(one) == alike(fresh)), None)
    if own is None:
        return 0
    singles.remove(own)
    return own.qty


def _alike(sticks: tuple[Stick, ...]) -> list[list[Stick]]:
    """Return neighbouring sticks that differ in nothing but their mark and count."""
    return [list(group) for _, group in groupby(sticks, key=_same)]


def _same(stick: Stick) -> tuple:
    return stick.front, stick.wall, stick.left, stick.right, stick.blank, stick.gives, stick.run, stick.flat


def _piece(line: Line, sticks: list[Stick], steps: dict[str, bool]) -> Piece:
    """Return sticks that are alike as one row, not saved yet; its blank is the size and what it gives only."""
    first = sticks[0]
    l_um, w_um, h_um = size_um(first.blank)
    blank = Blank(line=line, l_um=l_um, w_um=w_um, h_um=h_um, gives=first.gives)
    return Piece(
        line=line, blank=blank, marks=[stick.mark for stick in sticks],
        qty=sum(stick.qty for stick in sticks), run=first.run, front=round(first.front, 6), wall=round(first.wall, 6),
        left=asdict(first.left), right=asdict(first.right), flat=first.flat, **steps,
    )  # fmt: skip


def _likeness(piece: Piece) -> tuple:
    """Return what makes a piece the same piece in the eyes of the cutter."""
    return _sort(piece.blank), *alike(piece)


def alike(piece: Piece) -> tuple:
    """Return what makes pieces the same, whatever blank they come out of."""
    ends = [(end["kind"], end["angle"]) for end in (piece.left, piece.right)]
    return f"{piece.front:.6f}", f"{piece.wall:.6f}", *ends, piece.run, piece.flat


def _sort(blank: Blank) -> Sort:
    """Return what makes blanks of a line one row: the size, and how many pieces each gives."""
    return *blank.size_um, blank.gives


def _write_blanks(line: Line, worked: Worked) -> dict[Sort, Blank]:
    """Return the line's live blanks by size and what they give, each with its new quantity; others are retired."""
    rows = {_sort(blank): blank for blank in line.blanks.filter(live=True, replaces=None)}
    needed: dict[Sort, list] = defaultdict(list)
    for blank in worked.blanks:
        needed[*size_um(blank.size), blank.gives].append(blank)
    for sort in rows.keys() - needed.keys():
        gone = rows.pop(sort)
        for blank in (*gone.singles.filter(live=True), gone):
            retire_blank(blank)
    for sort, same in needed.items():
        l_um, w_um, h_um, gives = sort
        row = rows.setdefault(sort, Blank(line=line, l_um=l_um, w_um=w_um, h_um=h_um, gives=gives))
        row.qty = sum(blank.qty for blank in same)
        row.marks = [mark for blank in same for mark in blank.marks]
        good = row.sawn - row.again
        if row.qty < good:
            raise Refused(
                "below-sawn", f"{good} blanks {size_words(row)} of line {line.mark} are sawn; it needs at least those.",
                sawn=good,
            )  # fmt: skip
        _save(row, "qty", "marks")
    return rows


def _write_piece(row: Piece, fresh: Piece, position: int) -> None:
    row.position, row.marks, row.qty = position, fresh.marks, fresh.qty
    for code, done, word in (("below-cut", row.cut, "cut"), ("below-packed", row.packed, "packed")):
        if row.qty < done:
            raise Refused(code, f"{done} of {row.label} are {word}; the line needs at least those.", **{word: done})
    _save(row, "position", "marks", "qty")


def _save(row: Blank | Piece, *changed: str) -> None:
    """Write a new row whole; of an old one only what the office decides, never a count."""
    if row.pk is None:
        row.save()
    else:
        row.save(update_fields=changed)


def _retire_piece(piece: Piece) -> None:
    """Delete a piece of which none is cut; else set the cut ones aside, with the blanks that became them.

    Out of a blank that gives many, what was cut is lost to its other pieces, as if the wire had ruined it.
    """
    if not piece.cut and not piece.packed:
        piece.delete()
        return
    blank, cut = piece.blank, piece.cut
    piece.live = False
    if blank.gives > 1:
        Blank.objects.filter(pk=blank.pk).update(cut=F("cut") - cut, wire_miscut=F("wire_miscut") + cut)
    if blank.gives > 1 or not piece.wired:
        piece.save(update_fields=["live"])
        return
    l_um, w_um, h_um = blank.size_um
    piece.blank = Blank.objects.create(
        line=blank.line, l_um=l_um, w_um=w_um, h_um=h_um, qty=cut, marks=piece.marks, live=False, sawn=cut, cut=cut,
    )  # fmt: skip
    Blank.objects.filter(pk=blank.pk).update(sawn=F("sawn") - cut, cut=F("cut") - cut)
    piece.save(update_fields=["blank", "live"])


def retire_blank(blank: Blank) -> None:
    """Delete a blank that no plan holds and no count names; else keep it, no longer live."""
    if blank.sawn or blank.saw_miscut or blank.planned.exists() or blank.singles.exists():
        blank.live = False
        blank.save(update_fields=["live"])
    else:
        blank.delete()
