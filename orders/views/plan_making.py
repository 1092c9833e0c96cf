"""Plans being made: asked for on one page, followed on another, kept or given up meanwhile. A worker does the work."""

from django.contrib import messages
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe
from django_htmx.http import HttpResponseClientRedirect

from cutsheets.planning.check import Stats
from orders import planning
from orders.models import CuttingRun
from shop.acts import Act
from shop.models import ShopRules, Station
from shop.refusals import Refused
from shop.roles import DESK, MANAGER, allowed
from shop.views.asking import written

from .plan_again import LONGEST, need_waiting, seconds
from .plan_page import above, demand_rows, yields
from .plan_pictures import foam_bar, tape

REFUSED = 409
PLANNING = CuttingRun.State.PLANNING


@allowed(MANAGER)
def plan_new(request):
    """Choose a grade and the orders, then let a worker make a draft; nothing is reserved by it."""
    waiting = planning.waiting_grades()
    picked = request.POST.get("grade") or request.GET.get("grade", "")
    chosen = next((row for row in waiting if str(row.grade.pk) == picked), waiting[0] if waiting else None)
    gone = request.method == "POST" and chosen is not None and str(chosen.grade.pk) != picked
    refusal, orders = "", None
    typed = request.POST.get("seconds", str(ShopRules.current().plan_seconds))
    if request.method == "POST" and chosen:
        orders = {number.strip() for number in request.POST.getlist("order")}
        try:
            if gone:
                raise Refused("grade-gone", "No blanks of that foam wait for a plan now; choose one that is listed.")
            asked = planning.Asked(seconds(typed), need_waiting(chosen.grade, orders), saw=written(request, "saw", 20))
            return redirect("plan", planning.start_plan(chosen.grade, asked, Act(request.user)).number)
        except Refused as error:
            refusal = error.sentence
    shown = typed.strip() or ShopRules.current().plan_seconds
    context = {
        "waiting": waiting, "chosen": chosen, "seconds": shown, "longest": LONGEST, "refusal": refusal,
        "saws": Station.objects.filter(kind=Station.Kind.SAW, active=True), "saw": request.POST.get("saw", ""),
        "rows": demand_rows(chosen.grade, orders) if chosen else [],
    }  # fmt: skip
    return render(request, "plans/new.html", context, status=REFUSED if refusal else 200)


def load(number: int) -> CuttingRun:
    return get_object_or_404(CuttingRun.objects.select_related("grade", "made_by"), number=number)


def progress_context(run: CuttingRun) -> dict:
    """Return what the page of a plan that is being made says: how it gets on, and the best plan so far."""
    context = {"run": run, "asked": planning.Asked.of(run), "standing": planning.standing(run)}
    if context["standing"] == "silent":
        context |= {"silent": (timezone.now() - run.alive_at).seconds, "lost": planning.LOST.seconds}
    if run.plan:
        figures = run.figures
        stats = Stats(**figures["stats"])
        context |= {
            "stats": stats, "yields": yields(figures), "tape": tape(run, stats), "bar": foam_bar(stats),
            "above": above(figures["score"], figures["bound"]["score"]),
        }  # fmt: skip
    return context


@require_safe
@allowed(DESK)
def plan_progress(request, number: int):
    """Return how a plan gets on, for its page to show in place; when it is made the page becomes the plan's."""
    planning.requeue_lost()
    run = load(number)
    if run.state == PLANNING:
        return render(request, "plans/so_far.html", progress_context(run))
    address = reverse("plan", args=[number])
    return HttpResponseClientRedirect(address) if request.htmx else redirect(address)


@require_POST
@allowed(MANAGER)
def plan_keep(request, number: int):
    """Stop looking for a better plan and keep the best so far."""
    some = load(number).plan
    done = "The search stops; the best plan so far is kept." if some else "The first plan that is found is kept."
    return wish(request, number, planning.keep, done)


@require_POST
@allowed(MANAGER)
def plan_cancel(request, number: int):
    """Give up a plan that is being made; nothing of it is kept."""
    return wish(request, number, planning.cancel, "Plan {run.number} is given up; nothing was reserved for it.")


def wish(request, number: int, do, done: str):
    """Tell the worker of a plan something; a plan that is made by now is shown with that."""
    run = load(number)
    try:
        do(run)
    except Refused as refusal:
        messages.error(request, refusal.sentence)
    else:
        messages.success(request, done.format(run=run))
    return redirect("plan", number)
