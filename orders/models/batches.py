"""Paper that takes longer than a request may: asked for by a page, made by a worker, kept for a day."""

from django.conf import settings
from django.db import models
from django.utils import timezone


class Batch(models.Model):
    """Many sheets in one PDF. It lies in the database, since a worker may run on another machine than the server."""

    class State(models.TextChoices):
        WAITING = "waiting", "being made"
        MADE = "made", "made"
        FAILED = "failed", "not made"

    title = models.CharField(max_length=120)
    papers = models.JSONField(help_text='what is printed, in order: [["saw-sheet", 118], ["traveller", 4182]]')
    state = models.CharField(max_length=8, choices=State, default=State.WAITING)
    done = models.PositiveIntegerField(default=0, help_text="how many papers are drawn")
    left_out = models.JSONField(default=list, help_text="a sentence for each paper that could not be printed")
    pdf = models.BinaryField(null=True)
    alive_at = models.DateTimeField(null=True, blank=True, help_text="when a worker last said that it makes this")
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True)
    at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering = ("-pk",)

    def __str__(self) -> str:
        return self.title
