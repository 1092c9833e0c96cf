"""The shop's profiles: what it cuts again and again, revision by revision."""

from django.contrib import messages
from django.db.models import Count, Max, Q
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_safe

from cutsheets.codes import revision_letter
from cutsheets.drawings.outline import outline_scene
from cutsheets.errors import CutsheetError
from cutsheets.kinds.shapes import read_section
from orders import profiles
from orders.forms.profiles import ProfileForm, RevisionForm
from orders.models import Profile, ProfileRevision
from shop.acts import Act
from shop.roles import DESK, EVERYONE, allowed
from shop.views.asking import typed, words


@require_safe
@allowed(EVERYONE)
def profile_list(request):
    """List profiles by code, found by code or name."""
    find = typed(request)
    rows = Profile.objects.annotate(newest=Max("revisions__number"), lines=Count("revisions__lines")).order_by("code")
    for part in words(find):
        rows = rows.filter(Q(code__icontains=part) | Q(name__icontains=part))
    newest = ProfileRevision.objects.filter(profile__in=rows).order_by("number")
    revisions = {revision.profile_id: revision for revision in newest}
    shown = [
        {"profile": row, "letter": revision_letter(row.newest), "scene": scene(revisions.get(row.pk), numbered=False)}
        for row in rows
    ]
    return render(request, "profiles/list.html", {"rows": shown, "find": find})


@allowed(DESK)
def profile_new(request):
    """Draw a new profile by its points."""
    form = ProfileForm(request.POST if request.method == "POST" else None)
    if "picture" in request.POST:
        return _picture(request, form)
    if request.method == "POST" and form.is_valid():
        data = form.cleaned_data
        profile = profiles.add_profile(data["code"], data["name"], form.values(), Act(request.user))
        messages.success(request, f"{profile.code} is on the list.")
        return redirect("profile", profile.code)
    return _form(request, form, None)


@require_safe
@allowed(EVERYONE)
def profile_page(request, code: str):
    """Show a profile with all its revisions, newest first."""
    profile = get_object_or_404(Profile, code=code)
    revisions = profile.revisions.select_related("made_by").annotate(used=Count("lines"))
    shown = [{"revision": revision, "scene": scene(revision)} for revision in revisions]
    return render(request, "profiles/profile.html", {"profile": profile, "revisions": shown})


@allowed(DESK)
def profile_revise(request, code: str):
    """Draw the next revision of a profile; lines that use an older one keep it."""
    profile = get_object_or_404(Profile, code=code)
    form = RevisionForm(request.POST if request.method == "POST" else None, of=profile.current)
    if "picture" in request.POST:
        return _picture(request, form)
    if request.method == "POST" and form.is_valid():
        revision = profiles.revise(profile, form.values(), Act(request.user))
        messages.success(request, f"{profile.code} has revision {revision.letter}. Lines keep the one they have.")
        return redirect("profile", profile.code)
    return _form(request, form, profile)


def scene(revision: ProfileRevision | None, *, numbered: bool = True):
    """Return the drawing of a revision, or None where its section cannot be read."""
    if revision is None:
        return None
    try:
        return outline_scene(read_section(revision.shape, revision.unit), revision.unit, numbered=numbered)
    except CutsheetError:
        return None


def _form(request, form: RevisionForm, profile: Profile | None):
    drawn = outline_scene(form.read, form.cleaned_data["unit"]) if form.is_bound and form.read else None
    if profile and not form.is_bound:
        drawn = scene(profile.current)
    context = {"form": form, "profile": profile, "scene": drawn}
    return render(request, "profiles/form.html", context, status=422 if form.errors else 200)


def _picture(request, form: RevisionForm):
    """Answer with the section as typed so far, or with what is wrong with it; nothing is saved."""
    form.is_valid()
    faults = [error for name in ("section", "bare") for error in form.errors.get(name, ())]
    drawn = outline_scene(form.read, form.cleaned_data["unit"]) if form.read else None
    return render(request, "profiles/picture.html", {"scene": drawn, "faults": faults})
