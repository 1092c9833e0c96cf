"""Many sheets at once: chosen on a page, drawn at once if that is quick, else by a worker while a page says how far."""

from django.contrib import messages
from django.http import Http404
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST, require_safe

from orders import batches, papers, prints
from orders.models import Batch, CuttingRun, Order, Print
from orders.papers import Paper
from shop.acts import Act
from shop.models import ShopRules
from shop.refusals import Refused
from shop.roles import DESK, EVERYONE, allowed
from shop.views.asking import whole

from .prints import pdf


@allowed(DESK)
def batch_new(request):
    """Choose released orders, then print their travellers or all their sheets in one file."""
    orders = batches.waiting_orders()
    if request.method == "POST":
        picked = {whole(number) for number in request.POST.getlist("order")}
        return _chosen(request, [order for order in orders if order.number in picked])
    printed = prints.printed_revisions(orders, Print.Sheet.TRAVELLER)
    rows = [{"order": order, "printed": order.revision in printed[order.pk]} for order in orders]
    context = {"rows": rows, "new": sum(not row["printed"] for row in rows), "paper": ShopRules.current().paper}
    return render(request, "prints/batch_new.html", context)


def _chosen(request, orders: list[Order]):
    """Print the travellers of the chosen orders, or all their sheets where the button says so."""
    if not orders:
        messages.error(request, "Tick the orders whose sheets you want.")
        return redirect("batch-new")
    count = "1 order" if len(orders) == 1 else f"{len(orders)} orders"
    if "all" in request.POST:
        return answer(request, f"All sheets of {count}", papers.sheets_of_orders(orders), "batch-new")
    return answer(request, f"Travellers of {count}", papers.travellers_of(orders), "batch-new")


@require_POST
@allowed(DESK)
def order_traveller(request, number: int):
    """Print the sheet in force of an order."""
    order = get_object_or_404(Order, number=number)
    return answer(request, f"Traveller {order}", papers.travellers_of([order]), "order", number)


@require_POST
@allowed(DESK)
def plan_saw_sheets(request, number: int):
    """Print the saw sheets of an accepted plan, a block or remnant a page."""
    run = get_object_or_404(CuttingRun, number=number)
    return answer(request, f"Saw sheets {run.number}", [Paper(Print.Sheet.SAW_SHEET.value, number)], "plan", number)


@require_POST
@allowed(DESK)
def plan_papers(request, number: int):
    """Print all sheets of an accepted plan in one file: its saw sheets, then the sheets of its orders."""
    run = get_object_or_404(CuttingRun, number=number)
    return answer(request, f"Sheets of plan {run.number}", papers.sheets_of_plan(run), "plan", number)


def answer(request, title: str, asked: list[Paper], *back):
    """Return the papers in one PDF; where that takes long, or one is left out, the page of the batch instead."""
    act = Act(request.user)
    if batches.is_long(asked):
        return redirect("batch", batches.start(title, asked, act).pk)
    try:
        drawn = batches.draw(title, asked, act)
    except Refused as refusal:
        messages.error(request, refusal.sentence)
        return redirect(*back)
    if drawn.left_out:
        return redirect("batch", batches.keep_drawn(title, asked, drawn, act).pk)
    return pdf(drawn.pdf, f"{title.lower().replace(' ', '-')}.pdf")


@require_safe
@allowed(EVERYONE)
def batch(request, pk: int):
    """Say how far a batch is; the page asks again by itself until the file is there."""
    batches.requeue_lost()
    shown = get_object_or_404(Batch.objects.defer("pdf").select_related("by"), pk=pk)
    context = {"batch": shown, "until": shown.at + batches.KEPT, "in_all": len(shown.papers)}
    if shown.state == Batch.State.WAITING:
        context["standing"] = batches.standing(shown)
    return render(request, "prints/batch.html", context)


@require_safe
@allowed(EVERYONE)
def batch_file(request, pk: int):
    """Return the file of a batch that is made."""
    shown = get_object_or_404(Batch, pk=pk)
    if shown.pdf is None:
        raise Http404
    return pdf(bytes(shown.pdf), f"batch-{pk}.pdf")
