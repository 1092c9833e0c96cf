"""The quote: what an order would cost, and until when that holds."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from cutsheets.sheets.offer import Offer, offer_sections
from cutsheets.sheets.office import draw_sections, say_full_day
from cutsheets.sheets.page import PageSize, Pen


@dataclass(frozen=True, slots=True)
class Quote:
    """An offer at one version of its order, and the last day on which it holds."""

    offer: Offer
    version: int
    until: date

    @property
    def name(self) -> str:
        """Return order number and version ("4182-7"): a changed order is another quote."""
        return f"{self.offer.number}-{self.version}"


def quote_pdf(quote: Quote, page: PageSize = "letter") -> bytes:
    """Return the quote as a PDF: the same bytes for the same quote. Raises CutsheetError `sheet-empty`."""
    offer = quote.offer
    until = say_full_day(quote.until)
    head = offer.head("Quote", quote.name, f"A quote, not an order. It holds until {until}.")
    pen = Pen(page, title=f"Quote {quote.name}", author=offer.shop, subject=f"{offer.job}, {offer.customer}")
    says = f"This is a quote, not an order: nothing is cut for it. It holds until {until}."
    draw_sections(pen, head, tuple(offer_sections(offer, says)))
    return pen.finish()
