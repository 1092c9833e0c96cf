"""The questions of a station: a code typed by hand, how many, what went wrong, what is put back."""

from django.shortcuts import get_object_or_404
from django.utils.http import urlencode

from orders.forms.station import PutBackForm
from orders.models import Order, RunRemnant, RunSource
from shop.models import ShopRules, Station
from shop.views.asking import whole

from . import station_screens as screens
from .station_work import cut_rows, room, saw_rows

OTHER = "6"
# A word for the button and the sentence that is booked; “6” is for whatever nobody thought of.
REASONS = {
    Station.Kind.SAW: (
        ("Fence or size", "cut to the wrong size"), ("Broken", "broke or crumbled on the saw"),
        ("Bad foam", "hole, void or hard spot"), ("Wrong foam", "another grade than planned"),
        ("Sheet looks wrong", "the office must look at it"), ("Something else", ""),
    ),
    Station.Kind.CUTTER: (
        ("Wire", "sagged, broke or wandered"), ("Wrong size", "long point or depth is off"),
        ("Wrong hand", "mitred at the other end"), ("Broken", "broke in the hand or on the table"),
        ("Sheet looks wrong", "the office must look at it"), ("Something else", ""),
    ),
}  # fmt: skip


def number(request, station: Station, order: Order | None) -> dict:
    """Ask for the code below the bars."""
    return screens.common(request, station, order) | {"template": "station/ask/number.html"}


def whats_next(request, station: Station, order: Order | None) -> dict:
    """Show the orders that have work here, soonest needed first."""
    context = screens.common(request, station)
    return context | {"template": "station/ask/next.html", "ask": {"rows": screens.next_rows(station)}}


def chosen(station: Station, order: Order, picked: str) -> dict:
    """Return what a count is about: the name and key of the blanks or pieces, how many are left, and their words."""
    if station.kind == Station.Kind.SAW:
        row = next((row for row in saw_rows(order) if str(row.blank.pk) == picked), None)
        if row is None:
            return {}
        here = sum(room(one) for one in row.planned if one.source.state == one.source.State.ON_SAW)
        return {"name": "blank", "pk": row.blank.pk, "left": min(row.left, here), "words": "blanks", "of": row.blank}
    piece = next((piece for piece in cut_rows(order) if str(piece.pk) == picked), None)
    if piece is None:
        return {}
    left = min(piece.qty - piece.cut, piece.blank.ready)
    return {"name": "piece", "pk": piece.pk, "left": left, "words": f"of {piece.label}", "of": piece}


def count(request, station: Station, order: Order | None) -> dict | None:
    """Ask how many were sawn or cut."""
    picked = request.GET.get("pick", "")
    what = chosen(station, order, picked) if order else {}
    if not what:
        return None
    numbers = range(1, min(what["left"], screens.BIG_NUMBERS) + 1)
    ask = what | {"numbers": numbers, "done_word": screens.DONE_WORDS[station.kind]}
    return asked(request, station, order, picked) | {"template": "station/ask/count.html", "ask": ask}


def why(request, station: Station, order: Order | None) -> dict | None:
    """Ask what went wrong; with that known, how many are spoiled."""
    picked = request.GET.get("pick", "")
    what = chosen(station, order, picked) if order else {}
    if not what:
        return None
    context = asked(request, station, order, picked)
    reasons = REASONS[station.kind]
    wanted = request.GET.get("why", "")
    if 1 <= whole(wanted) <= len(reasons):
        word, more = reasons[whole(wanted) - 1]
        reason = "" if wanted == OTHER else f"{word}: {more}"
        ask = what | {"reason": reason, "words": f"{word}. They are booked as miscut and due again at the saw."}
        return context | {"template": "station/ask/miscut.html", "ask": ask}
    rows = [
        {"word": word, "more": more or "say it in your words",
         "url": f"{context['here']}&{urlencode({'ask': 'why', 'why': place})}"}
        for place, (word, more) in enumerate(reasons, 1)
    ]  # fmt: skip
    short = f"{context['here']}&ask=short" if open_source_of(station, order, picked) else ""
    return context | {"template": "station/ask/why.html", "ask": {"reasons": rows, "short": short}}


def open_source_of(station: Station, order: Order | None, picked: str) -> RunSource | None:
    """Return the piece on the saw out of which the blanks on the screen come."""
    if order is None or station.kind != Station.Kind.SAW:
        return None
    row = next((row for row in saw_rows(order) if str(row.blank.pk) == picked), None)
    return row.open_blank.source if row and row.open_blank else None


def short(request, station: Station, order: Order | None) -> dict | None:
    """Ask why an opened piece gives fewer blanks than planned; its remnants are put back first."""
    picked = request.GET.get("pick", "")
    source = open_source_of(station, order, picked)
    if source is None:
        return None
    context = asked(request, station, order, picked)
    remnants = [
        {"tag": remnant.tag, "url": f"{context['here']}&ask=back&remnant={remnant.pk}"}
        for remnant in source.remnants.filter(settled=False)
    ]
    missing = sum(room(one) for one in source.blanks.all())
    ask = {"source": source, "remnants": remnants, "missing": missing}
    return context | {"template": "station/ask/short.html", "ask": ask}


def put_back(request, station: Station, order: Order | None, *, remnant=None, form=None) -> dict:
    """Ask for the measured size of a remnant, the planned one filled in."""
    picked = request.POST.get("pick") or request.GET.get("pick", "")
    if remnant is None:
        key = request.GET.get("remnant", "")
        related = RunRemnant.objects.select_related("source__piece__grade", "source__run")
        remnant = get_object_or_404(related, pk=whole(key), settled=False)
    unit = ShopRules.current().unit
    planned = (remnant.l_um, remnant.w_um, remnant.h_um)
    form = form or PutBackForm(remnant=remnant, unit=unit)
    context = {"remnant": remnant, "planned": planned, "unit": unit, "form": form}
    return asked(request, station, order, picked) | context | {"template": "station/ask/put_back.html"}


def asked(request, station: Station, order: Order | None, picked) -> dict:
    """Return what every question shows: the order it is about and the way back to it."""
    context = screens.common(request, station, order, picked)
    return context | {"order": order, "picked": picked, "back_to": order and order.number}


ASKED = {"number": number, "next": whats_next, "count": count, "why": why, "short": short, "back": put_back}
