"""Paper of an order for what comes after the wire: coat sheet, pack list, bundle labels, packing slip."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect
from django.views.decorators.http import require_POST

from orders.forms.packing import CoatedForm, LabelsForm
from orders.models import Print
from orders.papers import Paper
from shop.roles import DESK, EVERYONE, allowed

from .batches import answer
from .orders import get_order

Kind = Print.Sheet


@require_POST
@allowed(DESK)
def order_coat_sheet(request, number: int):
    """Print the coat sheet of an order; the print is kept."""
    form = CoatedForm(request.POST)
    if not form.is_valid():
        return _faults(request, number, form)
    coated = form.cleaned_data["coated"]
    return _printed(request, number, "Coat sheet", Kind.COAT_SHEET, {"coated": coated.isoformat()} if coated else None)


@require_POST
@allowed(DESK)
def order_pack_list(request, number: int):
    """Print the pack list of an order; the print is kept."""
    return _printed(request, number, "Pack list", Kind.PACK_LIST)


@require_POST
@allowed(EVERYONE)
def order_bundle_labels(request, number: int):
    """Print the labels of an order's bundles, from the office or the packing station; the print is kept."""
    form = LabelsForm(request.POST)
    if not form.is_valid():
        return _faults(request, number, form)
    return _printed(request, number, "Bundle labels", Kind.LABEL, form.cleaned_data)


@require_POST
@allowed(EVERYONE)
def order_packing_slip(request, number: int):
    """Print the packing slip of an order, from the office or the packing station; the print is kept."""
    return _printed(request, number, "Packing slip", Kind.PACKING_SLIP)


def _faults(request, number: int, form) -> HttpResponse:
    """Tell what is wrong in a form on the page of the order."""
    for faults in form.errors.values():
        messages.error(request, faults[0])
    return redirect("order", number)


def _printed(request, number: int, name: str, kind: Print.Sheet, asked: dict | None = None) -> HttpResponse:
    return answer(request, f"{name} {get_order(number)}", [Paper(kind.value, number, asked)], "order", number)
