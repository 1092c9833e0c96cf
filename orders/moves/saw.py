"""Counts at the saw: good blanks and ruined ones, out of the block or remnant that lies open for them."""

from __future__ import annotations

from django.db.models import Exists, F, OuterRef, QuerySet
from django.db.models.lookups import LessThan

from orders.layout import size_words
from orders.models import Blank, Move, RunBlank, RunSource
from shop import account
from shop.acts import Act
from shop.models import StockMove
from shop.refusals import Refused

from .rows import claim, leave, need_count, need_reason, once, replaced, settle_done


@once
def count_sawn(blank: Blank, qty: int, act: Act) -> Move:
    """Count good blanks, sawn from the block or remnant that is open on a saw for them."""
    order = claim(blank.line.order, "saw")
    need_count(qty)
    if owed(blank, qty).filter(live=True).update(sawn=F("sawn") + qty) != 1:
        raise _too_many_sawn(blank, qty)
    run_blank = _open_source(blank, qty, act)
    _take(run_blank, blank, qty, sawn=F("sawn") + qty)
    account.good(run_blank.source.piece, blank.volume * qty, act, order_ref=str(order), line_ref=blank.line.mark)
    settle_done(order, act)
    return leave(order, "saw", act, line=blank.line, blank=blank, run_blank=run_blank, qty=qty)


@once
def miscut_at_saw(blank: Blank, qty: int, reason: str, act: Act, *, cost: str = "") -> Move:
    """Book blanks that were ruined at the saw; they were never counted, so the order still waits for them."""
    order = claim(blank.line.order, "saw-miscut")
    need_count(qty)
    reason = need_reason(reason, "Say what went wrong, such as “fence slipped”.")
    if Blank.objects.filter(pk=blank.pk, live=True).update(saw_miscut=F("saw_miscut") + qty) != 1:
        raise replaced(blank)
    run_blank = _open_source(blank, qty, act)
    _take(run_blank, blank, qty, miscut=F("miscut") + qty)
    account.miscut(
        run_blank.source.piece, blank.volume * qty, act,
        order_ref=str(order), line_ref=blank.line.mark, reason=reason,
    )  # fmt: skip
    settle_done(order, act)
    return leave(
        order, "saw-miscut", act,
        line=blank.line, blank=blank, run_blank=run_blank, qty=qty, reason=reason, cost=cost,
    )  # fmt: skip


def owed(blank: Blank, qty: int, *, mended: int = 0) -> QuerySet[Blank]:
    """Return a blank if the saw owes `qty` more of it, also when `mended` pieces ruined at the wire are taken back."""
    ruined = F("wire_miscut") - F("single") - mended
    enough = LessThan((F("sawn") + qty) * F("gives"), (F("qty") + 1) * F("gives") + ruined)
    return Blank.objects.filter(enough, pk=blank.pk)


def _open_source(blank: Blank, qty: int, act: Act) -> RunBlank:
    """Return where these blanks come from: an opened piece with room for them, first one opened at this station."""
    here = StockMove.objects.filter(
        kind=StockMove.Kind.ISSUE, piece=OuterRef("source__piece"), station=act.station, station__isnull=False
    )
    planned = RunBlank.objects.filter(blank=blank, source__state=RunSource.State.ON_SAW)
    planned = planned.select_related("source__piece").annotate(here=Exists(here))
    rooms = list(planned.order_by("-here", "source__run__number", "source__position"))
    for run_blank in rooms:
        if _room(run_blank) >= qty:
            return run_blank
    size = size_words(blank)
    if not any(_room(run_blank) for run_blank in rooms):
        raise Refused(
            "nothing-open",
            f"No block or remnant is open on a saw for blank {blank.line.mark}, {size}; open one of the plan first.",
        )
    left = max(_room(run_blank) for run_blank in rooms)
    raise Refused("over-count", f"The opened piece gives {left} more of {size}, not {qty}; count {left}.", left=left)


def _room(run_blank: RunBlank) -> int:
    return run_blank.qty - run_blank.sawn - run_blank.miscut


def _take(run_blank: RunBlank, blank: Blank, qty: int, **change) -> None:
    """Claim `qty` of what an opened piece gives."""
    open_room = RunBlank.objects.filter(
        pk=run_blank.pk, source__state=RunSource.State.ON_SAW, qty__gte=F("sawn") + F("miscut") + qty
    )
    if open_room.update(**change) != 1:
        raise Refused("over-count", f"Another station was quicker; look again how many {size_words(blank)} are left.")


def _too_many_sawn(blank: Blank, qty: int) -> Refused:
    blank.refresh_from_db()
    if not blank.live:
        return replaced(blank)
    left = blank.to_saw
    if left < 1:
        return Refused("over-count", f"All {blank.qty} blanks {size_words(blank)} are sawn; nothing is left.", left=0)
    return Refused("over-count", f"{left} blanks {size_words(blank)} are left to saw, not {qty}.", left=left)
