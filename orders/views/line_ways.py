"""Both ways to cut a straight line, side by side, and the choice between them. A worker compares them."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from django.contrib import messages
from django.shortcuts import redirect, render
from django.utils.html import SafeString, format_html_join, mark_safe
from django.views.decorators.http import require_POST

from cutsheets.codes import revision_letter
from cutsheets.drawings.part import part_scenes
from cutsheets.errors import CutsheetError
from cutsheets.planning.gang import face_views, section
from cutsheets.solids import Box
from orders import ways
from orders.lines import shop_figures, what, work_each
from orders.models import Line, Order
from shop.acts import Act
from shop.refusals import Refused
from shop.roles import DESK, allowed
from shop.templatetags.look import blank_mm, foam_mm3, percent, tenths
from shop.views.asking import written

from .lines import get_line
from .orders import get_order, posted_version
from .plan_faces import face_picture
from .showing import field_words

REFUSED = 409
NAMES = {"each": "A blank for every piece", "gang": "Many out of one face"}
FACES_SHOWN = 4
NARROW = 260  # pixels of the picture of a part
UM3_PER_MM3 = 10**9


@allowed(DESK)
def line_ways(request, number: int, pk: int):
    """Show both ways of a straight line; a post chooses one."""
    order = get_order(number)
    line = get_line(order, pk)
    if request.method != "POST":
        return _page(request, order, line)
    before = order.revision
    try:
        way = written(request, "way")
        saved = ways.choose(order, line, way, Act(request.user), version=posted_version(request))
    except CutsheetError as error:
        return _page(request, order, line, refused=Refused(error.code, error.message))
    except Refused as refused:
        return _page(request, get_order(number), line, refused=refused)
    now = saved.order.revision
    sheet = f" It is sheet {revision_letter(now)} now; older paper is stale." if now != before else ""
    messages.success(request, f"Line {saved.mark} is cut like this: {saved.get_way_display()}.{sheet}")
    return redirect("order", number)


@require_POST
@allowed(DESK)
def line_ways_compare(request, number: int, pk: int):
    """Have the worker compare both ways; the page fills itself as soon as they are there."""
    order = get_order(number)
    line = get_line(order, pk)
    try:
        ways.ask(line, written(request, "saw"))
    except CutsheetError as error:
        return _page(request, order, line, refused=Refused(error.code, error.message))
    except Refused as refused:
        return _page(request, order, line, refused=refused)
    return redirect("order-line-ways", number, pk)


def _page(request, order: Order, line: Line, *, refused: Refused | None = None):
    context: dict[str, Any] = {"order": order, "line": line, "what": what(line), "refused": refused, "names": NAMES}
    try:
        context |= _both(line, order.unit)
    except CutsheetError as error:
        context["fault"] = f"{field_words(error.where, line)}{error.message}"
    except Refused as error:
        context["fault"] = error.sentence
    template = "orders/ways_both.html" if "HX-Request" in request.headers else "orders/ways.html"
    return render(request, template, context, status=REFUSED if refused else 200)


def _both(line: Line, unit: str) -> dict[str, Any]:
    """Return how far the comparison is, and what it says."""
    shop = shop_figures()
    found = ways.compared(line, shop)
    context: dict[str, Any] = {"state": found.state, "said": found.said, "saw": ways.saw_of(line), "saws": ways.saws()}
    if found.said is None:
        return context
    worked, rules = work_each(line, shop)
    *_, (name, scene) = part_scenes(worked, unit)  # of a sprung moulding as it lies in its blank
    faces = face_views(section(worked), found.nest.faces, rules.wire_kerf)[:FACES_SHOWN] if found.nest else ()
    pictures = {
        "each": [(name, scene, NARROW)], "gang": [face_picture(view, unit) for view in faces],
    }  # fmt: skip
    shown = {name: value for name, value in ROWS.items() if name != HANDLING or _handles(found.said)}
    rows = [(name, [said and value(said, unit) for said in _sides(found.said)]) for name, value in shown.items()]
    sides = [
        {"way": way, "name": NAMES[way], "pictures": pictures[way], "there": found.said[way] is not None,
         "better": found.said["better"] == way, "chosen": line.way == way}
        for way in NAMES
    ]  # fmt: skip
    return {**context, "rows": rows, "sides": sides, "no_handling": not _handles(found.said)}


def _sides(said: dict[str, Any]) -> Iterator[dict[str, Any] | None]:
    yield from (said[way] for way in NAMES)


def _handles(said: dict[str, Any]) -> bool:
    """Return whether the shop says how long handling takes; without that both ways say 0 and it is not shown."""
    return any(way and way["handling_minutes"] for way in _sides(said))


def _blanks(way: dict[str, Any], unit: str) -> SafeString:
    rows = ((blank["qty"], blank_mm(Box(**blank["size"]), unit)) for blank in way["blanks"])
    return format_html_join(mark_safe("<br>"), "{} @ {}", rows)


def _gives(way: dict[str, Any], unit: str) -> str:
    return " and ".join(str(gives) for gives in dict.fromkeys(blank["gives"] for blank in way["blanks"]))


HANDLING = "Handling, minutes"
ROWS = {
    "Blanks": _blanks,
    "Pieces out of each": _gives,
    "Foam used up": lambda way, unit: foam_mm3((way["opened"] - way["kept"]) / UM3_PER_MM3, unit),
    "Of it in the parts": lambda way, unit: percent(way["yielded"]),
    "Lengths of foam, end to end": lambda way, unit: str(way["lengths"]),
    "Saw cuts": lambda way, unit: str(way["saw_cuts"]),
    "Wire, minutes": lambda way, unit: tenths(way["wire_minutes"]),
    HANDLING: lambda way, unit: tenths(way["handling_minutes"]),
    "Foam and saw cuts, cost": lambda way, unit: _money(way["foam_cost"]),
    "Minutes at the wire, cost": lambda way, unit: _money(way["work_cost"]),
    "Cost of this line": lambda way, unit: _money(way["cost"]),
}


def _money(cents: float) -> str:
    return f"{cents / 100:,.2f}"
