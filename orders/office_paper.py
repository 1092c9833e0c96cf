"""Paper for the office and the customer: quote, order confirmation, the day's foam; each print is kept."""

from __future__ import annotations

from datetime import date

from django.utils import timezone

from cutsheets.codes import revision_letter
from cutsheets.days import say_moment
from cutsheets.errors import CutsheetError
from cutsheets.sheets.confirmation import Confirmation, confirmation_pdf
from cutsheets.sheets.dayreport import DayReport, GradeDay, OrderDay, bf, day_report_pdf
from cutsheets.sheets.offer import Offer, OfferLine, Price
from cutsheets.sheets.quote import Quote, quote_pdf
from cutsheets.solids import Box, Worked
from cutsheets.units import read_length, say
from orders.amounts import amount
from orders.lines import ShopFigures, shop_figures, what, work_out
from orders.models import Line, Order, Print
from orders.pricing import prices
from orders.prints import keep
from orders.usage import DayFoam, GradeFoam
from shop.acts import Act
from shop.models import ShopRules
from shop.refusals import Refused

Sheet = Print.Sheet


def print_quote(order: Order, until: date, act: Act) -> bytes:
    """Return the quote of an order as it stands now, and keep the print; a later version is another quote.

    Refused for what is an order by now or was cancelled, for one without lines, and for a day that is over.
    """
    if order.state != Order.State.DRAFT:
        raise Refused("not-draft", f"Order {order} is {order.get_state_display()}: a quote comes before the order.")
    if until < act.day:
        raise Refused("quote-over", "A quote holds until a day to come; choose today or a later one.")
    lines = _lines(order, "A quote")
    kept = keep(Sheet.QUOTE, act, order=order, revision=order.version)
    return quote_pdf(Quote(_offer(order, lines, kept, act), order.version, until), ShopRules.current().paper)


def print_confirmation(order: Order, act: Act) -> bytes:
    """Return the confirmation of an order's sheet in force, and keep the print. Refused for drafts and cancelled."""
    if order.state != Order.State.RELEASED:
        raise Refused("not-released", f"Order {order} is {order.get_state_display()}; release it, then confirm it.")
    lines = _lines(order, "A confirmation")
    kept = keep(Sheet.CONFIRMATION, act, order=order, revision=order.revision)
    earlier = order.prints.filter(sheet=Sheet.CONFIRMATION, revision__lt=order.revision).order_by("revision").last()
    replaces = revision_letter(earlier.revision) if earlier else ""
    offer = _offer(order, lines, kept, act)
    return confirmation_pdf(
        Confirmation(offer, revision_letter(order.revision), replaces), ShopRules.current().paper
    )  # fmt: skip


def print_day_report(foam: DayFoam, act: Act) -> bytes:
    """Return the foam of a day as its page says it, and keep the print."""
    kept = keep(Sheet.DAY_REPORT, act, of=foam.day.isoformat())
    rules = ShopRules.current()
    report = DayReport(
        day=foam.day, state=_state(foam, act), shop=rules.name, grades=tuple(_grade(row) for row in foam.grades),
        orders=tuple(
            OrderDay(str(row.order), row.order.job, row.grade.name, row.good, row.miscut) for row in foam.orders
        ),
        look_at=(*(row.sentence for row in foam.look_at), *_corrected(foam)), printed=timezone.localtime(act.at),
        printed_by=act.name, print_number=kept.number,
    )  # fmt: skip
    return day_report_pdf(report, rules.paper)


# Offers ---------------------------------------------------------------------------------------------------------------


def _offer(order: Order, lines: tuple[OfferLine, ...], kept: Print, act: Act) -> Offer:
    rules = ShopRules.current()
    return Offer(
        number=order.number, customer=order.customer.name, job=order.job, shop=rules.name, lines=lines,
        printed=timezone.localtime(act.at), printed_by=act.name, print_number=kept.number,
        their_order=order.customer_ref, needed=order.due, indoors=order.indoors, currency=rules.currency,
    )  # fmt: skip


def _lines(order: Order, paper: str) -> tuple[OfferLine, ...]:
    shop, rules = shop_figures(), ShopRules.current()
    lines = order.lines.select_related("grade", "profile__profile", "coat_system", "order")
    if not lines:
        raise Refused("sheet-empty", f"{paper} needs lines; add the first one to order {order}.")
    return tuple(_line(line, shop, rules) for line in lines)


def _line(line: Line, shop: ShopFigures, rules: ShopRules) -> OfferLine:
    try:
        worked = work_out(line, shop)
    except CutsheetError as error:
        raise Refused(error.code, f"Line {line.mark} cannot be worked out: {error.message}") from error
    details = (amount(line), _finished(line, worked), _made_of(line))
    return OfferLine(line.mark, what(line), tuple(filter(None, details)), line_prices(line, worked, rules))


def line_prices(line: Line, worked: Worked, rules: ShopRules) -> tuple[Price, ...]:
    """Return what the price of a line is made of: for the office alone."""
    rate = rules.price_foam if line.grade.price is None else line.grade.price
    return prices(worked.quantities, line.order.unit, foam=rate, hour=rules.price_hour)


def _finished(line: Line, worked: Worked) -> str:
    of, loose, unit = worked.finished, worked.loose, line.order.unit
    if loose:
        return f"finished {loose.of} {say(loose.high, unit)} {unit} high, {say(loose.thick, unit)} {unit} thick"
    sides, order = (
        ((of.l, of.w, of.h), "long × wide × high") if isinstance(of, Box) else ((of.width, of.height), "deep × high")
    )
    return f"finished {' × '.join(say(side, unit) for side in sides)} {unit}, {order}"


def _made_of(line: Line) -> str:
    coat, unit = "", line.order.unit
    if thickness := float(read_length(line.coat, unit)):
        coat = f"coat {say(thickness, unit)} {unit}{f', {line.coat_system}' if line.coat_system else ''}"
    profile = f"profile {line.profile}" if line.profile else ""
    return "; ".join(filter(None, (profile, f"foam {line.grade}", coat)))


# Days -----------------------------------------------------------------------------------------------------------------


def _state(foam: DayFoam, act: Act) -> str:
    if foam.closed:
        return f"closed {say_moment(timezone.localtime(foam.closed.closed_at))} by {foam.closed.closed_by.short_name}"
    return f"open, as of {say_moment(timezone.localtime(act.at))}"


def _grade(row: GradeFoam) -> GradeDay:
    day = row.day
    return GradeDay(
        day.grade.name, day.grade.pattern, opening=day.on_saw_start, received=day.received, issued=day.issued,
        good=day.good, miscut=day.miscut, back=day.back, waste=day.waste, closing=day.on_saw_end,
    )  # fmt: skip


def _corrected(foam: DayFoam) -> list[str]:
    """Return what was corrected after the day was closed, a sentence each."""
    return [
        f"Corrected after closing, {say_moment(timezone.localtime(move.recorded_at))}: {move.piece} "
        f"{bf(move.volume)} bf, {move.reason.rstrip('.')}."
        for move in foam.later
    ]
