"""What a station has before it: the blanks of an order at the saw, its pieces at the wire."""

from __future__ import annotations

from dataclasses import dataclass, field

from django.db.models import Exists, F, OuterRef, Prefetch, Q

from orders.answers import is_idle
from orders.models import Blank, CuttingRun, Order, Piece, RunBlank, RunSource
from orders.operations import own_pieces
from orders.sawing import next_source
from shop.models import Station, StockMove

OPEN = RunSource.State.ON_SAW
WAITING = RunSource.State.WAITING


@dataclass(slots=True)
class SawRow:
    """Blanks of one size: how far they are, and out of which planned pieces the rest comes.

    `here`: the keys of the pieces that were opened at this station.
    """

    blank: Blank
    here: frozenset[int]
    planned: list[RunBlank] = field(default_factory=list)

    @property
    def pk(self) -> int:
        """Return the key by which an address picks this row."""
        return self.blank.pk

    @property
    def done(self) -> int:
        return self.blank.sawn

    @property
    def due(self) -> int:
        return self.blank.due

    @property
    def left(self) -> int:
        return self.blank.to_saw

    @property
    def again(self) -> int:
        """Return how many of those left replace spoiled ones."""
        return min(self.left, self.blank.again + self.blank.saw_miscut)

    @property
    def most(self) -> int:
        """Return how many may be counted now: what is left, and no more than open pieces give."""
        return min(self.left, sum(room(one) for one in self.planned if one.source.state == OPEN))

    @property
    def open_blank(self) -> RunBlank | None:
        """Return what the piece that is open on a saw still gives of this size."""
        return self._first(OPEN)

    @property
    def waiting_blank(self) -> RunBlank | None:
        """Return the next planned piece that still lies on the rack."""
        return self._first(WAITING)

    @property
    def unsettled(self) -> RunSource | None:
        """Return an open piece that has given all its blanks: its remnants, or its end, are next."""
        return next((one.source for one in self.planned if one.source.state == OPEN and is_spent(one.source)), None)

    @property
    def still_open(self) -> RunSource | None:
        """Return a piece, opened here, that has blanks of other sizes or orders still to give."""
        lying = (one.source for one in self.planned if one.source.state == OPEN and one.source_id in self.here)
        return next((source for source in lying if not is_spent(source)), None)

    @property
    def order_of_picking(self) -> tuple[int, int, int, int]:
        """Return which size comes first: out of an open piece, to settle, to go on with, to open, to plan, done.

        Of several the one whose piece comes first in its plan, out of one piece the one that is cut first, as the saw
        sheet has it.
        """
        left = self.left
        opened, waiting = left and self.open_blank, left and self.waiting_blank
        planned = opened or waiting
        wishes = (opened and opened.source, self.unsettled, self.still_open, waiting and waiting.source)
        for place, source in enumerate(wishes):
            if source:
                return place, source.run.number, source.position, planned.pk if planned else 0
        return len(wishes) + (not left), 0, 0, 0

    def _first(self, state: str) -> RunBlank | None:
        return next((one for one in self.planned if one.source.state == state and room(one)), None)


def room(run_blank: RunBlank) -> int:
    """Return how many blanks of one size a piece of the plan still gives."""
    return run_blank.qty - run_blank.sawn - run_blank.miscut


def is_spent(source: RunSource) -> bool:
    """Return whether a piece has given every blank that was planned out of it."""
    return not any(room(one) for one in source.blanks.all())


def opened_at(station: Station):
    """Return the pieces that lie open at a station."""
    here = StockMove.objects.filter(kind=StockMove.Kind.ISSUE, station=station, piece=OuterRef("piece"))
    return RunSource.objects.filter(Exists(here), state=OPEN)


def saw_rows(order: Order, station: Station) -> list[SawRow]:
    """Return the sizes of an order, in the order of its lines, long ones first."""
    here = frozenset(opened_at(station).values_list("pk", flat=True))
    blanks = Blank.objects.filter(line__order=order, live=True).select_related("line__grade", "line__order")
    rows = {blank.pk: SawRow(blank, here) for blank in blanks.order_by("line__position", "-l_um", "pk")}
    planned = RunBlank.objects.filter(Q(source__state=OPEN) | Q(source__state=WAITING, source__run__state="accepted"))
    planned = planned.filter(blank__in=rows).select_related("source__piece__grade", "source__run")
    gives = RunBlank.objects.select_related("blank__line__order")
    planned = planned.prefetch_related(Prefetch("source__blanks", gives))
    for one in planned.order_by("source__run__number", "source__position"):
        rows[one.blank_id].planned.append(one)
    return list(rows.values())


def to_go_on(source: RunSource) -> Blank | None:
    """Return blanks that a piece still gives and that may be sawn now."""
    rows = source.blanks.select_related("blank__line__order__held_by")
    return next((one.blank for one in rows if room(one) and one.blank.to_saw and not is_idle(one.blank)), None)


def goes_on_with(blank: Blank) -> tuple[RunSource, Blank] | None:
    """Return the next piece of the accepted plans that give a blank, and what is sawn out of it; None: nothing."""
    plans = CuttingRun.objects.filter(state=CuttingRun.State.ACCEPTED, sources__blanks__blank=blank)
    for source in filter(None, map(next_source, plans.distinct().order_by(F("number").desc()))):
        if other := to_go_on(source):
            return source, other
    return None


def piece_rows(order: Order, kind: str) -> list[Piece]:
    """Return the pieces of an order that stations of this kind have to do with, in the order of its lines."""
    related = ("line__grade", "line__order", "line__profile__profile", "line__coat_system", "blank")
    return list(own_pieces(order, kind).select_related(*related))


def can_do(piece: Piece, operation: str) -> int:
    """Return how many of a piece an operation can do now; a coat's cure is not asked here."""
    if operation == "cut":
        return min(piece.qty - piece.cut, max(0, piece.blank.ready))
    return piece.to_coat if operation == "coat" else min(piece.qty, piece.through) - piece.packed


def pick(rows: list, wanted: str, rank):
    """Return the row that was asked for by its key, else the one that comes first by `rank`."""
    asked = next((row for row in rows if str(row.pk) == wanted), None)
    return asked or min(rows, key=rank, default=None)


def next_station(kind: str) -> str:
    """Return the names of the stations of a kind, for the arrow that says where to go."""
    names = Station.objects.filter(kind=kind, active=True).values_list("name", flat=True)
    return " or ".join(names) or Station.Kind(kind).label
