"""What stations kept without network: they send it here, and the manager settles what could not be taken."""

import json
import re
from dataclasses import asdict
from datetime import UTC, datetime
from functools import cache
from hashlib import sha256

from django.conf import settings
from django.contrib import messages
from django.contrib.auth.decorators import login_not_required
from django.contrib.auth.views import redirect_to_login
from django.core.exceptions import PermissionDenied
from django.http import HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST, require_safe

from orders import kept
from orders.models import Clash
from shop.acts import Act
from shop.live import live
from shop.refusals import Refused
from shop.roles import EVERYONE, MANAGER, STATION, allowed, may
from shop.views.asking import written

from .station import load

MOST = 100  # acts at once
ID = re.compile(r"[0-9A-Za-z-]{8,40}")
LATEST = 4_102_444_800_000  # ms: the year 2100
LISTED = 50  # settled ones that the page still shows


@login_not_required
def station_kept(request, code):
    """Take up what a station kept. A paired device needs nobody named for it."""
    if request.device is None and not request.user.is_authenticated:
        return redirect_to_login(request.path)
    return taken_up(request, code)


@require_POST
def taken_up(request, code):
    """Answer for each kept act by its id."""
    if request.device is None and not may(request.user, STATION):
        raise PermissionDenied
    here = load(code)
    try:
        sent = json.loads(request.body)
        there, acts = _moment(sent["now"]), [_act(one) for one in sent["acts"][:MOST]]
    except (ValueError, TypeError, KeyError, AttributeError, RecursionError):
        return HttpResponse("This is not a list of kept acts.", status=400, content_type="text/plain")
    replies = kept.take(
        acts, here, there=there, by=request.user if request.user.is_authenticated else None, device=request.device
    )
    return JsonResponse({"replies": [asdict(reply) for reply in replies]})


def _act(sent: dict) -> kept.Kept:
    """Return one act as it was sent; what only makes it impossible to do is left to the rules."""
    if not ID.fullmatch(sent["id"]):
        raise ValueError(sent["id"])
    fields = {str(name)[:40]: str(value).replace("\x00", "")[:400] for name, value in sent["fields"].items()}
    return kept.Kept(sent["id"], str(sent["kind"]), _moment(sent["at"]), fields, str(sent.get("who", "")))


def _moment(ms) -> datetime:
    return datetime.fromtimestamp(min(max(float(ms), 0), LATEST) / 1000, UTC)


@require_safe
@allowed(EVERYONE)
@live
def clashes(request):
    """List the acts that were kept at a station and not taken, those to be settled first."""
    rows = Clash.objects.select_related("order", "station", "by", "settled_by")
    waiting = list(rows.filter(settled_at=None))
    settled = list(rows.exclude(settled_at=None).order_by("-settled_at")[:LISTED])
    about = kept.about([*waiting, *settled])
    context = {
        "open": [(clash, about.get(clash.pk, "")) for clash in waiting],
        "settled": [(clash, about.get(clash.pk, "")) for clash in settled],
        "may_settle": may(request.user, MANAGER),
    }
    return render(request, "station/clashes.html", context)


@require_POST
@allowed(MANAGER)
def clash_settled(request, pk):
    """Write how a clash was settled."""
    try:
        kept.settle(get_object_or_404(Clash, pk=pk), written(request, "how"), Act(request.user))
    except Refused as refusal:
        messages.error(request, refusal.sentence)
    else:
        messages.success(request, "Settled.")
    return redirect("clashes")


@require_POST
@allowed(MANAGER)
def clash_taken(request, pk):
    """Do what was not taken, now that it may be possible."""
    try:
        kept.take_after_all(get_object_or_404(Clash, pk=pk), Act(request.user))
    except Refused as refusal:
        messages.error(request, f"Not done: {refusal.sentence}")
    else:
        messages.success(request, "Done after all.")
    return redirect("clashes")


@require_safe
@allowed(EVERYONE)
def worker(request):
    """Return the service worker of the stations; below `/station/`, since it answers for addresses beside its own."""
    return HttpResponse(_worker(), content_type="text/javascript; charset=utf-8")


@cache
def _worker() -> str:
    """Return the worker's text, with a version that changes with any static file."""
    root = settings.BASE_DIR / "static"
    version = sha256()
    for file in sorted(path for path in root.rglob("*") if path.is_file()):
        version.update(file.read_bytes())
    text = (root / "js" / "worker.js").read_text(encoding="utf-8")
    places = f"const VERSION = {version.hexdigest()[:16]!r};\nconst FILES = {settings.STATIC_URL!r};\n"
    return places + text
