"""What a station did while it had no network and could not be done any more when it arrived; acts that were refused."""

from django.conf import settings
from django.db import models
from django.utils import timezone

from shop.models import Station

from .orders import Order


class Clash(models.Model):
    """A kept act that was not done: what was sent, why not, and how it was settled. It has no `Move` of the same id."""

    scan_id = models.CharField(max_length=40, unique=True)
    kind = models.CharField(max_length=20)
    fields = models.JSONField(help_text="the form of the act as it was sent")
    order = models.ForeignKey(Order, on_delete=models.PROTECT, null=True, blank=True, related_name="clashes")
    station = models.ForeignKey(Station, on_delete=models.PROTECT)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+")
    code = models.CharField(max_length=30)
    sentence = models.CharField(max_length=400)
    happened_at = models.DateTimeField()
    recorded_at = models.DateTimeField(default=timezone.now)
    taken_back_by = models.CharField(max_length=40, blank=True, help_text="id of the kept undo that named it")
    settled_at = models.DateTimeField(null=True, blank=True)
    settled_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+",
    )  # fmt: skip
    settled_how = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ("pk",)
        indexes = [
            models.Index(fields=["id"], condition=models.Q(settled_at=None), name="clash_not_settled"),
        ]

    def __str__(self) -> str:
        return f"{self.kind} at {self.station}: {self.code}"


class Refusal(models.Model):
    """An act of a page that was refused, under its id: the same act still on its way is then not done either."""

    scan_id = models.CharField(max_length=40, unique=True)
    code = models.CharField(max_length=30)
    sentence = models.CharField(max_length=400)
    recorded_at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering = ("pk",)

    def __str__(self) -> str:
        return f"{self.scan_id}: {self.code}"
