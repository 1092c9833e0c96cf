"""Foam on the rack and the account of it. A remnant is a stock piece with a parent; sizes are whole micrometres."""

from django.conf import settings
from django.core.validators import MinValueValidator
from django.db import models
from django.utils import timezone

from shop.fields import VolumeField

from .grades import Grade
from .stations import Station

SIZE = {"validators": [MinValueValidator(1)]}


class BlockSize(models.Model):
    """A size the foam plant delivers, nominal."""

    name = models.CharField(max_length=40, unique=True)
    l_um = models.BigIntegerField(**SIZE)
    w_um = models.BigIntegerField(**SIZE)
    h_um = models.BigIntegerField(**SIZE)

    class Meta:
        ordering = ("-l_um", "-w_um", "-h_um")

    def __str__(self) -> str:
        return self.name


class StockPiece(models.Model):
    """A block or a remnant with its own tag, as measured. Its state is written by `shop.account` alone."""

    class State(models.TextChoices):
        ON_RACK = "rack", "on the rack"
        RESERVED = "reserved", "reserved"
        ON_SAW = "saw", "on the saw"
        USED = "used", "used up"
        SCRAPPED = "scrapped", "scrapped"

    tag = models.CharField(max_length=20, unique=True)
    grade = models.ForeignKey(Grade, on_delete=models.PROTECT, related_name="pieces")
    l_um = models.BigIntegerField(**SIZE)
    w_um = models.BigIntegerField(**SIZE)
    h_um = models.BigIntegerField(**SIZE)
    nominal = models.ForeignKey(BlockSize, on_delete=models.PROTECT, null=True, blank=True)
    parent = models.ForeignKey("self", on_delete=models.PROTECT, null=True, blank=True, related_name="remnants")
    lot = models.CharField(max_length=40, blank=True)
    mould_date = models.DateField(null=True, blank=True)
    received_on = models.DateField(default=timezone.localdate)
    place = models.CharField(max_length=40, blank=True)
    state = models.CharField(max_length=10, choices=State, default=State.ON_RACK, db_index=True)
    held_for = models.CharField("reserved for", max_length=40, blank=True, help_text="such as “plan 118”")

    class Meta:
        ordering = ("grade", "tag")
        verbose_name = "block or remnant"
        verbose_name_plural = "blocks and remnants"

    def __str__(self) -> str:
        return self.tag

    @property
    def size_um(self) -> tuple[int, int, int]:
        """Return long, wide, high in whole micrometres."""
        return self.l_um, self.w_um, self.h_um

    @property
    def volume(self) -> int:
        """Return the volume in cubic micrometres."""
        return self.l_um * self.w_um * self.h_um

    @property
    def is_remnant(self) -> bool:
        """Return whether this piece was cut from another one."""
        return self.parent_id is not None


class StockMove(models.Model):
    """One line of the foam account; never changed and never deleted. Written by `shop.account` alone.

    Volumes are signed as the account reads them. Book stock = Σ receipt + correction − issue + back − scrap.
    Issued foam = good + miscut + back + waste + what still lies on the saw.
    """

    class Kind(models.TextChoices):
        RECEIPT = "receipt", "received"
        RESERVE = "reserve", "reserved"
        FREE = "free", "reservation freed"
        ISSUE = "issue", "issued to the saw"
        GOOD = "good", "good blanks"
        MISCUT = "miscut", "miscut"
        BACK = "back", "remnant back on the rack"
        WASTE = "waste", "saw waste"
        SCRAP = "scrap", "scrapped from the rack"
        CORRECTION = "correction", "count correction"

    kind = models.CharField(max_length=10, choices=Kind)
    grade = models.ForeignKey(Grade, on_delete=models.PROTECT, related_name="moves")
    piece = models.ForeignKey(StockPiece, on_delete=models.PROTECT, null=True, blank=True, related_name="moves")
    opened = models.CharField(max_length=40, blank=True, help_text="tag of the piece that was opened on the saw")
    volume = VolumeField()
    order_ref = models.CharField(max_length=20, blank=True, db_index=True)
    line_ref = models.CharField(max_length=20, blank=True)
    reason = models.CharField(max_length=200, blank=True)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True)
    station = models.ForeignKey(Station, on_delete=models.PROTECT, null=True, blank=True)
    day = models.DateField(db_index=True)
    happened_at = models.DateTimeField()
    recorded_at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering = ("pk",)
        indexes = [models.Index(fields=["day", "grade", "kind"])]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} {self.piece or self.order_ref}"


class DayClose(models.Model):
    """A closed day with the figures as they stood: later corrections are dated lines of the day they are made."""

    day = models.DateField(unique=True)
    figures = models.JSONField()
    closed_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT)
    closed_at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering = ("-day",)

    def __str__(self) -> str:
        return self.day.isoformat()
