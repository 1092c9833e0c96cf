"""The shapes the shop cuts again and again. A revision never changes once it is saved; the next one replaces it."""

from django.conf import settings
from django.db import models
from django.utils import timezone

from cutsheets.codes import revision_letter
from shop.models import CoatSystem, Grade
from shop.refusals import Refused


class Profile(models.Model):
    """A shape by its code. `kind` is the kind of part usually cut from it, and says which shape it holds."""

    code = models.CharField(max_length=20, unique=True)
    name = models.CharField(max_length=80)
    kind = models.CharField(max_length=12, default="moulding")
    active = models.BooleanField(default=True)

    class Meta:
        ordering = ("code",)

    def __str__(self) -> str:
        return self.code

    @property
    def current(self) -> "ProfileRevision":
        """Return the newest revision."""
        return self.revisions.order_by("-number").first()


class Unchanging(models.QuerySet):
    """Rows that are added and read: what stands on paper is never drawn over."""

    def update(self, **_values):
        raise _unchanging()


class ProfileRevision(models.Model):
    """One revision: the finished shape in its own unit, and how it was made.

    `shape` holds the keys of the job file as the core reads them, `source` what the form of the next revision shows.
    """

    profile = models.ForeignKey(Profile, on_delete=models.CASCADE, related_name="revisions")
    number = models.PositiveIntegerField(help_text="1 is revision A")
    unit = models.CharField(max_length=2)
    shape = models.JSONField(help_text='{"section": …, "bare": …}, {"half_profile": …} or {"outlines": …}')
    source = models.JSONField(default=dict, help_text='{"way": "points"}: points, family, drawing or text')
    grade = models.ForeignKey(Grade, verbose_name="usual foam", on_delete=models.PROTECT, null=True, blank=True)
    coat_system = models.ForeignKey(
        CoatSystem, verbose_name="usual coat", on_delete=models.PROTECT, null=True, blank=True,
    )  # fmt: skip
    note = models.CharField(max_length=200, blank=True)
    made_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True)
    made_at = models.DateTimeField(default=timezone.now)

    objects = Unchanging.as_manager()

    class Meta:
        ordering = ("profile", "-number")
        constraints = [models.UniqueConstraint(fields=["profile", "number"], name="one_revision_a_number")]

    def __str__(self) -> str:
        return f"{self.profile.code} rev {self.letter}"

    def save(self, **options) -> None:
        """Add the revision; a saved one is refused: orders and their paper may rest on it."""
        if not self._state.adding:
            raise _unchanging()
        super().save(**options)

    @property
    def letter(self) -> str:
        """Return the letter that people call it by."""
        return revision_letter(self.number)


def _unchanging() -> Refused:
    return Refused("revision-stands", "A revision of a profile never changes; draw the next one.")
