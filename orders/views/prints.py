"""Paper: the traveller of an order, the saw sheets of a plan, and the list of what was printed."""

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST, require_safe

from orders import travellers
from orders.models import CuttingRun, Order, Print
from shop.acts import Act
from shop.refusals import Refused
from shop.roles import DESK, allowed

PAGE = 50


@require_POST
@allowed(DESK)
def order_traveller(request, number: int):
    """Print the sheet in force of an order; the print is kept."""
    order = get_object_or_404(Order.objects.select_related("customer"), number=number)
    try:
        sheet = travellers.print_traveller(order, Act(request.user))
    except Refused as refusal:
        messages.error(request, refusal.sentence)
        return redirect("order", number)
    return pdf(sheet, f"traveller-{number}.pdf")


@require_POST
@allowed(DESK)
def plan_saw_sheets(request, number: int):
    """Print the saw sheets of an accepted plan, a block or remnant a page; the print is kept."""
    run = get_object_or_404(CuttingRun.objects.select_related("grade"), number=number)
    try:
        sheets = travellers.print_saw_sheets(run, Act(request.user))
    except Refused as refusal:
        messages.error(request, refusal.sentence)
        return redirect("plan", number)
    return pdf(sheets, f"saw-sheets-{number}.pdf")


def pdf(content: bytes, name: str) -> HttpResponse:
    """Return a PDF that the browser shows."""
    answer = HttpResponse(content, content_type="application/pdf")
    answer["Content-Disposition"] = f'inline; filename="{name}"'
    return answer


@require_safe
@allowed(DESK)
def prints(request):
    """List what was printed, newest first: the newest print of a sheet is the one in force."""
    rows = Print.objects.select_related("order__customer", "run__grade", "by").order_by("-pk")
    return render(request, "prints/list.html", {"page": Paginator(rows, PAGE).get_page(request.GET.get("page"))})
