"""Paper for the wire: the cut sheets of an order."""

from django.contrib import messages
from django.shortcuts import redirect
from django.views.decorators.http import require_POST

from orders.cut_paper import print_cut_sheets
from shop.acts import Act
from shop.refusals import Refused
from shop.roles import DESK, allowed
from shop.views.asking import written

from .orders import get_order
from .prints import pdf


@require_POST
@allowed(DESK)
def order_cut_sheets(request, number: int):
    """Print the cut sheets of an order, or of the line that was asked for; the prints are kept."""
    order = get_order(number)
    try:
        sheets = print_cut_sheets(order, Act(request.user), written(request, "line", 8))
    except Refused as refusal:
        messages.error(request, refusal.sentence)
        return redirect("order", number)
    return pdf(sheets, f"cut-sheets-{number}.pdf")
