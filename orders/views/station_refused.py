"""The screens that refuse a scan: each with its own ground, word and silhouette, and with what to do now."""

from django.shortcuts import render

from cutsheets.codes import read_code, revision_letter
from cutsheets.errors import CutsheetError
from orders.answers import DONE_WORDS
from orders.models import Order
from orders.standing import standing
from shop.models import Station

from .station_parts import address
from .station_work import next_station

TEMPLATES = {
    "old-sheet": "old", "held": "held", "cancelled": "cancelled", "done": "done", "not-here": "elsewhere",
    "in-hand": "inhand",
}  # fmt: skip
CARTON = (8, 12, 13, 14)  # digits of the codes on goods in shops
MOST_CHANGES = 4  # rows that a tablet shows beside the button
SHORT = 12  # characters that stand in the large figures


def refused(request, station: Station, answer):
    """Show why a scan, or an order, is stopped here. Nothing was counted."""
    template = TEMPLATES.get(answer.code, "unknown")
    no = unknown(answer) if template == "unknown" else known(station, answer)
    context = {"station": station, "no": no, "here": address(station)}
    return render(request, f"station/refused/{template}.html", context, status=409)


TITLES = {
    "code-damaged": "Misread", "tag": "A tag", "repeat-sheet": "Repeat sheet", "saw-sheet": "Saw sheet",
    "plan-done": "Plan done", "plan-void": "Old plan", "plan-replaced": "Old plan", "not-released": "No sheet yet",
    "badge": "A badge",
}  # fmt: skip


def unknown(answer) -> dict:
    """Return the words for a text that is no code of ours, a damaged one, or one without work to it."""
    raw = answer.raw.strip()
    guess, advice = "", answer.sentence
    if answer.code == "code-damaged":
        advice = "Part of the code is wrong or missing. Scan it again, or type it as printed."
    elif answer.code == "unknown" and not is_ours(raw):
        advice = "Not one of our sheets."
    if raw.isdecimal() and len(raw) in CARTON:
        guess = f"{len(raw)} digits: this looks like the code of bought goods."
    title = TITLES.get(answer.code, "Unknown code")
    changes = [
        f"{each['what'].capitalize()} before: {each['old']}; now: {each['new']}."
        for each in answer.details.get("changes", ())
    ]
    return {"title": title, "advice": advice, "raw": raw or "nothing", "guess": " ".join([guess, *changes]).strip()}


def is_ours(raw: str) -> bool:
    try:
        read_code(raw)
    except CutsheetError:
        return False
    return True


def known(station: Station, answer) -> dict:
    """Return what the screen of a known order shows."""
    order: Order = answer.order
    counts = standing(order).counts
    goes_to = answer.details.get("goes_to", Station.Kind.CUTTER)
    changes = answer.details.get("changes", ())
    return answer.details | {
        "changes": [change | {"is_long": len(change["new"]) > SHORT} for change in changes[:MOST_CHANGES]],
        "more": len(changes[MOST_CHANGES:]),
        "order": order, "letter_now": revision_letter(order.revision) if order.revision else "",
        "done": getattr(counts, station.operation).done, "of": getattr(counts, station.operation).due,
        "sawn": counts.saw.done, "due": counts.saw.due, "sentence": answer.sentence, "goes_to": next_station(goes_to),
        "verb": DONE_WORDS[station.operation], "look_url": address(station, order=order.number, look=goes_to),
    }  # fmt: skip
