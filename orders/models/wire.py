from django.conf import settings
from django.db import models
from django.utils import timezone

from shop.models import Grade, Station

from .orders import Piece
from .profiles import ProfileRevision


class WireUse(models.Model):
    """A first piece that was measured and found right, and what the wire was set to for it. Never changed."""

    piece = models.ForeignKey(Piece, on_delete=models.SET_NULL, null=True, related_name="wire_uses")
    profile = models.ForeignKey(ProfileRevision, on_delete=models.PROTECT, null=True, related_name="wire_uses")
    kind = models.CharField(max_length=12)
    grade = models.ForeignKey(Grade, on_delete=models.PROTECT, related_name="+")
    station = models.ForeignKey(Station, on_delete=models.PROTECT, related_name="+")
    heat = models.CharField(max_length=40, blank=True, help_text="as the machine shows it: volts, amperes, a step")
    feed = models.DecimalField("feed a minute", max_digits=13, decimal_places=6, null=True)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+")
    at = models.DateTimeField(default=timezone.now)
    scan_id = models.CharField(max_length=40, unique=True, null=True, blank=True)

    class Meta:
        ordering = ("pk",)
        indexes = [models.Index(fields=["profile", "grade", "-id"])]

    def __str__(self) -> str:
        return f"{self.piece or self.kind} at {self.station}"
