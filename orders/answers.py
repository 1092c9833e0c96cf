"""What a station says to a scan, and what an order that is in force has to do there."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from datetime import datetime
from typing import Any

from django.utils import timezone

from orders.models import Blank, CuttingRun, InHand, Order, RunBlank, RunSource
from orders.operations import count_of, cut_instead, own_pieces
from orders.standing import standing
from orders.workflow import Counts
from shop.models import Station, StockPiece

Kind = Station.Kind
DONE_WORDS = {"saw": "sawn", "cut": "cut", "coat": "coated", "pack": "packed"}


@dataclass(frozen=True, slots=True)
class Answer:
    """What a station says to a scan.

    `code` is "ok", or why not: "cancelled", "held", "old-sheet", "done", "not-here", "in-hand" (at another station),
    "not-released", "unknown" (no code of ours, or one without an order or plan to it), "code-damaged",
    "code-together" (two in one text), "repeat-sheet" (of a profile), "saw-sheet" (at the wire), "plan-done",
    "plan-replaced", "plan-void"; of a block or remnant, which is `piece`: "tag" (away from the saw), "wrong-foam",
    "tag-not-next", "tag-idle", "tag-free", "tag-reserved", "tag-on-saw", "tag-used", "tag-scrapped". `details` are
    plain values for the page: counts, sheet letters, changes; `blank` is what to saw first; `pick` what to saw or cut
    first of the line that a sheet is for; `settle` where an open piece has no blanks to saw and only waits to be put
    back or finished; `tag` of a piece that is shown.
    """

    code: str
    sentence: str
    order: Order | None = None
    run: CuttingRun | None = None
    piece: StockPiece | None = None
    raw: str = ""
    details: dict[str, Any] = field(default_factory=dict)

    @property
    def accepted(self) -> bool:
        """Return whether there is work to show."""
        return self.code == "ok"


def stopped(order: Order) -> Answer | None:
    """Return why nobody may work on this order at any station, or None."""
    if order.state == Order.State.CANCELLED:
        return Answer("cancelled", f"Order {order} is cancelled; cut nothing for it.", order)
    if order.held:
        who = order.held_by.short_name if order.held_by else "the office"
        details = {"reason": order.hold_reason, "who": who, "since": order.held_at}
        return Answer("held", f"Order {order} is on hold: {order.why_held} Ask {who}.", order, details=details)
    if order.state == Order.State.DRAFT:
        return Answer("not-released", f"Order {order} has no sheet in force; ask the office to release it.", order)
    return None


def is_idle(blank: Blank) -> bool:
    """Return whether these blanks are not to be sawn now: replaced by a newer sheet, or their order is stopped."""
    return not blank.live or stopped(blank.line.order) is not None


def work_at(order: Order, station: Station) -> Answer:
    """Return what an order has to do at a station; `details["goes_to"]` is the kind of station where it belongs."""
    counts = standing(order).counts
    answer = _at_saw(order, counts) if station.kind == Kind.SAW else _after_saw(order, station, counts)
    if answer.accepted:
        answer = _in_hand(order, station) or answer
    return replace(answer, details=_details(counts) | answer.details)


def _at_saw(order: Order, counts: Counts) -> Answer:
    if counts.saw.left or _lies_open(order):
        return Answer("ok", f"{counts.saw.left} blanks to saw.", order)
    where = "; take them to the wire cutter" if counts.cut.left else ", and all pieces are cut"
    return Answer("done", f"All {counts.saw.done} blanks are sawn{where}.", order)


def _lies_open(order: Order) -> bool:
    """Return whether a block for this order is still on the saw: its remnants wait, even if every blank is sawn."""
    planned = RunBlank.objects.filter(blank__line__order=order, source__state=RunSource.State.ON_SAW)
    return planned.exists()


def _after_saw(order: Order, station: Station, counts: Counts) -> Answer:
    pieces = list(own_pieces(order, station.kind))
    if not pieces:
        return _no_business(order, station, counts)
    count = count_of(pieces, station.operation)
    if not count.left:
        return Answer("done", f"All {count.done} pieces are {DONE_WORDS[station.operation]}.", order)
    if station.operation == "cut" and not counts.saw.done:
        return _not_here(order, f"None of its {counts.saw.due} blanks is sawn yet.", Kind.SAW)
    if station.operation != "cut" and not (counts.cut.done or counts.pack.done or not counts.cut.due):
        return _not_here(order, f"None of its {counts.cut.due} pieces is cut yet.", _cuts(order))
    return Answer("ok", f"{count.left} pieces to {station.operation}.", order)


def _in_hand(order: Order, station: Station) -> Answer | None:
    """Answer an order that another station of the kind has in hand and this one has not."""
    found = hands_on(order, timezone.now(), station.kind)
    if not found or any(hand.station_id == station.pk for hand in found):
        return None
    said = "; ".join(hand_words(hand) for hand in found)
    return Answer("in-hand", f"In hand at {said}.", order, details={"hands": found})


def hands_on(order: Order, at: datetime, kind: str = "") -> list[InHand]:
    """Return which stations, or those of a kind, have an order in hand, the first to take it first."""
    return hands([order], at, kind).get(order.pk, [])


def hands(orders: Iterable[Order], at: datetime, kind: str = "") -> dict[int, list[InHand]]:
    """Return which stations have orders in hand, by the primary key of the order; one query for all of them."""
    found = InHand.now(at).filter(order__in=[order.pk for order in orders])
    by_order: dict[int, list[InHand]] = {}
    for hand in found.filter(station__kind=kind) if kind else found:
        by_order.setdefault(hand.order_id, []).append(hand)
    return by_order


def hand_words(hand: InHand) -> str:
    """Return who has an order in hand, where and since when: “Saw 2, Bo L., since 9:12”."""
    who = f"{hand.by.short_name}, " if hand.by else ""
    return f"{hand.station}, {who}since {timezone.localtime(hand.started_at):%H:%M}"


def _no_business(order: Order, station: Station, counts: Counts) -> Answer:
    """Answer at a station that none of the order's pieces goes through."""
    match station.kind:
        case Kind.COAT:
            return _not_here(order, "None of its pieces is coated here.", Kind.PACK)
        case Kind.PACK if counts.finished:
            return Answer("done", "All its pieces are cut; its sheet is older than the packing station.", order)
        case Kind.PACK:
            return _not_here(order, "Its sheet is older than the packing station; it is done when cut.", _cuts(order))
    return _not_here(order, "None of its pieces is cut here.", cut_instead(station.kind))


def _cuts(order: Order) -> str:
    """Return the kind of station that cuts an order: turning where all of it spins."""
    return Kind.CUTTER if own_pieces(order, Kind.CUTTER).exists() else Kind.TURNING


def _not_here(order: Order, sentence: str, goes_to: str) -> Answer:
    return Answer("not-here", sentence, order, details={"goes_to": goes_to})


def _details(counts: Counts) -> dict[str, Any]:
    return {"sawn": counts.saw.done, "due": counts.saw.due, "cut": counts.cut.done, "pieces": counts.cut.due}
