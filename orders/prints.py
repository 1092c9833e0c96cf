"""Every sheet that is printed leaves a row: what, which revision, by whom, when, and the how-manieth print it is."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable

from django.db import transaction
from django.db.models import Max, Q

from orders.models import CuttingRun, Order, Print
from orders.sawing import replaced_by
from shop.acts import Act
from shop.models import Person, ShopRules


def keep(
    sheet: Print.Sheet, act: Act, *, order: Order | None = None, run: CuttingRun | None = None, of: str = "",
    revision: int = 0,
) -> Print:  # fmt: skip
    """Write a print with the next number of just that sheet; `of` is its line, its tag, its day, its person.

    Two at once wait for each other at the order, at the plan, or at the shop's rules where it is of neither.
    """
    gate = order or run or ShopRules.current()
    what = {"sheet": sheet, "order": order, "run": run, "of": of, "revision": revision}
    with transaction.atomic():
        type(gate).objects.select_for_update().get(pk=gate.pk)
        printed = Print.objects.filter(**what).count()
        return Print.objects.create(number=printed + 1, by=act.by, at=act.at, **what)


def printed_revisions(orders: Iterable[Order], sheet: Print.Sheet) -> dict[int, set[int]]:
    """Return which revisions of each order were printed as this sheet, by the order's primary key."""
    found: dict[int, set[int]] = defaultdict(set)
    rows = Print.objects.filter(order__in=list(orders), sheet=sheet)
    for order, revision in rows.values_list("order", "revision"):
        found[order].add(revision)
    return found


def in_force(prints: Iterable[Print]) -> dict[int, str]:
    """Return by its primary key whether each print is “in force”, “replaced” or “void”.

    The newest print of a sheet wins. It is replaced too where its order has a later sheet letter or another plan took
    over the rest of its plan, and void where its order was cancelled or its plan thrown away. A quote says itself until
    when it holds. A badge is void, not replaced: it names nobody as soon as there is a newer one.
    """
    prints = list(prints)
    newest, named = _newest(prints), people_of(prints)
    return {each.pk: _older(each) if newest[_key(each)] > each.pk else _standing(each, named) for each in prints}


def people_of(prints: Iterable[Print]) -> dict[str, Person]:
    """Return whose badges these are, by what the print is of."""
    people = Person.objects.filter(pk__in={each.of for each in prints if each.sheet == Print.Sheet.BADGE})
    return {str(person.pk): person for person in people}


def _newest(prints: list[Print]) -> dict[tuple, int]:
    """Return the newest print of each sheet of which these are prints."""
    alike = Q(order__in={each.order_id for each in prints} - {None})
    alike |= Q(run__in={each.run_id for each in prints} - {None})
    alike |= Q(order=None, run=None, of__in={each.of for each in prints})
    rows = Print.objects.filter(alike).order_by().values_list("sheet", "order", "run", "of")
    return {tuple(key): newest for *key, newest in rows.annotate(newest=Max("pk"))}


def _key(of: Print) -> tuple:
    return of.sheet, of.order_id, of.run_id, of.of


def _older(of: Print) -> str:
    return "void" if of.sheet == Print.Sheet.BADGE else "replaced"


def _standing(of: Print, named: dict[str, Person]) -> str:
    if of.sheet == Print.Sheet.BADGE:
        return "in force" if of.of in named and named[of.of].works_at_stations else "void"
    if of.order:
        if of.order.state == Order.State.CANCELLED:
            return "void"
        return "replaced" if of.sheet != Print.Sheet.QUOTE and of.revision != of.order.revision else "in force"
    if of.run and replaced_by(of.run):
        return "replaced"
    return "void" if of.run and of.run.state == CuttingRun.State.VOID else "in force"
