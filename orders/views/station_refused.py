"""The screens that refuse a scan: each with its own ground, word and silhouette, and with what to do now."""

from django.shortcuts import render

from cutsheets.codes import read_code, revision_letter
from cutsheets.errors import CutsheetError
from orders.answers import DONE_WORDS
from orders.models import Order, Print, Revision
from orders.operations import counts_at
from orders.standing import standing
from orders.workflow import NONE
from shop.models import Person, Station
from shop.roles import DESK

from .station_parts import address
from .station_work import next_station

TEMPLATES = {
    "old-sheet": "old", "held": "held", "cancelled": "cancelled", "done": "done", "not-here": "elsewhere",
    "in-hand": "inhand",
    "plan-void": "old", "plan-replaced": "old", "plan-done": "done", "saw-sheet": "elsewhere",
    "repeat-sheet": "elsewhere", "wrong-foam": "foam",
}  # fmt: skip
# Titles of the screen of a block or remnant that is not opened here.
PIECES = {
    "tag-not-next": "Not yet", "tag-idle": "Changed", "tag-free": "In no plan", "tag-reserved": "Kept",
    "tag-on-saw": "On a saw", "tag-used": "Used up", "tag-scrapped": "Scrapped",
}  # fmt: skip
CARTON = (8, 12, 13, 14)  # digits of the codes on goods in shops
MOST_CHANGES = 4  # rows that a tablet shows beside the button
SHORT = 12  # characters that stand in the large figures
MOST_PEOPLE = 2  # that a sentence names


def refused(request, station: Station, answer):
    """Show why a scan, or an order, is stopped here. Nothing was counted."""
    on = {name: request.POST.get(name, "") for name in ("order", "pick")}  # the screen that was in front
    if answer.code in PIECES or answer.code == "wrong-foam":
        template, no = TEMPLATES.get(answer.code, "piece"), of_piece(station, answer, on)
    elif answer.order is None and answer.code in TEMPLATES:
        template, no = TEMPLATES[answer.code], of_sheet(station, answer)
    else:
        template = TEMPLATES.get(answer.code, "unknown")
        no = unknown(answer) if template == "unknown" else known(station, answer)
    context = {"station": station, "no": no, "here": address(station), "on": on}
    return render(request, f"station/refused/{template}.html", context, status=409)


def of_piece(station: Station, answer, on: dict) -> dict:
    """Return the words for a block or remnant that is not to be opened now; the way back is the screen in front."""
    tag = answer.details.get("tag")
    return answer.details | {
        "piece": answer.piece, "sentence": answer.sentence, "title": PIECES.get(answer.code, ""),
        "back": address(station, **on), "open": tag and address(station, ask="tag", tag=tag),
    }  # fmt: skip


def of_sheet(station: Station, answer) -> dict:
    """Return the words for a sheet that belongs to no order: a saw sheet, a repeat sheet."""
    new = answer.details.get("new")
    plan = f"Plan {answer.run.number}" if answer.run else ""
    goes_to = next_station(Station.Kind.SAW) if answer.run else "The office"
    sign = answer.run.number if answer.run else ""
    told = f"{plan} was thrown away." if new is None else f"Plan {new} has replaced {plan.lower()}."
    return {
        "sentence": answer.sentence, "number": plan, "goes_to": goes_to, **struck(sign),
        "in_hand": f"Saw sheet of {plan.lower()}, in your hand", "told": told,
        "now": f"the saw sheet of plan {new}" if new else "another sheet", "reprints": reprints(),
        **changes_shown(answer),
    }  # fmt: skip


def struck(sign: object) -> dict:
    """Return what stands struck out beside an old sheet, as large as it fits."""
    return {"sign": sign, "size": min(440, 600 // max(len(str(sign)), 1))}


def changes_shown(answer) -> dict:
    """Return what changed since an old sheet, and how much more than a tablet shows."""
    changes = answer.details.get("changes", ())
    shown = [change | {"is_long": len(change["new"]) > SHORT} for change in changes[:MOST_CHANGES]]
    return {"changes": shown, "more": len(changes[MOST_CHANGES:])}


def reprints() -> str:
    """Return who can print a new sheet: “Mina O. or Raf T.”, the office where nobody is named."""
    people = Person.objects.filter(is_active=True, role__in=DESK).order_by("-role", "first_name")[:MOST_PEOPLE]
    return " or ".join(person.short_name for person in people) or "the office"


TITLES = {
    "code-damaged": "Misread", "code-together": "Two codes at once", "not-released": "No sheet yet", "badge": "A badge",
}  # fmt: skip


def unknown(answer) -> dict:
    """Return the words for a text that is no code of ours, a damaged one, or one without work to it."""
    raw = answer.raw.strip()
    guess, advice = "", answer.sentence
    if answer.code == "code-damaged":
        advice = "Part of the code is wrong or missing. Scan it again, or type it as printed."
    elif answer.code == "code-together":
        advice = "None of them was taken: scan one again, away from the other."
    elif answer.code == "unknown" and not is_ours(raw):
        advice = "Not one of our sheets."
    if raw.isdecimal() and len(raw) in CARTON:
        guess = f"{len(raw)} digits: this looks like the code of bought goods."
    title = TITLES.get(answer.code, "Unknown code")
    return {"title": title, "advice": advice, "raw": raw or "nothing", "guess": guess}


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
    here = counts_at([order], station.kind).get(order.pk, NONE)
    goes_to = answer.details.get("goes_to", Station.Kind.CUTTER)
    letter = revision_letter(order.revision) if order.revision else ""
    return answer.details | changes_shown(answer) | {
        "order": order, "letter_now": letter, "number": f"{order} {letter}", "job": order.job,
        "done": here.done, "of": here.due,
        "sawn": counts.saw.done, "due": counts.saw.due, "sentence": answer.sentence, "goes_to": next_station(goes_to),
        "verb": DONE_WORDS[station.operation], "look_url": address(station, order=order.number, look=goes_to),
        **(old(answer, letter) if answer.code == "old-sheet" else {}),
    }  # fmt: skip


def old(answer, now: str) -> dict:
    """Return the words for an old sheet of an order: what changed, when and by whom, and when it was printed."""
    order, letter = answer.order, answer.details["letter"]
    last = Revision.objects.select_related("by").get(order=order, number=order.revision)
    was = next(number for number in range(1, order.revision) if revision_letter(number) == letter)
    prints = Print.objects.filter(order=order, revision=was, sheet=Print.Sheet.TRAVELLER)
    return {
        **struck(letter), "in_hand": f"Sheet {letter}, in your hand", "told": f"Sheet {now} is in force.",
        "now": f"sheet {now}", "reprints": reprints(), "changed": last, "printed": prints.order_by("-at").first(),
    }  # fmt: skip
