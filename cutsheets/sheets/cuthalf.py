"""The lower half of a traveller: the foam that the wire leaves, and no other size to cut to.

Left the section or the views of the part, right the sticks from above, then one row for each kind of stick, then the
figures of the part and the check lines. What does not fit goes on to the next page below the same pictures.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from functools import partial

from cutsheets.drawings.lettering import Parts, length_parts, times
from cutsheets.drawings.profile import profile_scene
from cutsheets.drawings.runs import (
    Like,
    check_parts,
    corner_words,
    end_words,
    group_sticks,
    name_marks,
    one_a_mark,
    strip_scene,
)
from cutsheets.drawings.scene import fitted
from cutsheets.sheets.facepage import faces_of
from cutsheets.sheets.furniture import CAUTIONS, INDOORS, UNIT_WORD, Item, pencil_boxes, sides
from cutsheets.sheets.page import BOLD, FRAME, LEADING, LEFT, MIXED, NOTE, RIGHT, SMALL, WIDTH, WORDS, Pen, Type
from cutsheets.sheets.partrows import draw_views, figure_items, part_items
from cutsheets.sheets.values import TravellerLine
from cutsheets.solids import Box, End, Face, Stick, Worked
from cutsheets.units import Unit, square_feet

SECTION = 152.0  # width of the drawing at the left
VIEWS = 300.0  # width of the views of a part
GUTTER = 12.0
RIGHT_PART = LEFT + SECTION + GUTTER
PART_WIDTH = RIGHT - RIGHT_PART
HEAD = 37.0  # below the fold: the sign and the profile's name
COLUMNS = {"piece": 0.0, "count": 48.0, "long point": 76.0, "short side": 132.0, "left end": 196.0, "right end": 248.0}
TICKS = 300.0  # where the pencil boxes of a row begin
FIGURE = Type("figures", 16.5, share=0.56)
SIDE = Type("figures", 13.0, share=0.7)
ROW, MORE, STRIP, TABLE_HEAD, CLOSING = 19.0, 15.8, 31.0, 12.0, 13.4
STRIP_TEXT = 13.0  # its smallest words come out at 9 pt
SHORT_RUN = 2  # sticks: two such runs share a line
Sizes = Callable[[Pen, float, float, Stick], None]  # draws what is measured of a stick, at the baseline of its row
INLINE = 4  # pencil boxes that fit behind a row; more take a row of their own


def cut_pages(line: TravellerLine, unit: Unit, page_height: float, foot: float) -> list[tuple[Item, ...]]:
    """Return the right part of the half, page by page; `foot` is what stands below the half."""
    room = page_height / 2 - HEAD - foot - _closing(line, unit).height
    pages: list[list[Item]] = [[]]
    used = 0.0
    for item in _items(line, unit):
        head = TABLE_HEAD if item.row and not (pages[-1] and pages[-1][-1].row) else 0.0
        if pages[-1] and used + head + item.height > room:
            pages.append([])
            used, head = 0.0, TABLE_HEAD if item.row else 0.0
        pages[-1].append(item)
        used += head + item.height
    return [tuple(page) for page in pages]


def draw_cut_half(pen: Pen, line: TravellerLine, unit: Unit, items: Sequence[Item], *, foot: float) -> None:
    """Draw the half below the fold; without items it says where they are."""
    top = pen.height / 2 + 8
    pen.sign(LEFT, top, "CUT", width=84, height=25)
    pen.text(LEFT + 94, top + 18, f"Cut foam to this, {UNIT_WORD[unit]}", Type("strong", 15.0))
    if line.profile:
        pen.text(RIGHT, top + 6, "profile", NOTE, "end")
        name = Type("strong", 14.0).fitted((line.profile,), 220)
        pen.text(RIGHT, top + 21, line.profile, name, "end")
    closing = _closing(line, unit)
    end = pen.height - foot - closing.height
    y = pen.height / 2 + HEAD
    _pictures(pen, line, unit, y, end - y)
    right = LEFT + _left(line.worked) + GUTTER
    if not items:
        words = f"All foam pieces of line {line.worked.mark} stand on the pages before this one."
        pen.block(right, y + 20, words, Type("strong", 14.0), width=RIGHT - right)
    before = False
    for item in items:
        if item.row and not before:
            _table_head(pen, y)
            y += TABLE_HEAD
        item.draw(pen, right, y)
        y += item.height
        before = item.row
    pen.line(LEFT, end + 2, RIGHT, end + 2, FRAME)
    closing.draw(pen, LEFT, end + 2)


def _pictures(pen: Pen, line: TravellerLine, unit: Unit, y: float, high: float) -> None:
    """Draw the section or the views with the foam's sizes, and what the thick edge means."""
    worked = line.worked
    coated = line.coat_mm > 0 and bool(worked.views or not isinstance(worked.foam, Box))
    high -= 16 if coated else 4
    if views := [view for view in worked.views if not view.numbers]:
        draw_views(pen, views, unit, at=(LEFT, y + 2), room=(_left(worked), high))
    else:
        build = partial(profile_scene, worked, unit, look="cutter")
        pen.scene(fitted(lambda text: build(text=text), SECTION, high, 16.0), LEFT, y + 2, SECTION, high)
    if coated:
        pen.text(LEFT, y + high + 12, "thick edge gets coat", SMALL)


def _left(worked: Worked) -> float:
    """Return the width of the pictures."""
    return VIEWS if worked.part else SECTION


def _items(line: TravellerLine, unit: Unit) -> Iterator[Item]:
    """Yield strips, rows, check lines and notes, in this order."""
    worked = line.worked
    width = RIGHT - LEFT - _left(worked) - GUTTER
    if worked.part:
        yield from part_items(worked, unit, width)
    elif isinstance(worked.foam, Box):
        yield Item(ROW + 2 * MORE, partial(_box, line=line, foam=worked.foam, unit=unit))
    else:
        yield from _strips(one_a_mark(worked.sticks), unit)
        sizes = partial(_sides_and_ends, unit=unit, words=corner_words if worked.sprung else end_words)
        yield from (_piece_row(like, sizes) for like in group_sticks(worked.sticks))
    for parts, name in _checks(worked, unit).items():
        yield _check_line(name, parts)
    yield from figure_items(worked.sprung, unit, width)
    faces = f"The sections on their faces stand on a page behind, of line {worked.mark}." if faces_of(worked) else ""
    for words in (faces, line.note, *(note.text for note in worked.notes)):
        for part in WORDS.lines(words, width) if words else ():
            yield Item(WORDS.size * LEADING, partial(_words, words=part))


def _strips(sticks: Sequence[Stick], unit: Unit) -> Iterator[Item]:
    """Yield every run once, two short ones beside each other; loose pieces with square ends need no picture."""
    runs: list[list[Stick]] = []
    for stick in sticks:
        if runs and stick.left.kind == "splice" and stick.run == runs[-1][-1].run:
            runs[-1].append(stick)
        else:
            runs.append([stick])
    once: dict[object, tuple[Stick, ...]] = {}
    for run in runs:
        if len(run) > 1 or run[0].run:
            once.setdefault(tuple((s.front, s.wall, s.left, s.right) for s in run), tuple(run))
    short = [run for run in once.values() if len(run) <= SHORT_RUN]
    for long in once.values():
        if len(long) > SHORT_RUN:
            yield Item(STRIP, partial(_strip, runs=(long,), unit=unit))
    for first in range(0, len(short), 2):
        yield Item(STRIP, partial(_strip, runs=tuple(short[first : first + 2]), unit=unit))


def _strip(pen: Pen, x: float, y: float, *, runs: tuple[tuple[Stick, ...], ...], unit: Unit) -> None:
    room = PART_WIDTH / len(runs) - 6 if len(runs) > 1 else PART_WIDTH
    for run in runs:
        scene = strip_scene(run, unit, text=STRIP_TEXT, lengths=False)
        left, _, right, _ = scene.bounds
        wide = min(right - left, room)
        pen.scene(scene, x, y, wide, STRIP - 1)
        x += PART_WIDTH / len(runs)


def _table_head(pen: Pen, y: float) -> None:
    for name, x in COLUMNS.items():
        pen.text(RIGHT_PART + x, y + 9, name, NOTE)
    pen.line(RIGHT_PART, y + TABLE_HEAD - 1, RIGHT, y + TABLE_HEAD - 1)


def _piece_row(like: Like, sizes: Sizes) -> Item:
    """Return the row of sticks that are cut alike: marks, count, lengths, ends, a pencil box for each piece."""
    kind, lines = _marks(like)
    high = max(ROW, len(lines) * kind.size * 1.1 + 4)
    more = MORE if like.qty > INLINE else 0.0
    return Item(high + more, partial(_row, like=like, sizes=sizes, ticks=high if more else 0.0), row=True)


def _marks(like: Like) -> tuple[Type, list[str]]:
    room = COLUMNS["count"] - 4
    kind = Type("strong", 14.0).fitted((name_marks(like.marks),), room)
    return kind, kind.lines(name_marks(like.marks), room)


def _row(pen: Pen, x: float, y: float, *, like: Like, sizes: Sizes, ticks: float) -> None:
    """Draw a row; `ticks` is how far below it its pencil boxes stand, 0 where they stand behind it."""
    kind, lines = _marks(like)
    base = y + 14.5
    for number, words in enumerate(lines):
        pen.text(x, base + number * kind.size * 1.1, words, kind)
    count: Parts = (str(like.qty),)
    pen.text(x + COLUMNS["count"], base, count, Type("figures", 13.0).fitted(count, 24))
    sizes(pen, x, base, like.stick)
    if ticks:
        pencil_boxes(pen, x + COLUMNS["count"], y + ticks - 1, like.qty, width=RIGHT - x - COLUMNS["count"], size=11.0)
    else:
        pencil_boxes(pen, x + TICKS, y + 4, like.qty, width=90, size=11.0)
    end_of_row = y + (ticks + MORE if ticks else max(ROW, len(lines) * kind.size * 1.1 + 4)) - 1
    pen.line(x, end_of_row, RIGHT, end_of_row)


def _sides_and_ends(pen: Pen, x: float, base: float, stick: Stick, *, unit: Unit, words: Callable[[End], str]) -> None:
    """Draw the long point of a stick, its short side and its two ends."""
    pen.text(x + COLUMNS["long point"], base, length_parts(stick.long, unit), FIGURE)
    side, length = _short_side(stick, unit)
    done = pen.text(x + COLUMNS["short side"], base, side, NOTE)
    pen.text(x + COLUMNS["short side"] + done + 3, base, length, SIDE)
    for end, column in ((stick.left, "left end"), (stick.right, "right end")):
        face, split = (BOLD if end.angle is not None else WORDS).paragraph(words(end), 50, 2)
        for number, word in enumerate(split):
            pen.text(x + COLUMNS[column], base + (9 * number - 6 if len(split) > 1 else 0), word, face)


def _short_side(stick: Stick, unit: Unit) -> tuple[str, Parts]:
    """Return which side is shorter than the long point, and its length; no length where both are the same."""
    near, far = ("opening", "outside") if stick.flat else ("wall", "face")
    long = length_parts(stick.long, unit)
    for word, side in ((near, stick.wall), (far, stick.front)):
        if length_parts(side, unit) != long:
            return word, length_parts(side, unit)
    return "same", ()


def _box(pen: Pen, x: float, y: float, *, line: TravellerLine, foam: Box, unit: Unit) -> None:
    parts = (f"{line.worked.parts} of  ", *times(*sides(foam, unit)))
    pen.text(x, y + 16, parts, Type("figures", 20.0).fitted(parts, PART_WIDTH))
    pen.text(x, y + 30, "long × wide × high", SMALL)
    pencil_boxes(pen, x, y + 35, line.worked.parts, width=PART_WIDTH, size=11.0)


def _checks(worked: Worked, unit: Unit) -> dict[Parts, str]:
    """Return each different check line with the names of the runs it holds for."""
    names: dict[Parts, list[str]] = {}
    for run in worked.runs:
        names.setdefault(check_parts(run, unit), []).append(f"{run.name}, {run.qty} times" if run.qty > 1 else run.name)
    return {parts: ", ".join(filter(None, runs)) for parts, runs in names.items()}


def _check_line(name: str, parts: Parts) -> Item:
    lines = MIXED.wrapped((f"check {name}: " if name else "check: ", *parts), PART_WIDTH)
    return Item(MORE * len(lines), partial(_lines, lines=lines))


def _lines(pen: Pen, x: float, y: float, *, lines: Sequence[Parts]) -> None:
    for number, parts in enumerate(lines):
        pen.text(x, y + 12.0 + number * MORE, parts, MIXED)


def _words(pen: Pen, x: float, y: float, *, words: str) -> None:
    pen.text(x, y + WORDS.size, words, WORDS)


def _closing(line: TravellerLine, unit: Unit) -> Item:
    """Return what closes the half: coat, finished size for checking, cautions."""
    cautions = CAUTIONS + (f" {INDOORS}" if line.indoors else "")
    lines = NOTE.lines(cautions, WIDTH)
    lead, rest = _coat(line, unit)
    indent = MIXED.width(lead) + 5
    coat, coat_lines = WORDS.paragraph(rest, WIDTH - indent, 3)
    height = 14 + (len(coat_lines) + 1) * CLOSING + (len(lines) - 1) * NOTE.size * LEADING + 6

    def draw(pen: Pen, x: float, y: float) -> None:
        pen.text(x, y + 14, lead, MIXED)
        for number, words in enumerate(coat_lines):
            pen.text(x + indent, y + 14 + number * CLOSING, words, coat)
        y += 14 + len(coat_lines) * CLOSING
        finished = _finished(line.worked, unit)
        pen.text(x, y + 1, finished, MIXED.fitted(finished, WIDTH))
        pen.block(x, y + CLOSING + 1, cautions, NOTE, width=WIDTH)

    return Item(height, draw)


def _coat(line: TravellerLine, unit: Unit) -> tuple[Parts, str]:
    """Return the thickness of the coat, and the sentence behind it."""
    if not line.coat_mm:
        return ("No coat.",), line.coat
    area = line.worked.quantities.coat_area
    amount = f"{square_feet(area):,.1f} ft²" if unit == "in" else f"{area / 1e6:,.2f} m²"
    lead = ("Coat ", *length_parts(line.coat_mm, unit), "" if unit == "in" else " mm")
    return lead, f"{line.coat} {amount}.".strip() if area else line.coat


def _finished(worked: Worked, unit: Unit) -> Parts:
    """Return the finished size as words to check by; there is none to be confused where no coat changes the foam."""
    size, foam = worked.finished, worked.foam
    if isinstance(size, Box):
        sizes = times(*sides(size, unit))
        same = size == foam
    else:
        sizes = (*length_parts(size.width, unit), " deep × ", *length_parts(size.height, unit), " high")
        same = isinstance(foam, Face) and size.outline == foam.outline
    if same:
        return ("Finished as cut: the foam size is the finished size.",)
    return ("Finished ", *sizes, ", for checking only. Never cut to this.")
