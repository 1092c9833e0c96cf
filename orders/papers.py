"""Papers of orders and plans: which ones the floor takes, in which order, and what each of them prints.

A paper is a few plain words that a queue can keep; only when its turn comes is it filled from the rows, and then the
print is kept.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from datetime import datetime
from typing import Any, NamedTuple

from django.db.models import Count, Min

from cutsheets.sheets.batch import Sheet
from cutsheets.units import read_length
from orders.cut_paper import cut_sheets_of
from orders.models import CuttingRun, Line, Order, Print, RunSource
from orders.packing import coat_sheet_of, pack_list_of, packing_slip_of
from orders.travellers import saw_sheet_of, traveller_of
from shop.acts import Act

Kind = Print.Sheet


class Paper(NamedTuple):
    """What is printed, the number of its order or plan, and what was asked of it: one line, a time, some labels."""

    sheet: str
    number: int
    asked: dict[str, Any] | None = None


def travellers_of(orders: Iterable[Order]) -> list[Paper]:
    """Return the travellers of some orders as the floor takes them."""
    return [Paper(Kind.TRAVELLER.value, order.number) for order in _soonest(orders)]


def sheets_of_orders(orders: Iterable[Order]) -> list[Paper]:
    """Return all sheets of some orders as the floor takes them."""
    return [paper for order in _soonest(orders) for paper in _sheets_of_order(order)]


def sheets_of_plan(run: CuttingRun) -> list[Paper]:
    """Return all sheets of a plan: its saw sheets, then those of its orders as their blanks are sawn."""
    planned = RunSource.objects.filter(run=run, blanks__blank__live=True).exclude(state=RunSource.State.OUT)
    rows = planned.values_list("blanks__blank__line__order").annotate(first=Min("position"))
    first = dict(rows.order_by())
    orders = Order.objects.filter(pk__in=first).prefetch_related("lines")
    ordered = sorted(orders, key=lambda order: (first[order.pk], order.number))
    return [
        Paper(Kind.SAW_SHEET.value, run.number),
        *(paper for order in ordered for paper in _sheets_of_order(order)),
    ]


def work_of(papers: Iterable[Paper]) -> int:
    """Return how many lines and opened pieces the papers draw; a line on three sheets counts three times."""
    papers = list(papers)
    numbers = {paper.number for paper in papers}
    lines = dict(_counted(Line.objects.filter(order__number__in=numbers), "order__number"))
    opened = dict(_counted(RunSource.objects.filter(run__number__in=numbers), "run__number"))
    return sum((opened if paper.sheet == Kind.SAW_SHEET else lines).get(paper.number, 0) for paper in papers)


def sheets_of(paper: Paper, act: Act) -> list[Sheet]:
    """Return what a paper prints, a sheet or several, and keep the prints."""
    if paper.sheet == Kind.SAW_SHEET:
        return [saw_sheet_of(CuttingRun.objects.select_related("grade").get(number=paper.number), act)]
    order = Order.objects.select_related("customer").get(number=paper.number)
    return OF_ORDER[paper.sheet](order, act, **paper.asked or {})


def _coat_sheet(order: Order, act: Act, coated: str = "") -> list[Sheet]:
    return [coat_sheet_of(order, act, datetime.fromisoformat(coated) if coated else None)]


OF_ORDER: dict[str, Callable[..., list[Sheet]]] = {
    Kind.TRAVELLER: lambda order, act: [traveller_of(order, act)],
    Kind.CUT_SHEET: cut_sheets_of,
    Kind.COAT_SHEET: _coat_sheet,
    Kind.PACK_LIST: lambda order, act: [pack_list_of(order, act)],
    Kind.PACKING_SLIP: lambda order, act: [packing_slip_of(order, act)],
}


def _soonest(orders: Iterable[Order]) -> list[Order]:
    """Return what is needed first, first."""
    return sorted(orders, key=lambda order: (order.due is None, order.due, order.number))


def _sheets_of_order(order: Order) -> list[Paper]:
    """Return the sheets that go through the shop with an order; a coat sheet only where something gets coat."""
    coat = any(read_length(line.coat, order.unit) for line in order.lines.all())
    kinds = [Kind.TRAVELLER, Kind.CUT_SHEET, *([Kind.COAT_SHEET] if coat else []), Kind.PACK_LIST]
    return [Paper(kind.value, order.number) for kind in kinds]


def _counted(rows, by: str):
    return rows.order_by().values_list(by).annotate(Count("pk"))
