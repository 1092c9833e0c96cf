"""The screen of a coating or packing station: what is there, what still cures, and how many are done."""

from __future__ import annotations

from django.utils import timezone

from orders.answers import DONE_WORDS
from orders.curing import Cure, curing
from orders.models import Order, Piece
from orders.operations import done_of
from shop.models import Station
from shop.models.stations import OPERATIONS

from .station_parts import address, order_version, waits
from .station_wire import line_words
from .station_work import can_do, pick, piece_rows

WORDS = {"coat": "Piece coated", "pack": "Piece packed"}


def finish_context(station: Station, order: Order, picked: str, kind: str) -> dict:
    """Return the screen of an order where its pieces are coated or packed."""
    operation = OPERATIONS[kind]
    pieces = piece_rows(order, kind)
    now = timezone.now()
    cures = curing(pieces, now) if operation == "pack" else {}
    rank = {piece.pk: _rank(piece, operation, cures.get(piece.pk, Cure())) for piece in pieces}
    piece = pick(pieces, picked, lambda one: rank[one.pk])
    if piece is None:
        return {"template": "station/empty.html", "picked": "", "act": waits("Nothing of this order comes here.")}
    cure = cures.get(piece.pk, Cure())
    others = [
        {"piece": one, "done": done_of(one, operation), "url": address(station, order=order.number, pick=one.pk)}
        for one in pieces if one is not piece
    ]  # fmt: skip
    return {
        "template": "station/finish.html", "picked": piece.pk, "piece": piece, "what": line_words(piece.line),
        "done": done_of(piece, operation), "left": piece.qty - done_of(piece, operation), "verb": DONE_WORDS[operation],
        "cure": cure, "others": others, "act": _act(station, order, piece, cure, operation),
        "version": f"{order_version(order)}.{cure.waiting}",
    }  # fmt: skip


def _free(piece: Piece, operation: str, cure: Cure) -> int:
    return max(0, can_do(piece, operation) - cure.waiting)


def _rank(piece: Piece, operation: str, cure: Cure) -> int:
    """Return which piece comes first: one that can be done now, then one that waits, then a done one."""
    if done_of(piece, operation) == piece.qty:
        return 2
    return 0 if _free(piece, operation, cure) else 1


def _act(station: Station, order: Order, piece: Piece, cure: Cure, operation: str) -> dict:
    left, free = piece.qty - done_of(piece, operation), _free(piece, operation, cure)
    if not left:
        return waits(f"All {piece.qty} of {piece.label} are {DONE_WORDS[operation]}.")
    if not free:
        return waits("It still cures." if cure.waiting else "None of it is here yet.")
    more = address(station, order=order.number, pick=piece.pk, ask="count") if free > 1 else ""
    return {
        "template": "station/act/count.html", "name": "piece", "pk": piece.pk, "words": WORDS[operation],
        "after": f"{left - 1} left after", "more": more, "trouble": {"ask": "why"},
    }  # fmt: skip
