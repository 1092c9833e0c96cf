"""The packing slip: what the customer gets, to be counted and signed for. Finished sizes, and no prices."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from functools import partial

from cutsheets.drawings.lettering import Parts, feet_parts, length_parts, plain
from cutsheets.drawings.runs import name_marks
from cutsheets.errors import CutsheetError
from cutsheets.sheets.furniture import UNIT_WORD, Item, finished_size
from cutsheets.sheets.orderpage import OrderHead, Part, Sheet, draw_order, words
from cutsheets.sheets.packing import PackedLine, make_bundles
from cutsheets.sheets.packlist import say_weight, weighed
from cutsheets.sheets.page import NO_BREAK, NOTE, RIGHT, SMALL, WIDTH, PageSize, Pen, Type
from cutsheets.solids import Worked
from cutsheets.units import Unit

SHEET = Sheet(
    kind="packing slip",
    sign="PACKING SLIP",
    lead="Please count before you sign",
    by_hand=("loaded by", "truck"),
    cautions=(
        "Foam burns: keep it from flame, sparks and solvents, and cover it as the local building code asks. Store it "
        "flat, dry and out of the sun. Tell the shop about damage or missing pieces on the day of delivery."
    ),
)
COUNT = Type("figures", 20.0)
WORD = Type("strong", 13.0)
SIZE = Type("strong", 13.0, share=0.7)
DELIVERED = 200.0  # wide: what was delivered now
SIGN_HIGH = 36.0


@dataclass(frozen=True, slots=True)
class PackingSlip:
    """What is delivered of an order, in bundles of at most so many pieces; `contact`: whom to ask for."""

    head: OrderHead
    lines: tuple[PackedLine, ...]
    most: int
    contact: str = ""


def packing_slip_pdf(slip: PackingSlip, page: PageSize = "letter") -> bytes:
    """Return the packing slip as a PDF: the same bytes for the same slip.

    Raises CutsheetError `sheet-empty`, `too-many-bundles`.
    """
    pen = slip.head.pen(page, "Packing slip")
    draw_packing_slip(pen, slip)
    return pen.finish()


def draw_packing_slip(pen: Pen, slip: PackingSlip) -> None:
    """Draw the pages of a packing slip; raises CutsheetError `sheet-empty`, `too-many-bundles`."""
    if not slip.lines:
        raise CutsheetError("sheet-empty", "A packing slip needs lines; complete the order first.")
    parts = [_line(line, slip.head.unit) for line in slip.lines]
    draw_order(pen, slip.head, SHEET, [*parts, _received(slip)])


def _line(line: PackedLine, unit: Unit) -> Part:
    """Return a line with its count, a place for what was delivered of it, and its finished size."""
    coat = f"Coat: {line.coat.name}." if line.coat and line.coat.name else "" if line.coat else "Bare foam."
    marks = name_marks(sorted({mark for like in line.pieces for mark, _ in like.marks}, key=lambda m: (len(m), m)))
    told = " ".join(filter(None, (f"Pieces {marks}.", coat, *_walls(line.worked, unit))))
    return Part(f"Line {line.worked.mark}: {line.what}", (*_counted(line, unit), *words(told)))


def _counted(line: PackedLine, unit: Unit) -> Iterator[Item]:
    """Yield the count, and the finished size behind it or, where that is too long, below it."""
    word = "piece" if line.qty == 1 else "pieces"
    after = COUNT.width((str(line.qty),)) + 6 + WORD.width((word,)) + 16
    size = _size(line.worked, unit)
    behind = SIZE.width(size) <= WIDTH - DELIVERED - after

    def draw(pen: Pen, x: float, y: float) -> None:
        done = pen.text(x, y + 19, (str(line.qty),), COUNT) + 6
        pen.text(x + done, y + 19, word, WORD)
        if behind:
            pen.text(x + after, y + 19, size, SIZE)
        pen.text(RIGHT - DELIVERED + 8, y + 19, "delivered now", SMALL)
        pen.line(RIGHT - 124, y + 21, RIGHT - 34, y + 21)
        pen.box(RIGHT - 16, y + 6, 14, 14)

    yield Item(26.0, draw)
    if not behind:
        yield Item(18.0, partial(_set, parts=size))


def _set(pen: Pen, x: float, y: float, *, parts: Parts) -> None:
    pen.text(x, y + 13, parts, SIZE.fitted(parts, WIDTH))


def _size(worked: Worked, unit: Unit) -> Parts:
    """Return the finished size in words."""
    return (f"Finished, {UNIT_WORD[unit]}: ", *finished_size(worked, unit))


def _walls(worked: Worked, unit: Unit) -> Iterator[str]:
    """Yield the walls and the openings that the line was ordered for."""
    times_each = Counter[str]()
    for run in worked.runs:
        wall = plain(feet_parts(run.wall) if unit == "in" else (*length_parts(run.wall, unit), " mm"))
        times_each[f"For the wall {run.name or 'as ordered'}, {wall.replace(' ', NO_BREAK)}"] += run.qty
    for told, qty in times_each.items():
        yield f"{told}{f', {qty} times' if qty > 1 else ''}."
    for side in worked.frames:
        short = plain(length_parts(side.finished_short, unit))
        yield f"{side.qty} × {side.side}, {short} at the opening."


def _received(slip: PackingSlip) -> Part:
    """Return the whole load, named above the lines to sign on: nobody signs for what he could not count."""
    unit = slip.head.unit
    bundles = make_bundles(slip.lines, slip.most)
    total = f"{len(bundles)} bundles, {sum(line.qty for line in slip.lines)} pieces, about "
    weight = say_weight(sum(bundle.kg for bundle in bundles), unit)
    ask = f"Ask for {slip.contact}." if slip.contact else ""
    told = [item for text in (weighed(slip.lines), ask) for item in words(text)]
    rows = (("received by, name", "signature"), ("date and time", "missing or damaged"))
    signed = [Item(SIGN_HIGH, partial(_sign, names=names)) for names in rows]
    return Part(f"In all {total}{weight}", (*told, *signed))


def _sign(pen: Pen, x: float, y: float, *, names: tuple[str, str]) -> None:
    half = WIDTH / 2
    for number, name in enumerate(names):
        left = x + number * half
        pen.line(left, y + SIGN_HIGH - 12, left + half - 14, y + SIGN_HIGH - 12)
        pen.text(left, y + SIGN_HIGH - 1, name, NOTE)
