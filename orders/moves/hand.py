"""Who has an order in hand: taken by the first act of a station, let go by a pause or when nothing is left there."""

from __future__ import annotations

from orders.models import InHand, Move, Order
from shop.acts import Act
from shop.refusals import Refused

from .rows import claim, leave, lock, need_reason, once, take


@once
def start(order: Order, act: Act) -> Move:
    """Take an order in hand at a station, also beside another one that has it. Nothing is counted."""
    order = claim(order, "start")
    take(order, act)
    return leave(order, "start", act)


@once
def pause(order: Order, reason: str, act: Act) -> Move:
    """Let go of an order that is not done, with the reason; the next act on it takes it in hand again."""
    reason = need_reason(reason, "Say why it waits, such as “end of shift”.")
    lock(order)
    here = InHand.objects.filter(order=order, station=act.station, ended_at=None)
    if here.update(ended_at=act.at, how=InHand.How.PAUSED, reason=reason) != 1:
        raise Refused("not-in-hand", f"Order {order} is not in hand at {act.station}.")
    return leave(order, "pause", act, reason=reason)
