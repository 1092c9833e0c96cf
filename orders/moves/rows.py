"""What all moves share: one transaction each, a row each, the claim of the order, the sentences of a refusal."""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps

from django.db import IntegrityError, transaction
from django.db.models import F
from django.utils import timezone

from orders.models import Blank, Clash, InHand, Move, Order, Piece, Refusal
from orders.operations import counts_at
from orders.standing import standing
from orders.workflow import NONE, Action
from shop.acts import Act
from shop.refusals import Refused


def once(do: Callable[..., Move]) -> Callable[..., Move]:
    """Run a move in one transaction, unless its scan is on the books already: then return that first row."""

    @wraps(do)
    def inner(*args, **kwargs) -> Move:
        act = kwargs["act"] if "act" in kwargs else args[-1]
        try:
            with transaction.atomic():
                return _first(act) or do(*args, **kwargs)
        except IntegrityError:
            # The same scan arrived twice at once, and the other was quicker.
            if first := _first(act):
                return first
            raise

    return inner


def _first(act: Act) -> Move | None:
    return Move.objects.filter(scan_id=act.scan_id).first() if act.scan_id else None


def leave(order: Order, action: str, act: Act, **what) -> Move:
    """Write the row of a move, unless its station was told before that this act was not taken."""
    if told := _told(act):
        raise Refused(*told)
    return Move.objects.create(
        order=order, action=action, by=act.by, station=act.station, scan_id=act.scan_id, happened_at=act.at, **what
    )


def _told(act: Act) -> tuple[str, str] | None:
    """Return the code and the sentence with which an act was turned down before, at once or as a kept one."""
    if not act.scan_id:
        return None
    at_once, kept = (
        model.objects.filter(scan_id=act.scan_id).order_by().values_list("code", "sentence")
        for model in (Refusal, Clash)
    )
    return next(iter(at_once.union(kept).order_by()), None)


def lock(order: Order) -> None:
    """Lock the row of an order until the end of the caller's transaction; the update changes no value."""
    Order.objects.filter(pk=order.pk).update(state=F("state"))


@transaction.atomic
def turn_down(order: Order | None, refusal: Refused, act: Act) -> Move | None:
    """Keep that an act was refused, unless it was done meanwhile: then return its move.

    A page that heard nothing sends its act again. Both may be under way at once, and the second may be refused before
    the first is done: whoever was told no must not find it counted. The order is locked, as by a count.
    """
    if order:
        lock(order)
    if done := _first(act):
        return done
    Refusal.objects.get_or_create(
        scan_id=act.scan_id, defaults={"code": refusal.code, "sentence": refusal.sentence[:400]}
    )
    return None


def take(order: Order, act: Act) -> None:
    """Have an order in hand at the station of an act. Runs in the caller's transaction, the order claimed."""
    here = InHand.objects.filter(order=order, station=act.station, ended_at=None)
    if not here.update(by=act.by, last_at=act.at):
        InHand.objects.create(order=order, station=act.station, by=act.by, started_at=act.at, last_at=act.at)


def settle_hand(order: Order, act: Act) -> None:
    """Have an order in hand where it was counted, while something is left to do there."""
    take(order, act)
    if counts_at([order], act.station.kind).get(order.pk, NONE).left == 0:
        here = InHand.objects.filter(order=order, station=act.station, ended_at=None)
        here.update(ended_at=act.at, how=InHand.How.DONE)


def settle_done(order: Order, act: Act) -> None:
    """Write when an order was done, or that it is not, from its counts. Runs in the caller's transaction."""
    if act.station:
        settle_hand(order, act)
    finished = standing(order).counts.finished
    if finished and order.done_at is None:
        Order.objects.filter(pk=order.pk).update(done_at=act.at)
    elif not finished and order.done_at is not None:
        Order.objects.filter(pk=order.pk).update(done_at=None)


def changed_meanwhile(order: Order) -> Refused:
    """Return the refusal for an order that somebody else saved since it was read."""
    now = Order.objects.select_related("saved_by").get(pk=order.pk)
    who = now.saved_by.short_name if now.saved_by else "Somebody"
    when = timezone.localtime(now.saved_at).strftime("%H:%M")
    return Refused(
        "changed-meanwhile",
        f"{who} changed order {order} at {when}, after you opened it. Nothing was saved; compare, then save again.",
        who=who, when=when, version=now.version,
    )  # fmt: skip


def claim(order: Order, action: Action) -> Order:
    """Return the released order, its row locked for this transaction, or refuse with the word that forbids it.

    The update changes no value: it makes PostgreSQL lock the row, so that two last pieces cannot miss each other.
    """
    released = Order.objects.filter(pk=order.pk, state=Order.State.RELEASED)
    if action != "undo":
        released = released.filter(held=False)
    if released.update(state=Order.State.RELEASED) != 1:
        raise not_allowed(order, action)
    return Order.objects.get(pk=order.pk)


def not_allowed(order: Order, action: Action) -> Refused:
    """Return why an order's word does not allow this."""
    now = Order.objects.select_related("held_by").get(pk=order.pk)
    of = standing(now).word
    if of == "on hold":
        who = now.held_by.short_name if now.held_by else "somebody"
        return Refused(
            "held", f"Order {now} is on hold: {now.why_held} Ask {who} before you go on.",
            reason=now.hold_reason, who=who, since=now.held_at,
        )  # fmt: skip
    code, sentence = {
        "cancelled": ("cancelled", "is cancelled; cut nothing for it."),
        "draft": ("not-released", "is a draft without a sheet; release it first."),
        "done": ("done", "is done; enter a change of its lines if more is wanted."),
        "released": ("released", "is released; nothing waits for this."),
        "in work": ("in-work", "is in work; nothing waits for this."),
    }[of]
    return Refused(code, f"Order {now} {sentence}", action=action)


def replaced(what: Blank | Piece) -> Refused:
    order = what.line.order
    return Refused("replaced", f"A newer sheet of order {order} replaced this size; tear this one up.")


def need_reason(reason: str, remedy: str) -> str:
    if not reason.strip():
        raise Refused("no-reason", remedy)
    return reason.strip()[:200]


def need_count(qty: int) -> None:
    if qty < 1:
        raise Refused("count", f"{qty} is not a count; count 1 or more.")
