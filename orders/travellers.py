"""Paper: travellers and saw sheets filled from the rows, each print kept with its number; the newest print wins."""

from __future__ import annotations

from itertools import groupby

from django.db.models import QuerySet
from django.utils import timezone

from cutsheets.codes import revision_letter
from cutsheets.days import say_day
from cutsheets.drawings.runs import name_marks
from cutsheets.sheets.sawsheet import saw_sheet_pdf
from cutsheets.sheets.traveller import traveller_pdf
from cutsheets.sheets.values import SawBlanks, SawPiece, SawSheet, TravellerLine, TravellerSheet
from cutsheets.solids import Box, OpenedPiece, Worked
from cutsheets.units import read_length
from orders.layout import size_um
from orders.lines import need_worked, shop_figures, what
from orders.models import CuttingRun, Line, Order, Print, RunBlank, RunSource
from orders.moves.rows import not_allowed
from orders.planning import opened_pieces
from orders.prints import keep
from orders.profiles import profile_words
from orders.standing import standing
from orders.workflow import possible
from shop.acts import Act
from shop.models import ShopRules, StockPiece
from shop.refusals import Refused

BARE_WORDS = {"wall": "Wall face bare", "none": "All faces coated"}
COATED_WORDS = {
    "column": "Outside coated; inside, joints and ends bare", "taper": "Coated all round; ends bare",
    "turned": "Side and top coated; base bare", "twisted": "Long faces coated; ends bare",
    "arch": "Front and both curves coated; back, joints and ends bare",
    "cutout": "Front, edges and counters coated; back bare", "wing": "Skin all round; ends bare",
}  # fmt: skip


def print_traveller(order: Order, act: Act) -> bytes:
    """Return the traveller of an order's sheet in force as a PDF, and keep the print."""
    return traveller_pdf(traveller_of(order, act), ShopRules.current().paper)


def traveller_of(order: Order, act: Act) -> TravellerSheet:
    """Return what the traveller of an order's sheet in force prints, and keep the print."""
    if "print" not in possible(standing(order).word):
        raise not_allowed(order, "print")
    lines = tuple(traveller_lines(order.lines.all()))
    kept = keep(Print.Sheet.TRAVELLER, act, order=order, revision=order.revision)
    rules = ShopRules.current()
    earlier = order.prints.filter(sheet=kept.sheet, revision__lt=order.revision).order_by("revision").last()
    return TravellerSheet(
        number=order.number, revision=revision_letter(order.revision), customer=order.customer.name, job=order.job,
        shop=rules.name, unit=order.unit, lines=lines, printed=timezone.localtime(act.at),
        printed_by=act.name, print_number=kept.number, needed=order.due,
        replaces=revision_letter(earlier.revision) if earlier else "",
        each_line=rules.travellers == ShopRules.Travellers.LINE,
    )  # fmt: skip


def print_saw_sheets(run: CuttingRun, act: Act) -> bytes:
    """Return the saw sheets of an accepted plan as one PDF, a block or remnant a page, and keep the print."""
    return saw_sheet_pdf(saw_sheet_of(run, act), ShopRules.current().paper)


def saw_sheet_of(run: CuttingRun, act: Act) -> SawSheet:
    """Return what the saw sheets of an accepted plan print, and keep the print."""
    if run.state not in (CuttingRun.State.ACCEPTED, CuttingRun.State.DONE):
        raise Refused("not-accepted", f"Plan {run.number} is {run.get_state_display()}; accept it, then print.")
    opened = {piece.source: piece for piece in opened_pieces(run)}
    sources = (
        run.sources.exclude(state=RunSource.State.OUT)
        .select_related("piece__grade")
        .prefetch_related("blanks__blank__line__order")
    )
    pieces = tuple(_saw_piece(source, opened[source.piece.tag]) for source in sources)
    kept = keep(Print.Sheet.SAW_SHEET, act, run=run)
    rules = ShopRules.current()
    return SawSheet(
        plan=run.number, shop=rules.name, unit=rules.unit, pieces=pieces, printed=timezone.localtime(act.at),
        printed_by=act.name, print_number=kept.number,
    )  # fmt: skip


# Travellers -----------------------------------------------------------------------------------------------------------


def traveller_lines(lines: QuerySet[Line]) -> list[TravellerLine]:
    """Return what sheets print of lines; refuses those that cannot be worked out any more."""
    lines = lines.select_related("grade", "profile__profile", "coat_system", "order").prefetch_related("blanks")
    shop = shop_figures()
    return [_line(line, need_worked(line, shop)) for line in lines]


def _line(line: Line, worked: Worked) -> TravellerLine:
    _need_same_blanks(line, worked)
    return TravellerLine(
        worked=worked, what=what(line), pattern=line.grade.pattern,
        profile=profile_words(line), coat=_coat_words(line),
        coat_mm=float(read_length(line.coat, line.order.unit)), saw_from=_saw_from(line), indoors=line.order.indoors,
        note=line.note, number=line.position,
    )  # fmt: skip


def _need_same_blanks(line: Line, worked: Worked) -> None:
    """Refuse to print other blanks than the saw counts: the shop's allowances changed since the sheet was made."""
    printed = sorted((size_um(blank.size), blank.gives, blank.qty) for blank in worked.blanks)
    ordered = [blank for blank in line.blanks.all() if blank.live and blank.replaces_id is None]
    counted = sorted((blank.size_um, blank.gives, blank.qty) for blank in ordered)
    if printed != counted:
        raise Refused(
            "rules-changed",
            f"The shop's allowances changed since line {line.mark} was released; save the line for a new sheet.",
            mark=line.mark,
        )


def _coat_words(line: Line) -> str:
    """Return what is coated with what, without the thickness."""
    if not line.coat_system:
        return f"{coated_words(line)}." if read_length(line.coat, line.order.unit) else ""
    return f"{line.coat_system}. {coated_words(line)}. Cure {line.coat_system.cure_hours} h."


def coated_words(line: Line) -> str:
    """Return which faces get coat and which stay bare."""
    if line.kind in COATED_WORDS:
        return COATED_WORDS[line.kind]
    bare = line.spec.get("bare", line.profile.shape.get("bare", "wall") if line.profile else "wall") or "none"
    if bare == "wall" and "sprung" in line.spec:
        return "Face and both edges coated; back bare"
    return BARE_WORDS[bare] if isinstance(bare, str) else "Bare edges as drawn"


def _saw_from(line: Line) -> str:
    """Return where the blanks of a line are planned: “K-0007, K-0008 of plan 118”."""
    planned = RunSource.objects.filter(blanks__blank__line=line, run__state=CuttingRun.State.ACCEPTED)
    planned = planned.exclude(state=RunSource.State.OUT)
    rows = planned.order_by("run__number", "position").values_list("run__number", "piece__tag").distinct()
    tags = {number: [tag for _, tag in group] for number, group in groupby(rows, key=lambda row: row[0])}
    return "; ".join(f"{', '.join(of_run)} of plan {number}" for number, of_run in tags.items())


# Saw sheets -----------------------------------------------------------------------------------------------------------


def _saw_piece(source: RunSource, opened: OpenedPiece) -> SawPiece:
    piece = source.piece
    return SawPiece(
        opened=opened, pattern=piece.grade.pattern, blanks=tuple(_saw_blanks(row) for row in source.blanks.all()),
        about=_about(piece), place=piece.place, kind="remnant" if piece.is_remnant else "block",
    )  # fmt: skip


def _saw_blanks(row: RunBlank) -> SawBlanks:
    blank, order = row.blank, row.blank.line.order
    letter = revision_letter(order.revision)
    return SawBlanks(
        f"{order} {letter}", name_marks(blank.marks), Box(*(side / 1000 for side in blank.size_um)), row.qty
    )


def _about(piece: StockPiece) -> str:
    lot = f"lot {piece.lot}" if piece.lot else ""
    moulded = f"moulded {say_day(piece.mould_date)}" if piece.mould_date else ""
    return ", ".join(filter(None, (lot, moulded)))
