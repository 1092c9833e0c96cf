"""The screens of a station: what each template is told. Nothing is written here."""

from __future__ import annotations

from django.utils import timezone

from orders.answers import Answer, hand_words, hands_on
from orders.models import Order, Scan
from shop.models import Station

from .station_coat import coat_context
from .station_pack import pack_context
from .station_parts import address, common, waits
from .station_queue import curing_rows, order_rows
from .station_saw import saw_context
from .station_wire import cutter_context
from .station_work import opened_at

Kind = Station.Kind
SCREENS = {
    Kind.SAW: saw_context, Kind.CUTTER: cutter_context, Kind.TURNING: cutter_context, Kind.COAT: coat_context,
    Kind.PACK: pack_context,
}  # fmt: skip
LAST_SCANS = 3


def work_context(request, station: Station, order: Order, *, picked: str = "", look: str = "") -> dict:
    """Return the screen of an order at a station; `look` shows that of another kind of station, without its acts."""
    kind = look if look in SCREENS else station.kind
    context = SCREENS[kind](station, order, picked, kind)
    context |= common(request, station, order, context["picked"])
    hands = hands_on(order, timezone.now(), station.kind)
    context |= {
        "order": order, "unit": order.unit, "look": look,
        "in_hand": next((hand for hand in hands if hand.station_id == station.pk), None),
        "beside": [hand_words(hand) for hand in hands if hand.station_id != station.pk],
    }  # fmt: skip
    if look:
        context["act"] = waits("Look only. Nothing is counted here.")
    elif context["outage"]:
        context["act"] = {"template": "station/act/up.html"}
    else:
        trouble = context["act"].get("trouble") or {"ask": "why" if context["picked"] else "down"}
        context["trouble"] = address(station, order=order.number, pick=context["picked"], **trouble)
    return context


def leads_to(answer: Answer) -> dict:
    """Return where a scan leads: to a block, to an open one to be settled, to its order and what to do first there."""
    if tag := answer.details.get("tag"):
        return {"ask": "tag", "tag": tag}
    if answer.details.get("settle"):
        return {"ask": "block", "source": answer.details["source"]}
    details = answer.details
    pick = f"b{details['bundle']}" if "bundle" in details else details.get("pick") or details.get("blank")
    return {"order": answer.order.number, "pick": pick}


def idle_context(request, station: Station) -> dict:
    """Return the empty screen: what was scanned last here, what lies open on the saw, what becomes ready when."""
    seen: dict[int, Scan] = {}
    today = timezone.localdate()
    scans = Scan.objects.filter(station=station, order__isnull=False).select_related("order").order_by("-pk")[:40]
    for scan in scans:
        if timezone.localdate(scan.happened_at) == today and len(seen) < LAST_SCANS:
            seen.setdefault(scan.order_id, scan)
    rows = order_rows([scan.order for scan in seen.values()], station)
    for row, scan in zip(rows, seen.values(), strict=True):
        row["at"] = f"{timezone.localtime(scan.happened_at):%H:%M}"
    context = common(request, station) | {"scans": rows, "lying": lying_open(station), "curing": curing_rows(station)}
    return context | {"trouble": "" if context["outage"] else address(station, ask="down")}


def lying_open(station: Station) -> list[dict]:
    """Return the blocks and remnants that were opened at this station and are not finished."""
    return [
        {"source": source, "url": address(station, ask="block", source=source.pk)}
        for source in opened_at(station).select_related("piece", "run").order_by("run__number", "position")
    ]
