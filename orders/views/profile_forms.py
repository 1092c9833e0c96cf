"""A profile is drawn: a new one, or the next revision; the picture follows what is typed, and saves nothing."""

from django.contrib import messages
from django.shortcuts import redirect, render

from cutsheets.drawings.traced import traced_scene
from orders import profiles
from orders.forms.profiles import WAYS, WORDS, HeadForm, RevisionForm, with_rows
from orders.models import Profile
from orders.shapes import key_of, key_of_kind, shape_scene
from shop.acts import Act
from shop.refusals import Refused
from shop.roles import DESK, allowed

from .profiles import get_profile

FIRST_WAY = "points"


@allowed(DESK)
def profile_new(request):
    """Draw a new profile in one of four ways."""
    return _edit(request, None)


@allowed(DESK)
def profile_revise(request, code: str):
    """Draw the next revision of a profile; lines that use an older one keep it."""
    return _edit(request, get_profile(code))


def _edit(request, profile: Profile | None):
    of = profile.current if profile else None
    ways = [way for way, form in WAYS.items() if of is None or key_of(of.shape) in form.shapes]
    asked = request.GET.get("way", of.source.get("way") if of else FIRST_WAY)
    way = asked if asked in ways else ways[0]
    data, changed_row = request.POST if request.method == "POST" else None, None
    if data and way == "family" and data.get("row"):
        data, changed_row = with_rows(data, data["row"])
    form = WAYS[way](data, request.FILES or None, of=of, start=request.GET.get("start", ""))
    head = None
    if profile is None:
        head = HeadForm(data) if changed_row is None else HeadForm(initial={**data.dict()})
    page = {
        "form": form, "head": head, "profile": profile, "of": of, "way": way,
        "ways": [(name, WORDS[name]) for name in ways], "row": changed_row,
    }  # fmt: skip
    if changed_row is not None:
        if changed_row >= 0:
            form.focus(changed_row)
    elif data is not None and "picture" in data:
        return render(request, "profiles/picture.html", page | picture(form) | {"faults": list(form.faults())})
    elif data is not None and all([form.is_valid(), head is None or head.is_valid()]):
        try:
            return _save(request, form, head, profile)
        except Refused as refused:
            form.add_error(None, refused.sentence)
    status = 422 if data is not None and changed_row is None else 200
    return render(request, "profiles/form.html", page | picture(form) | {"refused": status == 422}, status=status)


def _save(request, form: RevisionForm, head: HeadForm | None, profile: Profile | None):
    act = Act(request.user)
    if head is not None:
        named = head.cleaned_data
        kind = form.cleaned_data["kind"]
        profile = profiles.add_profile(named["code"], named["name"], kind, form.values(), act)
        messages.success(request, f"{profile.code} is on the list.")
    else:
        revision = profiles.revise(profile, form.values(), act, after=form.cleaned_data["after"])
        messages.success(request, f"{profile.code} has revision {revision.letter}. Lines keep the one they have.")
    return redirect("profile", profile.code)


def picture(form: RevisionForm) -> dict:
    """Return what is drawn beside the form: the shape as typed so far, and the drawing that it came from."""
    shape = form.shown()
    shown = {"key": key_of_kind(form.chosen_kind)}
    if shape:
        shown["scene"] = shape_scene(form.chosen_kind, shape, form.typed_unit)
    if drawn := getattr(form, "drawn", None):
        plain = len(drawn.outlines) == 1 and not (drawn.troubles or drawn.chains)
        shown |= {"drawn": drawn, "marked": None if plain else traced_scene(drawn)}
    return shown
