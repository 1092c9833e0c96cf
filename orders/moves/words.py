"""The words of an order: released, on hold, going on, cancelled, and the next letter of its sheet."""

from __future__ import annotations

from django.db.models import F

from orders.fitting import ready_lines
from orders.layout import lay_out
from orders.models import Move, Order, Revision
from shop.acts import Act

from .rows import changed_meanwhile, leave, need_reason, not_allowed, once, settle_done


@once
def release(order: Order, act: Act) -> Move:
    """Release a draft as sheet A: write its blanks and pieces. `order` as the releaser saw it (its version counts)."""
    draft = Order.objects.filter(pk=order.pk, state=Order.State.DRAFT)
    seen = draft.filter(version=order.version)
    if seen.update(state=Order.State.RELEASED, revision=1, version=F("version") + 1) != 1:
        raise changed_meanwhile(order) if draft.exists() else not_allowed(order, "release")
    released = Order.objects.get(pk=order.pk)
    for line, worked in ready_lines(released):
        lay_out(line, worked)
    Revision.objects.create(order=released, number=1, by=act.by, at=act.at)
    return leave(released, "release", act)


@once
def hold(order: Order, reason: str, act: Act) -> Move:
    """Put a released order on hold: scans show the reason, counts are refused."""
    reason = need_reason(reason, "Say why the order waits, such as “deposit not in”.")
    free = Order.objects.filter(pk=order.pk, state=Order.State.RELEASED, held=False, done_at=None)
    if free.update(held=True, hold_reason=reason, held_by=act.by, held_at=act.at) != 1:
        raise not_allowed(order, "hold")
    return leave(order, "hold", act, reason=reason)


@once
def resume(order: Order, act: Act) -> Move:
    """Let an order on hold go on."""
    held = Order.objects.filter(pk=order.pk, held=True).exclude(state=Order.State.CANCELLED)
    if held.update(held=False, hold_reason="", held_by=None, held_at=None) != 1:
        raise not_allowed(order, "resume")
    return leave(order, "resume", act)


@once
def cancel(order: Order, reason: str, act: Act) -> Move:
    """Cancel an order that is not done; what was sawn for it stays on the books."""
    reason = need_reason(reason, "Say why the order is cancelled.")
    open_states = (Order.State.DRAFT, Order.State.RELEASED)
    claimed = Order.objects.filter(pk=order.pk, state__in=open_states, done_at=None)
    if claimed.update(state=Order.State.CANCELLED, held=False, version=F("version") + 1) != 1:
        raise not_allowed(order, "cancel")
    return leave(order, "cancel", act, reason=reason)


def raise_revision(order: Order, changes: list[dict[str, str]], act: Act) -> Revision:
    """Give a released order its next sheet letter; older paper is stale. Runs in the caller's transaction."""
    Order.objects.filter(pk=order.pk).update(revision=F("revision") + 1)
    order.refresh_from_db(fields=["revision"])
    revision = Revision.objects.create(order=order, number=order.revision, changes=changes, by=act.by, at=act.at)
    leave(order, "revise", act, reason=f"{len(changes)} changes" if len(changes) > 1 else changes[0]["what"])
    settle_done(order, act)
    return revision
