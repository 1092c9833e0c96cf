"""Badges and PINs of whoever works at the stations: the manager prints and sets them, nobody can read them."""

from django.contrib import messages
from django.db import transaction
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone

from cutsheets.errors import CutsheetError
from cutsheets.sheets.badges import Badge, badges_pdf
from cutsheets.sheets.labelgrids import grid_named
from shop.badges import new_badge, set_pin
from shop.forms import BadgesForm, PinForm
from shop.models import Person, ShopRules
from shop.refusals import Refused
from shop.roles import MANAGER, allowed


def at_stations() -> list[Person]:
    """Return who may be named at a station."""
    people = Person.objects.filter(is_active=True).order_by("first_name", "last_name", "username")
    return [person for person in people if person.works_at_stations]


@allowed(MANAGER)
def badge_list(request):
    """List who may be named at a station; a posted form prints badges, which voids the old ones of these people."""
    people = at_stations()
    form = BadgesForm(request.POST if request.method == "POST" else None)
    chosen = [person for person in people if str(person.pk) in request.POST.getlist("person")]
    if request.method == "POST" and form.is_valid():
        if not chosen:
            form.add_error(None, "Choose whose badge is to be printed.")
        else:
            try:
                return printed(chosen, **form.cleaned_data)
            except CutsheetError as error:
                form.add_error(None, error.message)
    context = {"people": people, "form": form, "chosen": [person.pk for person in chosen]}
    return render(request, "shop/badges.html", context, status=422 if form.errors else 200)


@transaction.atomic
def printed(people: list[Person], grid: str, start: int) -> HttpResponse:
    """Return new badges as a file, which no browser keeps; without a file the old badges stay good."""
    rules = ShopRules.current()
    cards = [Badge(person.get_full_name() or person.username, new_badge(person, timezone.now())) for person in people]
    paper = badges_pdf(cards, grid_named(grid), start=start, shop=rules.name, dpi=rules.label_dpi)
    return HttpResponse(
        paper,
        content_type="application/pdf",
        headers={"Content-Disposition": 'inline; filename="badges.pdf"', "Cache-Control": "no-store"},
    )


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
