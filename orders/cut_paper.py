"""Cut sheets: a sheet for the wire, one a line, filled from the rows; each print is kept."""

from __future__ import annotations

from django.db import transaction
from django.utils import timezone

from cutsheets.codes import revision_letter
from cutsheets.sheets.cutsheet import CutSheet, Wire
from cutsheets.sheets.orderpage import OrderHead
from cutsheets.sheets.values import TravellerLine
from cutsheets.solids import Worked
from orders.lines import shop_figures
from orders.models import Line, Order, Print
from orders.moves.rows import not_allowed
from orders.prints import keep
from orders.standing import standing
from orders.travellers import traveller_lines
from orders.wire_uses import last_used, use_words
from orders.workflow import possible
from shop.acts import Act
from shop.models import ShopRules
from shop.refusals import Refused


@transaction.atomic
def cut_sheets_of(order: Order, act: Act, mark: str = "") -> list[CutSheet]:
    """Return the cut sheets of an order's lines, or of the one with this mark; each print is kept.

    Nothing is kept where one of them is refused.
    """
    if "print" not in possible(standing(order).word):
        raise not_allowed(order, "print")
    lines = traveller_lines(order.lines.filter(mark=mark) if mark else order.lines.all())
    if not lines:
        raise Refused("no-line", f"Order {order} has no line {mark}; choose one of its lines.")
    rules = ShopRules.current()
    return [_sheet(order, line, act, rules) for line in lines]


def _sheet(order: Order, line: TravellerLine, act: Act, rules: ShopRules) -> CutSheet:
    mark = line.worked.mark
    kept = keep(Print.Sheet.CUT_SHEET, act, order=order, of=f"line {mark}", revision=order.revision)
    head = OrderHead(
        order.number, revision_letter(order.revision), order.customer.name, order.job, rules.name, order.unit,
        timezone.localtime(act.at), act.name, kept.number, order.due,
    )  # fmt: skip
    wire = _wire(order.lines.get(mark=mark), line.worked)
    return CutSheet(head, line, wire, float(rules.length_tolerance), float(rules.section_tolerance))


def _wire(line: Line, worked: Worked) -> Wire:
    """Return the feed of a line's grade on the machine that takes its pieces, else the shop's own."""
    shop, use = shop_figures(), last_used(line)
    said = use_words(use, line.order.unit) if use else ""
    feed = shop.feed(line.grade_id, worked.asks)
    if feed is None:
        return Wire("any machine", shop.rules.feed, shop.rules.entry, said)
    return Wire(str(feed.station or "any machine"), float(feed.feed), float(feed.entry), said)
