"""The pack list of an order: every piece with its hand and ends, and the bundles with their weights."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from cutsheets.drawings.lettering import Parts, length_parts
from cutsheets.errors import CutsheetError
from cutsheets.sheets.furniture import Item, pencil_boxes
from cutsheets.sheets.orderpage import OrderHead, Part, Sheet, draw_order, marks_rows, table, words
from cutsheets.sheets.packing import LIFT, Bundle, PackedLine, Pieces, make_bundles
from cutsheets.sheets.page import BOLD, BOLD_MARKS, WIDTH, WORDS, PageSize, Pen, Type
from cutsheets.units import Unit, pounds

SHEET = Sheet(
    kind="pack list",
    sign="PACK",
    lead="Count every piece; tie no wet coat",
    by_hand=("packed by", "short or damaged"),
    cautions=(
        "Pack only what is cured: see ready at on the coat sheet. Long and bulky bundles take two people whatever they "
        "weigh. Tie loads down against the wind and cover them. No flame, no spark, no smoking beside foam. Follow "
        "local rules for the road."
    ),
)
COLUMNS = {"piece": 0.0, "count": 92.0, "foam, long point": 128.0, "ends": 212.0, "each": 352.0, "packed": 408.0}
BUNDLES = {"bundle": 0.0, "line": 80.0, "pieces": 140.0, "marks": 180.0, "weight": 420.0, "tied": 496.0}
ROW = 20.0
BOXES, BOXES_HIGH = 5, 15.0  # that fit behind a row; more stand below it
ENDS = 128.0
MARK = 56.0  # of a line
FIGURE = Type("figures", 14.0, share=0.65)


@dataclass(frozen=True, slots=True)
class PackList:
    """An order to be packed, at most so many pieces in a bundle."""

    head: OrderHead
    lines: tuple[PackedLine, ...]
    most: int


def pack_list_pdf(sheet: PackList, page: PageSize = "letter") -> bytes:
    """Return the pack list as a PDF: the same bytes for the same sheet.

    Raises CutsheetError `sheet-empty`, `too-many-bundles`.
    """
    pen = sheet.head.pen(page, "Pack list")
    draw_pack_list(pen, sheet)
    return pen.finish()


def draw_pack_list(pen: Pen, sheet: PackList) -> None:
    """Draw the pages of a pack list; raises CutsheetError `sheet-empty`, `too-many-bundles`."""
    if not sheet.lines:
        raise CutsheetError("sheet-empty", "A pack list needs lines; complete the order first.")
    unit = sheet.head.unit
    bundles = make_bundles(sheet.lines, sheet.most)
    draw_order(pen, sheet.head, SHEET, [*(_line(line, unit) for line in sheet.lines), _bundles(bundles, sheet)])


def say_weight(kg: float, unit: Unit) -> str:
    """Return a weight as the packer reads it.

    >>> say_weight(12.5, "in"), say_weight(12.5, "mm")
    ('27.6 lb', '12.5 kg')
    """
    return f"{pounds(kg):,.1f} lb" if unit == "in" else f"{kg:,.1f} kg"


def weighed(lines: tuple[PackedLine, ...]) -> str:
    """Return what the weights hold: foam by the density of its grade, coat where the shop knows what it weighs."""
    unknown = [line.worked.mark for line in lines if line.coat and not line.coat.density]
    if unknown:
        return f"Weights are worked out, not weighed; of line {', '.join(unknown)} without the coat."
    return "Weights are worked out from the foam's density and the coat's thickness, not weighed."


def _line(line: PackedLine, unit: Unit) -> Part:
    what = f"Line {line.worked.mark}: {line.what}{f', {line.profile}' if line.profile else ''}"
    total = f"{line.qty} pieces, {say_weight(line.kg, unit)} in all"
    return Part(
        what, tuple(item for like in line.pieces for item in _pieces(like, unit)), next(words(total, BOLD)),
        table({"part" if name == "ends" and line.worked.part else name: at for name, at in COLUMNS.items()}),
    )  # fmt: skip


def _pieces(like: Pieces, unit: Unit) -> Iterator[Item]:
    """Yield the row of like pieces; their boxes stand below where they do not fit behind it."""
    inside = like.qty <= BOXES
    ends, lines = WORDS.paragraph(like.ends, ENDS, 3)
    high = max(ROW, 8 + len(lines) * ends.size * 1.15)

    def draw(pen: Pen, x: float, y: float) -> None:
        base = y + 14.5
        pen.text(x + COLUMNS["count"], base, (str(like.qty),), FIGURE.fitted((str(like.qty),), 32))
        long: Parts = length_parts(like.long, unit) if like.long else ()
        pen.text(x + COLUMNS["foam, long point"], base, long, FIGURE.fitted(long, 80))
        pen.fit(WORDS, like.ends, ENDS, 3)
        for number, line in enumerate(lines):
            pen.text(x + COLUMNS["ends"], base + number * ends.size * 1.15, line, ends)
        weight = say_weight(like.kg, unit)
        pen.text(x + COLUMNS["each"], base, weight, WORDS.fitted((weight,), 52))
        left = COLUMNS["packed"] if inside else COLUMNS["count"]
        pencil_boxes(pen, x + left, y + (4 if inside else high), like.qty, width=WIDTH - left, size=11.0)

    yield from marks_rows(like.names, COLUMNS["count"] - 6, high if inside else high + BOXES_HIGH, draw)


def _bundles(bundles: tuple[Bundle, ...], sheet: PackList) -> Part:
    unit = sheet.head.unit
    rule = (
        f"A bundle holds pieces of one line, at most {sheet.most} of them and {say_weight(LIFT, unit)}, none more than "
        f"twice as long as another. {weighed(sheet.lines)}"
    )
    kind, lines = WORDS.paragraph(rule, WIDTH, 3)

    def intro(pen: Pen, x: float, y: float) -> None:
        pen.fit(WORDS, rule, WIDTH, 3)
        for number, line in enumerate(lines):
            pen.text(x, y + kind.size * (1 + 1.22 * number), line, kind)

    pieces = sum(bundle.qty for bundle in bundles)
    total = f"{len(bundles)} bundles, {pieces} pieces, {say_weight(sum(bundle.kg for bundle in bundles), unit)} in all"
    rows = (item for bundle in bundles for item in _bundle(bundle, unit))
    return Part(f"Bundles: {total}", tuple(rows), Item(len(lines) * kind.size * 1.22 + 4, intro), table(BUNDLES))


def _bundle(bundle: Bundle, unit: Unit) -> Iterator[Item]:
    name = f"{bundle.number} of {bundle.of}"
    kind, lines = BOLD_MARKS.paragraph(bundle.names, 232.0, 4)
    mark = bundle.line.worked.mark
    mark_kind, mark_lines = BOLD_MARKS.fitted((mark,), MARK).paragraph(mark, MARK, 2)
    most = max(len(lines) * kind.size, len(mark_lines) * mark_kind.size)

    def draw(pen: Pen, x: float, y: float) -> None:
        base = y + 14.5
        pen.fit(BOLD_MARKS, bundle.names, 232.0, 4)
        for number, line in enumerate(mark_lines):
            pen.text(x + BUNDLES["line"], base + number * mark_kind.size * 1.15, line, mark_kind)
        pen.text(x + BUNDLES["pieces"], base, (str(bundle.qty),), FIGURE)
        for number, line in enumerate(lines):
            pen.text(x + BUNDLES["marks"], base + number * kind.size * 1.15, line, kind)
        weight = say_weight(bundle.kg, unit)
        pen.text(x + BUNDLES["weight"], base, weight, WORDS.fitted((weight,), 70))
        pen.box(x + BUNDLES["tied"], y + 4, 13, 13)

    yield from marks_rows(name, BUNDLES["line"] - 6, max(ROW, 8 + most * 1.15), draw)
