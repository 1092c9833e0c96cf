"""Devices of the floor: paired once by a code of the manager, revoked by him; and who stands at them.

A device holds a random token. Whoever is named at it, by badge or by PIN, is the person of what is done at the stations
there, for a shift at most and until the next badge; nobody reaches a page of the office by it.
"""

import hashlib
import re
import secrets
from datetime import datetime, timedelta

from django.db import transaction
from django.db.models import Q
from django.http import HttpRequest
from django.utils import timezone

from shop.acts import Act
from shop.badges import has_pin, hash_of, new_secret, person_of, refuse_stranger
from shop.models import Device, Naming, PairingCode, Person, Station
from shop.refusals import Refused
from shop.roles import STATION, Role
from shop.tries import count_wrong, forget_wrong, refuse_guessers

SEEN_EVERY = timedelta(minutes=1)
KEPT = timedelta(days=1)  # codes are kept that long, so that a used one can be told from a wrong one
PAIRING = "pairing code"


def make_code(station: Station, name: str, act: Act) -> str:
    """Return a new code that pairs one device, as it is shown once: 7K2M-9XHD."""
    PairingCode.objects.filter(made_at__lt=act.at - KEPT).delete()
    secret = new_secret()
    PairingCode.objects.create(
        station=station, name=name, code_hash=hash_of("pairing", secret), made_by=act.by, made_at=act.at
    )
    return f"{secret[:4]}-{secret[4:]}"


def pair(request: HttpRequest, typed: str) -> tuple[Device, str]:
    """Return the device that a typed code makes of this browser, and its token.

    Raises Refused for a code that is wrong, used or too old; five of them lock this address for a while.
    """
    refuse_guessers(request, PAIRING)
    try:
        device, token = _paired(re.sub(r"[\s-]", "", typed).upper(), timezone.now())
    except Refused:
        count_wrong(request, PAIRING)
        raise
    return device, token


@transaction.atomic
def _paired(secret: str, now: datetime) -> tuple[Device, str]:
    code = PairingCode.objects.select_related("station", "made_by").filter(code_hash=hash_of("pairing", secret)).first()
    if code is None:
        raise Refused("pairing-unknown", "No device has this code. Type it as the manager reads it to you.")
    if code.made_at < now - code.LIFE:
        raise Refused("pairing-old", "This code is too old. Ask the manager for a new one.")
    if PairingCode.objects.filter(pk=code.pk, used_at=None).update(used_at=now) != 1:
        raise Refused("pairing-used", "This code was used before. Ask the manager for a new one.")
    token = secrets.token_urlsafe(32)
    device = Device.objects.create(
        station=code.station, name=code.name, token_hash=_hash(token), paired_by=code.made_by, paired_at=now,
        seen_at=now,
    )  # fmt: skip
    return device, token


def _hash(token: str) -> str:
    return hashlib.sha256(token.encode()).hexdigest()


def device_of(token: str) -> Device | None:
    """Return the device with this token, revoked or not."""
    return Device.objects.select_related("station", "revoked_by").filter(token_hash=_hash(token)).first()


def revoke(device: Device, act: Act) -> None:
    """Sign a device out for good; it notices at its next request. A second time changes nothing."""
    Device.objects.filter(pk=device.pk, revoked_at=None).update(revoked_at=act.at, revoked_by=act.by)


def saw(device: Device, now: datetime) -> bool:
    """Keep that a device was in use, once a minute; return whether it was kept now."""
    late = Device.objects.filter(pk=device.pk, seen_at__lt=now - SEEN_EVERY)
    return device.seen_at < now - SEEN_EVERY and late.update(seen_at=now) == 1


# Who stands there -----------------------------------------------------------------------------------------------------


def name_by_badge(device: Device, secret: str, at: datetime) -> Person:
    """Take down whose badge was scanned at a device, and return him."""
    return _named(device, person_of(secret), Naming.Way.BADGE, at)


def name_by_pin(request: HttpRequest, device: Device, person: Person, pin: str) -> Person:
    """Take down who chose his name at a device and knows its PIN; five wrong ones lock him there for a while."""
    refuse_stranger(person)
    check_pin(request, device, person, pin)
    return _named(device, person, Naming.Way.PIN, timezone.now())


def check_pin(request: HttpRequest, device: Device, person: Person, pin: str) -> None:
    """Raise Refused where this is not the PIN of this person; wrong ones are counted for each person and device."""
    guess = f"PIN of {person.username} at device {device.pk}"
    refuse_guessers(request, guess)
    if not has_pin(person, pin):
        count_wrong(request, guess)
        raise Refused("pin-wrong", "This PIN is wrong. Type it again, or scan your badge.")
    forget_wrong(guess)


def sign_out(device: Device) -> None:
    """Take down that nobody stands at a device now."""
    Naming.objects.create(device=device, person=None, way=Naming.Way.OUT, at=timezone.now())


def _named(device: Device, person: Person, way: Naming.Way, at: datetime) -> Person:
    Naming.objects.create(device=device, person=person, way=way, at=at)
    return person


def by_pin() -> list[Person]:
    """Return who can be named by a PIN, by first name."""
    floor = Q(role__in=(*STATION, Role.ADMIN), is_active=True)
    return list(Person.objects.filter(floor).exclude(pin="").order_by("first_name", "last_name", "username"))
