"""Counts after the wire: pieces coated and packed, and pieces that are ruined there and due again at the saw."""

from __future__ import annotations

from django.db.models import F, QuerySet
from django.db.models.lookups import GreaterThanOrEqual, LessThanOrEqual
from django.utils import timezone

from cutsheets.days import say_moment
from orders.curing import Cure, curing
from orders.models import Blank, Move, Piece
from orders.workflow import Action
from shop.acts import Act
from shop.refusals import Refused

from .rows import claim, leave, need_count, need_reason, once, replaced, settle_done
from .wire import book_ruined

REMEDY = "Say what went wrong, such as “dropped”."


@once
def count_coated(piece: Piece, qty: int, act: Act) -> Move:
    """Count pieces whose coat is on; they cure from now on."""
    order = claim(piece.line.order, "coat")
    need_count(qty)
    if _uncoated(piece, qty).update(coated=F("coated") + qty) != 1:
        raise _too_many(piece, qty, "coat")
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
def ruin_before_coat(piece: Piece, qty: int, reason: str, act: Act, *, cost: str = "") -> Move:
    """Book pieces that were ruined before their coat was counted: they are due again at the saw."""
    return _ruin(piece, qty, need_reason(reason, REMEDY), act, action="coat-miscut", cost=cost)


@once
def ruin_before_packing(piece: Piece, qty: int, reason: str, act: Act, *, cost: str = "") -> Move:
    """Book pieces that were ruined before they were packed, coat and all: they are due again at the saw."""
    return _ruin(piece, qty, need_reason(reason, REMEDY), act, action="pack-miscut", cost=cost)


def _ruin(piece: Piece, qty: int, reason: str, act: Act, *, action: Action, cost: str) -> Move:
    order = claim(piece.line.order, action)
    need_count(qty)
    if _take_off(piece, qty, action) != 1:
        raise _too_many(piece, qty, action)
    book_ruined(piece, qty, reason, act)
    settle_done(order, act)
    return leave(
        order, action, act, line=piece.line, piece=piece, blank=piece.blank, qty=qty, reason=reason, cost=cost,
    )  # fmt: skip


def _take_off(piece: Piece, qty: int, action: Action) -> int:
    """Take ruined pieces off those that are cut, and coated; return 1 if so many of them stood before the station."""
    if not piece.wired:  # its blank is the piece: the blank alone is taken off
        return int(piece.wants_pack and action == "pack-miscut" and _unpacked(piece) >= qty)
    coated = qty if piece.wants_coat and action == "pack-miscut" else 0
    those = _uncoated(piece, qty) if action == "coat-miscut" else _not_packed(piece, qty)
    taken = those.update(cut=F("cut") - qty, coated=F("coated") - coated)
    Blank.objects.filter(pk=piece.blank_id).update(cut=F("cut") - qty * taken)
    return taken


def _uncoated(piece: Piece, qty: int) -> QuerySet[Piece]:
    """Return a piece if so many of it are cut and have no coat yet."""
    enough = LessThanOrEqual(F("coated") + qty, F("cut"))
    return Piece.objects.filter(enough, pk=piece.pk, live=True, wants_coat=True)


def _not_packed(piece: Piece, qty: int) -> QuerySet[Piece]:
    """Return a piece if so many of it have all that comes before packing and are not packed."""
    enough = GreaterThanOrEqual(F("coated" if piece.wants_coat else "cut"), F("packed") + qty)
    return Piece.objects.filter(enough, pk=piece.pk, live=True, wants_pack=True)


def _unpacked(piece: Piece) -> int:
    """Return how many of a piece are there and not packed, as the database has it now."""
    now = Piece.objects.select_related("blank").get(pk=piece.pk)
    return max(0, now.through - now.packed)


def _too_many(piece: Piece, qty: int, action: Action) -> Refused:
    """Return the refusal of a count of more pieces than stand before this station."""
    now = Piece.objects.select_related("blank").get(pk=piece.pk)
    if not now.live:
        return replaced(now)
    left, state = (
        (_unpacked(now), "ready and not packed") if action == "pack-miscut" else (now.to_coat, "cut and without coat")
    )
    return Refused("over-count", f"{left} of {now.label} are {state}, not {qty}.", left=left)


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
