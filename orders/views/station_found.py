"""What stands between a scan and the work: is it this order (typed by hand), is it this block or remnant (its tag)."""

from __future__ import annotations

from django.shortcuts import get_object_or_404
from django.utils import timezone

from orders.layout import size_words
from orders.models import Order, RunSource
from orders.tag_scans import first_blank, planned
from shop import account
from shop.models import ShopRules, Station, StockPiece

from .station_drawings import block_picture, foam_pictures, worked_line
from .station_parts import address, common
from .station_work import room


def this_one(request, station: Station, order: Order | None) -> dict | None:
    """Ask whether an order is the one that was meant, before its work is shown: customer, job and picture."""
    if order is None:
        return None
    lines = list(order.lines.select_related("grade", "profile__profile").order_by("position"))
    worked = worked_line(lines[0]) if lines else None
    yes = address(station, order=order.number, pick=request.GET.get("pick", ""), sound="accepted")
    return common(request, station) | {
        "template": "station/ask/this.html", "order": order, "lines": lines, "yes": yes,
        "pictures": foam_pictures(worked, order.unit, "")[:1] if worked else [],
    }  # fmt: skip


def tag(request, station: Station, order: Order | None) -> dict:
    """Show a block or remnant whose tag was scanned; at a saw that a plan wants it for, the act that opens it.

    Foam that has not rested is opened only after a press that says so (`sure`).
    """
    pieces = StockPiece.objects.select_related("grade", "parent")
    piece = get_object_or_404(pieces, tag=request.GET.get("tag", "")[:20])
    source = planned(piece) if station.kind == Station.Kind.SAW else None
    blank = first_blank(source) if source else None
    rules, today = ShopRules.current(), timezone.localdate()
    age = (today - piece.mould_date).days if piece.mould_date else None
    fresh = source is not None and account.too_fresh(piece, today)
    here = {"ask": "tag", "tag": piece.tag}
    return common(request, station) | {
        "template": "station/tag.html", "piece": piece, "source": source, "unit": rules.unit, "age": age,
        "order": blank and blank.line.order, "picked": blank and blank.pk, "rest": rules.minimum_age_days,
        "fresh": fresh, "sure": address(station, **here, sure=1) if fresh and not request.GET.get("sure") else "",
        "gives": gives(source) if source else [], "picture": source and block_picture(source), "back_to": "",
        "sound": request.GET.get("sound", ""),
    }  # fmt: skip


def gives(source: RunSource) -> list[str]:
    """Return what a plan makes of a piece: “3 of 4101 A, 40 × 6 × 4”."""
    rows = [row for row in source.blanks.select_related("blank__line__order") if room(row)]
    return [f"{room(row)} of {row.blank.line.order} {row.blank.line.mark}, {size_words(row.blank)}" for row in rows]
