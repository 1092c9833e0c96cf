"""Who stands at a station: a person is named at a paired device by badge or by PIN, for a shift at most.

Below /station/ the device and whoever is named at it stand for the request; everywhere else a person signs in with a
password, so nobody reaches a page of the office by a badge or a PIN.
"""

from functools import wraps
from urllib.parse import urlsplit

from django.conf import settings
from django.contrib import messages
from django.contrib.auth.decorators import login_not_required
from django.contrib.auth.models import AnonymousUser
from django.http import QueryDict
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.csp import csp_override
from django.views.decorators.http import require_http_methods, require_POST

from shop import badges, devices
from shop.models import Person, Station
from shop.refusals import Refused

from .asking import whole, written

COOKIE = "blockyard-device"
YEAR = 365 * 24 * 3600  # seconds; renewed while the device is in use
NOBODY, SIGNED_OUT, REFUSED = 401, 403, 409
PASSING = ("seen", "sound")  # what an address says of this one request only
NOT_DONE = "Nothing was done: nobody is named here. Say who you are, then do it again."
LONGEST = 300  # characters of an address that are kept


class AtDevice:
    """Middleware: sets `request.device`, and below /station/ makes the person named there the user of the request."""

    def __init__(self, get_response):
        self.get_response = get_response

    def __call__(self, request):
        request.device = None
        token = request.path.startswith(reverse("stations")) and request.get_signed_cookie(COOKIE, "", salt=COOKIE)
        device = devices.device_of(token) if token else None
        if device is None or (device.revoked_at and may_go_on(request)):
            return self.get_response(request)
        if device.revoked_at:
            return render(request, "station/signed_out.html", {"device": device}, status=SIGNED_OUT)
        now = timezone.now()
        request.device, request.user = device, device.person_at(now) or AnonymousUser()
        response = self.get_response(request)
        if devices.saw(device, now):
            remember(response, token)
        return response

    def process_view(self, request, view, args, kwargs):
        """Answer a badge, and ask for a person where a page wants one."""
        if request.device is None:
            return None
        if secret := badges.badge_secret(request.POST.get("raw", "")):
            return named_by_badge(request, here_of(request, kwargs.get("code")), secret)
        if request.user.is_authenticated or not getattr(view, "login_required", True):
            return None
        here = here_of(request, kwargs.get("code"))
        if request.method == "GET":
            return ask_who(request, here, kept(request.GET), status=NOBODY)
        return ask_who(request, here, screen_left(request), refusal=NOT_DONE, status=NOBODY)


def may_go_on(request) -> bool:
    """Return whether a device that was signed out may still open this page: to pair again, or with a password."""
    return request.path == reverse("station-pair") or request.user.is_authenticated


def remember(response, token: str) -> None:
    """Give a device its token, or give it again for a year more."""
    response.set_signed_cookie(
        COOKIE, token, salt=COOKIE, max_age=YEAR, path=reverse("stations"), secure=settings.SESSION_COOKIE_SECURE,
        httponly=True, samesite="Strict",
    )  # fmt: skip


def here_of(request, code: str | None) -> Station:
    """Return the station of the address, else the one where the device stands."""
    return get_object_or_404(Station, code=code, active=True) if code else request.device.station


# The screen that somebody leaves and comes back to, as the query of the station's address -----------------------------


def kept(query: QueryDict) -> str:
    """Return a query without what was meant for one request."""
    query = query.copy()
    for name in PASSING:
        query.pop(name, None)
    return query.urlencode()[:LONGEST]


def screen_left(request) -> str:
    """Return the screen of this station from which a request came, "" for any other page."""
    came = urlsplit(request.headers.get("Referer", ""))
    if came.netloc != request.get_host():
        return ""
    code = request.resolver_match.kwargs.get("code") or request.device.station.code
    if came.path == reverse("station-who", args=[code]):
        return QueryDict(came.query).get("screen", "")[:LONGEST]
    return kept(QueryDict(came.query)) if came.path == reverse("station", args=[code]) else ""


def back_to(here: Station, screen: str, **also):
    query = QueryDict(screen, mutable=True)
    query.update(also)
    return redirect(f"{reverse('station', args=[here.code])}?{query.urlencode()}")


# Names ----------------------------------------------------------------------------------------------------------------


def at_device(view):
    """Wear this on a page that is only there for a paired device, also while nobody is named at it."""

    @wraps(view)
    def inner(request, code):
        if request.device is None:
            return redirect("station", code)
        return view(request, here_of(request, code))

    return login_not_required(inner)


def named_by_badge(request, here: Station, secret: str):
    """Change the person and stay on the screen."""
    screen = screen_left(request)
    try:
        person = devices.name_by_badge(request.device, secret, timezone.now())
    except Refused as refusal:
        return ask_who(request, here, screen, refusal=refusal.sentence, status=REFUSED)
    return welcome(request, person, here, screen)


def welcome(request, person: Person, here: Station, screen: str):
    messages.success(request, f"{person.short_name} is at {here}.")
    return back_to(here, screen, sound="accepted")


@csp_override(settings.STATION_CSP)
def ask_who(request, here: Station, screen: str, *, chosen: Person | None = None, refusal="", status=200):
    """Show “Who is at the saw?”, or the keys for the PIN of whoever chose a name."""
    context = {"station": here, "screen": screen, "refusal": refusal, "chosen": chosen, "people": devices.by_pin()}
    return render(request, f"station/who{'_pin' if chosen else ''}.html", context, status=status)


@at_device
@require_http_methods(["GET", "HEAD", "POST"])
def who(request, here):
    """Ask who stands here; a name and its PIN answer it."""
    data = request.POST if request.method == "POST" else request.GET
    screen = data.get("screen", screen_left(request))[:LONGEST]
    if request.method != "POST" and screen and "screen" not in data:
        return redirect(reverse("station-who", args=[here.code], query={"screen": screen}))
    chosen = next((person for person in devices.by_pin() if person.pk == whole(data.get("person", ""))), None)
    if request.method != "POST" or chosen is None:
        return ask_who(request, here, screen, chosen=chosen)
    try:
        person = devices.name_by_pin(request, request.device, chosen, written(request, "pin"))
    except Refused as refusal:
        return ask_who(request, here, screen, chosen=chosen, refusal=refusal.sentence, status=REFUSED)
    return welcome(request, person, here, screen)


@at_device
@require_POST
def leave(request, here):
    """Sign out whoever is named here."""
    devices.sign_out(request.device)
    return redirect("station-who", here.code)


@at_device
@csp_override(settings.STATION_CSP)
@require_http_methods(["GET", "HEAD", "POST"])
def own_pin(request, here):
    """Let whoever is named here change his PIN, who must know the old one."""
    if not request.user.is_authenticated:
        return redirect("station-who", here.code)
    context = {"station": here, "screen": "", "refusal": ""}
    if request.method == "POST":
        try:
            devices.check_pin(request, request.device, request.user, written(request, "pin"))
            badges.set_pin(request.user, written(request, "new_pin"))
        except Refused as refusal:
            return render(request, "station/own_pin.html", context | {"refusal": refusal.sentence}, status=REFUSED)
        messages.success(request, "Your PIN is changed.")
        return redirect(f"{reverse('station', args=[here.code])}?sound=accepted")
    return render(request, "station/own_pin.html", context)
