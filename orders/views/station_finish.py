"""What the screens of a coating and a packing station share: which piece is first, and the act that counts it."""

from __future__ import annotations

from django.utils import timezone

from cutsheets.errors import CutsheetError
from cutsheets.sheets.packing import PackedLine, Pieces
from orders.answers import DONE_WORDS
from orders.curing import NO_CURE, Cure, curing
from orders.models import Line, Order, Piece
from orders.operations import done_of
from orders.packing import packed_line
from shop.models import Station

from .station_parts import address, waits
from .station_work import can_do


def free(piece: Piece, operation: str, cure: Cure = NO_CURE) -> int:
    """Return how many of a piece can be coated, or packed, now."""
    return max(0, can_do(piece, operation) - cure.waiting)


def can_do_now(piece: Piece, operation: str) -> int:
    """Return how many of a piece an operation can do now, without those whose coat still cures."""
    cure = curing([piece], timezone.now())[piece.pk] if operation == "pack" else NO_CURE
    return free(piece, operation, cure)


def rank(piece: Piece, operation: str, cure: Cure = NO_CURE) -> int:
    """Return which piece comes first: one that can be done now, then one that waits, then a done one."""
    if done_of(piece, operation) == piece.qty:
        return 2
    return 0 if free(piece, operation, cure) else 1


def others(station: Station, order: Order, pieces: list[Piece], shown: Piece, operation: str) -> list[dict]:
    """Return the other pieces of an order with how far they are."""
    return [
        {"piece": one, "done": done_of(one, operation), "url": address(station, order=order.number, pick=one.pk)}
        for one in pieces if one is not shown
    ]  # fmt: skip


def all_done(piece: Piece, operation: str) -> dict:
    return waits(f"All {piece.qty} of {piece.label} are {DONE_WORDS[operation]}.")


def as_packed(line: Line) -> PackedLine | None:
    """Return a line as its sheets have it; None where the shop's rules changed since and it no longer can be."""
    try:
        return packed_line(line)
    except CutsheetError:
        return None  # the counts still hold


def like(packed: PackedLine, piece: Piece) -> Pieces:
    """Return the pieces of a sheet that a row counts; of parts that are not told apart, those of the whole line."""
    of_row = (row for row in packed.pieces if any(mark in piece.marks for mark, _ in row.marks))
    return next(of_row, packed.pieces[0])
