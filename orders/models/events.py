"""What happened, append-only: moves (counts and words that changed), scans (also refused ones), prints."""

from django.conf import settings
from django.db import models
from django.utils import timezone

from shop.models import Station

from .orders import Blank, Line, Order, Piece
from .runs import CuttingRun, RunBlank


class Move(models.Model):
    """One change of a count or a word of an order; an undo is a row of its own that names the one it takes back."""

    class Cost(models.TextChoices):
        OURS = "ours", "ours"
        CUSTOMER = "customer", "the customer's"
        SUPPLIER = "supplier", "the foam plant's"

    order = models.ForeignKey(Order, on_delete=models.PROTECT, related_name="moves")
    line = models.ForeignKey(Line, on_delete=models.SET_NULL, null=True, blank=True)
    blank = models.ForeignKey(Blank, on_delete=models.SET_NULL, null=True, blank=True)
    piece = models.ForeignKey(Piece, on_delete=models.SET_NULL, null=True, blank=True)
    run_blank = models.ForeignKey(RunBlank, on_delete=models.SET_NULL, null=True, blank=True)
    action = models.CharField(max_length=20, db_index=True)
    qty = models.IntegerField(default=0)
    reason = models.CharField(max_length=200, blank=True)
    cost = models.CharField(max_length=8, choices=Cost, blank=True, help_text="of a miscut: who pays for it")
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True)
    station = models.ForeignKey(Station, on_delete=models.PROTECT, null=True, blank=True)
    scan_id = models.CharField(max_length=40, unique=True, null=True, blank=True)
    undoes = models.OneToOneField("self", on_delete=models.PROTECT, null=True, blank=True, related_name="undone_by")
    happened_at = models.DateTimeField()
    recorded_at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering = ("pk",)
        indexes = [models.Index(fields=["station", "-id"]), models.Index(fields=["order", "-id"])]

    def __str__(self) -> str:
        return f"{self.order} {self.action} {self.qty}"


class Scan(models.Model):
    """A scan at a station, also a refused one: the raw text and the answer's code."""

    scan_id = models.CharField(max_length=40, unique=True)
    raw = models.CharField(max_length=200)
    station = models.ForeignKey(Station, on_delete=models.PROTECT)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True)
    order = models.ForeignKey(Order, on_delete=models.PROTECT, null=True, blank=True, related_name="scans")
    answer = models.CharField(max_length=20)
    happened_at = models.DateTimeField()
    recorded_at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering = ("pk",)
        indexes = [models.Index(fields=["station", "-id"])]

    def __str__(self) -> str:
        return f"{self.raw}: {self.answer}"


class Print(models.Model):
    """A sheet that was printed: what, which revision, by whom, when, and the how-manieth print it is."""

    class Sheet(models.TextChoices):
        TRAVELLER = "traveller", "traveller"
        SAW_SHEET = "saw-sheet", "saw sheet"
        CUT_SHEET = "cut-sheet", "cut sheet"
        COAT_SHEET = "coat-sheet", "coat sheet"
        PACK_LIST = "pack-list", "pack list"
        PACKING_SLIP = "packing-slip", "packing slip"
        LABEL = "label", "bundle label"
        TAG = "tag", "tag"
        REPEAT = "repeat", "repeat sheet"
        QUOTE = "quote", "quote"
        CONFIRMATION = "confirmation", "order confirmation"
        DAY_REPORT = "day-report", "day report"
        BADGE = "badge", "badge"

    sheet = models.CharField(max_length=12, choices=Sheet)
    order = models.ForeignKey(Order, on_delete=models.PROTECT, null=True, blank=True, related_name="prints")
    run = models.ForeignKey(CuttingRun, on_delete=models.PROTECT, null=True, blank=True, related_name="prints")
    of = models.CharField(max_length=40, blank=True, help_text="what the row does not say else: a line, a tag, a day")
    revision = models.PositiveIntegerField(default=0)
    number = models.PositiveIntegerField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True)
    at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering = ("pk",)
        constraints = [
            models.UniqueConstraint(
                fields=["sheet", "order", "of", "revision", "number"], name="one_print_a_number_order",
            ),
            models.UniqueConstraint(fields=["sheet", "run", "of", "revision", "number"], name="one_print_a_number_run"),
            models.UniqueConstraint(
                fields=["sheet", "of", "revision", "number"], condition=models.Q(order=None, run=None),
                name="one_print_a_number_of",
            ),
        ]  # fmt: skip

    def __str__(self) -> str:
        return f"{self.sheet} {self.order or self.run or self.of}, print {self.number}"
