from django.db import models


class Station(models.Model):
    """A place on the floor where paper is scanned, and the limits of its machine (empty: none known)."""

    class Kind(models.TextChoices):
        SAW = "saw", "Saw"
        CUTTER = "cutter", "Wire cutter"

    code = models.SlugField(max_length=20, unique=True)
    name = models.CharField(max_length=40, unique=True)
    kind = models.CharField(max_length=10, choices=Kind)
    longest = models.DecimalField("longest piece", max_digits=13, decimal_places=6, null=True, blank=True)
    highest = models.DecimalField("highest piece", max_digits=13, decimal_places=6, null=True, blank=True)
    widest = models.DecimalField("widest piece", max_digits=13, decimal_places=6, null=True, blank=True)
    active = models.BooleanField(default=True)

    class Meta:
        ordering = ("kind", "name")

    def __str__(self) -> str:
        return self.name
