"""What an order costs, line by line, as far as the shop has prices: the body of a quote and of a confirmation."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal

from cutsheets.errors import CutsheetError
from cutsheets.sheets.furniture import INDOORS, Item
from cutsheets.sheets.office import HEADING, MEASURES, Head, Section, facts, priced, rule, say_full_day, words
from cutsheets.sheets.page import BOLD, HAIR

INDENT = 28.0
NOT_IN_IT = "Neither tax nor freight is in any sum."


@dataclass(frozen=True, slots=True)
class Price:
    """A part of what a line costs, in words with its quantity and its rate; no amount where the shop has no price."""

    words: str
    amount: Decimal | None


@dataclass(frozen=True, slots=True)
class OfferLine:
    """A line of an offer: what it is, how much of it, and what it costs. `details`: a row of the paper each."""

    mark: str
    what: str
    details: tuple[str, ...]
    prices: tuple[Price, ...]

    @property
    def total(self) -> Decimal:
        """Return the sum of what is priced."""
        return sum((price.amount for price in self.prices if price.amount is not None), Decimal(0))

    @property
    def unpriced(self) -> bool:
        """Return whether something of the line has no price."""
        return any(price.amount is None for price in self.prices)


@dataclass(frozen=True, slots=True)
class Offer:
    """What is offered or confirmed: an order with its lines. `their_order`: the customer's own number."""

    number: int
    customer: str
    job: str
    shop: str
    lines: tuple[OfferLine, ...]
    printed: datetime
    printed_by: str
    print_number: int = 1
    their_order: str = ""
    needed: date | None = None
    indoors: bool = False
    currency: str = "$"

    def say(self, amount: Decimal) -> str:
        """Return an amount in the shop's currency: a sign stands before it, a code and a space likewise."""
        return f"{self.currency}{' ' if self.currency.isalpha() else ''}{say_money(amount)}"

    def head(self, kind: str, name: str, foot: str) -> Head:
        """Return the head of a paper of this offer. Raises CutsheetError `sheet-empty` where there are no lines."""
        if not self.lines:
            raise CutsheetError("sheet-empty", f"A {kind.lower()} needs lines; add the first one to the order.")
        return Head(kind, name, self.shop, self.printed, self.printed_by, self.print_number, foot)


def say_money(amount: Decimal) -> str:
    """Return an amount with two places.

    >>> say_money(Decimal("1234.5"))
    '1,234.50'
    """
    return f"{amount:,.2f}"


def offer_sections(offer: Offer, says: str) -> Iterator[Section]:
    """Yield the body: whose it is, what the paper `says` of itself, the lines, the sum and what is not in it."""
    needed = say_full_day(offer.needed) if offer.needed else ""
    about = (("for", offer.customer), ("job", offer.job), ("your order", offer.their_order), ("needed", needed))
    yield facts(about)
    yield Section((*words(says, HEADING), rule(HAIR)))
    for line in offer.lines:
        yield _line(line, offer)
    yield Section(tuple(_sum(offer)), whole=True)
    if offer.indoors:
        yield Section(tuple(words(INDOORS)))


def _line(line: OfferLine, offer: Offer) -> Section:
    """Return a line with its price; what the price is made of is the office's."""
    [title, *more] = words(f"Line {line.mark}: {line.what}", HEADING)
    rows = [*more, *(row for detail in line.details for row in words(detail, MEASURES, x=INDENT))]
    for price in line.prices:
        if price.amount is None:
            rows += words(f"Not in the price: {price.words}.", x=INDENT)
    said = f"Line {line.mark}, as far as it is priced" if line.unpriced else f"Line {line.mark}"
    rows += [*priced(said, offer.say(line.total), BOLD, x=INDENT), rule(HAIR)]
    return Section(tuple(rows), title, whole=True)


def _sum(offer: Offer) -> Iterator[Item]:
    total = sum((line.total for line in offer.lines), Decimal(0))
    open_marks = [line.mark for line in offer.lines if line.unpriced]
    yield from priced("Sum of what is priced" if open_marks else "Sum", offer.say(total), HEADING)
    if open_marks:
        marks = f"line{'s' if len(open_marks) > 1 else ''} {', '.join(open_marks)}"
        yield from words(f"Not in it: what has no price yet in {marks}. The office will say it.")
    yield from words(NOT_IN_IT)
