"""The day's foam for the page and for paper: the account's figures, by grade and by order, and what to look at.

Volumes are whole cubic micrometres; `board_feet` says them as the shop does. A closed day shows the figures it was
closed with; what was corrected on it afterwards stands beside them, as lines of its own.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, fields
from datetime import date

from django.utils import timezone

from cutsheets.days import say_moment
from cutsheets.units import board_feet as board_feet_of_mm3
from orders.models import Clash, Order, RunRemnant, RunSource
from orders.standing import Standing, standings
from shop import account
from shop.account import GradeDay
from shop.models import DayClose, Grade, StockMove
from shop.outages import outages

UM3_PER_MM3 = 10**9
Kind = StockMove.Kind
Rack = Counter[tuple[int, bool]]  # how many of (grade, is it a remnant) stand free


def board_feet(volume: int) -> float:
    """Return cubic micrometres as board feet.

    >>> board_feet(12 * 304_800**3)
    144.0
    """
    return board_feet_of_mm3(volume / UM3_PER_MM3)


@dataclass(frozen=True, slots=True)
class GradeFoam:
    """One grade: the day's figures, and what stood free on the rack at its end; today, what stands there now."""

    day: GradeDay
    blocks: int
    remnants: int

    @property
    def grade(self) -> Grade:
        return self.day.grade

    @property
    def is_low(self) -> bool:
        """Return whether the shop should order more blocks."""
        return self.blocks < self.grade.order_at


@dataclass(frozen=True, slots=True)
class OrderFoam:
    """What one order took of one grade that day, and where the order stands now."""

    order: Order
    grade: Grade
    standing: Standing
    good: int
    miscut: int


@dataclass(frozen=True, slots=True)
class LookAt:
    """Something to look at: a code (miscut, waste, down, held, remnant, low), what it is about, a sentence."""

    code: str
    about: str
    sentence: str


@dataclass(frozen=True, slots=True)
class DayFoam:
    """The foam of one day. `closed` is None while it is open; `later` are corrections made after it was closed."""

    day: date
    closed: DayClose | None
    grades: tuple[GradeFoam, ...]
    orders: tuple[OrderFoam, ...]
    look_at: tuple[LookAt, ...]
    later: tuple[StockMove, ...]

    def total(self, name: str) -> int:
        """Return one of the figures (`issued`, `good`, …, `unaccounted`) for all grades together."""
        return sum(getattr(grade.day, name) for grade in self.grades)


def day(of: date) -> DayFoam:
    """Return the foam of a day; a closed day stays as it was closed."""
    closed = DayClose.objects.select_related("closed_by").filter(day=of).first()
    figures = _frozen(closed) if closed else account.day_figures(of)
    moves = list(
        StockMove.objects.filter(day=of).select_related("piece", "grade", "station", "by").order_by("recorded_at", "pk")
    )
    after = [move for move in moves if move.kind == Kind.CORRECTION and closed and move.recorded_at > closed.closed_at]
    rack = Counter((piece.grade_id, piece.parent_id is not None) for piece in account.free_at_end(of))
    now = () if closed else (*_down(), *_clashes(), *_held(), *_waiting_remnants(), *_low(rack))
    return DayFoam(
        day=of, closed=closed, grades=tuple(_with_rack(figures, rack)), orders=tuple(_orders(moves)),
        look_at=(*_spoiled(moves), *now), later=tuple(after),
    )  # fmt: skip


def _frozen(closed: DayClose) -> list[GradeDay]:
    """Return the figures as they stood when the day was closed."""
    grades = {grade.name: grade for grade in Grade.objects.all()}
    names = [column.name for column in fields(GradeDay) if column.name != "grade"]
    return [
        GradeDay(grades[row["grade"]], **{name: int(row[name]) for name in names}) for row in closed.figures["grades"]
    ]


def _with_rack(figures: Iterable[GradeDay], rack: Rack) -> Iterable[GradeFoam]:
    for row in figures:
        yield GradeFoam(row, blocks=rack[row.grade.pk, False], remnants=rack[row.grade.pk, True])


def _orders(moves: Iterable[StockMove]) -> Iterable[OrderFoam]:
    volumes: dict[tuple[str, Grade], dict[str, int]] = defaultdict(lambda: {Kind.GOOD: 0, Kind.MISCUT: 0})
    for move in moves:
        if move.kind in (Kind.GOOD, Kind.MISCUT):
            volumes[move.order_ref, move.grade][move.kind] += move.volume
    numbers = {int(ref) for ref, _ in volumes if ref.isdecimal()}
    orders = {str(order): order for order in Order.objects.filter(number__in=numbers).select_related("customer")}
    where = standings(orders.values())
    for (ref, grade), sums in sorted(volumes.items(), key=lambda row: (row[0][0], row[0][1].name)):
        if order := orders.get(ref):
            yield OrderFoam(order, grade, where[order.pk], sums[Kind.GOOD], sums[Kind.MISCUT])


# To look at -----------------------------------------------------------------------------------------------------------


def _spoiled(moves: Iterable[StockMove]) -> Iterable[LookAt]:
    """Return what was ruined or not kept, with its reason, unless it was taken back since."""
    sums: dict[tuple[str, str, str], int] = defaultdict(int)
    for move in moves:
        if move.kind == Kind.MISCUT:
            sums["miscut", f"{move.order_ref} {move.line_ref}", move.reason.removeprefix("undone: ")] += move.volume
        elif move.kind == Kind.WASTE and move.reason:
            sums["waste", move.opened, move.reason] += move.volume
    for (code, about, reason), volume in sums.items():
        if volume:
            yield LookAt(code, about, f"{about}: {board_feet(volume):,.1f} bf {code}, {reason.rstrip('.')}.")


def _down() -> Iterable[LookAt]:
    """Return the stations that are down."""
    for row in outages():
        since = say_moment(timezone.localtime(row.since))
        yield LookAt("down", str(row.station), f"{row.station} is down since {since}: {row.reason.rstrip('.')}.")


def _clashes() -> Iterable[LookAt]:
    """Return the orders and stations of acts that were kept without network and not taken, until they are settled."""
    waiting = Clash.objects.filter(settled_at=None).values_list("order__number", "station__name")
    for (number, station), count in sorted(Counter(waiting).items(), key=str):
        about, acts = str(number or station), f"{count} act{'s' if count != 1 else ''}"
        yield LookAt("clash", about, f"{about}: {acts} kept at {station} without network not taken. Settle it.")


def _held() -> Iterable[LookAt]:
    """Return the orders on hold whose foam lies on a saw."""
    lying = RunSource.objects.filter(state=RunSource.State.ON_SAW, blanks__blank__line__order__held=True)
    rows = lying.values_list("blanks__blank__line__order__number", "blanks__blank__line__order__held_at", "piece__tag")
    for number, since, tag in rows.distinct().order_by("blanks__blank__line__order__number", "piece__tag"):
        when = f" since {say_moment(timezone.localtime(since))}" if since else ""
        yield LookAt("held", str(number), f"{number} is on hold{when}. {tag} is on the saw.")


def _waiting_remnants() -> Iterable[LookAt]:
    """Return the planned remnants of opened pieces that are neither back nor given up."""
    waiting = RunRemnant.objects.filter(settled=False, source__state=RunSource.State.ON_SAW)
    for remnant in waiting.select_related("source__piece", "source__run").order_by("tag"):
        of = f"{remnant.source.piece}, {remnant.source.run}"
        yield LookAt("remnant", remnant.tag, f"{remnant.tag} of {of} is not back on the rack.")


def _low(rack: Rack) -> Iterable[LookAt]:
    for grade in Grade.objects.filter(active=True, order_at__gt=0):
        blocks = rack[grade.pk, False]
        if blocks < grade.order_at:
            left = f"{blocks} block{'s' if blocks != 1 else ''} left"
            yield LookAt("low", grade.name, f"{grade}: {left}, below {grade.order_at}. Order more.")
