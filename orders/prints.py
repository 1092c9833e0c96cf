"""Every sheet that is printed leaves a row: what, which revision, by whom, when, and the how-manieth print it is."""

from __future__ import annotations

from django.db import transaction

from orders.models import CuttingRun, Order, Print
from shop.acts import Act
from shop.models import ShopRules


def keep(
    sheet: Print.Sheet, act: Act, *, order: Order | None = None, run: CuttingRun | None = None, of: str = "",
    revision: int = 0,
) -> Print:  # fmt: skip
    """Write a print with the next number of just that sheet; `of` is its line, its tag, its day.

    Two at once wait for each other at the order, at the plan, or at the shop's rules where it is of neither.
    """
    gate = order or run or ShopRules.current()
    what = {"sheet": sheet, "order": order, "run": run, "of": of, "revision": revision}
    with transaction.atomic():
        type(gate).objects.select_for_update().get(pk=gate.pk)
        printed = Print.objects.filter(**what).count()
        return Print.objects.create(number=printed + 1, by=act.by, at=act.at, **what)
