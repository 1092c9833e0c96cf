"""Which pieces a station has to do with, and how far they are.

A piece of a kind that spins about an axis belongs to the turning stations where the shop has one, else to a wire cutter
like every other piece that the wire cuts.
"""

from __future__ import annotations

from django.db.models import Q, QuerySet

from orders.models import Order, Piece
from orders.workflow import Count
from shop.models import Station

TURNED = ("turned", "twisted")
Kind = Station.Kind


def own_pieces(order: Order, station: Station) -> QuerySet[Piece]:
    """Return the live pieces of an order that this station cuts, coats or packs, in the order of its lines."""
    pieces = Piece.objects.filter(_own(station), line__order=order, live=True)
    return pieces.order_by("line__position", "position")


def counted(piece: Piece, operation: str) -> int:
    """Return how many of a piece an operation has done."""
    return {"cut": piece.cut, "coat": piece.coated, "pack": piece.packed}[operation]


def count_of(pieces: list[Piece], operation: str) -> Count:
    """Return the count of one operation over pieces that have it."""
    return Count(sum(piece.qty for piece in pieces), sum(counted(piece, operation) for piece in pieces))


def cut_instead(station: Station) -> str:
    """Return the kind of station that cuts what this wire cutter, or this turning station, does not."""
    return Kind.TURNING if station.kind == Kind.CUTTER else Kind.CUTTER


def _own(station: Station) -> Q:
    match station.kind:
        case Kind.COAT:
            return Q(wants_coat=True)
        case Kind.PACK:
            return Q(wants_pack=True)
    turned = Q(line__kind__in=TURNED)
    if station.kind == Kind.TURNING:
        return turned & Q(wired=True)
    return Q(wired=True) & ~turned if Station.in_use(Kind.TURNING) else Q(wired=True)
