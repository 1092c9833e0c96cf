from django.conf import settings
from django.db import models
from django.utils import timezone


class LetterFont(models.Model):
    """A font that the shop uploaded for its letters. The file is only ever read, and never served."""

    name = models.CharField(max_length=40, unique=True)
    data = models.BinaryField()
    licence = models.CharField("licence", max_length=200, help_text="under which the shop may cut letters from it")
    added_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True)
    added_at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering = ("name",)

    def __str__(self) -> str:
        return self.name
