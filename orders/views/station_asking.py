"""The questions of a station: a code typed by hand, how many, what went wrong, what is put back."""

from django.shortcuts import get_object_or_404
from django.utils.http import urlencode

from orders import sawing
from orders.answers import DONE_WORDS
from orders.forms.station import MeasuredForm, PutBackForm, RestForm
from orders.models import Blank, Move, Order, Piece, RunRemnant, RunSource
from shop import account
from shop.models import ShopRules, Station
from shop.views.asking import whole

from .station_finish import can_do_now
from .station_found import gives, tag, this_one
from .station_parts import address, common
from .station_queue import queue
from .station_saw import kept_of
from .station_wire import first_sizes
from .station_work import piece_rows, room, saw_rows

BIG_NUMBERS = 12  # buttons for a count, so that a glove need not type
OTHER = "6"
MISSING = "7"
LOST = ("Missing", "on the books, not to be found")
# A word for the button and the sentence that is booked; “6” is for whatever nobody thought of.
REASONS = {
    "saw": (
        ("Fence or size", "cut to the wrong size"), ("Broken", "broke or crumbled on the saw"),
        ("Bad foam", "hole, void or hard spot"), ("Wrong foam", "another grade than planned"),
        ("Sheet looks wrong", "the office must look at it"), ("Something else", ""),
    ),
    "cut": (
        ("Wire", "sagged, broke or wandered"), ("Wrong size", "long point or depth is off"),
        ("Wrong hand", "mitred at the other end"), ("Broken", "broke in the hand or on the table"),
        ("Sheet looks wrong", "the office must look at it"), ("Something else", ""),
    ),
    "coat": (
        ("Broken", "broke in the hand or on the table"), ("Wrong size", "foam is off"),
        ("Wrong hand", "mitred at the other end"), ("Coat", "ran, cracked or will not hold"),
        ("Sheet looks wrong", "the office must look at it"), ("Something else", ""),
    ),
    "pack": (
        ("Broken", "broke in the hand or fell"), ("Wrong size", "not what the list says"),
        ("Wrong hand", "mitred at the other end"), ("Coat", "cracked, torn or not cured"),
        ("Sheet looks wrong", "the office must look at it"), ("Something else", ""),
    ),
}  # fmt: skip

PAUSES = (
    "Break", "End of shift", "Another order first", "Foam is missing", "The office must look at it",
    "Somebody else goes on",
)  # fmt: skip
DOWN = {
    "saw": ("Blade or wire", "Motor or drive", "Dust collection", "Guard or stop", "Power", "Maintenance"),
    "cut": ("Wire broke", "Heat control", "Motor or drive", "Guard or stop", "Power", "Maintenance"),
    "coat": ("Mixer", "Die or blade", "Motor or drive", "Ventilation", "Power", "Maintenance"),
    "pack": ("Wrapper", "Label printer", "Scale", "Truck or dock", "Power", "Maintenance"),
}  # fmt: skip


def number(request, station: Station, order: Order | None) -> dict:
    """Ask for the code below the bars."""
    return common(request, station, order) | {"template": "station/ask/number.html"}


def whats_next(request, station: Station, order: Order | None) -> dict:
    """Show the orders that have work here, soonest needed first, page by page."""
    ask = queue(station, whole(request.GET.get("from", "")))
    more = f"{address(station, ask='next')}&from={ask['end']}" if ask["end"] < ask["total"] else ""
    return common(request, station) | {"template": "station/ask/next.html", "ask": ask | {"more": more}}


def chosen(station: Station, order: Order, picked: str) -> dict:
    """Return what a count is about: the name and key of the blanks or pieces, how many are left, and their words."""
    if station.kind == Station.Kind.SAW:
        row = next((row for row in saw_rows(order, station) if str(row.blank.pk) == picked), None)
        if row is None:
            return {}
        here = sum(room(one) for one in row.planned if one.source.state == one.source.State.ON_SAW)
        return {"name": "blank", "pk": row.blank.pk, "left": min(row.left, here), "words": "blanks", "of": row.blank}
    piece = next((piece for piece in piece_rows(order, station.kind) if str(piece.pk) == picked), None)
    if piece is None:
        return {}
    left = can_do_now(piece, station.operation)
    return {"name": "piece", "pk": piece.pk, "left": left, "words": f"of {piece.label}", "of": piece}


def count(request, station: Station, order: Order | None) -> dict | None:
    """Ask how many were sawn or cut."""
    picked = request.GET.get("pick", "")
    what = chosen(station, order, picked) if order else {}
    if not what:
        return None
    numbers = range(1, min(what["left"], BIG_NUMBERS) + 1)
    ask = what | {"numbers": numbers, "done_word": DONE_WORDS[station.operation]}
    return asked(request, station, order, picked) | {"template": "station/ask/count.html", "ask": ask}


def why(request, station: Station, order: Order | None) -> dict | None:
    """Ask what went wrong; with that known, how many are spoiled."""
    picked = request.GET.get("pick", "")
    what = chosen(station, order, picked) if order else {}
    if not what:
        return None
    context = asked(request, station, order, picked)
    reasons = REASONS[station.operation]
    wanted = request.GET.get("why", "")
    if found := (*reasons, LOST)[whole(wanted) - 1 : whole(wanted)]:
        [(word, more)] = found
        reason = "" if wanted == OTHER else f"{word}: {more}"
        ask = what | {"reason": reason, "words": f"{word}. {due_again(what['of'])}", "costs": Move.Cost.choices}
        return context | {"template": "station/ask/miscut.html", "ask": ask}
    rows = [
        {"word": word, "more": more or "say it in your words",
         "url": f"{context['here']}&{urlencode({'ask': 'why', 'why': place})}"}
        for place, (word, more) in enumerate(reasons, 1)
    ]  # fmt: skip
    source = open_source_of(station, order, picked)
    block = f"{context['here']}&{urlencode({'ask': 'block', 'source': source.pk})}" if source else ""
    more = {"block": block, "down": f"{context['here']}&ask=down", "missing": ""}
    if station.kind != Station.Kind.SAW:
        more["missing"] = f"{context['here']}&{urlencode({'ask': 'why', 'why': MISSING})}"
    return context | {"template": "station/ask/why.html", "ask": {"reasons": rows} | more}


def first(request, station: Station, order: Order | None) -> dict | None:
    """Ask whether the first piece is right, and what the wire was set to."""
    picked = picked_of(request)
    what = chosen(station, order, picked) if order and station.operation == "cut" else {}
    if not what:
        return None
    ask = what | {"heat": request.POST.get("heat", ""), "feed": request.POST.get("feed", "")}
    ask["checks"] = first_sizes(what["of"])
    return asked(request, station, order, picked) | {"template": "station/ask/first.html", "ask": ask}


def pause(request, station: Station, order: Order | None) -> dict | None:
    """Ask why an order waits."""
    if order is None:
        return None
    words = "The order stays as it is. Whoever scans it next takes it in hand."
    ask = {
        "act": "station-pause", "keeps": "pause", "title": "Why does it wait", "reasons": PAUSES, "do": "Let it wait",
        "words": words,
    }  # fmt: skip
    return asked(request, station, order, picked_of(request)) | {"template": "station/ask/reasons.html", "ask": ask}


def down(request, station: Station, order: Order | None) -> dict:
    """Ask what is wrong with the machine."""
    words = "The manager sees it. Nothing is stopped or started by this: stop the machine and lock it out by hand."
    ask = {
        "act": "station-down", "title": "What is down", "reasons": DOWN[station.operation], "grave": True,
        "do": f"{station.name} is down", "words": words,
    }  # fmt: skip
    return asked(request, station, order, picked_of(request)) | {"template": "station/ask/reasons.html", "ask": ask}


def due_again(what: Blank | Piece) -> str:
    """Return what becomes of blanks or pieces that are spoiled."""
    if isinstance(what, Piece) and what.blank.gives > 1:
        return "They are booked as miscut. The saw owes a single blank for each, or a whole one if that is less foam."
    return "They are booked as miscut and due again at the saw."


def open_source_of(station: Station, order: Order | None, picked: str) -> RunSource | None:
    """Return the piece on the saw out of which the blanks on the screen come."""
    if order is None or station.kind != Station.Kind.SAW:
        return None
    row = next((row for row in saw_rows(order, station) if str(row.blank.pk) == picked), None)
    return row.open_blank.source if row and row.open_blank else None


# Blocks and remnants --------------------------------------------------------------------------------------------------


def source_asked(request, *states: str) -> RunSource | None:
    """Return the planned piece that a question is about, None where it is in none of these states by now."""
    key = request.POST.get("source") or request.GET.get("source", "")
    found = get_object_or_404(RunSource.objects.select_related("piece__grade", "run"), pk=whole(key))
    return found if found.state in states else None


def measure(request, station: Station, order: Order | None, *, form=None) -> dict | None:
    """Ask for the measured size of a piece that waits, or why it is no good."""
    source = source_asked(request, RunSource.State.WAITING)
    if source is None:
        return None
    unit = ShopRules.current().unit
    form = form or MeasuredForm(piece=source.piece, unit=unit)
    context = asked(request, station, order, picked_of(request)) | {"source": source, "unit": unit, "form": form}
    return context | {"template": "station/ask/measure.html"}


def block(request, station: Station, order: Order | None) -> dict | None:
    """Ask what becomes of an open piece that gives no more: what is kept of it comes first."""
    source = source_asked(request, RunSource.State.ON_SAW)
    if source is None:
        return None
    context = asked(request, station, order, picked_of(request))
    here = address(station, order=order and order.number, pick=context["picked"], source=source.pk)
    remnants = [
        {"tag": remnant.tag, "url": f"{here}&{urlencode({'ask': 'back', 'remnant': remnant.pk})}"}
        for remnant in source.remnants.filter(settled=False)
    ]
    missing = sum(map(room, source.blanks.all()))
    ask = {"source": source, "remnants": remnants, "missing": missing, "due": gives(source)}
    more = {"rest": f"{here}&ask=rest", "kept": kept_of(source)}
    return context | {"template": "station/ask/block.html", "ask": ask | more}


def rest(request, station: Station, order: Order | None, *, form=None) -> dict | None:
    """Ask for the size of a rest that no plan knew of, with the tag to write on it."""
    source = source_asked(request, RunSource.State.ON_SAW)
    if source is None:
        return None
    form = form or RestForm(parent=source.piece, unit=ShopRules.current().unit)
    [tag] = sawing.next_remnant_tags(1)
    context = {"source": source, "form": form, "tag": tag, "left": account.left_on_saw(source.piece)}
    return asked(request, station, order, picked_of(request)) | context | {"template": "station/ask/rest.html"}


def picked_of(request) -> str:
    return request.POST.get("pick") or request.GET.get("pick", "")


def put_back(request, station: Station, order: Order | None, *, remnant=None, form=None) -> dict:
    """Ask for the measured size of a remnant, the planned one filled in."""
    picked = picked_of(request)
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
    context = common(request, station, order, picked)
    return context | {"order": order, "picked": picked, "back_to": order and order.number}


ASKED = {
    "number": number, "next": whats_next, "count": count, "why": why, "measure": measure, "block": block, "rest": rest,
    "back": put_back, "pause": pause, "down": down, "first": first, "this": this_one, "tag": tag,
}  # fmt: skip
