"""The week of the demo, day by day up to this morning, lived through the services that people use.

Two orders are done, packed to the last piece; one is in work and late, its sills half packed and some of its surrounds
curing; one has not begun and is late, one is on hold, the largest lies on the saw. Orders of every other kind of part
came in today: some wait for a plan, some are drafts. Yesterday's foam is closed; the remnants on the rack are those
that the plans left.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from datetime import date, datetime, time, timedelta

from django.utils import timezone

from cutsheets.codes import make_sheet_code
from cutsheets.units import read_length, um_down
from orders import entry, moves, planning, sawing, scanning, travellers
from orders.exchange.jobs import import_job
from orders.models import Customer, CuttingRun, Order, Piece, RunSource
from shop import account
from shop.acts import Act
from shop.models import BlockSize, CoatSystem
from shop.tags import BLOCK, free_tags

from .shop import JOBS, Shop

FIRST_NUMBER = 4176  # the shop's paper book ended at 4175
ITERATIONS = 3
# days until it is needed (from today), what each line is
ORDERS = {
    "1-wickett-library-porch": (0, ("Porch cornice", "Porch band")),
    "2-harbor-green-bandstand": (2, ("Eaves band",)),
    "3-fenns-corner-inn": (-1, ("Window surrounds", "Sills")),
    "4-cobble-lane-chapel": (9, ("Gable rakes",)),
    "5-calder-planters": (-2, ("Trough forms", "Slab forms")),
    "6-mill-row-doors": (6, ("Door surrounds", "Door caps")),
    "7-bramhall-street-theatre": (
        8,
        ("Cornice, front run", "Cornice, returns", "Window surrounds", "Marquee cornice", "Water table"),
    ),
    "8-ferry-landing": (20, ("Base course",)),
    "9-mill-row-columns": (12, ("Porch columns", "Garden columns", "Bell tapers", "Newel twists")),
    "10-wickett-library-sign": (7, ("Sign letters", "Reading-room arches", "Door arch", "Keystones")),
    "11-harbor-green-gateposts": (14, ("Gatepost finials", "Balusters")),
    "12-calder-planter-moulds": (16, ("Planter moulds",)),
    "13-saltmarsh-gliders": (18, ("Trainer wings",)),
    "14-fenns-corner-lounge": (21, ("Sprung cove",)),
}
CONTACTS = {
    "Osgood & Lyle Builders": ("Dale Osgood", "555-0142"),
    "Wickett Library Trustees": ("Ines Farrow", "555-0117"),
    "Harbor Green Parks Department": ("Tom Abara", "555-0190"),
    "Fenn's Corner Inn": ("Greta Fenn", "555-0163"),
    "Calder & Daughters, Masons": ("Ruth Calder", "555-0128"),
    "Saltmarsh Glider Club": ("Pim Haldane", "555-0175"),
}
# grade, nominal size, as measured, how many, lot, working days since they came, their age in days on that day, place
BLOCKS = (
    ("Light 1.0", "8 ft, full", ("97 1/8", "48 7/8", "36 15/16"), 5, "LT-0412", 5, 9, "bay A"),
    ("Firm 1.5", "8 ft, full", ("97", "48 15/16", "37"), 5, "FM-0398", 5, 14, "bay B"),
    ("Dense 2.0", "8 ft, half", ("97", "49", "25"), 2, "DN-0127", 5, 21, "bay C"),
    ("Mould 1.25", "8 ft, half", ("97 1/16", "49", "24 7/8"), 3, "MD-0088", 4, 8, "bay C"),
    ("Light 1.0", "8 ft, full", ("97", "49", "37"), 2, "LT-0419", 1, 2, "bay A"),
)


def workday(back: int) -> date:
    """Return the day that was `back` working days before today."""
    day = timezone.localdate()
    while back:
        day -= timedelta(days=1)
        back -= day.weekday() < 5
    return day


@dataclass
class Week:
    """The shop, the clock on its wall, and the orders by the number of their file."""

    shop: Shop
    clock: datetime = field(default_factory=timezone.now)
    orders: dict[int, Order] = field(default_factory=dict)

    def go_to(self, back: int, hour: int) -> None:
        """Set the clock to this hour of the working day that was `back` days ago; today, to an hour ago at most."""
        self.clock = timezone.make_aware(datetime.combine(workday(back), time(hour)))
        if not back:
            midnight = timezone.make_aware(datetime.combine(workday(0), time()))
            self.clock = max(midnight, timezone.now() - timedelta(hours=1))

    def act(self, who: str, station: str = "") -> Act:
        """Return what this person does next, a little later than the last."""
        self.clock += timedelta(minutes=1)
        station_row = self.shop.stations[station] if station else None
        return Act(by=self.shop.people[who], station=station_row, at=min(self.clock, timezone.now()))

    def fresh(self, number: int) -> Order:
        return Order.objects.get(pk=self.orders[number].pk)


def live(shop: Shop) -> None:
    """Live the week up to this morning."""
    week = Week(shop)
    for back in (5, 4):
        _receive(week, back)
    for day in (_four_days_ago, _three_days_ago, _two_days_ago, _yesterday, _today):
        day(week)


def _four_days_ago(week: Week) -> None:
    week.go_to(4, 9)
    for number in (1, 2, 3):
        _take_down(week, number)
    for number in (1, 2):
        _release(week, number)


def _three_days_ago(week: Week) -> None:
    """Saw, cut and coat porch and bandstand; of the bandstand one blank and one piece are ruined and made good."""
    week.go_to(3, 8)
    _saw(week, _plan(week, "Light 1.0"))
    _saw(week, _plan(week, "Firm 1.5"), ruin_one=True)
    _cut(week, 1)
    band = week.fresh(2).lines.get().pieces.first()
    moves.count_cut(band, band.blank.ready - 2, week.act("bo", "cutter-2"))
    moves.miscut_at_wire(band, 1, "wire sagged at the corner", week.act("bo", "cutter-2"))
    _saw(week, _plan(week, "Firm 1.5"))
    _cut(week, 2)
    for number in (1, 2):
        _coat(week, number)
    _release(week, 3)
    account.close_day(workday(3), week.act("raf"))


def _two_days_ago(week: Week) -> None:
    """Saw, cut and coat the sills of the inn."""
    week.go_to(2, 8)
    _saw(week, _plan(week, "Dense 2.0"))
    _cut(week, 3, lines="B")
    _coat(week, 3, lines="B")
    account.close_day(workday(2), week.act("raf"))


def _yesterday(week: Week) -> None:
    """Saw the surrounds of the inn and cut part of them; pack what is cured; the chapel waits for its deposit."""
    _receive(week, 1)
    for number in (4, 5, 6, 7):
        _take_down(week, number)
    _release(week, 4)
    moves.hold(week.fresh(4), "deposit not in.", week.act("mina"))
    _release(week, 5)
    _saw(week, _plan(week, "Light 1.0"))
    _cut(week, 3, lines="A", share=2)
    week.go_to(1, 15)
    for number in (1, 2):
        _pack(week, number)
    _pack(week, 3, lines="B", share=2)
    account.close_day(workday(1), week.act("raf"))


def _today(week: Week) -> None:
    """Coat surrounds of the inn, begin to saw the theatre front; doors wait for a plan, the ferry for a measure."""
    week.go_to(0, 8)
    _coat(week, 3, lines="A")
    for number in (6, 7):
        _release(week, number)
    run = _plan(week, "Firm 1.5")
    source = run.sources.first()
    sheet = make_sheet_code(week.fresh(7).number, "A")
    scanning.scan(sheet, replace(week.act("bo", "saw-1"), scan_id="demo-theatre"))
    sawing.open_source(source, week.act("bo", "saw-1"))
    planned = source.blanks.first()
    moves.count_sawn(planned.blank, max(1, planned.qty // 2), week.act("bo", "saw-1"))
    for number in range(8, 15):
        _take_down(week, number)
    for number in (9, 10, 11):
        _release(week, number)


def _receive(week: Week, back: int) -> None:
    week.go_to(back, 7)
    for grade, name, sides, count, lot, came, age, place in BLOCKS:
        if came != back:
            continue
        l_um, w_um, h_um = (um_down(read_length(side, "in")) for side in sides)
        nominal, moulded = BlockSize.objects.get(name=name), workday(back) - timedelta(days=age)
        for tag in free_tags(BLOCK, count):
            account.receive(
                tag, week.shop.grades[grade], (l_um, w_um, h_um), week.act("bo"),
                nominal=nominal, lot=lot, mould_date=moulded, place=place,
            )  # fmt: skip


def _take_down(week: Week, number: int) -> None:
    """Enter one order: its job file, then what the file does not hold."""
    [file] = JOBS.glob(f"{number}-*.json")
    days, titles = ORDERS[file.stem]
    job = json.loads(file.read_text("utf-8")) | {"due": _due(days).isoformat()}
    order = import_job(json.dumps(job), week.act("mina"))
    if number == 1:
        Order.objects.filter(pk=order.pk).update(number=FIRST_NUMBER)
    contact, phone = CONTACTS[order.customer.name]
    Customer.objects.filter(pk=order.customer_id).update(contact=contact, phone=phone)
    week.orders[number] = order
    for line, title in zip(order.lines.all(), titles, strict=True):
        thickness = read_length(line.coat, "in")
        data = {"title": title, "coat_system": CoatSystem.objects.filter(thickness_mm=thickness).first()}
        entry.save_line(order, data, week.act("mina"), version=week.fresh(number).version, line=line)


def _release(week: Week, number: int) -> None:
    moves.release(week.fresh(number), week.act("mina"))
    travellers.print_traveller(week.fresh(number), week.act("mina"))


def _due(days: int) -> date:
    """Return a day so far from today, moved off a weekend: a late one back, another on."""
    if days < 0:
        return workday(-days)
    day = timezone.localdate() + timedelta(days=days)
    return day + timedelta(days=max(0, 7 - day.weekday()) if day.weekday() >= 5 else 0)


def _plan(week: Week, grade: str) -> CuttingRun:
    """Plan what waits for a grade, accept and print it. The search is short, and the same on every machine."""
    run = planning.make_plan(week.shop.grades[grade], week.act("raf"), seconds=20, iterations=ITERATIONS)
    run = planning.accept(run, week.act("raf"))
    travellers.print_saw_sheets(run, week.act("mina"))
    return run


def _saw(week: Week, run: CuttingRun, *, ruin_one: bool = False) -> None:
    """Saw an accepted plan to its end; its remnants go on the rack."""
    for source in run.sources.all():
        sawing.open_source(source, week.act("bo", "saw-1"))
        for planned in source.blanks.all():
            good = planned.qty - ruin_one
            if ruin_one:
                moves.miscut_at_saw(planned.blank, 1, "fence slipped", week.act("bo", "saw-1"))
                ruin_one = False
            if good:
                moves.count_sawn(planned.blank, good, week.act("bo", "saw-1"))
        for remnant in source.remnants.all():
            size = (remnant.l_um, remnant.w_um, remnant.h_um)
            sawing.put_back(remnant, size, week.act("bo", "saw-1"), place="remnant rack")
        sawing.finish_source(RunSource.objects.get(pk=source.pk), week.act("bo", "saw-1"))


def _cut(week: Week, number: int, *, lines: str = "", share: int = 1) -> None:
    """Cut what is sawn of an order, all of it or one part in `share`."""
    for piece in _pieces(week, number, lines):
        if count := min(piece.qty - piece.cut, piece.blank.ready) // share:
            moves.count_cut(piece, count, week.act("bo", "cutter-1"))


def _coat(week: Week, number: int, *, lines: str = "") -> None:
    """Coat what is cut of an order."""
    for piece in _pieces(week, number, lines):
        if piece.to_coat:
            moves.count_coated(piece, piece.to_coat, week.act("bo", "coat-1"))


def _pack(week: Week, number: int, *, lines: str = "", share: int = 1) -> None:
    """Pack what is coated of an order, all of it or one part in `share`."""
    for piece in _pieces(week, number, lines):
        if count := (piece.through - piece.packed) // share:
            moves.count_packed(piece, count, week.act("bo", "pack-1"))


def _pieces(week: Week, number: int, lines: str) -> Iterator[Piece]:
    """Yield the pieces of an order, or of these of its lines, as they stand when their turn comes."""
    rows = Piece.objects.filter(line__order=week.fresh(number), live=True).order_by("line__position", "position")
    for row in rows.filter(line__mark__in=lines) if lines else rows:
        yield Piece.objects.select_related("blank", "line__order").get(pk=row.pk)
