"""Paper of an order for what comes after the wire: coat sheet, pack list, bundle labels, packing slip."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect
from django.views.decorators.http import require_POST

from orders import packing
from orders.forms.packing import CoatedForm, LabelsForm
from shop.acts import Act
from shop.roles import DESK, allowed

from .orders import get_order
from .prints import printed


@require_POST
@allowed(DESK)
def order_coat_sheet(request, number: int):
    """Print the coat sheet of an order; the print is kept."""
    return _asked(request, number, "coat-sheet", CoatedForm, packing.print_coat_sheet)


@require_POST
@allowed(DESK)
def order_pack_list(request, number: int):
    """Print the pack list of an order; the print is kept."""
    return _printed(request, number, "pack-list", packing.print_pack_list)


@require_POST
@allowed(DESK)
def order_bundle_labels(request, number: int):
    """Print the labels of an order's bundles; the print is kept."""
    return _asked(request, number, "bundles", LabelsForm, packing.print_bundle_labels)


@require_POST
@allowed(DESK)
def order_packing_slip(request, number: int):
    """Print the packing slip of an order; the print is kept."""
    return _printed(request, number, "packing-slip", packing.print_packing_slip)


def _asked(request, number: int, name: str, form_class, do) -> HttpResponse:
    """Print with what the form asks for; a fault in it is told on the page of the order."""
    form = form_class(request.POST)
    if not form.is_valid():
        for faults in form.errors.values():
            messages.error(request, faults[0])
        return redirect("order", number)
    return _printed(request, number, name, do, **form.cleaned_data)


def _printed(request, number: int, name: str, do, **asked) -> HttpResponse:
    order = get_order(number)
    return printed(request, f"{name}-{number}.pdf", lambda: do(order, Act(request.user), **asked), "order", number)
