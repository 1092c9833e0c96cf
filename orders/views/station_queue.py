"""What waits for a station: its orders, those that are needed first at the top, and what becomes ready when."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable

from django.db.models import F
from django.utils import timezone

from orders.answers import DONE_WORDS, hand_words, hands
from orders.curing import curing
from orders.models import CuttingRun, Order, Piece, RunSource
from orders.operations import counts_at, pieces_of, waiting_for
from orders.workflow import NONE, Count
from shop.models import Station

from .showing import is_late
from .station_coat import batches
from .station_finish import free
from .station_work import room

MOST = 6  # rows that a tablet shows, some of them with who has it in hand
MOST_CURING = 3
MANY = 96  # orders among which those come first that can be worked on now: whole pages of a tablet
RELATED = ("line__coat_system", "line__order", "blank")
Kind = Station.Kind


def queue(station: Station, start: int = 0) -> dict:
    """Return a page of the orders that have work for this station, and how many come before and after it.

    Soonest needed first; of every `MANY` those that can be worked on now come before the others.
    """
    waiting = waiting_for(station.kind).order_by(F("due").asc(nulls_last=True), "number").select_related("customer")
    total = waiting.count()
    start = start if start < total else 0
    rows = _next_rows(station, list(waiting[start - start % MANY :][:MANY]))
    shown = rows[start % MANY :][:MOST]
    return {"rows": shown, "start": start, "end": start + len(shown), "total": total}


def _next_rows(station: Station, orders: list[Order]) -> list[dict]:
    """Return orders with what is ready for each here, who has it in hand, and if it is late; ready ones come first."""
    ready = _planned(orders) if station.kind == Kind.SAW else _here(orders, station)
    nothing = "not planned" if station.kind == Kind.SAW else ""
    held = hands(orders, timezone.now(), station.kind)
    today = timezone.localdate()
    rows = [
        row
        | {
            "ready": ready.get(key, nothing),
            "late": is_late(row["order"], "released", today),
            "hands": [hand_words(hand) for hand in held.get(key, ())],
        }
        for key, row in ((row["order"].pk, row) for row in order_rows(orders, station))
    ]
    return sorted(rows, key=lambda row: row["order"].pk not in ready)


def order_rows(orders: Iterable[Order], station: Station) -> list[dict]:
    """Return each order with how far this station's own operation is."""
    orders = list(orders)
    counts: dict[int, Count] = counts_at(orders, station.kind)
    verb = DONE_WORDS[station.operation]
    return [
        {"order": order, "done": count.done, "due": count.due, "verb": verb}
        for order, count in ((order, counts.get(order.pk, NONE)) for order in orders)
    ]


def curing_rows(station: Station) -> list[dict]:
    """Return what becomes ready next in the shop, for those who coat and pack: three batches at most."""
    if station.kind not in (Kind.COAT, Kind.PACK):
        return []
    out = Piece.objects.filter(live=True, coated__gt=F("packed"), line__order__state=Order.State.RELEASED)
    pieces = list(out.select_related(*RELATED))
    return batches(pieces, curing(pieces, timezone.now()))[:MOST_CURING]


def _here(orders: list[Order], station: Station) -> dict[int, str]:
    """Return how many pieces of each order can be cut, coated or packed now, in words."""
    pieces = list(pieces_of(orders, station.kind).select_related(*RELATED))
    cures = curing(pieces, timezone.now()) if station.kind == Kind.PACK else {}
    counts: dict[int, int] = defaultdict(int)
    for piece in pieces:
        of = {"cure": cures[piece.pk]} if cures else {}
        counts[piece.line.order_id] += free(piece, station.operation, **of)
    return {key: f"{count} ready" for key, count in counts.items() if count}


def _planned(orders: list[Order]) -> dict[int, str]:
    """Return what is opened next for each order, as the accepted plans have it: “K-0003 of plan 4”."""
    open_first = F("state").asc()  # “saw” before “waiting”
    wanted = (RunSource.State.ON_SAW, RunSource.State.WAITING)
    sources = RunSource.objects.filter(
        run__state=CuttingRun.State.ACCEPTED, state__in=wanted, blanks__blank__line__order__in=orders
    )
    sources = sources.distinct().select_related("piece", "run").prefetch_related("blanks__blank__line")
    first: dict[int, str] = {}
    for source in sources.order_by(open_first, "run__number", "position"):
        for row in source.blanks.all():
            if room(row):
                first.setdefault(row.blank.line.order_id, f"{source.piece.tag} of {source.run}")
    return first
