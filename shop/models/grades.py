from django.core.validators import MinValueValidator, RegexValidator
from django.db import models


class Pattern(models.TextChoices):
    """The twelve stripes, told apart without colour; the shop chooses one for each of its grades."""

    ONE = "one", "one line"
    TWO = "two", "two lines"
    THREE = "three", "three lines"
    WIDE = "wide", "wide"
    WIDE_THIN = "wide-thin", "wide and thin"
    DASH = "dash", "dashes"
    DOTS = "dots", "dots"
    SLASH = "slash", "slashes"
    ZIGZAG = "zigzag", "zigzag"
    WAVE = "wave", "wave"
    LADDER = "ladder", "ladder"
    CHEVRON = "chevron", "chevrons"


class Grade(models.Model):
    """A grade of foam. Its density is the shop's own figure: trade densities lie above the minima of ASTM C578."""

    name = models.CharField(max_length=40, unique=True)
    c578_type = models.CharField("ASTM C578 type", max_length=6, blank=True)
    density = models.DecimalField(
        "density, kg/m³", max_digits=10, decimal_places=6, validators=[MinValueValidator(1)],
        help_text="what a block of yours weighs, not the minimum of the standard",
    )  # fmt: skip
    flame_retardant = models.BooleanField("flame retardant, for buildings", default=True)
    pattern = models.CharField("stripe", max_length=10, choices=Pattern)
    ink = models.CharField(
        "stripe colour", max_length=7, default="#13201b", validators=[RegexValidator(r"^#[0-9a-fA-F]{6}$")],
    )  # fmt: skip
    price = models.DecimalField(
        "price, a cubic foot", max_digits=9, decimal_places=2, null=True, blank=True,
        validators=[MinValueValidator(0)], help_text="empty: the shop's price of foam",
    )  # fmt: skip
    order_at = models.PositiveIntegerField("order more below", default=0, help_text="blocks left on the rack")
    active = models.BooleanField(default=True)

    class Meta:
        ordering = ("density", "name")
        constraints = [
            models.UniqueConstraint(
                fields=["pattern"], condition=models.Q(active=True), name="one_active_grade_a_stripe",
                violation_error_message="Another active grade already has this stripe; choose one that no grade uses.",
            ),
        ]  # fmt: skip

    def __str__(self) -> str:
        return self.name
