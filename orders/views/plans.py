"""Cutting plans: made, looked at, accepted, stopped. A plan is checked before anybody sees it."""

from django.contrib import messages
from django.core.paginator import Paginator
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST, require_safe

from cutsheets.errors import CutsheetError
from orders import planning
from orders.models import CuttingRun
from shop.acts import Act
from shop.models import ShopRules
from shop.refusals import Refused
from shop.roles import DESK, MANAGER, allowed, may
from shop.views.asking import whole

from .plan_again import AGAIN, Choices, again, asked_before, asked_now, asked_of, base_of, said, seconds
from .plan_page import blank_count, demand_rows, plan_context, yields

PAGE = 50
REFUSED = 409


@require_safe
@allowed(DESK)
def plans(request):
    """List the plans, newest first, and the grades with blanks that no plan gives yet."""
    runs = CuttingRun.objects.select_related("grade", "made_by")
    wanted = request.GET.get("state", "")
    if wanted in CuttingRun.State.values:
        runs = runs.filter(state=wanted)
    page = Paginator(runs, PAGE).get_page(request.GET.get("page"))
    rows = [
        {"run": run, "stats": run.figures.get("stats", {}), "yields": yields(run.figures), "blanks": blank_count(run)}
        for run in page
    ]
    context = {
        "page": page, "rows": rows, "waiting": planning.waiting_grades(), "states": CuttingRun.State.choices,
        "wanted": wanted, "can_plan": may(request.user, MANAGER),
    }  # fmt: skip
    return render(request, "plans/list.html", context)


@allowed(MANAGER)
def plan_new(request):
    """Choose a grade and the orders, then make a draft; nothing is reserved by it."""
    waiting = planning.waiting_grades()
    picked = request.POST.get("grade") or request.GET.get("grade", "")
    chosen = next((row for row in waiting if str(row.grade.pk) == picked), waiting[0] if waiting else None)
    refusal, typed = "", request.POST.get("seconds") or str(ShopRules.current().plan_seconds)
    orders = None
    if request.method == "POST" and chosen:
        orders = {whole(number) for number in request.POST.getlist("order")} - {0}
        try:
            run = planning.make_plan(
                chosen.grade, Act(request.user), seconds=seconds(typed), order_numbers=need_one(orders)
            )
            return redirect("plan", run.number)
        except Refused as error:
            refusal = error.sentence
        except CutsheetError as error:
            refusal = error.message
    context = {
        "waiting": waiting, "chosen": chosen, "seconds": typed, "refusal": refusal,
        "rows": demand_rows(chosen.grade, orders) if chosen else [],
    }  # fmt: skip
    return render(request, "plans/new.html", context, status=REFUSED if refusal else 200)


def need_one(orders: set[int]) -> set[int]:
    if not orders:
        raise Refused("nothing-chosen", "Choose at least one order to plan.")
    return orders


def load(number: int) -> CuttingRun:
    return get_object_or_404(CuttingRun.objects.select_related("grade", "made_by", "follows"), number=number)


@require_safe
@allowed(DESK)
def plan(request, number: int):
    """Show a plan: every opened piece with its cuts, the blanks, the remnants, the yield and the bound."""
    return show(request, load(number))


def show(request, run: CuttingRun, *, status: int = 200, choices: Choices | None = None, **extra):
    """Show a plan; `choices` is what was typed into its form for the next one."""
    context = plan_context(run) if run.plan.get("pieces") else {"run": run, "unit": ShopRules.current().unit}
    context |= {"can_plan": may(request.user, MANAGER), "can_print": may(request.user, DESK), "said": said(run)}
    if context["can_plan"] and run.state in AGAIN:
        context |= again(run, choices or asked_before(run))
    template = "plans/plan.html" if "pieces" in context else "plans/failed.html"
    return render(request, template, context | extra, status=status)


def changing(request, number: int, do, done: str):
    """Do one thing to a plan; a refusal is shown on its page, with what to do."""
    run = load(number)
    try:
        run = do(run, Act(request.user))
    except Refused as refusal:
        return show(request, load(number), status=REFUSED, refusal=refusal.sentence, refused=refusal.code)
    messages.success(request, done.format(run=run))
    return redirect("plan", number)


@require_POST
@allowed(MANAGER)
def plan_accept(request, number: int):
    """Accept a draft: its foam is reserved, the saw may open it."""
    return changing(request, number, planning.accept, "The foam of plan {run.number} is reserved.")


@require_POST
@allowed(MANAGER)
def plan_again(request, number: int):
    """Plan again what this draft gives, with what is asked of the next plan; this one stays as it is."""
    run = load(number)
    choices = asked_now(request.POST)
    try:
        if run.state not in AGAIN:
            raise Refused("not-draft", f"Plan {run.number} is {run.get_state_display()}; make a new plan instead.")
        new = planning.start_plan(run.grade, asked_of(run, choices), Act(request.user), follows=base_of(run))
    except Refused as refusal:
        return show(request, run, status=REFUSED, choices=choices, refusal=refusal.sentence, refused=refusal.code)
    return redirect("plan", new.number)


@require_POST
@allowed(MANAGER)
def plan_throw_away(request, number: int):
    """Throw away a plan of which nothing was opened; its foam is free again."""
    return changing(request, number, planning.throw_away, "Plan {run.number} is thrown away; its foam is free.")


@require_POST
@allowed(MANAGER)
def plan_stop(request, number: int):
    """Open no more of a plan; what lies on a saw is finished there."""
    return changing(request, number, planning.stop, "Plan {run.number} is stopped; what waited is free again.")
