"""What still cures: pieces counted as coated are not to be packed before the hours of their coat are over.

The hours are the coat's own, a setting of the shop. A coat without a system has no hours that are known. Each count
cures by itself. Where pieces were spoiled since, nobody knows of which count: those that are ready last are taken to
be there still.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta

from orders.models import Move, Piece


@dataclass(frozen=True, slots=True)
class Batch:
    """Pieces that were coated at once: how many still wait, and when they are ready."""

    qty: int
    ready_at: datetime


@dataclass(frozen=True, slots=True)
class Cure:
    """What of a piece still cures, the batch that is ready first at the head."""

    batches: tuple[Batch, ...] = ()

    @property
    def waiting(self) -> int:
        """Return how many still cure."""
        return sum(batch.qty for batch in self.batches)

    @property
    def next_at(self) -> datetime | None:
        """Return when the first of them are ready."""
        return self.batches[0].ready_at if self.batches else None

    @property
    def ready_at(self) -> datetime | None:
        """Return when all of them are ready."""
        return self.batches[-1].ready_at if self.batches else None


NO_CURE = Cure()


def curing(pieces: Iterable[Piece], at: datetime) -> dict[int, Cure]:
    """Return what still cures at a moment, by the key of the piece; one query for all of them."""
    hours = {piece.pk: cure_hours(piece) for piece in pieces}
    coated = {piece.pk: piece.coated - piece.packed for piece in pieces}
    since = at - timedelta(hours=max(hours.values(), default=0))
    fresh: dict[int, list[Batch]] = defaultdict(list)
    counts = Move.objects.filter(action="coat", piece__in=hours, undone_by=None, happened_at__gt=since)
    for key, when, qty in counts.order_by("happened_at").values_list("piece", "happened_at", "qty"):
        ready = when + timedelta(hours=hours[key])
        if ready > at:
            fresh[key].append(Batch(qty, ready))
    return {key: _there(fresh[key], coated[key]) for key in hours}


def cure_hours(piece: Piece) -> int:
    """Return how long the coat of a piece cures, hours; 0: not known."""
    system = piece.line.coat_system
    return system.cure_hours if system else 0


def _there(fresh: list[Batch], coated: int) -> Cure:
    """Return the batches of which so many pieces are still there, the last ready ones first kept."""
    left, kept = coated, []
    for batch in reversed(fresh):
        if (qty := min(left, batch.qty)) > 0:
            kept.append(Batch(qty, batch.ready_at))
            left -= qty
    return Cure(tuple(reversed(kept)))
