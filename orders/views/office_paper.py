"""Paper for the office and the customer: quote, order confirmation, the day's foam. Each print is kept."""

from datetime import date

from django.contrib import messages
from django.http import Http404
from django.shortcuts import redirect
from django.utils import timezone
from django.views.decorators.http import require_POST

from orders import office_paper, usage
from orders.forms.quotes import QuoteForm
from shop.acts import Act
from shop.roles import DESK, MANAGER, allowed

from .orders import get_order
from .prints import pdf, printed


@require_POST
@allowed(DESK)
def order_quote(request, number: int):
    """Print the quote of an order as it stands, held until the day that was typed."""
    form = QuoteForm(request.POST)
    if not form.is_valid():
        messages.error(request, form.errors["until"][0])
        return redirect("order", number)
    until = form.cleaned_data["until"]
    return _printed(request, number, "quote", lambda order, act: office_paper.print_quote(order, until, act))


@require_POST
@allowed(DESK)
def order_confirmation(request, number: int):
    """Print the confirmation of an order's sheet in force."""
    return _printed(request, number, "confirmation", office_paper.print_confirmation)


def _printed(request, number: int, name: str, do):
    order = get_order(number)
    return printed(request, f"{name}-{number}.pdf", lambda: do(order, Act(request.user)), "order", number)


@require_POST
@allowed(MANAGER)
def day_report(request, of: date):
    """Print the foam of a day as its page says it."""
    if of > timezone.localdate():
        raise Http404
    return pdf(office_paper.print_day_report(usage.day(of), Act(request.user)), f"foam-{of}.pdf")
