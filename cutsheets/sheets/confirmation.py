"""The order confirmation: what the shop has taken down, so that the customer can say what is wrong with it."""

from __future__ import annotations

from dataclasses import dataclass

from cutsheets.sheets.offer import Offer, offer_sections
from cutsheets.sheets.office import draw_sections
from cutsheets.sheets.page import PageSize, Pen


@dataclass(frozen=True, slots=True)
class Confirmation:
    """An order at one sheet letter, as the customer reads it; `replaces`: the letter that was confirmed before."""

    offer: Offer
    revision: str
    replaces: str = ""

    @property
    def name(self) -> str:
        """Return order number and sheet letter ("4182 C")."""
        return f"{self.offer.number} {self.revision}"


def confirmation_pdf(confirmation: Confirmation, page: PageSize = "letter") -> bytes:
    """Return the confirmation as a PDF: the same bytes for the same one. Raises CutsheetError `sheet-empty`."""
    offer, name = confirmation.offer, confirmation.name
    foot = "Finished sizes are as installed, after coating; foam is cut smaller."
    head = offer.head("Order confirmation", name, foot)
    pen = Pen(page, title=f"Order confirmation {name}", author=offer.shop, subject=f"{offer.job}, {offer.customer}")
    says = "We have your order as written here. Check it, and tell us at once what is wrong."
    if confirmation.replaces:
        says += f" It replaces our confirmation {offer.number} {confirmation.replaces}."
    draw_sections(pen, head, tuple(offer_sections(offer, says)))
    return pen.finish()
