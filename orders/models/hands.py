from datetime import datetime, timedelta

from django.conf import settings
from django.db import models
from django.db.models import Q, QuerySet

from shop.models import Station

from .orders import Order

SHIFT = timedelta(hours=12)  # after so long without an act nobody is thought to have it in hand any more


class InHand(models.Model):
    """An order that a station has in hand, from its first act there until it is paused or nothing is left to do."""

    class How(models.TextChoices):
        PAUSED = "paused", "paused"
        DONE = "done", "done"

    order = models.ForeignKey(Order, on_delete=models.PROTECT, related_name="hands")
    station = models.ForeignKey(Station, on_delete=models.PROTECT, related_name="hands")
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+")
    started_at = models.DateTimeField()
    last_at = models.DateTimeField(help_text="the newest act on it here")
    ended_at = models.DateTimeField(null=True, blank=True)
    how = models.CharField(max_length=6, choices=How, blank=True)
    reason = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ("started_at", "pk")
        constraints = [
            models.UniqueConstraint(
                fields=["order", "station"], condition=Q(ended_at=None), name="once_in_hand_a_station"
            ),
        ]
        indexes = [models.Index(fields=["station", "ended_at"])]

    def __str__(self) -> str:
        return f"{self.order} at {self.station}"

    @classmethod
    def now(cls, at: datetime) -> QuerySet["InHand"]:
        """Return what is in hand at a moment: not ended, and worked on within a shift."""
        return cls.objects.filter(ended_at=None, last_at__gt=at - SHIFT).select_related("station", "by")
