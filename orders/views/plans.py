"""Cutting plans: made, looked at, accepted, stopped. A plan is checked before anybody sees it."""

from django.contrib import messages
from django.core.paginator import Paginator
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST, require_safe

from orders import planning
from orders.models import CuttingRun
from shop.acts import Act
from shop.live import live
from shop.models import ShopRules
from shop.refusals import Refused
from shop.roles import DESK, MANAGER, allowed, may

from .plan_again import AGAIN, DRAFTS, Choices, again, asked_before, asked_now, asked_of, base_of, said
from .plan_making import progress_context
from .plan_page import blank_count, plan_context, yields

PAGE = 50
REFUSED = 409
OUT_OF_DATE = ("stock-gone", "plan-old")  # such a draft is never accepted: it is planned again


@require_safe
@allowed(DESK)
@live
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


def load(number: int) -> CuttingRun:
    return get_object_or_404(CuttingRun.objects.select_related("grade", "made_by", "follows"), number=number)


@require_safe
@allowed(DESK)
def plan(request, number: int):
    """Show a plan: every opened piece with its cuts, the blanks, the remnants, the yield and the bound."""
    return show(request, load(number))


def show(request, run: CuttingRun, *, status: int = 200, choices: Choices | None = None, **extra):
    """Show a plan; `choices` is what was typed into its form for the next one."""
    if run.state == CuttingRun.State.PLANNING:
        making = progress_context(run) | {"can_plan": may(request.user, MANAGER)}
        return render(request, "plans/progress.html", making | extra, status=status)
    context = plan_context(run) if run.plan.get("pieces") else {"run": run, "unit": ShopRules.current().unit}
    context |= {"can_plan": may(request.user, MANAGER), "can_print": may(request.user, DESK), "said": said(run)}
    if context["can_plan"] and (run.state in AGAIN or context.get("changes")):
        context |= again(run, choices or asked_before(run))
    template = "plans/plan.html" if "pieces" in context else "plans/failed.html"
    return render(request, template, context | extra, status=status)


def changing(request, number: int, do, done: str):
    """Do one thing to a plan; a refusal is shown on its page, with what to do."""
    run = load(number)
    try:
        run = do(run, Act(request.user))
    except Refused as refusal:
        blocked = {"blocked": refusal.sentence} if refusal.code in OUT_OF_DATE else {}
        said = {"refusal": refusal.sentence, "refused": refusal.code}
        return show(request, load(number), status=REFUSED, **said, **blocked)
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
    return following(request, number, of_draft)


@require_POST
@allowed(MANAGER)
def plan_rest(request, number: int):
    """Plan the rest of an accepted plan again; it stays in force until the new plan is accepted."""
    return following(request, number, planning.replan)


def of_draft(run: CuttingRun, act: Act, asked: planning.Asked) -> CuttingRun:
    if run.state not in DRAFTS:
        raise Refused("not-draft", f"Plan {run.number} is {run.get_state_display()}; make a new plan instead.")
    return planning.start_plan(run.grade, asked, act, follows=base_of(run))


def following(request, number: int, start):
    """Let a worker make the plan that follows this one, as it is asked in the form; a refusal keeps what was typed."""
    run = load(number)
    choices = asked_now(request.POST)
    try:
        new = start(run, Act(request.user), asked_of(run, choices))
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
