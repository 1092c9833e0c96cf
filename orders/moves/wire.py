"""Counts at the wire: pieces cut, and good blanks that were ruined there and are due again at the saw."""

from __future__ import annotations

from django.db.models import F, QuerySet
from django.db.models.lookups import GreaterThanOrEqual

from orders.models import Blank, Move, Piece
from shop import account
from shop.acts import Act
from shop.refusals import Refused

from .rows import claim, leave, need_count, need_reason, once, replaced, settle_done
from .singles import order_singles


@once
def count_cut(piece: Piece, qty: int, act: Act) -> Move:
    """Count foam pieces cut from blanks that are sawn; the order is done with the last one."""
    order = claim(piece.line.order, "cut")
    need_count(qty)
    due = Piece.objects.filter(pk=piece.pk, live=True, wired=True, cut__lte=F("qty") - qty)
    if due.update(cut=F("cut") + qty) != 1:
        raise _too_many_cut(piece, qty)
    if _with_ready(piece, qty).update(cut=F("cut") + qty) != 1:
        raise _no_blank(piece, qty)
    settle_done(order, act)
    return leave(order, "cut", act, line=piece.line, piece=piece, blank=piece.blank, qty=qty)


@once
def miscut_at_wire(piece: Piece, qty: int, reason: str, act: Act, *, cost: str = "") -> Move:
    """Book pieces that were ruined at the wire: the saw owes the foam again, the order stays.

    Of a blank that gives many pieces each ruined one takes its share of the foam; the shares add up to the blank. Where
    single blanks are less foam than another whole one, those are due.
    """
    order = claim(piece.line.order, "cut-miscut")
    need_count(qty)
    reason = need_reason(reason, "Say what went wrong, such as “wire broke”.")
    book_ruined(piece, qty, reason, act)
    settle_done(order, act)
    return leave(
        order, "cut-miscut", act, line=piece.line, piece=piece, blank=piece.blank, qty=qty, reason=reason, cost=cost
    )


def book_ruined(piece: Piece, qty: int, reason: str, act: Act) -> None:
    """Take pieces that lie ready off the good foam; the saw owes them again. Runs in the caller's transaction."""
    blank, line = piece.blank, piece.line
    if _with_ready(piece, qty).filter(live=True).update(wire_miscut=F("wire_miscut") + qty) != 1:
        raise _no_blank(piece, qty)
    blank.refresh_from_db()
    foam = blank.foam_of(blank.wire_miscut) - blank.foam_of(blank.wire_miscut - qty)
    order_singles(piece, qty)
    account.good_to_miscut(line.grade, foam, act, order_ref=str(line.order), line_ref=line.mark, reason=reason)


def _with_ready(piece: Piece, qty: int) -> QuerySet[Blank]:
    """Return the blanks of a piece if what is sawn still gives so many pieces."""
    used = F("cut") + F("wire_miscut") + qty
    return Blank.objects.filter(GreaterThanOrEqual(F("sawn") * F("gives"), used), pk=piece.blank_id)


def _too_many_cut(piece: Piece, qty: int) -> Refused:
    piece.refresh_from_db()
    if not piece.live:
        return replaced(piece)
    left = piece.qty - piece.cut
    if left < 1:
        return Refused("over-count", f"All {piece.qty} of {piece.label} are cut; nothing is left.", left=0)
    return Refused("over-count", f"{left} of {piece.label} are left to cut, not {qty}.", left=left)


def _no_blank(piece: Piece, qty: int) -> Refused:
    piece.blank.refresh_from_db()
    if not piece.blank.live:
        return replaced(piece)
    ready = piece.blank.ready
    things = "blanks are" if piece.blank.gives == 1 else "pieces out of blanks that are"
    what = f"{ready} {things} sawn and free" if ready else "No blank is sawn and free"
    return Refused("no-blank", f"{what} for {piece.label}, not {qty}; saw them first.", ready=ready)
