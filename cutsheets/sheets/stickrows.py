"""Sticks on paper: the runs from above, then a row for each kind of stick with a pencil box for every piece.

Right on the drawing is right on the bench. Long point and short side stand beside each other, the short one with the
name of the side it is on; a mitre says whether its corner is an outside or an inside one.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from functools import partial

from cutsheets.drawings.lettering import Parts, length_parts
from cutsheets.drawings.runs import Like, corner_words, end_words, group_sticks, name_marks, one_a_mark, strip_scene
from cutsheets.drawings.scene import Scene
from cutsheets.sheets.furniture import Item, pencil_boxes, with_marks_above
from cutsheets.sheets.page import BOLD, LEAST, MARKS, NOTE, WORDS, Pen, Type
from cutsheets.solids import End, Stick, Worked
from cutsheets.units import Unit

COLUMNS = {"piece": 0.0, "count": 48.0, "long point": 76.0, "short side": 132.0, "left end": 196.0, "right end": 248.0}
MARK = COLUMNS["count"] - 4
END = 50.0  # room for the words of an end
TICKS = 300.0  # where the pencil boxes of a row begin
FIGURE = Type("figures", 16.5, share=0.56)
SIDE = Type("figures", 13.0, share=0.7)
ROW, BOXES, STRIP, TABLE_HEAD = 19.0, 15.8, 31.0, 12.0
FIRST, BELOW = 14.5, 4.5  # the baseline of a row, and what its last line leaves clear above the rule
STRIP_TEXT = 13.0  # its smallest words come out at 9 pt
INLINE = 4  # pencil boxes that fit behind a row; more take a row of their own


MOST_LINES = 12  # of marks in a row: more would not go on a page


def stick_items(worked: Worked, unit: Unit, width: float) -> Iterator[Item]:
    """Yield the runs as strips, then the rows of their sticks."""
    yield from _strips(_shortened(worked), unit, width)
    for like in group_sticks(worked.sticks):
        words = corner_words if worked.sprung else partial(end_words, flat=like.stick.flat)
        marks, row = name_marks(like.marks), partial(_piece_row, like, unit, width, words)
        yield with_marks_above(marks, width, row("")) if MARKS.breaks(marks, MARK) else row(marks)


def draw_table_head(pen: Pen, x: float, y: float, width: float) -> None:
    """Draw the names of the columns; TABLE_HEAD high."""
    for name, at in COLUMNS.items():
        pen.text(x + at, y + 9, name, NOTE)
    pen.line(x, y + TABLE_HEAD - 1, x + width, y + TABLE_HEAD - 1)


def _shortened(worked: Worked) -> tuple[Stick, ...]:
    """Return each mark once; of marks that have no room in a column what tells them apart, the rest stands below."""
    sticks = one_a_mark(worked.sticks)
    if not MARKS.breaks(worked.mark, MARK):
        return sticks
    return tuple(replace(stick, mark=f"…{stick.mark.removeprefix(worked.mark)}") for stick in sticks)


def _strips(sticks: Sequence[Stick], unit: Unit, width: float) -> Iterator[Item]:
    """Yield every run once, two narrow ones beside each other; loose pieces with square ends need no picture."""
    runs: list[list[Stick]] = []
    for stick in sticks:
        if runs and stick.left.kind == "splice" and stick.run == runs[-1][-1].run:
            runs[-1].append(stick)
        else:
            runs.append([stick])
    once: dict[object, list[Stick]] = {}
    for run in runs:
        if len(run) > 1 or run[0].run:
            once.setdefault(tuple((s.front, s.wall, s.left, s.right) for s in run), run)
    scenes = [_scene(part, unit) for run in once.values() for part in _parts(run, unit, width)]
    half = width / 2 - 6
    narrow = [scene for scene in scenes if _wide(scene) <= half]
    alone = [(scene,) for scene in scenes if _wide(scene) > half]
    for beside in (*alone, *(tuple(narrow[first : first + 2]) for first in range(0, len(narrow), 2))):
        yield Item(STRIP, partial(_strip, scenes=beside, width=width))


def _parts(run: list[Stick], unit: Unit, width: float) -> list[list[Stick]]:
    """Return a run in as many parts as its words need to be read in this width."""
    if _wide(_scene(run, unit)) <= width:
        return [run]
    parts: list[list[Stick]] = [[]]
    for stick in run:
        if parts[-1] and _wide(_scene([*parts[-1], stick], unit)) > width:
            parts.append([])
        parts[-1].append(stick)
    return parts


def _scene(sticks: Sequence[Stick], unit: Unit) -> Scene:
    return strip_scene(sticks, unit, text=STRIP_TEXT, lengths=False)


def _wide(scene: Scene) -> float:
    left, _, right, _ = scene.bounds
    return right - left


def _strip(pen: Pen, x: float, y: float, *, scenes: tuple[Scene, ...], width: float) -> None:
    for place, scene in enumerate(scenes):
        pen.scene(scene, x + place * width / 2, y, min(_wide(scene), width), STRIP - 1)


def _piece_row(like: Like, unit: Unit, width: float, words: Callable[[End], str], marks: str) -> Item:
    """Return the row of sticks that are cut alike: marks, count, lengths, ends, a pencil box for each piece."""
    largest = MARKS.fitted((marks,), MARK)
    kind, lines = largest.paragraph(marks, MARK, MOST_LINES)
    high = max(ROW, FIRST + (len(lines) - 1) * kind.size * 1.1 + BELOW)
    boxes = high if like.qty > INLINE else 0.0  # how far below the row they stand, 0 where they stand behind it
    whole = high + (BOXES if boxes else 0.0)

    def draw(pen: Pen, x: float, y: float) -> None:
        pen.fit(largest, marks, MARK, MOST_LINES)
        for number, line in enumerate(lines):
            pen.text(x, y + FIRST + number * kind.size * 1.1, line, kind)
        count: Parts = (str(like.qty),)
        pen.text(x + COLUMNS["count"], y + FIRST, count, Type("figures", 13.0).fitted(count, 24))
        _sides_and_ends(pen, x, y + FIRST, like.stick, unit=unit, words=words)
        if boxes:
            place = x + COLUMNS["count"]
            pencil_boxes(pen, place, y + boxes - 1, like.qty, width=width - COLUMNS["count"], size=11.0)
        else:
            pencil_boxes(pen, x + TICKS, y + 4, like.qty, width=90, size=11.0)
        pen.line(x, y + whole - 1, x + width, y + whole - 1)

    return Item(whole, draw, row=True)


def _sides_and_ends(pen: Pen, x: float, base: float, stick: Stick, *, unit: Unit, words: Callable[[End], str]) -> None:
    """Draw the long point of a stick, its short side and its two ends."""
    long = length_parts(stick.long, unit)
    pen.text(x + COLUMNS["long point"], base, long, FIGURE.fitted(long, 54))
    side, length = _short_side(stick, unit)
    done = pen.text(x + COLUMNS["short side"], base, side, NOTE)
    pen.text(x + COLUMNS["short side"] + done + 3, base, length, SIDE)
    for end, column in ((stick.left, "left end"), (stick.right, "right end")):
        face = BOLD if end.angle is not None else WORDS
        lines = face.lines(words(end), END)
        if len(lines) > 1:
            face, lines = pen.fit(replace(face, size=LEAST), words(end), END, 2)
        low = base + (2.2 if len(lines) > 1 else 0)
        for above, line in zip(range(len(lines) - 1, -1, -1), lines, strict=True):
            pen.text(x + COLUMNS[column], low - LEAST * above, line, face)


def _short_side(stick: Stick, unit: Unit) -> tuple[str, Parts]:
    """Return which side is shorter than the long point, and its length; no length where both are the same."""
    near, far = ("opening", "outside") if stick.flat else ("wall", "face")
    long = length_parts(stick.long, unit)
    for word, side in ((near, stick.wall), (far, stick.front)):
        if length_parts(side, unit) != long:
            return word, length_parts(side, unit)
    return "same", ()
