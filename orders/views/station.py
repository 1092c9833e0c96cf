"""The station page: a scan is answered with a screen, an act with the screen that follows it.

Every screen has an address of its own, so the page works without JavaScript too. A scan counts nothing and starts
nothing; only a pressed act writes.
"""

import secrets
from functools import partial, wraps

from django.conf import settings
from django.db.models import F
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.csp import csp_override
from django.views.decorators.http import require_POST, require_safe

from orders import moves, sawing, scanning, tag_scans
from orders.answers import stopped
from orders.forms.station import PutBackForm
from orders.kept import cost_of
from orders.models import Blank, Order, Piece, RunBlank, RunRemnant, RunSource
from orders.operations import done_of
from shop.acts import Act
from shop.live import follow
from shop.models import ShopRules, Station
from shop.refusals import Refused
from shop.roles import EVERYONE, STATION, allowed
from shop.views.asking import whole, written

from . import station_screens as screens
from .station_asking import ASKED
from .station_finish import can_do_now
from .station_parts import address
from .station_refused import refused
from .station_work import saw_rows

REFUSED = 409  # the act was understood and not done


def load(code: str) -> Station:
    return get_object_or_404(Station, code=code, active=True)


@require_safe
@allowed(EVERYONE)
def stations(request):
    """Choose the station that stands before you."""
    return render(request, "station/choose.html", {"stations": Station.objects.filter(active=True)})


@require_safe
@csp_override(settings.STATION_CSP)
@allowed(STATION)
def station(request, code):
    """Show a station: nothing scanned, an order's work, a saw sheet's blocks, or a question."""
    here = load(code)
    # at the saw blocks matter too, which belong to no order
    follow(request, whole(request.GET.get("order", "")), foam=here.operation == "saw", address="station-live")
    order = order_asked(request.GET)
    ask = ASKED.get(request.GET.get("ask", ""))
    if ask and (answer := ask(request, here, order)):
        return render(request, answer.pop("template"), answer)
    if order:
        return work(request, here, order, picked=request.GET.get("pick", ""))
    return idle(request, here)


def work(request, here: Station, order: Order, *, picked="", refusal="", status=200):
    """Show an order's work, or why it may not be worked on; nothing at all when the page has seen it already."""
    if stop := stopped(order):
        return refused(request, here, stop)
    context = screens.work_context(request, here, order, picked=picked, look=request.GET.get("look", ""))
    if request.GET.get("seen") and request.GET["seen"] == context["version"]:
        return HttpResponse(status=204)
    return render(request, context["template"], context | {"refusal": refusal, "sound": request.GET.get("sound", "")},
                  status=status)  # fmt: skip


def idle(request, here: Station, *, refusal="", status=200):
    context = screens.idle_context(request, here)
    return render(request, "station/idle.html", context | {"refusal": refusal}, status=status)


def order_asked(data) -> Order | None:
    number = data.get("order", "")
    found = Order.objects.select_related("customer", "held_by")
    return get_object_or_404(found, number=whole(number)) if number.isdecimal() else None


@require_POST
@allowed(STATION)
def station_scan(request, code):
    """Answer a scan: the work that the sheet stands for, or a screen that says why not."""
    here = load(code)
    wanted = tag_scans.waited_for(whole(request.POST.get("order", "")), whole(request.POST.get("pick", "")))
    answer = scanning.scan(request.POST.get("raw", "").replace("\x00", ""), act_of(request, here), wanted=wanted)
    if not answer.accepted and answer.code != "tag":
        return refused(request, here, answer)
    to = screens.leads_to(answer) | {"sound": "accepted"}
    # what was typed by hand may be another order's number: it is shown before its work is
    return redirect(address(here, **({"ask": "this"} if "typed" in request.POST else {}) | to))


def act_of(request, here: Station) -> Act:
    """Return the act of this request; without JavaScript the page has no id of its own and gets one here."""
    return Act(request.user, here, scan_id=written(request, "scan_id", 40) or secrets.token_hex(16))


def acting(do):
    """Wear this on a view that does one thing at a station and returns the address to go on to.

    A refusal is shown where the act was pressed; nothing was written but that the act of this id is refused.
    """

    @wraps(do)
    def view(request, code):
        here = load(code)
        act = act_of(request, here)
        try:
            return redirect(do(request, here, act))
        except Refused as refusal:
            if moves.turn_down(order_asked(request.POST), refusal, act):
                return redirect(back(request, here))
            return show_refusal(request, here, refusal)

    return require_POST(allowed(STATION)(view))


def show_refusal(request, here: Station, refusal: Refused):
    """Show the screen on which the act was pressed, with the sentence that says why it was not done."""
    order = order_asked(request.POST)
    if order:
        return work(request, here, order, picked=request.POST.get("pick", ""), refusal=refusal.sentence, status=REFUSED)
    return idle(request, here, refusal=refusal.sentence, status=REFUSED)


def back(request, here: Station, sound="") -> str:
    return address(here, order=request.POST.get("order"), pick=request.POST.get("pick"), sound=sound)


def whole_number(text: str) -> int:
    if not text.strip().isdecimal() or len(text.strip()) > 5:
        raise Refused("count", f"“{text[:20]}” is not a count; type a whole number, such as 3.")
    return int(text)


def counted(request, here: Station) -> Blank | Piece:
    """Return the blanks or pieces that a form is about, those that this station counts."""
    name, model = ("blank", Blank) if here.kind == Station.Kind.SAW else ("piece", Piece)
    if key := whole(request.POST.get(name, "")):
        return get_object_or_404(model.objects.select_related("line__order"), pk=key)
    raise Refused("count", "The page did not say what was counted; scan the sheet again.")


@acting
def station_count(request, here, act):
    """Count good blanks at the saw or pieces at the wire."""
    what = counted(request, here)
    qty = whole_number(request.POST.get("qty", ""))
    moves.COUNT[here.operation](what, qty, act)
    what.refresh_from_db()
    left = what.to_saw if isinstance(what, Blank) else what.qty - done_of(what, here.operation)
    sound = "tick" if left else "finished"
    return address(here, order=what.line.order.number, pick=goes_on_with(what, here.operation), sound=sound)


def goes_on_with(what: Blank | Piece, operation: str) -> int | str:
    """Return which blanks or pieces the station shows after a count; "" is what comes first there now.

    The saw stays at the piece that lies on it: with the same blanks, else with others of the order out of it.
    """
    if isinstance(what, Piece):
        return what.pk if can_do_now(what, operation) else ""
    on_saw = RunBlank.objects.filter(source__state=RunSource.State.ON_SAW)
    beside = on_saw.filter(source__blanks__blank=what, qty__gt=F("sawn") + F("miscut"))
    if what.to_saw > 0 and beside.filter(blank=what).exists():
        return what.pk
    others = beside.filter(blank__line__order=what.line.order, blank__live=True).exclude(blank=what)
    return others.values_list("blank", flat=True).first() or what.pk


@acting
def station_miscut(request, here, act):
    """Book spoiled blanks, with the reason; what was ordered stays as it is and is due again."""
    what = counted(request, here)
    qty = whole_number(request.POST.get("qty", ""))
    reason = written(request, "reason")
    moves.RUIN[here.operation](what, qty, reason, act, cost=cost_of(request.POST))
    return address(here, order=what.line.order.number, pick=what.pk)


@acting
def station_undo(request, here, act):
    """Take back the last count of this station, if it still is the one that the page named."""
    last = moves.last_count(act)
    if last is None or str(last.pk) != request.POST.get("move"):
        raise Refused("undo-moved", "Something else was counted here meanwhile; look again what Undo would take back.")
    moves.undo(last, act)
    what = last.blank if here.kind == Station.Kind.SAW else last.piece
    return address(here, order=last.order.number, pick=what and what.pk)


@acting
def station_open(request, here, act):
    """Take a planned block or remnant from the rack: its foam is issued to this saw."""
    sawing.open_source(source_of(request), act)
    return back(request, here, "accepted")


@acting
def station_finish(request, here, act):
    """Close an opened piece: what is left of it is trim and kerf."""
    sawing.finish_source(source_of(request), act, reason=written(request, "reason"))
    order = order_asked(request.POST)
    if order and any(row.left and row.planned for row in saw_rows(order, here)):
        return address(here, order=order.number, sound="finished")  # with what comes first now
    return back(request, here, "finished")


def source_of(request) -> RunSource:
    return get_object_or_404(RunSource.objects.select_related("piece", "run"), pk=whole(request.POST.get("source", "")))


def remnant_of(request) -> RunRemnant:
    related = RunRemnant.objects.select_related("source__piece__grade", "source__run")
    return get_object_or_404(related, pk=whole(request.POST.get("remnant", "")))


@require_POST
@allowed(STATION)
def station_put_back(request, code):
    """Put a remnant back on the rack as measured; a wrong size is asked for again."""
    here, remnant = load(code), remnant_of(request)
    form = PutBackForm(request.POST, remnant=remnant, unit=ShopRules.current().unit)

    def put_back():
        sawing.put_back(remnant, form.size_um, act_of(request, here), place=form.cleaned_data["place"])

    return typed(request, here, form, put_back, partial(ASKED["back"], remnant=remnant, form=form))


def typed(request, here: Station, form, do, ask):
    """Do what a form says and go on; a wrong size or a refusal asks again, with what was typed."""
    refusal = Refused("form", "Not done: look at what is marked.")
    if form.is_valid():
        try:
            do()
            return redirect(back(request, here, "accepted"))
        except Refused as error:
            refusal = error
    context = ask(request, here, order_asked(request.POST))
    if context is None:
        return show_refusal(request, here, refusal)
    said = "" if form.errors else refusal.sentence
    return render(request, context.pop("template"), context | {"refusal": said}, status=REFUSED)


@acting
def station_give_up(request, here, act):
    """Say that a planned remnant is not kept, and why."""
    sawing.give_up(remnant_of(request), written(request, "reason"), act)
    return back(request, here)
