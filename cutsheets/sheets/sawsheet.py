"""The saw sheet: one opened block or remnant a page, more where its cuts need them.

Above, the block, its slabs and what is to be put back; below, the numbered cuts in sawing order, each with the action,
the setting, where to measure from, and what it makes; then the blanks by order. A number in a circle is always a cut.
Remnants are printed rounded down: a tag never promises foam that is not there.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import partial

from cutsheets.codes import make_plan_code
from cutsheets.days import say_day, say_moment
from cutsheets.drawings.lettering import CAP, Parts, length_parts, times
from cutsheets.drawings.plan import SlabDrawing, block_scene, slab_drawings
from cutsheets.drawings.scene import fitted
from cutsheets.errors import CutsheetError
from cutsheets.sheets.barcodes import MODULE, QUIET, bars_width
from cutsheets.sheets.furniture import (
    CAUTIONS,
    UNIT_WORD,
    Item,
    barcode_at_foot,
    barcode_at_right,
    blank_line,
    pencil_boxes,
    print_words,
    sides,
    stripe,
    title_block,
)
from cutsheets.sheets.page import (
    BOLD,
    BOLD_MARKS,
    FRAME,
    LEADING,
    LEFT,
    MIXED,
    NO_BREAK,
    NOTE,
    RIGHT,
    SMALL,
    WIDTH,
    PageSize,
    Pen,
    Type,
)
from cutsheets.sheets.values import SawBlanks, SawPiece, SawSheet
from cutsheets.solids import Box, Placed, SawStep
from cutsheets.units import Unit

__all__ = ["SawBlanks", "SawPiece", "SawSheet", "draw_saw_sheet", "saw_sheet_pdf"]

TOP = 136.0  # below the header
FOOT = 140.0  # from the lower edge: yield, cautions, lines for the pencil, barcode, title block
TITLE_LEFT = LEFT + 288
LEFT_WIDTH, DRAWINGS = 184.0, LEFT + 200
COLUMN = (WIDTH - 16) / 2
BLOCK_HIGH = 88.0
TITLE, CELLS = 17.0, {1: 141.0, 2: 80.0}  # of a slab: its words, and its drawing in one or two columns
PER_PAGE = {1: 3, 2: 6}  # slabs on a page
BUSY = 9  # numbers on a slab: more of them need its drawing large
CUT, BLANKS, PUT_BACK = 26.0, 30.0, 18.4  # heights of rows
ORDER = BOLD.size * LEADING  # each further line of an order and the marks of its blanks
CUT_WORDS = 119.0  # room for the words of a cut
TRIM = "trim"
UNNAMED = {"the rest", "nothing"}  # what stays in hand and needs no word
GOES = "blanks to the wire, tagged remnants to the rack, trim to the bin"
LABELS = {1: 13.0, 2: 11.5}  # pt, on slabs in one or two columns; never less than 9 (LEAST_LABEL)
STRONG = Type("strong", 9.5)
TAG = Type("strong", 12.0)
KINDS = {"blank": "blanks", "remnant": "remnants", "waste": "trim"}
ACTIONS = {"slab": "Slab", "rip": "Rip", "cross": "Cross"}


@dataclass(frozen=True, slots=True)
class _Page:
    piece: SawPiece
    slabs: tuple[SlabDrawing, ...]
    left: tuple[Item, ...]
    columns: tuple[tuple[Item, ...], tuple[Item, ...]]
    flow_top: float


def saw_sheet_pdf(sheet: SawSheet, page: PageSize = "letter") -> bytes:
    """Return the saw sheet as a PDF: the same bytes for the same sheet. Raises CutsheetError `sheet-empty`."""
    pen = Pen(page, title=f"Saw sheet {sheet.plan}", author=sheet.shop, subject=f"{len(sheet.pieces)} pieces to saw")
    draw_saw_sheet(pen, sheet)
    return pen.finish()


def draw_saw_sheet(pen: Pen, sheet: SawSheet) -> None:
    """Draw the pages of a saw sheet, the first of them on this one. Raises CutsheetError `sheet-empty`."""
    if not sheet.pieces:
        raise CutsheetError("sheet-empty", "A saw sheet needs a block or a remnant to cut; make the plan first.")
    pages = [each for piece in sheet.pieces for each in _pages(piece, sheet.unit, pen.height)]
    pen.bookmark(f"Saw sheet {sheet.plan}")
    for number, each in enumerate(pages, 1):
        if number > 1:
            pen.next_page()
        if number == 1 or each.piece is not pages[number - 2].piece:
            pen.bookmark(each.piece.opened.source, 1)
        code = make_plan_code(sheet.plan, number)
        _header(pen, sheet, each.piece, code, f"page {number} of {len(pages)}")
        _drawings(pen, each)
        for column, items in enumerate(each.columns):
            y = each.flow_top
            for item in items:
                item.draw(pen, LEFT + column * (COLUMN + 16), y)
                y += item.height
        _foot(pen, sheet, each.piece, code, f"{number} of {len(pages)}")


def _pages(piece: SawPiece, unit: Unit, page_height: float) -> Iterator[_Page]:
    """Yield the pages of one piece: slabs first, cuts as soon as there is room, then blanks and what is left over."""
    slabs = slab_drawings(piece.opened, unit, labels=dict(piece.labels))
    left = [*_left_items(piece, unit), *_blanks(piece, unit)]
    flow = list(_cuts(piece.opened.steps, unit))
    end = page_height - FOOT
    while slabs or left or flow:
        here, slabs = _next_slabs(slabs)
        side, left = _fill(left, _room_beside(here, left, flow, end - TOP))
        below = TOP + max(_grid_height(here), _height(side)) + 6
        first, flow = _fill(flow, end - below)
        second, flow = _fill(flow, end - below)
        yield _Page(piece, here, tuple(side), _evened(first, second), below)


def _fill(items: list[Item], room: float) -> tuple[list[Item], list[Item]]:
    """Return the items that fit into the room, and the rest."""
    used, count = 0.0, 0
    while count < len(items) and used + items[count].height <= room:
        used += items[count].height
        count += 1
    return items[:count], items[count:]


def _evened(first: list[Item], second: list[Item]) -> tuple[tuple[Item, ...], tuple[Item, ...]]:
    """Return two columns of about the same height, in reading order."""
    items = [*first, *second]
    half = _height(items) / 2
    used, count = 0.0, 0
    while count < len(items) and used + items[count].height / 2 <= half:
        used += items[count].height
        count += 1
    return tuple(items[:count]), tuple(items[count:])


def _left_items(piece: SawPiece, unit: Unit) -> Iterator[Item]:
    """Yield the size of the block, what is known of it, its picture, and the remnants to put back."""
    opened = piece.opened
    yield Item(36.0, partial(_size, size=_box(opened.size), unit=unit))
    for words in (piece.about, piece.place):
        for line in SMALL.lines(words, LEFT_WIDTH) if words else ():
            yield Item(SMALL.size * LEADING, partial(_words, words=line))
    yield Item(BLOCK_HIGH + 8, partial(_block, piece=piece))
    kept = [leaf for leaf in opened.placed if leaf.kind == "remnant"]
    for leaf in kept:
        row = Item(PUT_BACK * (1 if _fits_one_line(leaf, unit) else 2), partial(_put_back, leaf=leaf, unit=unit))
        yield row if leaf is not kept[0] else _headed("put back, with a tag", row)


def _size(pen: Pen, x: float, y: float, *, size: Box, unit: Unit) -> None:
    pen.text(x, y + 7, "as measured, long × wide × high", NOTE)
    parts = times(*sides(size, unit, "down"))
    pen.text(x, y + 30, parts, Type("figures", 21.0).fitted(parts, LEFT_WIDTH))


def _words(pen: Pen, x: float, y: float, *, words: str) -> None:
    pen.text(x, y + SMALL.size, words, SMALL)


def _headed(words: str, row: Item) -> Item:
    """Return a row with a heading above that never stands without it."""

    def draw(pen: Pen, x: float, y: float) -> None:
        pen.line(x, y + 1, x + LEFT_WIDTH, y + 1, FRAME)
        pen.text(x, y + 13, words, BOLD)
        row.draw(pen, x, y + 16)

    return Item(row.height + 16, draw)


def _block(pen: Pen, x: float, y: float, *, piece: SawPiece) -> None:
    scene = fitted(lambda text: block_scene(piece.opened, text=text), LEFT_WIDTH, BLOCK_HIGH, 10.5)
    pen.scene(scene, x, y + 2, LEFT_WIDTH, BLOCK_HIGH)


def _put_back(pen: Pen, x: float, y: float, *, leaf: Placed, unit: Unit) -> None:
    pen.box(x, y + 2.5, 13, 13)
    done = pen.text(x + 19, y + 14, leaf.name, TAG)
    size = _size_kept(leaf, unit)
    if _fits_one_line(leaf, unit):
        pen.text(x + 25 + done, y + 14, size, MIXED)
    else:
        y += PUT_BACK
        pen.text(x + 19, y + 14, size, MIXED.fitted(size, LEFT_WIDTH - 19))
    pen.line(x, y + PUT_BACK - 0.5, x + LEFT_WIDTH, y + PUT_BACK - 0.5)


def _size_kept(leaf: Placed, unit: Unit) -> Parts:
    """Return the size of a remnant as the station asks for it: rounded down, but not for what no tape shows."""
    return times(*sides(_box(leaf.size), unit, "down"))


def _fits_one_line(leaf: Placed, unit: Unit) -> bool:
    size = _size_kept(leaf, unit)
    return 25 + TAG.width((leaf.name,)) + MIXED.width(size) <= LEFT_WIDTH


def _cuts(steps: Sequence[SawStep], unit: Unit) -> Iterator[Item]:
    """Yield a row for each cut; its words take as many lines as they need."""
    for step in steps:
        face, _, held = step.datum.partition(", ")
        lines = [(part, NOTE) for part in NOTE.lines(face, CUT_WORDS)]
        lines += [(part, STRONG) for part in _made(held, step)]
        high = max(CUT, len(lines) * 11 + 4)
        yield Item(high, partial(_cut, step=step, lines=tuple(lines), high=high, unit=unit))


def _made(held: str, step: SawStep) -> list[str]:
    """Return what is cut and what that makes; trim is named where it comes off, or has room."""
    made = [words.removeprefix("remnant ") for words in (step.off, step.rest) if words not in UNNAMED]
    if len(set(made)) < len(made):
        made = [f"{len(made)} × {made[0]}"]
    if made == [TRIM]:
        return STRONG.lines(f"{held}, trim off", CUT_WORDS)
    named, all_named = (
        STRONG.lines(f"{held}, makes {' + '.join(words)}", CUT_WORDS)
        for words in ([each for each in made if each != TRIM], made)
    )
    return all_named if len(all_named) <= len(named) else named


def _cut(  # noqa: PLR0913 - a row is what it is
    pen: Pen, x: float, y: float, *, step: SawStep, lines: tuple[tuple[str, Type], ...], high: float, unit: Unit
) -> None:
    middle = y + high / 2
    number = (str(step.number),)
    pen.line(x, y + high, x + COLUMN, y + high)
    pen.circle(x + 11, middle, 10.5)
    kind = Type("figures", 13.0).fitted(number, 17)
    pen.text(x + 11, middle + CAP * kind.size / 2, number, kind, "middle")
    pen.text(x + 28, middle + 4.5, ACTIONS[step.action], Type("strong", 13.0))
    setting = length_parts(step.at_um / 1000, unit, "up")  # as its blank is called
    pen.text(x + 66, middle + 6.2, setting, Type("figures", 18.0).fitted(setting, 48))
    top = middle - len(lines) * 5.5 + 8.5
    for place, (words, face) in enumerate(lines):
        pen.text(x + 118, top + 11 * place, words, face)
    pen.box(x + COLUMN - 17, middle - 7, 14, 14)


def _blanks(piece: SawPiece, unit: Unit) -> Iterator[Item]:
    """Yield the blanks by order, a pencil box for each."""
    for blanks in piece.blanks:
        lines = BOLD_MARKS.lines(f"{blanks.order}: {blanks.marks}", LEFT_WIDTH)
        row = Item(
            BLANKS + 12 + (len(lines) - 1) * ORDER, partial(_blank_row, blanks=blanks, lines=tuple(lines), unit=unit)
        )
        yield row if blanks is not piece.blanks[0] else _headed("blanks", row)


def _blank_row(pen: Pen, x: float, y: float, *, blanks: SawBlanks, lines: tuple[str, ...], unit: Unit) -> None:
    for place, words in enumerate(lines):
        pen.text(x, y + 10 + ORDER * place, words, BOLD_MARKS)
    below = y + 12 + ORDER * (len(lines) - 1)
    parts: Parts = (f"{blanks.qty} of ", *times(*sides(blanks.size, unit, "up")))
    pen.text(x, below + 12, parts, MIXED.fitted(parts, LEFT_WIDTH))
    pencil_boxes(pen, x, below + 17, blanks.qty, width=LEFT_WIDTH, size=11.0)
    pen.line(x, below + BLANKS - 1, x + LEFT_WIDTH, below + BLANKS - 1)


def _room_beside(slabs: tuple[SlabDrawing, ...], left: list[Item], cuts: list[Item], page: float) -> float:
    """Return how far down the left column may go: beyond the slabs where the cuts, in two columns, still fit below."""
    drawn = _grid_height(slabs)
    all_fits = max(drawn, _height(left)) + 6 + _height(cuts) / 2 + CUT <= page
    return page if not slabs or not cuts or all_fits else drawn


def _height(items: Sequence[Item]) -> float:
    return sum(item.height for item in items)


def _next_slabs(slabs: tuple[SlabDrawing, ...]) -> tuple[tuple[SlabDrawing, ...], tuple[SlabDrawing, ...]]:
    """Return the slabs of a page, and the rest."""
    most = PER_PAGE[_grid(slabs[: PER_PAGE[2]])]
    return slabs[:most], slabs[most:]


def _grid(slabs: tuple[SlabDrawing, ...]) -> int:
    """Return in how many columns these slabs stand: a busy one needs the whole width."""
    return 1 if len(slabs) <= 2 or any(slab.numbers > BUSY for slab in slabs) else 2


def _cell_width(columns: int) -> float:
    return (RIGHT - DRAWINGS - (columns - 1) * 12) / columns


def _grid_height(slabs: tuple[SlabDrawing, ...]) -> float:
    columns = _grid(slabs)
    return -(-len(slabs) // columns) * (TITLE + CELLS[columns] + 6)


def _drawings(pen: Pen, page: _Page) -> None:
    """Draw the left column and the slabs."""
    y = TOP
    for item in page.left:
        item.draw(pen, LEFT, y)
        y += item.height
    columns = _grid(page.slabs)
    wide = _cell_width(columns)
    for place, slab in enumerate(page.slabs):
        x = DRAWINGS + (place % columns) * (wide + 12)
        top = TOP + place // columns * (TITLE + CELLS[columns] + 6)
        seen = f", seen {slab.seen}" if columns == 1 else ""
        words: Parts = (f"{slab.name}  ", *slab.size, f" {slab.size_word}{seen}")
        pen.text(x, top + 11, words, MIXED.fitted(words, wide, least=12.9))
        scene = fitted(slab.scene_at, wide, CELLS[columns], LABELS[columns])
        left, bottom, right, high = scene.bounds
        scale = scene.scale_for(wide, CELLS[columns])
        pen.scene(scene, x, top + TITLE, (right - left) * scale, (high - bottom) * scale)
    if page.columns[0] and page.left:
        pen.line(LEFT, page.flow_top - 3, RIGHT, page.flow_top - 3, FRAME)


def _header(pen: Pen, sheet: SawSheet, piece: SawPiece, code: str, page: str) -> None:
    """Draw what is opened, sheet and page, barcode; then station, day and grade."""
    end = RIGHT - 2 * QUIET * MODULE - bars_width(code) - 8
    barcode_at_right(pen, code, 27, 46)
    source = (piece.opened.source,)
    x = LEFT + pen.text(LEFT, 76, source, Type("figures", 66.0).fitted(source, end - LEFT - 92)) + 14
    pen.text(x, 38, "saw sheet", NOTE)
    pen.text(x, 61, (str(sheet.plan),), Type("figures", 27.0).fitted((str(sheet.plan),), end - x))
    pen.text(x, 76, page, BOLD)
    pen.sign(LEFT, 96, "SAW", width=84, height=26)
    words = ", ".join(filter(None, (sheet.station, say_day(sheet.day) if sheet.day else ""))) or "Saw to this"
    words += f", {UNIT_WORD[sheet.unit]}"
    pen.block(LEFT + 94, 114, words, Type("strong", 15.0), width=176, most=1)
    stripe(pen, LEFT + 276, 96, piece.opened.grade, piece.pattern)
    pen.line(LEFT, 129, RIGHT, 129, FRAME)


def _foot(pen: Pen, sheet: SawSheet, piece: SawPiece, code: str, page: str) -> None:
    """Draw the yield, the cautions, lines for the pencil, the second barcode and the title block."""
    top = pen.height - FOOT + 4
    pen.line(LEFT, top, RIGHT, top, FRAME)
    done = pen.text(LEFT, top + 13, _yield(piece), BOLD.fitted((_yield(piece),), WIDTH)) + 12
    if NOTE.width((GOES,)) <= WIDTH - done:
        pen.text(RIGHT, top + 13, GOES, NOTE, "end")
    y = pen.block(LEFT, top + 25, CAUTIONS, NOTE, width=WIDTH, most=3)
    blank_line(pen, LEFT, y + 14, "sawn by", 120)
    blank_line(pen, LEFT + 128, y + 14, "short or over", TITLE_LEFT - LEFT - 140)
    barcode_at_foot(pen, code)
    for number, words in enumerate(("set the", "fence to", "the size")):
        pen.text(TITLE_LEFT - 12, pen.height - 46 + 12 * number, words, BOLD, "end")
    by = f"{say_moment(sheet.printed)}, {sheet.printed_by.replace(' ', NO_BREAK)}"
    cuts = str(len(piece.opened.steps))
    first = (
        (piece.kind, piece.opened.source, 0.36),
        ("plan", str(sheet.plan), 0.2),
        ("page", page, 0.28),
        ("cuts", cuts, 0.16),
    )
    second = ((f"printed, {print_words(sheet.print_number)}", by, 0.6), ("shop", sheet.shop, 0.4))
    title_block(pen, TITLE_LEFT, pen.height - 96, (first, second))


def _yield(piece: SawPiece) -> str:
    """Return where the foam of the piece goes, in shares that add up to the whole."""
    whole = _volume(piece.opened.size)
    shares = {kind: sum(_volume(leaf.size) for leaf in piece.opened.placed if leaf.kind == kind) for kind in KINDS}
    words = [f"{KINDS[kind]} {100 * volume / whole:.1f} %" for kind, volume in shares.items()]
    return ", ".join([*words, f"kerf {100 * (whole - sum(shares.values())) / whole:.1f} %"])


def _volume(size: tuple[int, int, int]) -> int:
    return size[0] * size[1] * size[2]


def _box(size: tuple[int, int, int]) -> Box:
    """Return a size of the plan, micrometres, in millimetres."""
    return Box(*(side / 1000 for side in size))
