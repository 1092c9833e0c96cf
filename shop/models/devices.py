"""Devices of the floor, the codes that they are paired with, and who was named at them and when."""

from __future__ import annotations

from datetime import datetime, timedelta

from django.conf import settings
from django.db import models

from .people import Person
from .stations import Station

SHIFT = timedelta(hours=12)


def by_whom(**how) -> models.ForeignKey:
    return models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+", **how)


class PairingCode(models.Model):
    """A code that signs one device in, once and within minutes. Only its hash is kept."""

    LIFE = timedelta(minutes=10)

    station = models.ForeignKey(Station, on_delete=models.PROTECT)
    name = models.CharField("name of the device", max_length=40)
    code_hash = models.CharField(max_length=64, unique=True)
    made_by = by_whom()
    made_at = models.DateTimeField()
    used_at = models.DateTimeField(null=True)

    def __str__(self) -> str:
        return f"code for {self.name}"


class Device(models.Model):
    """A tablet or computer that a manager signed in; it holds a random token, of which only the hash is kept."""

    station = models.ForeignKey(Station, on_delete=models.PROTECT)
    name = models.CharField(max_length=40)
    token_hash = models.CharField(max_length=64, unique=True)
    paired_by = by_whom()
    paired_at = models.DateTimeField()
    seen_at = models.DateTimeField()
    revoked_by = by_whom(null=True)
    revoked_at = models.DateTimeField(null=True)

    class Meta:
        ordering = ("station", "name", "pk")

    def __str__(self) -> str:
        return self.name

    def person_at(self, when: datetime) -> Person | None:
        """Return who was named here at that time: the last one, for a shift at most; nobody after a sign-out."""
        last = self.namings.select_related("person").filter(at__lte=when, at__gt=when - SHIFT)
        last = last.order_by("-at", "-pk").first()
        return last.person if last and last.person and last.person.works_at_stations else None


class Naming(models.Model):
    """Somebody named himself at a device, or signed out there (nobody). A row is never changed."""

    class Way(models.TextChoices):
        BADGE = "badge", "badge"
        PIN = "pin", "PIN"
        OUT = "out", "signed out"

    device = models.ForeignKey(Device, on_delete=models.PROTECT, related_name="namings")
    person = by_whom(null=True)
    way = models.CharField(max_length=5, choices=Way)
    at = models.DateTimeField()

    class Meta:
        indexes = (models.Index(fields=("device", "at")),)

    def __str__(self) -> str:
        return f"{self.person or 'nobody'} at {self.device}"
