"""The lower half of a traveller: the foam that the wire leaves, and no other size to cut to.

In a thin frame, the foam: left the section or the views of the part to a stated scale, right the sticks from above,
then one row for each kind of stick, the figures of the part, the check lines and the notes. What does not fit goes on
to the next page below the same pictures; notes that would have that page to themselves stand below the pictures
instead. In a dashed frame below, the finished size, for checking only.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import partial
from itertools import pairwise, zip_longest

from cutsheets.drawings.lettering import Parts, length_parts, times
from cutsheets.drawings.profile import profile_scene
from cutsheets.drawings.runs import check_parts
from cutsheets.drawings.scene import Scene
from cutsheets.sheets.facepage import faces_of
from cutsheets.sheets.furniture import (
    CAUTIONS,
    INDOORS,
    UNIT_WORD,
    Item,
    blank_line,
    dashed_words,
    finished_size,
    pencil_boxes,
    sides,
    stacked,
)
from cutsheets.sheets.page import LEADING, LEFT, MIXED, NOTE, RIGHT, RULE, SMALL, WIDTH, WORDS, Pen, Type
from cutsheets.sheets.partrows import LINE, draw_views, figure_items, part_items, sizes_of, view_pages
from cutsheets.sheets.scaled import draw_scaled, to_scale
from cutsheets.sheets.stickrows import BOXES, ROW, TABLE_HEAD, draw_table_head, stick_items
from cutsheets.sheets.values import TravellerLine
from cutsheets.solids import Box, Face, Point, View, Worked
from cutsheets.units import Unit, square_feet

SECTION_TEXT = 16.0  # its figures
SECTION = 148.0  # width of the drawing at the left
VIEWS = 294.0  # width of the views of a part
INSET = 5.0  # of what stands in a frame
GUTTER = 8.0
HEAD = 34.0  # below the fold: the sign and the profile's name
CLOSING = 13.4  # from line to line
BASE = 18.0  # of its words
SCALE, PROFILE = 268.0, 192.0  # where the scale of a section begins, and how wide the profile's name may be
CAPTION = 12.0  # a line below the pictures: what thick and dashed lines mean
FINISHED = 19.0  # height of its frame
LEAST_ROWS = 2  # that stand together where a page breaks
LEAST_PENCIL = 60.0  # pt wide: a shorter line is no use
LEAST_PICTURE = 96.0  # pt high: below it no notes are put
SUFFERS = 0.5  # of its size without notes below: no picture comes out smaller for them
Saying = Callable[[float], Iterable[Item]]  # the lines of a note or a sum in a column of that width


@dataclass(frozen=True, slots=True)
class CutPage:
    """What stands on a page: the views of the part, none for its section; beside the pictures; below them."""

    beside: tuple[Item, ...]
    below: tuple[Item, ...] = ()
    views: tuple[View, ...] = ()


def cut_pages(line: TravellerLine, unit: Unit, page_height: float, foot: float) -> list[CutPage]:
    """Return the half page by page; `foot` is what stands below the half.

    The views of a part may need more pages than its rows; the last page has the last of either.
    """
    room = page_height / 2 - HEAD - foot - _closing(line, unit).height - 3
    pages = _text_pages(line, unit, room)
    views = [view for view in line.worked.views if not view.numbers]
    if not views:
        return pages
    groups = view_pages(views, unit, (_left(line.worked), room - _caption(line) - 5))
    paired = zip_longest(pages, groups)
    return [replace(page or CutPage(()), views=group or groups[-1]) for page, group in paired]


def _text_pages(line: TravellerLine, unit: Unit, room: float) -> list[CutPage]:
    """Return rows, check lines and notes page by page."""
    width = _width(line.worked)
    rows, sayings = [*_rows(line, unit, width)], _sayings(line, unit)
    pages = _flowed([*rows, *_said(sayings, width)], room)
    for kept in range(len(sayings) - 1, -1, -1):
        fewer = _flowed([*rows, *_said(sayings[:kept], width)], room)
        below = _said(sayings[kept:], _left(line.worked))
        left = room - sum(item.height for item in below)
        if left < LEAST_PICTURE:
            break
        if len(fewer) < len(pages) and _still_large(line, unit, room, left):
            return [*map(CutPage, fewer[:-1]), CutPage(fewer[-1], tuple(below))]
    return [*map(CutPage, pages)]


def _still_large(line: TravellerLine, unit: Unit, room: float, left: float) -> bool:
    """Return whether the pictures come out to scale and not much smaller in what is left of the room, points high."""
    whole, less = (_sizes(line, unit, high - _caption(line) - 5) for high in (room, left))
    return all(small >= SUFFERS * large and small > 0 for small, large in zip(less, whole, strict=True))


def _sizes(line: TravellerLine, unit: Unit, high: float) -> list[float]:
    """Return how large each picture comes out in a room so high, those of a page together."""
    room = (_left(line.worked), high)
    if views := [view for view in line.worked.views if not view.numbers]:
        return [size for group in view_pages(views, unit, room) for size in sizes_of(group, unit, room)]
    drawing = to_scale(_section(line.worked, unit), room, SECTION_TEXT)
    return [drawing.points * bool(drawing.scale)]


def _section(worked: Worked, unit: Unit) -> Callable[[float], Scene]:
    return lambda text: profile_scene(worked, unit, look="cutter", text=text)


def draw_cut_half(pen: Pen, line: TravellerLine, unit: Unit, page: CutPage, *, foot: float) -> None:
    """Draw the half below the fold; without rows it says where the pieces are."""
    top = pen.height / 2 + 6
    pen.sign(LEFT, top, "CUT", width=84, height=25)
    pen.text(LEFT + 94, top + BASE, f"Cut foam to this, {UNIT_WORD[unit]}", Type("strong", 15.0))
    if line.profile:
        pen.text(RIGHT, top + 7, "profile", NOTE, "end")
        pen.label(RIGHT, top + 22, line.profile, Type("strong", 14.0), width=PROFILE, anchor="end")
    closing = _closing(line, unit)
    y, end = pen.height / 2 + HEAD, pen.height - foot - closing.height
    pen.box(LEFT, y, WIDTH, end - y, RULE)
    under = end - sum(item.height for item in page.below)
    room = (_left(line.worked), under - y - _caption(line) - 8)
    _pictures(pen, line, unit, page.views, at=(LEFT + INSET, y + 4), room=room)
    _draw_items(pen, page.below, LEFT + INSET, under - 2, room[0])
    right = RIGHT - INSET - _width(line.worked)
    if not page.beside:
        words = f"All foam pieces of line {line.worked.mark} stand on the pages before this one."
        pen.block(right, y + 20, words, Type("strong", 14.0), width=_width(line.worked))
    else:
        _draw_items(pen, page.beside, right, y + 2, _width(line.worked))
    closing.draw(pen, LEFT, end)


def _draw_items(pen: Pen, items: Sequence[Item], x: float, y: float, width: float) -> None:
    """Draw items one below the other, the names of the columns before each first row."""
    before = False
    for item in items:
        if item.row and not before:
            draw_table_head(pen, x, y, width)
            y += TABLE_HEAD
        item.draw(pen, x, y)
        y += item.height
        before = item.row


def _flowed(items: Sequence[Item], room: float) -> list[tuple[Item, ...]]:
    """Return items page by page, with room for the names of the columns where rows begin."""
    pages: list[list[Item]] = [[]]
    used = 0.0
    for item in items:
        head = TABLE_HEAD if item.row and not (pages[-1] and pages[-1][-1].row) else 0.0
        if pages[-1] and used + head + item.height > room:
            pages.append([])
            used, head = 0.0, TABLE_HEAD if item.row else 0.0
        pages[-1].append(item)
        used += head + item.height
    for before, after in pairwise(pages):
        _bring_along(before, after, room)
    return [tuple(page) for page in pages]


def _bring_along(before: list[Item], after: list[Item], room: float) -> None:
    """Move a row to the next page where a row would stand alone, if neither page suffers."""
    alone = after[0].row and not any(item.row for item in after[1:2])
    rows = before[-LEAST_ROWS - 1 :]
    fits = TABLE_HEAD + sum(item.height for item in (rows[-1], *after)) <= room
    if alone and fits and len(rows) > LEAST_ROWS and all(item.row for item in rows):
        after.insert(0, before.pop())


def _pictures(
    pen: Pen, line: TravellerLine, unit: Unit, views: Sequence[View], *, at: Point, room: Point
) -> None:  # fmt: skip
    """Draw the section or the views with the foam's sizes, what their edges mean, and above the scale of a section.

    Each view has its own scale with its name.
    """
    if views:
        draw_views(pen, views, unit, at=at, room=room)
    else:
        drawing = to_scale(_section(line.worked, unit), room, SECTION_TEXT)
        draw_scaled(pen, drawing, *at, room)
        scale = (drawing.words,)
        pen.text(LEFT + SCALE, pen.height / 2 + 6 + BASE, scale, SMALL.fitted(scale, WIDTH - SCALE - PROFILE - GUTTER))
    kind, lines = _legend(line)
    for number, words in enumerate(lines, 1):
        pen.text(at[0], at[1] + room[1] + number * CAPTION - 1, words, kind)


def _legend(line: TravellerLine) -> tuple[Type, list[str]]:
    """Return what thick and dashed lines of the pictures mean, in the lines that this takes below them."""
    worked = line.worked
    if not worked.views and isinstance(worked.foam, Box):
        return SMALL, [""]
    coat = "thick edge gets coat, thin stays bare" if worked.views else "thick edge: coat"
    words = ", ".join([coat] * (line.coat_mm > 0) + [dashed_words(worked)])
    return SMALL.fitted((words,), _left(worked)).paragraph(words, _left(worked), 3)


def _caption(line: TravellerLine) -> float:
    """Return the height of what stands below the pictures."""
    return CAPTION * len(_legend(line)[1])


def _left(worked: Worked) -> float:
    """Return the width of the pictures."""
    return VIEWS if worked.part else SECTION


def _width(worked: Worked) -> float:
    """Return the width of what stands beside the pictures."""
    return WIDTH - 2 * INSET - GUTTER - _left(worked)


def _rows(line: TravellerLine, unit: Unit, width: float) -> Iterator[Item]:
    """Yield strips and rows, and what the wire must know about a part."""
    worked = line.worked
    if worked.part:
        yield from part_items(worked, unit, width)
    elif isinstance(worked.foam, Box):
        size = (f"{worked.parts} of ", *times(*sides(worked.foam, unit)))
        yield Item(ROW + 2 * BOXES, partial(_box, size=size, qty=worked.parts, width=width))
    else:
        yield from stick_items(worked, unit, width)


def _sayings(line: TravellerLine, unit: Unit) -> list[Saying]:
    """Return the check lines, the saw's figures of a sprung moulding, and the notes, for a column of any width."""
    worked = line.worked
    faces = f"The sections on their faces stand on a page behind, of line {worked.mark}." if faces_of(worked) else ""
    notes = filter(None, (faces, line.note, *(note.text for note in worked.notes)))
    return [
        *(partial(_check_line, name, parts) for parts, name in _checks(worked, unit).items()),
        partial(figure_items, worked.sprung, unit),
        *(partial(_note, words) for words in notes),
    ]


def _said(sayings: Iterable[Saying], width: float) -> list[Item]:
    return [item for saying in sayings for item in saying(width)]


def _box(pen: Pen, x: float, y: float, *, size: Parts, qty: int, width: float) -> None:
    pen.text(x, y + 16, size, Type("figures", 20.0).fitted(size, width))
    pen.text(x, y + 30, "long × wide × high", SMALL)
    pencil_boxes(pen, x, y + 35, qty, width=width, size=11.0)


def _checks(worked: Worked, unit: Unit) -> dict[Parts, str]:
    """Return each different check line with the names of the runs it holds for."""
    names: dict[Parts, list[str]] = {}
    for run in worked.runs:
        names.setdefault(check_parts(run, unit), []).append(f"{run.name}, {run.qty} times" if run.qty > 1 else run.name)
    return {parts: ", ".join(dict.fromkeys(filter(None, runs))) for parts, runs in names.items()}


def _check_line(name: str, parts: Parts, width: float) -> list[Item]:
    lead = f"check {name}: " if name else "check: "
    apart = MIXED.width((lead,)) > width / 2  # a long name stands above its sum
    lines = MIXED.wrapped(parts if apart else (lead, *parts), width)
    first, *more = (Item(LINE, partial(_sum, parts=line, width=width)) for line in lines)
    return [stacked((*(_note(lead, width) if apart else ()), first)), *more]


def _sum(pen: Pen, x: float, y: float, *, parts: Parts, width: float) -> None:
    pen.text(x, y + 12.0, parts, MIXED.fitted(parts, width))


def _note(words: str, width: float) -> list[Item]:
    return [Item(WORDS.size * LEADING, partial(_words, words=line)) for line in WORDS.lines(words, width)]


def _words(pen: Pen, x: float, y: float, *, words: str) -> None:
    pen.text(x, y + WORDS.size, words, WORDS)


def _closing(line: TravellerLine, unit: Unit) -> Item:
    """Return what closes the half: coat, finished size for checking in its own frame, room for pencil, cautions."""
    cautions = CAUTIONS + (f" {INDOORS}" if line.indoors else "")
    lines = NOTE.lines(cautions, WIDTH)
    lead, rest = _coat(line, unit)
    indent = MIXED.width(lead) + 5
    coat, coat_lines = WORDS.paragraph(rest, WIDTH - indent, 3)
    framed = 3 + len(coat_lines) * CLOSING + 3
    height = framed + FINISHED + len(lines) * NOTE.size * LEADING + 3

    def draw(pen: Pen, x: float, y: float) -> None:
        pen.text(x, y + 14, lead, MIXED)
        pen.fit(WORDS, rest, WIDTH - indent, 3)
        for number, words in enumerate(coat_lines):
            pen.text(x + indent, y + 14 + number * CLOSING, words, coat)
        parts = _finished(line.worked, unit)
        kind = MIXED.fitted(parts, WIDTH - 14)
        wide = kind.width(parts) + 14
        pen.dashed_box(x, y + framed, wide, FINISHED)
        pen.text(x + 7, y + framed + 14, parts, kind)
        if (left := WIDTH - wide - 10) > LEAST_PENCIL:
            blank_line(pen, x + wide + 10, y + framed + 13, "notes", left)
        pen.block(x, y + framed + FINISHED + 10, cautions, NOTE, width=WIDTH)

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
    if size == foam or (isinstance(size, Face) and isinstance(foam, Face) and size.outline == foam.outline):
        return ("Finished as cut: the foam size is the finished size.",)
    return ("Finished ", *finished_size(worked, unit), ", for checking only. Never cut to this.")
