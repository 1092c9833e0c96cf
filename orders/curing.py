"""What still cures: pieces counted as coated are not to be packed before the hours of their coat are over.

The hours are the coat's own, a setting of the shop. A coat without a system has no hours that are known.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta

from orders.models import Move, Piece


@dataclass(frozen=True, slots=True)
class Cure:
    """How many pieces still cure, when the first and when all of them are ready."""

    waiting: int = 0
    next_at: datetime | None = None
    ready_at: datetime | None = None


def curing(pieces: Iterable[Piece], at: datetime) -> dict[int, Cure]:
    """Return what still cures at a moment, by the key of the piece; one query for all of them."""
    hours = {piece.pk: _hours(piece) for piece in pieces}
    coated = {piece.pk: piece.coated - piece.packed for piece in pieces}
    since = at - timedelta(hours=max(hours.values(), default=0))
    fresh: dict[int, list[tuple[datetime, int]]] = defaultdict(list)
    counts = Move.objects.filter(action="coat", piece__in=hours, undone_by=None, happened_at__gt=since)
    for key, when, qty in counts.order_by("happened_at").values_list("piece", "happened_at", "qty"):
        ready = when + timedelta(hours=hours[key])
        if ready > at:
            fresh[key].append((ready, qty))
    return {key: _cure(fresh[key], coated[key]) for key in hours}


def _cure(fresh: list[tuple[datetime, int]], coated: int) -> Cure:
    waiting = min(coated, sum(qty for _, qty in fresh))
    if waiting <= 0:
        return Cure()
    return Cure(waiting, fresh[0][0], fresh[-1][0])


def _hours(piece: Piece) -> int:
    system = piece.line.coat_system
    return system.cure_hours if system else 0
