"""Paper for the wire: the cut sheets of an order."""

from django.views.decorators.http import require_POST

from orders.cut_paper import print_cut_sheets
from shop.acts import Act
from shop.roles import DESK, allowed
from shop.views.asking import written

from .orders import get_order
from .prints import printed


@require_POST
@allowed(DESK)
def order_cut_sheets(request, number: int):
    """Print the cut sheets of an order, or of the line that was asked for; the prints are kept."""
    order, mark = get_order(number), written(request, "line", 8)
    return printed(
        request, f"cut-sheets-{number}.pdf", lambda: print_cut_sheets(order, Act(request.user), mark), "order", number
    )
