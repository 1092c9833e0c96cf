"""Which pieces a station has to do with, and how far they are.

A piece of a kind that spins about an axis belongs to the turning stations where the shop has one, else to a wire cutter
like every other piece that the wire cuts.
"""

from __future__ import annotations

from collections.abc import Iterable

from django.db.models import Exists, F, OuterRef, Q, QuerySet, Sum

from orders.models import Blank, Order, Piece
from orders.standing import DUE, standings
from orders.workflow import Count
from shop.models.stations import OPERATIONS, Station

TURNED = ("turned", "twisted")
COLUMNS = {"cut": "cut", "coat": "coated", "pack": "packed"}
Kind = Station.Kind


def own_pieces(order: Order, kind: str) -> QuerySet[Piece]:
    """Return the live pieces of an order that a station of this kind cuts, coats or packs, line by line."""
    return pieces_of([order], kind).order_by("line__position", "position")


def pieces_of(orders: Iterable[Order], kind: str) -> QuerySet[Piece]:
    """Return the live pieces of orders that a station of this kind cuts, coats or packs."""
    return Piece.objects.filter(_own(kind), line__order__in=[order.pk for order in orders], live=True)


def waiting_for(kind: str) -> QuerySet[Order]:
    """Return the released orders that have something left for stations of this kind."""
    if kind == Kind.SAW:
        left = Blank.objects.filter(live=True, sawn__lt=DUE)
    else:
        left = Piece.objects.filter(_own(kind), live=True, **{f"{COLUMNS[OPERATIONS[kind]]}__lt": F("qty")})
    out = Order.objects.filter(state=Order.State.RELEASED, held=False, done_at=None)
    return out.filter(Exists(left.filter(line__order=OuterRef("pk"))))


def counts_at(orders: Iterable[Order], kind: str) -> dict[int, Count]:
    """Return how far each order is at stations of this kind, by its primary key, if it has to do there."""
    if kind == Kind.SAW:
        return {key: each.counts.saw for key, each in standings(orders).items()}
    pieces = pieces_of(orders, kind).order_by().values_list("line__order")
    sums = pieces.annotate(Sum("qty"), Sum(COLUMNS[OPERATIONS[kind]]))
    return {key: Count(due, done) for key, due, done in sums}


def done_of(piece: Piece, operation: str) -> int:
    """Return how many of a piece an operation has done."""
    return getattr(piece, COLUMNS[operation])


def count_of(pieces: list[Piece], operation: str) -> Count:
    """Return the count of one operation over pieces that have it."""
    return Count(sum(piece.qty for piece in pieces), sum(done_of(piece, operation) for piece in pieces))


def cut_instead(kind: str) -> str:
    """Return the kind of station that cuts what a wire cutter, or a turning station, does not."""
    return Kind.TURNING if kind == Kind.CUTTER else Kind.CUTTER


def _own(kind: str) -> Q:
    match kind:
        case Kind.COAT:
            return Q(wants_coat=True)
        case Kind.PACK:
            return Q(wants_pack=True)
    turned = Q(line__kind__in=TURNED)
    if kind == Kind.TURNING:
        return turned & Q(wired=True)
    nobody_turns = ~Exists(Station.objects.filter(kind=Kind.TURNING, active=True))
    return Q(wired=True) & (~turned | Q(nobody_turns))
