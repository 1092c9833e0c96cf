"""What is wanted: blanks that are due at the saw and that no accepted plan gives."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass

from django.db.models import F, Q, Sum

from orders.models import Blank, CuttingRun, Order, RunBlank, RunSource
from shop.models import Grade

Wanted = list[tuple[Blank, int]]


@dataclass(frozen=True, slots=True)
class Waiting:
    """A grade with blanks that no plan gives yet: how many, of which orders, their volume in cubic micrometres."""

    grade: Grade
    blanks: int
    orders: tuple[int, ...]
    volume: int


def demand(grade: Grade, instead_of: int = 0) -> Wanted:
    """Return the blanks of a grade that are due at the saw and in no accepted plan, with counts, soonest first.

    `instead_of`: the number of a plan of which nothing more is to be opened.
    """
    return _wanted(Blank.objects.filter(line__grade=grade), coming(instead_of))


def waiting_grades() -> list[Waiting]:
    """Return the grades with wanted blanks, in the order of the grades."""
    by_grade: dict[Grade, Wanted] = defaultdict(list)
    for blank, qty in _wanted(Blank.objects.all(), coming()):
        by_grade[blank.line.grade].append((blank, qty))
    grades = Grade.objects.filter(pk__in=[grade.pk for grade in by_grade])
    return [_waiting(grade, by_grade[grade]) for grade in grades]


def _waiting(grade: Grade, wanted: Wanted) -> Waiting:
    orders = sorted({blank.line.order.number for blank, _ in wanted})
    total = sum(blank.volume * qty for blank, qty in wanted)
    return Waiting(grade, sum(qty for _, qty in wanted), tuple(orders), total)


def _wanted(blanks, planned: dict[int, int]) -> Wanted:
    due = blanks.filter(live=True, sawn__lt=F("qty") + F("wire_miscut"))
    due = due.filter(line__order__state=Order.State.RELEASED, line__order__held=False)
    due = due.select_related("line__order", "line__grade")
    ordered = due.order_by(F("line__order__due").asc(nulls_last=True), "line__order__number", "line__position", "pk")
    rows = ((blank, blank.to_saw - planned.get(blank.pk, 0)) for blank in ordered)
    return [(blank, qty) for blank, qty in rows if qty > 0]


def coming(instead_of: int = 0) -> dict[int, int]:
    """Return how many of each blank, by its key, the accepted plans still give; what waits of one plan left out."""
    waiting = Q(source__state=RunSource.State.WAITING, source__run__state=CuttingRun.State.ACCEPTED)
    still = Q(source__state=RunSource.State.ON_SAW) | waiting & ~Q(source__run__number=instead_of)
    rows = RunBlank.objects.filter(still).values_list("blank").order_by()
    return dict(rows.annotate(coming=Sum(F("qty") - F("sawn") - F("miscut"))))
