"""The shop's profiles: what it cuts again and again, revision by revision."""

from django.contrib import messages
from django.core.paginator import Paginator
from django.db.models import Count, Max, Q
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST, require_safe

from cutsheets.codes import revision_letter
from cutsheets.errors import CutsheetError
from orders import profiles
from orders.models import Line, Profile, ProfileRevision
from orders.shapes import WRITERS, key_of, shape_scene, write_shape
from shop.acts import Act
from shop.refusals import Refused
from shop.roles import DESK, EVERYONE, allowed
from shop.views.asking import typed, words

from .lines import get_line
from .orders import get_order, posted_version, show_order

PAGE = 40  # pictures


@require_safe
@allowed(EVERYONE)
def profile_list(request):
    """List profiles by code, found by code or name, and filtered by the kind that is cut from them."""
    find, kind = typed(request), typed(request, "kind")
    rows = Profile.objects.annotate(newest=Max("revisions__number"), lines=Count("revisions__lines")).order_by("code")
    kinds = sorted(set(rows.values_list("kind", flat=True)))
    if kind in kinds:
        rows = rows.filter(kind=kind)
    for part in words(find):
        rows = rows.filter(Q(code__icontains=part) | Q(name__icontains=part))
    page = Paginator(rows, PAGE).get_page(request.GET.get("page"))
    newest = ProfileRevision.objects.filter(profile__in=page.object_list).select_related("profile").order_by("number")
    revisions = {revision.profile_id: revision for revision in newest}
    shown = [
        {"profile": row, "letter": revision_letter(row.newest), "scene": scene(revisions[row.pk], numbered=False)}
        for row in page
    ]
    context = {"rows": shown, "page": page, "find": find, "kinds": kinds, "kind": kind}
    return render(request, "profiles/list.html", context)


@require_safe
@allowed(EVERYONE)
def profile_page(request, code: str):
    """Show a profile with all its revisions, newest first, and the open orders that use an older one."""
    profile = get_profile(code)
    revisions = profile.revisions.select_related("profile", "made_by", "grade", "coat_system")
    shown = [
        {"revision": revision, "scene": scene(revision), "rings": rings(revision)}
        for revision in revisions.annotate(used=Count("lines")).order_by("-number")
    ]
    older = profiles.on_older(Line.objects.filter(profile__profile=profile))
    older = older.select_related("order__customer", "profile__profile").order_by("order__number", "position")
    return render(request, "profiles/profile.html", {"profile": profile, "revisions": shown, "older": older})


@require_POST
@allowed(DESK)
def profile_offer(request, code: str):
    """Take a profile off what new lines are offered, or put it back."""
    profile = get_profile(code)
    profiles.offer(profile, not profile.active)
    said = "offered to new lines again" if profile.active else "no longer offered to new lines"
    messages.success(request, f"{profile.code} is {said}.")
    return redirect("profile", profile.code)


@require_safe
@allowed(EVERYONE)
def profile_file(request, code: str, number: int, form: str):
    """Hand out one revision as a drawing, SVG or DXF."""
    if form not in WRITERS:
        raise Http404
    revision = get_object_or_404(get_profile(code).revisions, number=number)
    try:
        file = write_shape(revision.profile.kind, revision.shape, revision.unit, form)
    except CutsheetError as error:
        raise Http404 from error
    name = f"{revision.profile.code}-rev-{revision.letter}.{form}"
    answer = HttpResponse(file, content_type=WRITERS[form][1])
    answer["Content-Disposition"] = f'attachment; filename="{name}"'
    return answer


@require_POST
@allowed(DESK)
def line_take_newest(request, number: int, pk: int):
    """Give a line the newest revision of its profile; a released order gets its next sheet."""
    order = get_order(number)
    line = get_line(order, pk)
    try:
        saved = profiles.take_newest(order, line, Act(request.user), version=posted_version(request))
    except CutsheetError as error:
        return show_order(request, get_order(number), refused=Refused(error.code, error.message))
    except Refused as refused:
        return show_order(request, get_order(number), refused=refused)
    order.refresh_from_db()
    sheet = f"; sheet {revision_letter(order.revision)} is in force" if order.revision else ""
    messages.success(request, f"Line {saved.mark} has {saved.profile} now{sheet}.")
    return redirect("order", number)


def get_profile(code: str) -> Profile:
    """Return the profile with this code, or answer 404."""
    return get_object_or_404(Profile, code=code)


def scene(revision: ProfileRevision, *, numbered: bool = True):
    """Return the drawing of a revision, or None where its shape cannot be read any more."""
    try:
        return shape_scene(revision.profile.kind, revision.shape, revision.unit, numbered=numbered)
    except CutsheetError:
        return None


def rings(revision: ProfileRevision) -> list[dict]:
    """Return the points of a revision, ring by ring, with what their two columns are called."""
    key, shape = key_of(revision.shape), revision.shape
    if key != "outlines":
        heads = ("height", "radius") if key == "half_profile" else ("x", "y")
        return [{"name": "", "heads": heads, "points": shape[key]}]
    return [
        {"name": name, "heads": ("x", "y"), "points": ring}
        for outline in shape[key]
        for name, ring in [
            (outline["name"], outline["outer"]),
            *((f"hole of {outline['name']}", hole) for hole in outline.get("holes", ())),
        ]
    ]
