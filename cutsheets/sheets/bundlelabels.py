"""Labels of bundles: which order, which of how many, what is inside, how heavy. One a page or many on a grid."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import partial

from cutsheets.codes import make_bundle_code
from cutsheets.days import say_day
from cutsheets.drawings.lettering import CAP
from cutsheets.sheets.barcodes import (
    QUIET,
    TEXT_ROOM,
    Barcode,
    Dpi,
    draw_barcode,
    least_height,
    module_for,
    symbol_width,
)
from cutsheets.sheets.labelgrids import GRIDS, Cell, LabelGrid
from cutsheets.sheets.labels import Label, Rest, draw_labels
from cutsheets.sheets.orderpage import OrderHead
from cutsheets.sheets.packing import Bundle, PackedLine, make_bundles
from cutsheets.sheets.packlist import say_weight
from cutsheets.sheets.page import LEADING, LEAST, MARKS, RULE, Pen, Type

LEAST_WIDE, LEAST_HIGH = 255.0, 165.0  # points of a label that has room for all this
TOP, MIDDLE = 0.41, 0.32  # shares of the height: whose it is, what it is; the rest is the barcode
SIDE = 84.0  # beside the marks
BESIDE = 56.0  # at least, beside the barcode, which is as wide as order, letter and bundle make it


@dataclass(frozen=True, slots=True)
class BundleLabels:
    """The bundles of an order, at most so many pieces in each, a label each; `dpi`: of their printer."""

    head: OrderHead
    lines: tuple[PackedLine, ...]
    most: int
    dpi: Dpi = 300


def bundle_grids() -> tuple[LabelGrid, ...]:
    """Return the grids whose labels are large enough for a bundle."""

    def large(cell: Cell) -> bool:
        return cell.width >= LEAST_WIDE and cell.height >= LEAST_HIGH

    return tuple(grid for grid in GRIDS.values() if all(map(large, grid.cells())))


def bundle_labels_pdf(labels: BundleLabels, grid: LabelGrid, start: int = 1) -> bytes:
    """Return a label for each bundle as a PDF, from place `start` of the first sheet of the grid.

    The same bytes for the same labels. Raises CutsheetError `sheet-empty`, `label-start`, `too-many-bundles`,
    `barcode-too-wide`.
    """
    head = labels.head
    pen = Pen(grid.page, title=f"Bundles {head.name}", author=head.shop, subject=f"{head.job}, {head.customer}")
    bundles = make_bundles(labels.lines, labels.most)
    draw_labels(pen, grid, [_label(labels, bundle) for bundle in bundles], start)
    return pen.finish()


def _label(labels: BundleLabels, bundle: Bundle) -> Label:
    name = f"{labels.head.name}, {_which(bundle)}"
    return Label(name, partial(_draw, head=labels.head, bundle=bundle, dpi=labels.dpi))


def _which(bundle: Bundle) -> str:
    return f"bundle {bundle.number} of {bundle.of}"


def _draw(pen: Pen, cell: Cell, *, head: OrderHead, bundle: Bundle, dpi: Dpi) -> Rest:
    """Draw one label, three bands with rules between them; return what it has no room for."""
    top, middle = cell.height * TOP, cell.height * MIDDLE
    for y in (cell.y + top, cell.y + top + middle):
        pen.line(cell.x, y, cell.x + cell.width, y, RULE)
    return (
        *_whose(pen, Cell(cell.x, cell.y, cell.width, top), head, bundle),
        *_what(pen, Cell(cell.x, cell.y + top, cell.width, middle), head, bundle),
        *_scanned(pen, Cell(cell.x, cell.y + top + middle, cell.width, cell.height - top - middle), head, bundle, dpi),
    )


def _whose(pen: Pen, room: Cell, head: OrderHead, bundle: Bundle) -> Rest:
    """Draw order and sheet, which bundle of how many, then job and customer."""
    size = min(48.0, room.height * 0.4)
    right, half = room.x + room.width, room.width / 2
    base = room.y + CAP * size + 1
    number = (str(head.number),)
    x = room.x + pen.text(room.x, base, number, Type("figures", size).fitted(number, half - size * 0.75)) + 5
    box = CAP * size
    pen.box(x, base - box, box, box, 1.6)
    letter = Type("figures", size * 0.7).fitted((head.revision,), box - 4)
    pen.text(x + box / 2, base - (box - CAP * letter.size) / 2, head.revision, letter, "middle")
    which = _which(bundle)
    kind = Type("strong", size * 0.55).fitted((which,), half - 10)
    pen.text(right, room.y + CAP * kind.size + 1, which, kind, "end")
    if head.needed:
        pen.text(right, base, say_day(head.needed), Type("strong", max(LEAST, size * 0.34)), "end")
    y, left = base + 3, room.y + room.height - base - 6
    upper = Cell(room.x, y, room.width, left * 0.6)
    lower = Cell(room.x, y + left * 0.6, room.width, left * 0.4)
    job = _filled(pen, upper, head.job, Type("strong", 22.0), "job: ")
    return job + _filled(pen, lower, head.customer, Type("text", 15.0), "customer: ")


def _what(pen: Pen, room: Cell, head: OrderHead, bundle: Bundle) -> Rest:
    """Draw the marks as large as they fit, count and weight beside them, the line's name below."""
    name, upper = f"Line {bundle.line.worked.mark}: {bundle.line.what}", room.height * 0.6
    left = Cell(room.x, room.y + 2, room.width - SIDE - 6, upper - 2)
    marks = _filled(pen, left, bundle.names, replace(MARKS, size=44.0), "pieces: ")
    right = room.x + room.width
    size = min(20.0, upper * 0.42)
    for number, words in enumerate(
        (f"{bundle.qty} {'piece' if bundle.qty == 1 else 'pieces'}", say_weight(bundle.kg, head.unit))
    ):
        kind = Type("strong", size).fitted((words,), SIDE)
        pen.text(right, room.y + (number + 1) * (size * 1.1) + 1, words, kind, "end")
    below = Cell(room.x, room.y + upper, room.width, room.height - upper - 3)
    return marks + _filled(pen, below, name, Type("text", 14.0))


def _scanned(pen: Pen, room: Cell, head: OrderHead, bundle: Bundle, dpi: Dpi) -> Rest:
    """Draw the barcode of the bundle, the shop and how to keep it."""
    code = make_bundle_code(head.number, head.revision, bundle.number)
    module = module_for(code, room.width - BESIDE, dpi)
    high = max(least_height(code, module), room.height - TEXT_ROOM - 5)
    bars = Barcode(code, room.x + QUIET * module, pen.height - room.y - 4 - high, high, module)
    draw_barcode(pen.canvas, bars)
    beside = symbol_width(code, module) + 4
    x, wide = room.x + beside, room.width - beside
    half = room.height / 2
    _filled(pen, Cell(x, room.y + 2, wide, half - 2), "keep dry, no flame", Type("strong", 14.0))
    return _filled(pen, Cell(x, room.y + half, wide, half), head.shop, Type("text", 12.0), "shop: ")


def _filled(pen: Pen, room: Cell, text: str, largest: Type, name: str = "") -> Rest:
    """Set a paragraph as large as its room lets it be; return it with its name where it ends in “…” at 9 pt."""
    size = largest.size
    while size > LEAST and not _fits(replace(largest, size=size), text, room):
        size = max(LEAST, size - 1)
    most = max(1, int(room.height // (size * LEADING)))
    kind, lines = replace(largest, size=size).paragraph(text, room.width, most)
    for row, line in enumerate(lines):
        pen.text(room.x, room.y + size + row * kind.size * LEADING, line, kind)
    return () if largest.whole(text, room.width, most) else (f"{name}{text}",)


def _fits(kind: Type, text: str, room: Cell) -> bool:
    lines = kind.lines(text, room.width)
    return len(lines) * kind.size * LEADING <= room.height and not kind.hooked(lines)
