"""The cut sheet of a line: what the wire needs, and no size but the foam's.

The section or the views come out as large as a page lets them, to a stated scale with a bar to measure by; then the
kerf and the wire's settings, the sizes that the first piece must keep, the pieces with a box for each, and the faces
where many sections come out of one blank. The code names the line, so that a scan opens it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import partial

from reportlab.lib.units import mm

from cutsheets.drawings.figures import for_the_wire
from cutsheets.drawings.part import face_caption, view_scene
from cutsheets.drawings.profile import profile_scene
from cutsheets.drawings.scene import Scene
from cutsheets.errors import CutsheetError
from cutsheets.sheets.facepage import blanks_of_face, faces_of
from cutsheets.sheets.firstpiece import Check, first_checks
from cutsheets.sheets.furniture import (
    CAUTIONS,
    UNIT_WORD,
    Item,
    blank_line,
    dashed_words,
    pencil_boxes,
    stacked,
    stripe,
)
from cutsheets.sheets.orderpage import NOTHING, OrderHead, Part, Sheet, draw_order, part_name, room_of, table, words
from cutsheets.sheets.page import BOLD, MIXED, NOTE, RULE, SMALL, WIDTH, PageSize, Pen
from cutsheets.sheets.partrows import figure_items, part_rows, station_items
from cutsheets.sheets.scaled import draw_scaled, to_scale
from cutsheets.sheets.stickrows import TABLE_HEAD, draw_table_head, stick_items
from cutsheets.sheets.values import TravellerLine
from cutsheets.solids import Face, View, Worked
from cutsheets.units import Unit, say

GOOD_PICTURE = 330.0  # so high that all else may stand on the same page
PART = 35.0  # the name of a part and what is clear below it
FACE_HIGH = 300.0
PER_PAGE = 2  # views, where there are several
FEW_STRIPS = 6  # that stand with the pieces; more go over pages of their own
TEXT = 18.0  # figures of the picture
STRIPE, BAR = 32.0, 30.0
BARS: dict[Unit, tuple[float, str]] = {"in": (101.6, "4 in"), "mm": (100.0, "100 mm")}
ON_PAPER = 100 * mm
ROW = 20.0
COLUMN_GAP = 20.0
HALF = (WIDTH - COLUMN_GAP) / 2
CHECK = {"size": 0.0, "foam": 150.0, "least": 226.0, "most": 302.0, "measured": 378.0}


@dataclass(frozen=True, slots=True)
class Wire:
    """How a grade is cut: on which machine, feed in mm a minute, minutes for a way in or out, what was last used."""

    machine: str
    feed: float
    entry: float
    last_used: str = ""


@dataclass(frozen=True, slots=True)
class CutSheet:
    """A line at the wire. `wire`: the shop's feed for its grade; the tolerances of a first piece are mm, either way."""

    head: OrderHead
    line: TravellerLine
    wire: Wire
    length_tolerance: float
    section_tolerance: float


def cut_sheets_pdf(sheets: Sequence[CutSheet], page: PageSize = "letter") -> bytes:
    """Return cut sheets as one PDF: the same bytes for the same sheets. Raises CutsheetError `sheet-empty`."""
    marks = ", ".join(sheet.line.worked.mark for sheet in sheets)
    pen = sheets[0].head.pen(page, f"Cut sheet {marks}")
    for number, sheet in enumerate(sheets):
        if number:
            pen.next_page()
        draw_cut_sheet(pen, sheet)
    return pen.finish()


def draw_cut_sheet(pen: Pen, sheet: CutSheet) -> None:
    """Draw the pages of a cut sheet, the first of them on this one. Raises CutsheetError `sheet-empty`."""
    line = sheet.line
    if not line.worked.blanks:
        raise CutsheetError("sheet-empty", "A cut sheet needs a line with pieces to cut; complete the line first.")
    frame = Sheet(
        kind=f"cut sheet {line.worked.mark}", sign="CUT", lead=f"Cut foam to this, {UNIT_WORD[sheet.head.unit]}",
        by_hand=("cut by", "first piece checked by"), cautions=CAUTIONS,
    )  # fmt: skip
    head = replace(sheet.head, line=line.number)
    below, pieces = (*_settings(sheet), _first_piece(sheet)), tuple(_pieces(sheet))
    top, low = room_of(pen, head, frame)
    page = low - top - part_name(_name(line)).height - STRIPE - ROW  # the bar on the paper
    room = page - _height((*below, *pieces))
    pictures = _pictures(sheet, room if room >= GOOD_PICTURE else page)
    draw_order(pen, head, frame, (pictures, *below, *pieces, *_faces(sheet)))


def _height(parts: Iterable[Part]) -> float:
    return sum(PART + part.intro.height + part.columns.height + sum(row.height for row in part.rows) for part in parts)


# Pictures -------------------------------------------------------------------------------------------------------------


def _pictures(sheet: CutSheet, room: float) -> Part:
    """Return the section or the views, each with its scale and its bar, no higher than the room, points."""
    line, unit = sheet.line, sheet.head.unit
    views = [view for view in line.worked.views if not view.numbers]
    section = isinstance(line.worked.foam, Face)
    named: list[tuple[str, Callable[[float], Scene]]] = [
        (view.name, partial(_view, view=view, unit=unit)) for view in views
    ] or [("section" if section else "seen from a corner", partial(_section, worked=line.worked, unit=unit))]
    high = room / min(len(named), PER_PAGE)
    dashed = "" if not (section or views) else f", {dashed_words(line.worked)}"
    rows = [*(_picture(f"{title}{dashed}", build, unit, high) for title, build in named), Item(ROW, _true_bar)]
    return Part(_name(line), tuple(rows), intro=Item(STRIPE, partial(_stripe, line=line)))


def _name(line: TravellerLine) -> str:
    return ", ".join(filter(None, (f"Line {line.worked.mark}: {line.what}", line.profile)))


def _section(text: float, *, worked: Worked, unit: Unit) -> Scene:
    return profile_scene(worked, unit, look="cutter", text=text)


def _view(text: float, *, view: View, unit: Unit) -> Scene:
    return view_scene(view, unit, look="cutter", text=text)


def _stripe(pen: Pen, x: float, y: float, *, line: TravellerLine) -> None:
    count = f"{line.pieces} piece{'s' if line.pieces != 1 else ''}"
    pen.text(x, y + 20, count, MIXED)
    if line.coat_mm:
        pen.text(x + 100, y + 20, "thick edge gets coat, thin stays bare", SMALL)
    stripe(pen, x + 276, y + 2, line.worked.grade, line.pattern)


def _picture(name: str, build: Callable[[float], Scene], unit: Unit, high: float) -> Item:
    """Return a picture at the largest scale that fits; a lower one takes less room. Below it its bar."""
    drawing = to_scale(build, (WIDTH, high - BAR), TEXT)
    tall = drawing.size[1]
    long, word = BARS[unit]

    def draw(pen: Pen, x: float, y: float) -> None:
        draw_scaled(pen, drawing, x, y + 2, (WIDTH, tall))
        end = x + long * drawing.points
        _bar(pen, x, end, y + tall + 12)
        said = f"{word} of the part, {drawing.words}. {name}"
        pen.block(end + 6, y + tall + 15, said, SMALL, width=x + WIDTH - end - 6, most=2)

    return Item(tall + BAR, draw)


def _bar(pen: Pen, start: float, end: float, y: float) -> None:
    """Draw a bar to measure by, from outer edge to outer edge."""
    pen.line(start, y, end, y, RULE)
    for x in (start + RULE / 2, end - RULE / 2):
        pen.line(x, y - 4, x, y + 4, RULE)


def _true_bar(pen: Pen, x: float, y: float) -> None:
    """Draw a bar that is 100 mm long on the paper itself, so that a print out of scale is seen."""
    _bar(pen, x, x + ON_PAPER, y + 12)
    said = "100 mm on this paper; if not, the print was scaled"
    pen.text(x + ON_PAPER + 6, y + 15, said, NOTE)


# The wire -------------------------------------------------------------------------------------------------------------


def _settings(sheet: CutSheet) -> Iterator[Part]:
    """Yield kerf, hands, the shop's feed, lines for what was used last, and notes; of what is only sawn the notes."""
    worked, unit, wire = sheet.line.worked, sheet.head.unit, sheet.wire
    notes = tuple(row for note in (sheet.line.note, *(note.text for note in worked.notes)) for row in words(note))
    if not worked.quantities.wire_length:
        yield from [Part("Notes", notes)] if notes else []
        return
    rows: list[Item] = []
    rows += figure_items(worked.wire, unit, WIDTH)
    feed = f"Feed {say(wire.feed, unit, denominator=2)} {unit} a minute in {worked.grade} on {wire.machine}"
    rows += words(f"{feed}; {wire.entry:g} min for each way in or out.", BOLD)
    rows += words(_hands(worked), BOLD)
    if wire.last_used:
        rows += words(f"Last used: {wire.last_used}.", BOLD)
    rows.append(Item(ROW, partial(_lines_to_write, names=("heat used", "feed used", "by, on"))))
    yield Part("At the wire", notes, intro=stacked(rows))


def _in_two(items: Sequence[Item]) -> Iterator[Item]:
    """Yield items two beside each other."""
    for first in range(0, len(items), 2):
        pair = items[first : first + 2]
        yield Item(max(item.height for item in pair), partial(_beside, items=pair))


def _beside(pen: Pen, x: float, y: float, *, items: Sequence[Item]) -> None:
    for place, item in enumerate(items):
        item.draw(pen, x + place * (HALF + COLUMN_GAP), y)


def _hands(worked: Worked) -> str:
    """Return how many left and right pieces there are, or how the pictures of a run lie."""
    count = {hand: sum(stick.qty for stick in worked.sticks if hand in stick.run.split()) for hand in ("left", "right")}
    if worked.part and all(count.values()):
        return f"Hands: {count['left']} LEFT, {count['right']} RIGHT, mirror pictures of each other."
    if isinstance(worked.foam, Face) and worked.runs:
        return "Hands: wall away from you, face towards you; right on the paper is right on the bench."
    return ""


def _lines_to_write(pen: Pen, x: float, y: float, *, names: tuple[str, ...]) -> None:
    for place, name in enumerate(names):
        blank_line(pen, x + place * WIDTH / len(names), y + 14, name, WIDTH / len(names) - 12)


# The first piece ------------------------------------------------------------------------------------------------------


def _first_piece(sheet: CutSheet) -> Part:
    """Return the foam sizes that the first piece must keep, a line for what was measured beside each."""
    worked, unit = sheet.line.worked, sheet.head.unit
    stick = worked.sticks[0] if worked.sticks else None
    checks = first_checks(worked, stick, length=sheet.length_tolerance, section=sheet.section_tolerance)
    rows = [Item(ROW, partial(_check, check=check, unit=unit), row=True) for check in checks]
    return Part("First piece, foam: measure before you go on", tuple(rows), columns=table(CHECK))


def _check(pen: Pen, x: float, y: float, *, check: Check, unit: Unit) -> None:
    """Draw a size with the least and the most it may be."""
    width = CHECK["foam"] - 6
    kind, lines = pen.fit(BOLD.fitted((check.name,), width), check.name, width, 2)
    for number, line in enumerate(lines):
        pen.text(x, y + (14 if len(lines) == 1 else 9 + number * kind.size), line, kind)
    for column, parts in zip(("foam", "least", "most"), check.shown(unit), strict=True):
        pen.text(x + CHECK[column], y + 14, parts, MIXED)
    pen.box(x + CHECK["measured"], y + 2, WIDTH - CHECK["measured"], ROW - 4)


# Pieces and faces -----------------------------------------------------------------------------------------------------


def _pieces(sheet: CutSheet) -> Iterator[Part]:
    """Yield the pieces with a box for each, and what else the wire must know."""
    worked, unit = sheet.line.worked, sheet.head.unit
    name, above, head = "Pieces", NOTHING, NOTHING
    if worked.part:
        rows = [*part_rows(worked, unit, WIDTH)]
    elif worked.sticks:
        items = [*stick_items(worked, unit, WIDTH)]
        strips = [item for item in items if not item.row]
        if len(strips) > FEW_STRIPS:
            yield Part("Runs from above", tuple(strips))
        elif strips:
            name, above = "Runs from above, and pieces", stacked(strips)
        rows = [item for item in items if item.row]
        head = Item(TABLE_HEAD, lambda pen, x, y: draw_table_head(pen, x, y, WIDTH))
    else:
        rows = [Item(ROW, lambda pen, x, y: pencil_boxes(pen, x, y + 2, worked.parts, width=WIDTH))]
    yield Part(name, tuple(rows), above, head)
    figures = [
        *station_items(worked.views, unit, HALF),
        *figure_items((*for_the_wire(worked.part), *worked.sprung), unit, HALF),
    ]
    if figures:
        yield Part("Figures", tuple(_in_two(figures)))


def _faces(sheet: CutSheet) -> Iterator[Part]:
    """Yield each face of a blank that gives many pieces, its sections numbered as they come free."""
    worked, unit = sheet.line.worked, sheet.head.unit
    for view in faces_of(worked):
        qty = blanks_of_face(worked, view)
        boxes = Item(ROW, partial(_face_boxes, qty=qty))
        caption = f"{qty} blank{'s' if qty != 1 else ''}. {face_caption(view, unit)}"
        picture = _picture("face", partial(_face, view=view, unit=unit), unit, FACE_HIGH)
        yield Part(caption, (picture,), intro=boxes)


def _face(text: float, *, view: View, unit: Unit) -> Scene:
    return view_scene(view, unit, text=text)


def _face_boxes(pen: Pen, x: float, y: float, *, qty: int) -> None:
    pencil_boxes(pen, x, y + 2, qty, width=WIDTH)
