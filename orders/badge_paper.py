"""Badges of whoever works at the stations, each kept as a print: a new one voids the old."""

from __future__ import annotations

from collections.abc import Sequence

from django.db import transaction

from cutsheets.errors import CutsheetError
from cutsheets.sheets.badges import Badge, badges_pdf
from cutsheets.sheets.labelgrids import grid_named
from orders.models import Print
from orders.prints import keep
from shop.acts import Act
from shop.badges import new_badge
from shop.models import Person, ShopRules
from shop.refusals import Refused


@transaction.atomic
def print_badges(people: Sequence[Person], act: Act, *, grid: str, start: int = 1) -> bytes:
    """Return new badges as a PDF on a grid of labels, the first at label `start`, and keep a print of each.

    Refused where somebody has no work at the stations, or the sheet has no such label; the old badges stay good then.
    """
    rules = ShopRules.current()
    cards = [Badge(person.get_full_name() or person.username, new_badge(person, act.at)) for person in people]
    for person in people:
        keep(Print.Sheet.BADGE, act, of=str(person.pk))
    try:
        return badges_pdf(cards, grid_named(grid), start=start, shop=rules.name, dpi=rules.label_dpi)
    except CutsheetError as error:
        raise Refused(error.code, error.message) from error
