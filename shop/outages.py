"""A station that is down: said by whoever stands there, with the reason, until somebody says that it runs again.

Nothing here stops, starts or resets a machine.
"""

from django.db import IntegrityError, transaction
from django.db.models import Exists, OuterRef, QuerySet

from shop.acts import Act
from shop.models import Outage, Station
from shop.refusals import Refused


def outage(station: Station) -> Outage | None:
    """Return what a station is down for, or None."""
    return outages().filter(station=station).first()


def outages() -> QuerySet[Outage]:
    """Return what is down now, in the order in which it was said."""
    return Outage.objects.filter(until=None).select_related("station", "by")


def standstills() -> QuerySet[Outage]:
    """Return what is down now where no other station of the kind runs."""
    down = Outage.objects.filter(until=None, station=OuterRef("pk"))
    running = Station.objects.filter(~Exists(down), kind=OuterRef("station__kind"), active=True)
    return outages().filter(~Exists(running), station__active=True)


def go_down(station: Station, reason: str, act: Act) -> Outage:
    """Say that a station is down; the first reason stays where it is said twice."""
    if not reason.strip():
        raise Refused("no-reason", "Say what is down, such as “wire broke”.")
    try:
        with transaction.atomic():
            return Outage.objects.create(station=station, reason=reason.strip()[:200], by=act.by, since=act.at)
    except IntegrityError:
        return Outage.objects.get(station=station, until=None)


def come_back(station: Station, act: Act) -> None:
    """Say that a station runs again; said twice it changes nothing."""
    Outage.objects.filter(station=station, until=None).update(until=act.at, ended_by=act.by)
