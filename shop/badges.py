"""Badges and PINs: what names a person at a device. Of both only a hash is kept."""

import re
import secrets
from datetime import datetime

from django.contrib.auth.hashers import check_password, make_password
from django.utils.crypto import salted_hmac

from cutsheets.codes import ALPHABET, SECRET, BadgeCode, make_badge_code, read_code
from cutsheets.errors import CutsheetError
from shop.models import Person
from shop.refusals import Refused

PIN = re.compile("[0-9]{4,8}")
IN_A_ROW = ("0123456789012345678", "9876543210987654321")


def hash_of(what: str, secret: str) -> str:
    """Return the keyed hash of a short secret: without the shop's key nobody can try them all out."""
    return salted_hmac(f"shop.{what}", secret, algorithm="sha256").hexdigest()


def new_secret() -> str:
    """Return eight random signs of the alphabet of the codes: nothing that is misread."""
    return "".join(secrets.choice(ALPHABET) for _ in range(SECRET))


def at_stations() -> list[Person]:
    """Return who may be named at a station."""
    people = Person.objects.filter(is_active=True).order_by("first_name", "last_name", "username")
    return [person for person in people if person.works_at_stations]


def new_badge(person: Person, now: datetime) -> str:
    """Return the code of a new badge of this person, which is never told again; the old one is void from now on."""
    if not person.works_at_stations:
        raise Refused("not-floor", f"{person.short_name} has no work at the stations, so no badge.")
    secret = new_secret()
    person.badge_hash, person.badge_made_at = hash_of("badge", secret), now
    person.save(update_fields=["badge_hash", "badge_made_at"])
    return make_badge_code(secret)


def badge_secret(text: str) -> str:
    """Return the secret of a badge that was scanned or typed, "" for anything else."""
    try:
        code = read_code(text)
    except CutsheetError:
        return ""
    return code.secret if isinstance(code, BadgeCode) else ""


def person_of(secret: str) -> Person:
    """Return whose badge this is. Raises Refused for a void one, and for somebody who has no work at the stations."""
    person = Person.objects.filter(badge_hash=hash_of("badge", secret)).first()
    if person is None:
        raise Refused("badge-void", "This badge is no longer good. Scan your newest one, or take your PIN.")
    refuse_stranger(person)
    return person


def refuse_stranger(person: Person) -> None:
    """Raise Refused for somebody who left or has no work at the stations."""
    if not person.is_active:
        raise Refused("left", f"{person.short_name} no longer works here. Ask the manager.")
    if not person.works_at_stations:
        raise Refused("not-floor", f"{person.short_name} has no work at the stations; the floor and managers have.")


def set_pin(person: Person, pin: str) -> None:
    """Give a person a PIN. Raises Refused `pin` for one that is no PIN or the first that anybody would guess."""
    if not PIN.fullmatch(pin):
        raise Refused("pin", "A PIN is 4 to 8 digits.")
    if is_weak(pin):
        raise Refused("pin", "This PIN is too easy to guess: no digits in a row, no digit or pair again and again.")
    person.pin = make_password(pin)
    person.save(update_fields=["pin"])


def is_weak(pin: str) -> bool:
    """Return whether a PIN is one of those that are guessed first: 1234, 8765, 0000, 4747, 123123."""
    repeats = any(pin == pin[:size] * (len(pin) // size) for size in (1, 2, 3, 4) if 2 * size <= len(pin))
    return repeats or any(pin in row for row in IN_A_ROW)


def has_pin(person: Person, pin: str) -> bool:
    """Return whether this is the PIN of this person."""
    if not PIN.fullmatch(pin) or not person.pin:
        return False
    return check_password(pin, person.pin)
