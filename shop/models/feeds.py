from decimal import Decimal

from django.core.validators import MinValueValidator
from django.db import models
from django.db.models import F, Q

from .grades import Grade
from .rules import INCH
from .stations import Station


class WireFeed(models.Model):
    """How fast the wire goes through a grade, on one machine or on any, and what each cut and each part costs besides.

    The defaults are common practice, no source: 1 lb foam cuts at about 55 in a minute, close to an inch a second;
    denser foam is slower. Where a grade has no row, the feed of the shop's rules serves.
    """

    grade = models.ForeignKey(Grade, on_delete=models.CASCADE, related_name="feeds")
    station = models.ForeignKey(
        Station, verbose_name="machine", on_delete=models.CASCADE, null=True, blank=True, related_name="feeds",
    )  # fmt: skip
    feed = models.DecimalField(
        "feed a minute", max_digits=13, decimal_places=6, default=INCH * 55, validators=[MinValueValidator(1)],
        help_text="1 lb foam: about 55 in a minute; denser foam is slower",
    )  # fmt: skip
    entry = models.DecimalField(
        "minutes a way in or out", max_digits=6, decimal_places=2, default=Decimal("0.5"),
        validators=[MinValueValidator(0)],
    )  # fmt: skip
    handling = models.DecimalField(
        "minutes to handle a part", max_digits=6, decimal_places=2, default=0, validators=[MinValueValidator(0)],
        help_text="put it on the machine and take it off",
    )  # fmt: skip

    class Meta:
        ordering = ("grade", F("station__name").asc(nulls_first=True))
        constraints = [
            models.UniqueConstraint(
                fields=["grade", "station"], name="one_feed_a_grade_and_machine",
                violation_error_message="This grade has a feed on this machine already; change that one.",
            ),
            models.UniqueConstraint(
                fields=["grade"], condition=Q(station=None), name="one_feed_a_grade_on_any_machine",
                violation_error_message="This grade has a feed on any machine already; change that one.",
            ),
        ]  # fmt: skip

    def __str__(self) -> str:
        return f"{self.grade} on {self.station or 'any machine'}"
