"""Paper for the wire: the cut sheets of an order."""

from django.views.decorators.http import require_POST

from orders.models import Print
from orders.papers import Paper
from shop.roles import DESK, allowed
from shop.views.asking import written

from .batches import answer
from .orders import get_order


@require_POST
@allowed(DESK)
def order_cut_sheets(request, number: int):
    """Print the cut sheets of an order, or of the line that was asked for; the prints are kept."""
    order, mark = get_order(number), written(request, "line", 8)
    paper = Paper(Print.Sheet.CUT_SHEET.value, number, {"mark": mark} if mark else None)
    return answer(request, f"Cut sheets {order}", [paper], "order", number)
