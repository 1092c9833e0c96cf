"""The coat sheet of an order: which faces get how much coat and mesh, and from when a piece may be packed.

Sizes to measure are those of the foam, which the coat bench has in its hands; the finished size is one sentence.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from functools import partial

from cutsheets.days import say_moment
from cutsheets.drawings.lettering import Parts, length_parts, times
from cutsheets.drawings.profile import profile_scene
from cutsheets.drawings.scene import fitted
from cutsheets.errors import CutsheetError
from cutsheets.sheets.furniture import Item, blank_line, dashed_words, finished_size, pencil_boxes
from cutsheets.sheets.orderpage import OrderHead, Part, Sheet, draw_order, marks_rows, table, words
from cutsheets.sheets.packing import LAPS, Coat, PackedLine, Pieces
from cutsheets.sheets.page import BOLD, LEADING, SMALL, WIDTH, WORDS, PageSize, Pen, Type
from cutsheets.sheets.partrows import draw_views
from cutsheets.solids import Worked
from cutsheets.units import Unit, square_feet

SHEET = Sheet(
    kind="coat sheet",
    sign="COAT",
    lead="Coat these faces; leave the others bare",
    by_hand=("coated by", "batch of the mix"),
    cautions=(
        "Nothing with solvents: they eat the foam. Wet cement burns skin and eyes: gloves and goggles on. Mixing and "
        "sanding dust holds silica: keep it down, keep within 29 CFR 1910.1053 and local rules. Follow the data sheet "
        "of the maker. A cold or damp shop needs longer than the hours here: pack only what is hard at its edges."
    ),
)
PICTURE = 152.0  # width of a section
VIEWS = 200.0
HIGH = 140.0
COLUMNS = {
    "piece": 0.0, "count": 92.0, "girth × mean length": 126.0, "each": 262.0, "mesh each": 322.0, "coated": 392.0,
}  # fmt: skip
ROW = 20.0
MOST_LINES = 6  # of each paragraph beside the picture
BOXES, BOXES_HIGH = 5, 15.0  # that fit behind a row; more stand below it
FIGURE = Type("figures", 14.0, share=0.65)


@dataclass(frozen=True, slots=True)
class CoatSheet:
    """An order to be coated; `coated`: when that began, with its time zone, None: not yet."""

    head: OrderHead
    lines: tuple[PackedLine, ...]
    coated: datetime | None = None


def coat_sheet_pdf(sheet: CoatSheet, page: PageSize = "letter") -> bytes:
    """Return the coat sheet as a PDF: the same bytes for the same sheet. Raises CutsheetError `no-coat`."""
    pen = sheet.head.pen(page, "Coat sheet")
    draw_coat_sheet(pen, sheet)
    return pen.finish()


def draw_coat_sheet(pen: Pen, sheet: CoatSheet) -> None:
    """Draw the pages of a coat sheet; raises CutsheetError `no-coat` where no line has one."""
    draw_order(pen, sheet.head, SHEET, [_part(line, sheet) for line in with_coat(sheet.lines)])


def with_coat(lines: tuple[PackedLine, ...]) -> tuple[PackedLine, ...]:
    """Return the lines; raises CutsheetError `no-coat` where none of them has a coat."""
    if not any(line.coat for line in lines):
        raise CutsheetError("no-coat", "No line of this order gets a coat; pack it as it is cut.")
    return lines


def ready_at(coated: datetime, hours: int) -> datetime:
    """Return when a coat is cured, so many hours later by the clock of the same place.

    >>> from zoneinfo import ZoneInfo
    >>> str(ready_at(datetime(2026, 10, 31, 14, 0, tzinfo=ZoneInfo("America/New_York")), 24))
    '2026-11-01 13:00:00-05:00'
    """
    return (coated.astimezone(UTC) + timedelta(hours=hours)).astimezone(coated.tzinfo)


def say_area(mm2: float, unit: Unit) -> str:
    """Return an area as a coat bench writes it.

    >>> say_area(9_290_304, "in"), say_area(9_290_304, "mm")
    ('100.0 ft²', '9.29 m²')
    """
    return f"{square_feet(mm2):,.1f} ft²" if unit == "in" else f"{mm2 / 1e6:,.2f} m²"


def _part(line: PackedLine, sheet: CoatSheet) -> Part:
    unit, coat = sheet.head.unit, line.coat
    name = f"Line {line.worked.mark}: {line.what}{f', {line.profile}' if line.profile else ''}"
    if coat is None:
        return Part(name, tuple(words("No coat: pack it as it is cut.", BOLD)))
    facts = tuple(_facts(line, coat, sheet))
    high = max(HIGH, sum(item.height for item in facts) + 6)
    rows = (item for like in line.pieces for item in _rows(line, coat, like, unit))
    return Part(name, tuple(rows), Item(high, _intro(line.worked, unit, facts, high)), table(COLUMNS))


def _intro(worked: Worked, unit: Unit, facts: tuple[Item, ...], high: float) -> Callable[[Pen, float, float], None]:
    """Return what draws the section or the first view at the left, and what is to be known beside them."""
    wide = _picture(worked)
    legend = f"thick edge gets coat; {dashed_words(worked)}"

    def draw(pen: Pen, x: float, y: float) -> None:
        if views := [view for view in worked.views if not view.numbers]:
            draw_views(pen, views[:1], unit, at=(x, y + 4), room=(wide, high - 20))
        else:
            build = partial(profile_scene, worked, unit, look="cutter")
            pen.scene(fitted(lambda text: build(text=text), wide, high - 20, 16.0), x, y + 4, wide, high - 20)
        pen.text(x, y + high - 4, legend, SMALL.fitted((legend,), wide + 10))
        for item in facts:
            item.draw(pen, x + wide + 14, y)
            y += item.height

    return draw


def _picture(worked: Worked) -> float:
    return VIEWS if worked.views else PICTURE


def _facts(line: PackedLine, coat: Coat, sheet: CoatSheet) -> Iterator[Item]:
    """Yield coat, faces, amounts and times, a line each."""
    unit, worked = sheet.head.unit, line.worked
    width = WIDTH - _picture(worked) - 14
    inch = " in" if unit == "in" else " mm"
    thick: Parts = ("Coat ", *length_parts(coat.thick, unit), f"{inch}: {coat.name}" if coat.name else inch)
    if Type("strong", 11.0).width(thick) <= width:
        yield _mixed(thick, width, 15.0)
    else:
        yield _mixed((*thick[:-1], inch), width, 15.0)
        yield _told(coat.name, BOLD, width)
    yield from (_told(text, WORDS, width) for text in (coat.faces, _bare_ends(worked)) if text)
    if girth := line.girth:
        yield _mixed(("Coated girth, finished: ", *length_parts(girth, unit), inch), width)
    yield _mixed((f"Coat in all: {say_area(worked.quantities.coat_area, unit)}",), width)
    yield _mixed(_mesh(line, coat, unit), width)
    yield from _times(coat, sheet.coated, width)
    yield _mixed(_finished(worked, unit), width, 11.0)


def _told(text: str, kind: Type, width: float) -> Item:
    """Return a paragraph of a few lines; of a longer one the whole stands behind the sheet."""
    fitted, lines = kind.paragraph(text, width, MOST_LINES)
    draw = partial(_block, text=text, kind=kind, width=width)
    return Item(len(lines) * fitted.size * LEADING, draw)


def _block(pen: Pen, x: float, y: float, *, text: str, kind: Type, width: float) -> None:
    size = kind.paragraph(text, width, MOST_LINES)[0].size
    pen.block(x, y + size, text, kind, width=width, most=MOST_LINES)


def _mesh(line: PackedLine, coat: Coat, unit: Unit) -> Parts:
    """Return how much mesh the line takes, and how far it laps."""
    if not coat.lap:
        return ("No mesh.",)
    mesh = f"Mesh in all: {say_area(line.mesh, unit)}, "
    if not all(like.long for like in line.pieces):
        return (f"{mesh}laps not counted",)
    lap = length_parts(coat.lap, unit)
    return (f"{mesh}{LAPS} laps of ", *lap, " in" if unit == "in" else " mm", " on a piece")


def _times(coat: Coat, coated: datetime | None, width: float) -> Iterator[Item]:
    """Yield how long the coat cures, and when it is ready: worked out, or for the pencil."""
    if not coat.hours:
        yield from words("Cure as the maker's data sheet says.", BOLD, width=width)
    elif coated:
        yield from words(f"Coated {say_moment(coated)}, cures {coat.hours} h.", BOLD, width=width)
        yield from words(f"Ready {say_moment(ready_at(coated, coat.hours))}", Type("strong", 15.0), width=width)
        return
    hours = f"+ {coat.hours} h = " if coat.hours else ""

    def draw(pen: Pen, x: float, y: float) -> None:
        blank_line(pen, x, y + 16, "coated at", 0.42 * width)
        done = pen.text(x + 0.44 * width, y + 16, hours, BOLD)
        blank_line(pen, x + 0.44 * width + done, y + 16, "ready at", 0.56 * width - done)

    yield Item(24.0, draw)


def _rows(line: PackedLine, coat: Coat, like: Pieces, unit: Unit) -> Iterator[Item]:
    """Yield the row of like pieces; their boxes stand below where they do not fit behind it."""
    girth = line.girth
    inside = like.qty <= BOXES

    def draw(pen: Pen, x: float, y: float) -> None:
        base = y + 14.5
        pen.text(x + COLUMNS["count"], base, (str(like.qty),), FIGURE.fitted((str(like.qty),), 32))
        size = _girth_length(like, girth, unit)
        pen.text(x + COLUMNS["girth × mean length"], base, size, FIGURE.fitted(size, 130, least=12.9))
        pen.text(x + COLUMNS["each"], base, say_area(like.coat, unit), WORDS.fitted((say_area(like.coat, unit),), 56))
        mesh = say_area(like.mesh(coat.lap), unit) if coat.lap else "none"
        pen.text(x + COLUMNS["mesh each"], base, mesh, WORDS.fitted((mesh,), 64))
        left = COLUMNS["coated"] if inside else COLUMNS["count"]
        pencil_boxes(pen, x + left, y + (4 if inside else ROW), like.qty, width=WIDTH - left, size=11.0)

    yield from marks_rows(like.names, COLUMNS["count"] - 6, ROW if inside else ROW + BOXES_HIGH, draw)


def _girth_length(like: Pieces, girth: float, unit: Unit) -> Parts:
    """Return girth × the mean length of the coat; of a part without a section only that it is coated all over."""
    if not girth:
        return ("as pictured",)
    size = times(length_parts(girth, unit), length_parts((like.coat - like.caps) / girth, unit))
    return (*size, " + end") if like.caps else size


def _bare_ends(worked: Worked) -> str:
    """Return what happens at the ends of sticks; other parts say it with their faces."""
    if worked.part:
        return ""
    capped = [stick.mark for stick in worked.sticks if "cap" in (stick.left.kind, stick.right.kind)]
    return f"Coat the capped ends of {', '.join(capped)}; all other ends bare." if capped else "All ends bare."


def _finished(worked: Worked, unit: Unit) -> Parts:
    return ("Finished ", *finished_size(worked, unit), ", for checking only.")


def _mixed(parts: Parts, width: float, size: float = 13.0) -> Item:
    """Return a line of words and figures, their fractions at 9 pt or more."""
    kind = Type("strong", size, share=max(0.7, 9.1 / size)).fitted(parts, width, least=11.0)
    return Item(kind.size * LEADING + 1.5, partial(_set, parts=parts, kind=kind))


def _set(pen: Pen, x: float, y: float, *, parts: Parts, kind: Type) -> None:
    pen.text(x, y + kind.size, parts, kind)
