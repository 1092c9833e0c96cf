"""Devices of the floor: the manager makes codes and signs devices out; a device types its code and is paired."""

from django.contrib import messages
from django.contrib.auth.decorators import login_not_required
from django.db.models import F
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods, require_POST

from shop import devices
from shop.acts import Act
from shop.forms import DeviceForm
from shop.models import Device, PairingCode
from shop.refusals import Refused
from shop.roles import MANAGER, allowed

from .asking import written
from .who import REFUSED, remember

MINUTES = int(PairingCode.LIFE.total_seconds()) // 60


@allowed(MANAGER)
def device_list(request):
    """List the devices, those in use first; a posted form makes a code, which is shown this once."""
    form, code = DeviceForm(request.POST if request.method == "POST" else None), ""
    if request.method == "POST" and form.is_valid():
        data = form.cleaned_data
        code = devices.make_code(data["station"], data["name"], Act(request.user))
    rows = Device.objects.select_related("station", "paired_by", "revoked_by")
    rows = rows.order_by(F("revoked_at").desc(nulls_first=True), "station", "name", "pk")
    context = {"form": form, "code": code, "minutes": MINUTES, "devices": rows}
    response = render(request, "shop/devices.html", context, status=422 if form.errors else 200)
    response.headers["Cache-Control"] = "no-store"
    return response


@require_POST
@allowed(MANAGER)
def device_revoke(request, pk):
    """Sign a device out for good."""
    device = get_object_or_404(Device, pk=pk)
    devices.revoke(device, Act(request.user))
    messages.success(request, f"{device} is signed out. To use it again, pair it with a new code.")
    return redirect("devices")


@require_http_methods(["GET", "HEAD", "POST"])
@login_not_required
def pair(request):
    """Sign this browser in as a device of the floor, with the code that the manager made."""
    if request.method != "POST":
        return render(request, "station/pair.html")
    try:
        device, token = devices.pair(request, written(request, "code", 20))
    except Refused as refusal:
        return render(request, "station/pair.html", {"refusal": refusal.sentence}, status=REFUSED)
    response = redirect("station", device.station.code)
    remember(response, token)
    return response
