"""Counts after the wire: pieces coated and packed, and pieces that are ruined there and due again at the saw."""

from __future__ import annotations

from django.db.models import F, Q, QuerySet
from django.db.models.lookups import GreaterThanOrEqual, LessThanOrEqual
from django.utils import timezone

from cutsheets.days import say_moment
from orders.curing import Cure, curing
from orders.models import Blank, Move, Piece
from shop.acts import Act
from shop.refusals import Refused

from .rows import claim, leave, need_count, need_reason, once, replaced, settle_done
from .wire import book_ruined


@once
def count_coated(piece: Piece, qty: int, act: Act) -> Move:
    """Count pieces whose coat is on; they cure from now on."""
    order = claim(piece.line.order, "coat")
    need_count(qty)
    if _uncoated(piece, qty).update(coated=F("coated") + qty) != 1:
        raise _too_many(piece, qty, "coat", "cut and free")
    settle_done(order, act)
    return leave(order, "coat", act, line=piece.line, piece=piece, blank=piece.blank, qty=qty)


@once
def count_packed(piece: Piece, qty: int, act: Act) -> Move:
    """Count pieces that are packed: foam that is cut and, where it has a coat, coated and cured."""
    order = claim(piece.line.order, "pack")
    need_count(qty)
    piece = Piece.objects.select_related("blank", "line__coat_system", "line__order").get(pk=piece.pk)
    cure = curing([piece], act.at)[piece.pk]
    free = piece.through - cure.waiting - piece.packed
    if not (piece.live and piece.wants_pack) or qty > min(free, piece.qty - piece.packed):
        raise _not_packable(piece, qty, cure)
    Piece.objects.filter(pk=piece.pk).update(packed=F("packed") + qty)
    settle_done(order, act)
    return leave(order, "pack", act, line=piece.line, piece=piece, blank=piece.blank, qty=qty)


@once
def ruin_before_coat(piece: Piece, qty: int, reason: str, act: Act) -> Move:
    """Book pieces that were ruined before their coat was counted: they are due again at the saw."""
    return _ruin(piece, qty, reason, act, action="coat-miscut", from_those=_uncoated(piece, qty))


@once
def ruin_before_packing(piece: Piece, qty: int, reason: str, act: Act) -> Move:
    """Book pieces that were ruined before they were packed, coat and all: they are due again at the saw."""
    unpacked = GreaterThanOrEqual(F("coated" if piece.wants_coat else "cut"), F("packed") + qty)
    those = Piece.objects.filter(Q(unpacked) | Q(wired=False), pk=piece.pk, live=True, wants_pack=True)
    return _ruin(piece, qty, reason, act, action="pack-miscut", from_those=those)


def _ruin(piece: Piece, qty: int, reason: str, act: Act, *, action: str, from_those: QuerySet[Piece]) -> Move:
    order = claim(piece.line.order, action)
    need_count(qty)
    reason = need_reason(reason, "Say what went wrong, such as “dropped”.")
    if piece.wired:
        coated = qty if piece.wants_coat and action == "pack-miscut" else 0
        if from_those.update(cut=F("cut") - qty, coated=F("coated") - coated) != 1:
            raise _too_many(piece, qty, "spoil", "here")
        Blank.objects.filter(pk=piece.blank_id).update(cut=F("cut") - qty)
    blank = Blank.objects.get(pk=piece.blank_id)
    if blank.ready - (0 if piece.wired else piece.packed) < qty or not blank.live:
        raise _too_many(piece, qty, "spoil", "here")
    book_ruined(piece, qty, reason, act)
    settle_done(order, act)
    return leave(order, action, act, line=piece.line, piece=piece, blank=piece.blank, qty=qty, reason=reason)


def _uncoated(piece: Piece, qty: int) -> QuerySet[Piece]:
    """Return a piece if so many of it are cut and have no coat yet."""
    enough = LessThanOrEqual(F("coated") + qty, F("cut"))
    return Piece.objects.filter(enough, pk=piece.pk, live=True, wants_coat=True)


def _too_many(piece: Piece, qty: int, verb: str, where: str) -> Refused:
    piece.refresh_from_db()
    if not piece.live:
        return replaced(piece)
    left = piece.to_coat if piece.wants_coat and verb == "coat" else max(0, piece.through - piece.packed)
    return Refused("over-count", f"{left} of {piece.label} are {where}, not {qty}.", left=left)


def _not_packable(piece: Piece, qty: int, cure: Cure) -> Refused:
    if not piece.live or not piece.wants_pack:
        return replaced(piece)
    left = piece.qty - piece.packed
    if qty > left:
        return Refused("over-count", f"{left} of {piece.label} are left to pack, not {qty}.", left=left)
    if cure.waiting:
        ready = say_moment(timezone.localtime(cure.ready_at))
        return Refused("curing", f"{cure.waiting} of {piece.label} still cure; ready {ready}.", ready=cure.ready_at)
    there = max(0, piece.through - piece.packed)
    made = "coated" if piece.wants_coat else "cut" if piece.wired else "sawn"
    return Refused("not-made", f"{there} of {piece.label} are {made} and free, not {qty}.", left=there)
