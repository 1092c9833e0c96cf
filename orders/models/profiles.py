"""The shapes the shop cuts again and again. A revision never changes once a line uses it; the next one replaces it."""

from django.conf import settings
from django.db import models
from django.utils import timezone


class Profile(models.Model):
    code = models.CharField(max_length=20, unique=True)
    name = models.CharField(max_length=80)
    active = models.BooleanField(default=True)

    class Meta:
        ordering = ("code",)

    def __str__(self) -> str:
        return self.code

    @property
    def current(self) -> "ProfileRevision":
        """Return the newest revision."""
        return self.revisions.order_by("-number").first()


class ProfileRevision(models.Model):
    """One revision: the finished section as typed, in its own unit, and which edges stay bare."""

    profile = models.ForeignKey(Profile, on_delete=models.CASCADE, related_name="revisions")
    number = models.PositiveIntegerField()
    unit = models.CharField(max_length=2)
    section = models.JSONField(help_text="points [[x, y], …] as typed: x from the wall, y up")
    bare = models.JSONField(default=str, help_text="“wall”, “none” or a list of edge numbers")
    note = models.CharField(max_length=200, blank=True)
    made_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True)
    made_at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering = ("profile", "-number")
        constraints = [models.UniqueConstraint(fields=["profile", "number"], name="one_revision_a_number")]

    def __str__(self) -> str:
        return f"{self.profile.code} rev {self.number}"
