from decimal import Decimal

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models

INCH = Decimal("25.4")


def money(label: str, default: str) -> models.DecimalField:
    """Return a column for an amount of money, never negative."""
    not_negative = [MinValueValidator(Decimal(0))]
    return models.DecimalField(label, max_digits=9, decimal_places=2, default=Decimal(default), validators=not_negative)


def percent(label: str, default: int) -> models.PositiveIntegerField:
    """Return a column for a share, 0 to 100."""
    return models.PositiveIntegerField(label, default=default, validators=[MaxValueValidator(100)])


class ShopRules(models.Model):
    """The shop's own figures, one row. Every allowance is common practice and no constant of the code."""

    class Unit(models.TextChoices):
        INCH = "in", "inches"
        MILLIMETRE = "mm", "millimetres"

    LONGEST_PLAN = 600  # seconds

    class Paper(models.TextChoices):
        LETTER = "letter", "Letter"
        A4 = "a4", "A4"

    class Travellers(models.TextChoices):
        ORDER = "order", "one an order"
        LINE = "line", "one a line"

    class LabelPrinter(models.IntegerChoices):
        DPI_203 = 203, "203 dots an inch"
        DPI_300 = 300, "300 dots an inch"
        DPI_600 = 600, "600 dots an inch"

    name = models.CharField("shop name", max_length=60, default="")
    unit = models.CharField(max_length=2, choices=Unit, default=Unit.INCH)
    paper = models.CharField(max_length=6, choices=Paper, default=Paper.LETTER)
    currency = models.CharField(
        max_length=3, default="$", help_text="before the sums of quotes and confirmations: a sign or a code such as EUR"
    )
    travellers = models.CharField(max_length=5, choices=Travellers, default=Travellers.ORDER)
    label_dpi = models.PositiveIntegerField(
        "printer of tags and labels", choices=LabelPrinter, default=LabelPrinter.DPI_300,
        help_text="its data sheet says; bars are drawn in whole dots of it, three at least at 203",
    )  # fmt: skip
    kerf = models.DecimalField("saw kerf", max_digits=13, decimal_places=6, default=INCH / 16)
    wire_kerf = models.DecimalField("wire kerf", max_digits=13, decimal_places=6, default=INCH / 16)
    block_skin = models.DecimalField("crust off a new block, each face", max_digits=13, decimal_places=6, default=0)
    skim_wall = models.DecimalField("skim at the wall face", max_digits=13, decimal_places=6, default=INCH / 4)
    skim_other = models.DecimalField("skim at other faces", max_digits=13, decimal_places=6, default=INCH / 4)
    end_trim = models.DecimalField(max_digits=13, decimal_places=6, default=INCH / 2)
    blank_step = models.DecimalField("round blanks up to", max_digits=13, decimal_places=6, default=INCH / 16)
    longest_stick = models.DecimalField(max_digits=13, decimal_places=6, default=INCH * 95)
    shortest_piece = models.DecimalField(max_digits=13, decimal_places=6, default=INCH * 24)
    remnant_l = models.DecimalField("smallest remnant, long", max_digits=13, decimal_places=6, default=INCH * 24)
    remnant_w = models.DecimalField("smallest remnant, wide", max_digits=13, decimal_places=6, default=INCH * 12)
    remnant_h = models.DecimalField("smallest remnant, high", max_digits=13, decimal_places=6, default=INCH * 4)
    minimum_age_days = models.PositiveIntegerField("rest of a new block, days", default=7)
    wire_over = models.DecimalField(
        "wire longer than its blank", max_digits=13, decimal_places=6, default=INCH * 4,
        help_text="an 8 ft block wants about 4 in more wire than its length; a 16 ft block likewise",
    )  # fmt: skip
    wire_feed = models.DecimalField("wire feed a minute", max_digits=13, decimal_places=6, default=INCH * 20)
    length_tolerance = models.DecimalField(
        "first piece, length ±", max_digits=13, decimal_places=6, default=INCH / 8,
        help_text="common practice: 1/8 in in length, 1/16 in in the section",
    )  # fmt: skip
    section_tolerance = models.DecimalField(
        "first piece, section ±", max_digits=13, decimal_places=6, default=INCH / 16
    )
    bundle_pieces = models.PositiveIntegerField(
        "most pieces in a bundle", default=6, help_text="a bundle is never heavier than 51 lb (23 kg)"
    )
    plan_seconds = models.PositiveIntegerField("time for a cutting plan, seconds", default=10)
    # What ranks plans and ways of working. Common practice, no source: a shop types its own.
    price_foam = money("price of foam, a cubic foot", "2.60")
    rack_share = percent("a remnant is charged at, % of new foam", 50)
    price_cut = money("a cut at the saw", "0.15")
    price_keep = money("keeping a remnant", "0.50")
    credit_small = percent("credit of a remnant below 4 ft³, % of new foam", 25)
    credit_medium = percent("from 4 to 12 ft³, %", 35)
    credit_large = percent("from 12 to 32 ft³, %", 45)
    credit_whole = percent("from 32 ft³ on, %", 50)
    price_hour = money("an hour of work", "36.00")

    class Meta:
        verbose_name_plural = "shop rules"

    def __str__(self) -> str:
        return self.name or "shop rules"

    @classmethod
    def current(cls) -> "ShopRules":
        """Return the one row, made with its defaults when it is first asked for."""
        return cls.objects.get_or_create(pk=1)[0]
