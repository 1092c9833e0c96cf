"""Badges of whoever works at the stations: the manager prints them, nobody can read them afterwards."""

from django.shortcuts import render

from orders.badge_paper import print_badges
from shop.acts import Act
from shop.badges import at_stations
from shop.forms import BadgesForm
from shop.refusals import Refused
from shop.roles import MANAGER, allowed

from .prints import pdf


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
                return unkept(print_badges(chosen, Act(request.user), **form.cleaned_data))
            except Refused as refusal:
                form.add_error(None, refusal.sentence)
    context = {"people": people, "form": form, "chosen": [person.pk for person in chosen]}
    return render(request, "shop/badges.html", context, status=422 if form.errors else 200)


def unkept(paper: bytes):
    """Return badges as an answer that no browser keeps."""
    answer = pdf(paper, "badges.pdf")
    answer["Cache-Control"] = "no-store"
    return answer
