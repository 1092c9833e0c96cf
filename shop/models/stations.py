from django.conf import settings
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models

from cutsheets.machines import Machine


class Station(models.Model):
    """A place on the floor where paper is scanned, and the limits of its machine (empty: not known, so no limit)."""

    class Kind(models.TextChoices):
        SAW = "saw", "Saw"
        CUTTER = "cutter", "Wire cutter"
        TURNING = "turning", "Turning"
        COAT = "coat", "Coating"
        PACK = "pack", "Packing"

    code = models.SlugField(max_length=20, unique=True)
    name = models.CharField(max_length=40, unique=True)
    kind = models.CharField(max_length=10, choices=Kind)
    # Of a saw: `travel` is the longest cut and `height` the highest one.
    wire = models.DecimalField("wire length", max_digits=13, decimal_places=6, null=True, blank=True)
    travel = models.DecimalField("cross-travel", max_digits=13, decimal_places=6, null=True, blank=True)
    height = models.DecimalField(max_digits=13, decimal_places=6, null=True, blank=True)
    swing = models.DecimalField(
        max_digits=13, decimal_places=6, null=True, blank=True, help_text="largest diameter that turns",
    )  # fmt: skip
    centres = models.DecimalField("length between centres", max_digits=13, decimal_places=6, null=True, blank=True)
    kerf = models.DecimalField(
        "kerf of this saw", max_digits=13, decimal_places=6, null=True, blank=True, help_text="empty: the shop's kerf",
    )  # fmt: skip
    scan_gap = models.PositiveSmallIntegerField(
        "slowest scanner, ms between two keys", default=60, validators=[MinValueValidator(10), MaxValueValidator(100)],
        help_text="scanners were seen at 2 to 45, people seldom type below 80; raise it where codes come in halves",
    )  # fmt: skip
    active = models.BooleanField(default=True)

    class Meta:
        ordering = ("kind", "name")

    def __str__(self) -> str:
        return self.name

    @classmethod
    def in_use(cls, *kinds: str) -> list["Station"]:
        """Return the stations of these kinds that are in use, by name."""
        return list(cls.objects.filter(kind__in=kinds, active=True))

    @property
    def operation(self) -> str:
        """Return what is counted here: saw (blanks), cut, coat or pack (pieces)."""
        return OPERATIONS[self.kind]

    @property
    def machine(self) -> Machine:
        """Return the limits as the core has them, mm."""
        limits = {name: getattr(self, name) for name in ("wire", "travel", "height", "swing", "centres")}
        return Machine(self.name, **{name: None if mm is None else float(mm) for name, mm in limits.items()})


OPERATIONS: dict[str, str] = {
    Station.Kind.SAW: "saw", Station.Kind.CUTTER: "cut", Station.Kind.TURNING: "cut", Station.Kind.COAT: "coat",
    Station.Kind.PACK: "pack",
}  # fmt: skip


class Outage(models.Model):
    """A time in which a station was down, with the reason; `until` is empty while it is."""

    station = models.ForeignKey(Station, on_delete=models.PROTECT, related_name="outages")
    reason = models.CharField(max_length=200)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+")
    since = models.DateTimeField()
    until = models.DateTimeField(null=True, blank=True)
    ended_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+",
    )  # fmt: skip

    class Meta:
        ordering = ("pk",)
        constraints = [
            models.UniqueConstraint(fields=["station"], condition=models.Q(until=None), name="one_outage_a_station"),
        ]

    def __str__(self) -> str:
        return f"{self.station}: {self.reason}"
