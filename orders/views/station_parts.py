"""What all screens of a station share: their address, who undoes what, an act that has to wait."""

from __future__ import annotations

from django.db.models import Max
from django.urls import reverse
from django.utils.http import urlencode

from orders import moves
from orders.answers import DONE_WORDS
from orders.models import Blank, Move, Order, Piece
from orders.operations import done_of
from shop.acts import Act
from shop.models import Station
from shop.outages import outage


def address(station: Station, **query) -> str:
    """Return the address of a screen of this station."""
    asked = {key: value for key, value in query.items() if value}
    return reverse("station", args=[station.code]) + (f"?{urlencode(asked)}" if asked else "")


def common(request, station: Station, order: Order | None = None, picked="") -> dict:
    """Return what every screen shows: the station, the way back, and what Undo would take back."""
    last = moves.last_count(Act(request.user, station))
    context = {
        "station": station, "here": address(station, order=order and order.number, pick=picked), "undo": last,
        "outage": outage(station),
    }  # fmt: skip
    if last:
        of = "" if order and last.order_id == order.pk else f", {last.order.number}"
        context["undo_words"] = f"{last.qty} {undone(last)}{of}"
    return context


def waits(words: str) -> dict:
    return {"template": "station/act/wait.html", "words": words}


def count_act(station: Station, what: Blank | Piece, words: str, *, now: int, step: int = 1) -> dict:
    """Return the act that counts `step` of blanks or pieces of which so many can be done now."""
    if isinstance(what, Blank):
        name, due, left = "blank", what.due, what.to_saw
    else:
        name, due, left = "piece", what.qty, what.qty - done_of(what, station.operation)
    more = address(station, order=what.line.order.number, pick=what.pk, ask="count") if now > 1 else ""
    return {
        "template": "station/act/count.html", "name": name, "pk": what.pk, "words": words, "qty": step, "more": more,
        "after": f"{left - step} left after" if left > step else f"finishes {due} of {due}", "trouble": {"ask": "why"},
    }  # fmt: skip


def undone(count: Move) -> str:
    """Return what Undo takes back, in a word: “sawn”, “spoiled”."""
    return "spoiled" if count.action.endswith("-miscut") else DONE_WORDS[count.action]


def order_version(order: Order) -> str:
    last = Move.objects.filter(order=order).aggregate(last=Max("pk"))["last"]
    return f"{order.pk}.{order.version}.{order.revision}.{last}"
