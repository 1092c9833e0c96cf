"""PINs of whoever works at the stations: the manager sets them, nobody can read them."""

from django.contrib import messages
from django.shortcuts import get_object_or_404, redirect, render

from shop.badges import set_pin
from shop.forms import PinForm
from shop.models import Person
from shop.refusals import Refused
from shop.roles import MANAGER, allowed


@allowed(MANAGER)
def badge_pin(request, pk):
    """Set the PIN of somebody who works at the stations."""
    person = get_object_or_404(Person, pk=pk, is_active=True)
    form = PinForm(request.POST if request.method == "POST" else None)
    if request.method == "POST" and form.is_valid():
        try:
            set_pin(person, form.cleaned_data["pin"])
        except Refused as refusal:
            form.add_error("pin", refusal.sentence)
        else:
            messages.success(request, f"{person.short_name} has a new PIN.")
            return redirect("badges")
    context = {"form": form, "person": person}
    return render(request, "shop/pin.html", context, status=422 if form.errors else 200)
