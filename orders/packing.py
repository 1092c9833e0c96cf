"""Paper for what comes after the wire: coat sheet, pack list, bundle labels, packing slip; each print is kept.

Bundle labels are a file by themselves: their pages are labels.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import datetime

from django.db import transaction
from django.utils import timezone

from cutsheets.codes import revision_letter
from cutsheets.errors import CutsheetError
from cutsheets.sheets.bundlelabels import BundleLabels, bundle_labels_pdf
from cutsheets.sheets.coatsheet import CoatSheet, with_coat
from cutsheets.sheets.labelgrids import grid_named
from cutsheets.sheets.orderpage import OrderHead
from cutsheets.sheets.packing import Bundle, Coat, PackedLine, make_bundles
from cutsheets.sheets.packingslip import PackingSlip
from cutsheets.sheets.packlist import PackList
from cutsheets.units import read_length
from orders.lines import ShopFigures, shop_figures, what, work_out
from orders.models import Line, Order, Piece, Print
from orders.moves.rows import not_allowed
from orders.prints import keep
from orders.profiles import profile_words
from orders.standing import standing
from orders.travellers import coated_words
from orders.workflow import possible
from shop.acts import Act
from shop.models import ShopRules
from shop.refusals import Refused


def coat_sheet_of(order: Order, act: Act, coated: datetime | None = None) -> CoatSheet:
    """Return the coat sheet of an order, with when its coat is ready if it was put on at `coated`; keep the print."""
    at = timezone.localtime(coated) if coated else None
    return _made(
        Print.Sheet.COAT_SHEET, order, act,
        lambda head, lines, rules: CoatSheet(head, with_coat(lines), at),
    )  # fmt: skip


def pack_list_of(order: Order, act: Act) -> PackList:
    """Return the pack list of an order, and keep the print."""
    return _made(
        Print.Sheet.PACK_LIST, order, act,
        lambda head, lines, rules: PackList(head, _tied(lines, rules), rules.bundle_pieces),
    )  # fmt: skip


def packing_slip_of(order: Order, act: Act) -> PackingSlip:
    """Return the packing slip of an order, and keep the print."""
    contact = ", ".join(filter(None, (order.customer.contact, order.customer.phone)))
    return _made(
        Print.Sheet.PACKING_SLIP, order, act,
        lambda head, lines, rules: PackingSlip(head, _tied(lines, rules), rules.bundle_pieces, contact),
    )  # fmt: skip


def print_bundle_labels(order: Order, act: Act, grid: str, start: int = 1) -> bytes:
    """Return a label for each bundle of an order as a PDF, from place `start` of a grid; the print is kept."""
    return _made(
        Print.Sheet.LABEL, order, act,
        lambda head, lines, rules: bundle_labels_pdf(
            BundleLabels(head, lines, rules.bundle_pieces, rules.label_dpi), grid_named(grid), start
        ),
    )  # fmt: skip


@transaction.atomic
def _made[T](
    sheet: Print.Sheet, order: Order, act: Act, make: Callable[[OrderHead, tuple[PackedLine, ...], ShopRules], T]
) -> T:
    """Return what is made of an order at its sheet in force, and keep the print; nothing is kept of a refusal."""
    if "print" not in possible(standing(order).word):
        raise not_allowed(order, "print")
    rules = ShopRules.current()
    kept = keep(sheet, act, order=order, revision=order.revision)
    head = OrderHead(
        number=order.number, revision=revision_letter(order.revision), customer=order.customer.name, job=order.job,
        shop=rules.name, unit=order.unit, printed=timezone.localtime(act.at), printed_by=act.name,
        print_number=kept.number, needed=order.due, reference=order.customer_ref,
    )  # fmt: skip
    try:
        return make(head, packed_lines(order), rules)
    except CutsheetError as error:
        raise Refused(error.code, error.message, where=error.where) from error


def _tied(lines: tuple[PackedLine, ...], rules: ShopRules) -> tuple[PackedLine, ...]:
    """Return the lines, if they can be tied: what cannot is refused before a file of many sheets is begun."""
    make_bundles(lines, rules.bundle_pieces)
    return lines


def packed_lines(order: Order) -> tuple[PackedLine, ...]:
    """Return the lines of an order as they are coated and packed; raises CutsheetError."""
    shop = shop_figures()
    lines = order.lines.select_related("grade", "profile__profile", "coat_system", "order")
    return tuple(packed_line(line, shop) for line in lines)


def packed_line(line: Line, shop: ShopFigures | None = None) -> PackedLine:
    """Return one line as it is coated and packed; raises CutsheetError."""
    return PackedLine(work_out(line, shop), what(line), _coat(line), profile_words(line))


def _coat(line: Line) -> Coat | None:
    """Return the coat of a line; one without a system has a thickness and nothing else that is known."""
    thick, system = float(read_length(line.coat, line.order.unit)), line.coat_system
    if not thick:
        return None
    faces = f"{coated_words(line)}."
    if system is None:
        return Coat("", faces, thick)
    return Coat(system.name, faces, thick, system.cure_hours, float(system.mesh_lap), float(system.density))


@dataclass(frozen=True, slots=True)
class Tied:
    """A bundle as the packer fills it: how many of each row of pieces go in, and how many of them are in.

    Letters are counted by the slab: the first bundles hold the slabs, whatever their letters are tied to.
    """

    bundle: Bundle
    holds: dict[int, int]
    inside: dict[int, int]

    @property
    def due(self) -> int:
        """Return how many of the pieces that are counted go in."""
        return sum(self.holds.values())

    @property
    def packed(self) -> int:
        """Return how many of its pieces are in."""
        return sum(self.inside.values())

    def room(self, piece: Piece) -> int:
        """Return how many more of a row of pieces go in."""
        return self.holds.get(piece.pk, 0) - self.inside.get(piece.pk, 0)


def tied_bundles(order: Order, pieces: Iterable[Piece]) -> list[Tied]:
    """Return the bundles of an order, as its pack list has them, with what is packed; raises CutsheetError.

    Rows of pieces are counted, not bundles: what is packed of a row fills its bundles one after the other.
    """
    rows = list(pieces)
    places, packed = ({row.pk: count(row) for row in rows} for count in (lambda row: row.qty, lambda row: row.packed))
    return [
        _filled(bundle, [row for row in rows if row.line.mark == bundle.line.worked.mark], places, packed)
        for bundle in make_bundles(packed_lines(order), ShopRules.current().bundle_pieces)
    ]


def _filled(bundle: Bundle, rows: list[Piece], places: dict[int, int], packed: dict[int, int]) -> Tied:
    """Return a bundle with what it takes of the rows of its line; `places` and `packed` lose that."""
    holds: dict[int, int] = {}
    for mark, count in bundle.marks:
        left = count
        for row in [row for row in rows if mark in row.marks] or rows:  # letters are not told apart
            if taken := min(left, places[row.pk]):
                places[row.pk] -= taken
                left -= taken
                holds[row.pk] = holds.get(row.pk, 0) + taken
    inside = {pk: min(held, packed[pk]) for pk, held in holds.items()}
    for pk, count in inside.items():
        packed[pk] -= count
    return Tied(bundle, holds, inside)
