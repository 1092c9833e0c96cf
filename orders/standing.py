"""Where orders stand: their counts and words, read with two queries for any number of orders or lines."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass

from django.db.models import Exists, F, OuterRef, Q, QuerySet, Sum

from orders.models import Blank, Line, Order, Piece
from orders.workflow import NOTHING, Count, Counts, Word, word

# `Blank.due` in the database: whole numbers, so this rounds up.
DUE = F("qty") + (F("wire_miscut") - F("single") + F("gives") - 1) / F("gives")


@dataclass(frozen=True, slots=True)
class Standing:
    """The word of one order and the counts behind it."""

    word: Word
    counts: Counts


def standing(order: Order) -> Standing:
    """Return where one order stands."""
    return standings([order])[order.pk]


def standings(orders: Iterable[Order]) -> dict[int, Standing]:
    """Return where each order stands, by its primary key."""
    orders = list(orders)
    counts = _counts("line__order", [order.pk for order in orders])
    return {order.pk: _standing(order, counts[order.pk]) for order in orders}


def line_counts(lines: Iterable[Line]) -> dict[int, Counts]:
    """Return the counts of each line, by its primary key."""
    keys = [line.pk for line in lines]
    counts = _counts("line", keys)
    return {key: counts[key] for key in keys}


def with_word(orders: QuerySet[Order], wanted: Word) -> QuerySet[Order]:
    """Return the orders that have this word: the rule of `orders.workflow.word` in the database."""
    started = Exists(
        Blank.objects.filter(line__order=OuterRef("pk"), live=True).filter(Q(sawn__gt=0) | Q(saw_miscut__gt=0))
    )
    out = Q(state=Order.State.RELEASED, held=False)
    condition = {
        "cancelled": Q(state=Order.State.CANCELLED),
        "on hold": Q(held=True) & ~Q(state=Order.State.CANCELLED),
        "draft": Q(state=Order.State.DRAFT, held=False),
        "done": out & Q(done_at__isnull=False),
        "in work": out & Q(started, done_at=None),
        "released": out & Q(~started, done_at=None),
    }[wanted]
    return orders.filter(condition)


def _standing(order: Order, counts: Counts) -> Standing:
    return Standing(word(order.state, held=order.held, counts=counts), counts)


def _counts(owner: str, keys: list[int]) -> dict[int, Counts]:
    """Return the counts of the live blanks and pieces, summed by `owner`."""
    found: dict[int, Counts] = defaultdict(lambda: NOTHING)
    blanks = Blank.objects.filter(live=True, **{f"{owner}__in": keys}).values_list(owner)
    for key, *sums in blanks.order_by().annotate(
        due=Sum(DUE), done=Sum("sawn"), at_saw=Sum("saw_miscut"), at_wire=Sum("wire_miscut"),
    ):  # fmt: skip
        due, sawn, saw_miscut, wire_miscut = sums
        found[key] += Counts(saw=Count(due, sawn, saw_miscut), cut=Count(0, 0, wire_miscut))
    pieces = Piece.objects.filter(live=True, **{f"{owner}__in": keys}).values_list(owner)
    for key, *sums in pieces.order_by().annotate(
        to_cut=_due(wired=True), cut_=Sum("cut"), to_coat_=_due(wants_coat=True), coated_=Sum("coated"),
        to_pack=_due(wants_pack=True), packed_=Sum("packed"),
    ):  # fmt: skip
        found[key] += Counts(cut=Count(*sums[:2]), coat=Count(*sums[2:4]), pack=Count(*sums[4:]))
    return found


def _due(**which: bool) -> Sum:
    """Return how many pieces have an operation, in the database."""
    return Sum("qty", filter=Q(**which), default=0)
