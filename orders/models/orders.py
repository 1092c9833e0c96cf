"""Orders, their lines, the blanks each line needs and the foam pieces cut from them.

Status is a count per operation: `Blank.sawn` of the saw, `Piece.cut` of the wire, `Piece.coated` and `Piece.packed`
after it. `orders.moves` alone writes them, and the words of an order (`state`, `held`, `revision`).
"""

from django.conf import settings
from django.core.validators import MinValueValidator
from django.db import models
from django.db.models import F, Q
from django.db.models.lookups import GreaterThanOrEqual, LessThan
from django.utils import timezone

from shop.models import CoatSystem, Grade

from .customers import Customer
from .profiles import ProfileRevision


class Order(models.Model):
    class State(models.TextChoices):
        DRAFT = "draft", "draft"
        RELEASED = "released", "released"
        CANCELLED = "cancelled", "cancelled"

    number = models.PositiveIntegerField(unique=True)
    customer = models.ForeignKey(Customer, on_delete=models.PROTECT, related_name="orders")
    job = models.CharField(max_length=120)
    customer_ref = models.CharField("their order", max_length=40, blank=True)
    due = models.DateField("needed", null=True, blank=True, db_index=True)
    unit = models.CharField(max_length=2, default="in")
    note = models.TextField(blank=True)
    indoors = models.BooleanField("goes indoors", default=False)
    state = models.CharField(max_length=10, choices=State, default=State.DRAFT, db_index=True)
    held = models.BooleanField("on hold", default=False)
    hold_reason = models.CharField(max_length=200, blank=True)
    held_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+",
    )  # fmt: skip
    held_at = models.DateTimeField(null=True, blank=True)
    revision = models.PositiveIntegerField(default=0, help_text="0: no sheet yet; 1 is sheet A")
    version = models.PositiveIntegerField(default=1, help_text="raised by every save: two people editing are told")
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="orders_made",
    )  # fmt: skip
    made_at = models.DateTimeField(default=timezone.now)
    saved_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+",
    )  # fmt: skip
    saved_at = models.DateTimeField(default=timezone.now, help_text="last change of what is ordered, not of a count")
    done_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ("-number",)

    def __str__(self) -> str:
        return str(self.number)

    @property
    def why_held(self) -> str:
        """Return the reason of its hold as a sentence, however it was typed."""
        return self.hold_reason + ("" if self.hold_reason.endswith((".", "!", "?")) else ".")


class Line(models.Model):
    """One line; `spec` holds the keys of the job file for its kind exactly as typed, lengths in the order's unit."""

    class Lie(models.TextChoices):
        ANY = "any", "any way"
        ALONG = "along", "long side along the block"
        UPRIGHT = "upright", "upright"
        AS_IS = "as-is", "as it stands"

    class Way(models.TextChoices):
        EACH = "each", "a blank for every piece"
        GANG = "gang", "many pieces out of one face"

    order = models.ForeignKey(Order, on_delete=models.CASCADE, related_name="lines")
    position = models.PositiveIntegerField()
    mark = models.CharField(max_length=8)
    title = models.CharField("what", max_length=80, blank=True)
    kind = models.CharField(max_length=12, default="moulding")
    grade = models.ForeignKey(Grade, on_delete=models.PROTECT)
    profile = models.ForeignKey(ProfileRevision, on_delete=models.PROTECT, null=True, blank=True, related_name="lines")
    coat_system = models.ForeignKey(CoatSystem, on_delete=models.PROTECT, null=True, blank=True)
    coat = models.CharField("coat thickness", max_length=20, default="0")
    qty = models.PositiveIntegerField(default=1, validators=[MinValueValidator(1)])
    spec = models.JSONField(default=dict)
    note = models.CharField(max_length=200, blank=True)
    lie = models.CharField("how blanks may lie in a block", max_length=8, choices=Lie, default=Lie.ANY)
    way = models.CharField(max_length=8, choices=Way, default=Way.EACH)
    gang = models.JSONField(default=dict, blank=True, help_text="the nest of sections on a face that was chosen")

    class Meta:
        ordering = ("order", "position")
        constraints = [models.UniqueConstraint(fields=["order", "mark"], name="one_line_a_mark")]

    def __str__(self) -> str:
        return f"{self.order.number} {self.mark}"


class Blank(models.Model):
    """Blanks of one size for one line, written when the order is released. Sizes are whole micrometres, rounded up."""

    line = models.ForeignKey(Line, on_delete=models.CASCADE, related_name="blanks")
    l_um = models.BigIntegerField()
    w_um = models.BigIntegerField()
    h_um = models.BigIntegerField()
    qty = models.PositiveIntegerField()
    gives = models.PositiveIntegerField(default=1, help_text="pieces that are wired out of one of these blanks")
    marks = models.JSONField(default=list)
    live = models.BooleanField(default=True, help_text="false: replaced by a later revision, kept for its counts")
    sawn = models.PositiveIntegerField(default=0, help_text="good blanks sawn, also those ruined later at the wire")
    saw_miscut = models.PositiveIntegerField(default=0, help_text="blanks ruined at the saw: never counted as sawn")
    wire_miscut = models.PositiveIntegerField(default=0, help_text="pieces ruined at the wire: foam is due again")
    cut = models.PositiveIntegerField(default=0, help_text="pieces cut from these: the sum of `cut` of its pieces")
    single = models.PositiveIntegerField(default=0, help_text="ruined pieces that get a single blank instead of these")
    replaces = models.ForeignKey(
        "self", on_delete=models.RESTRICT, null=True, blank=True, related_name="singles",
        help_text="the big blank whose ruined pieces come out of these",
    )  # fmt: skip

    class Meta:
        ordering = ("line", "-l_um", "pk")
        constraints = [
            models.CheckConstraint(
                condition=LessThan(
                    F("sawn") * F("gives"), (F("qty") + 1) * F("gives") + F("wire_miscut") - F("single")
                ),
                name="never_more_sawn_than_due",
            ),
            models.CheckConstraint(
                condition=GreaterThanOrEqual(F("sawn") * F("gives"), F("cut") + F("wire_miscut")),
                name="never_more_cut_than_sawn",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.line} blank"

    @property
    def size_um(self) -> tuple[int, int, int]:
        """Return long, wide, high in whole micrometres."""
        return self.l_um, self.w_um, self.h_um

    @property
    def volume(self) -> int:
        """Return the volume of one blank in cubic micrometres."""
        return self.l_um * self.w_um * self.h_um

    def foam_of(self, pieces: int) -> int:
        """Return the foam of so many of the pieces that these blanks give, cubic micrometres: the first n of them."""
        return self.volume * pieces // self.gives

    @property
    def again(self) -> int:
        """Return how many blanks are due again because pieces were ruined at the wire."""
        return -(-(self.wire_miscut - self.single) // self.gives)

    @property
    def due(self) -> int:
        """Return how many good blanks the saw owes in all."""
        return self.qty + self.again

    @property
    def to_saw(self) -> int:
        """Return how many blanks are still to be sawn."""
        return self.due - self.sawn

    @property
    def ready(self) -> int:
        """Return how many pieces can be wired from the good blanks that lie ready."""
        return self.sawn * self.gives - self.cut - self.wire_miscut


class Piece(models.Model):
    """Foam pieces that are alike (same lengths, ends and blank): “A2–A5”, four of them.

    Whether they are coated and packed was settled when their sheet was made: by their coat, and by the stations that
    the shop had then. A panel is not wired: its blank is the piece, and only a shop that packs has a row for it.
    """

    line = models.ForeignKey(Line, on_delete=models.CASCADE, related_name="pieces")
    blank = models.ForeignKey(Blank, on_delete=models.CASCADE, related_name="pieces")
    position = models.PositiveIntegerField()
    marks = models.JSONField(default=list)
    qty = models.PositiveIntegerField()
    run = models.CharField(max_length=40, blank=True)
    front = models.DecimalField("foam length along the front", max_digits=13, decimal_places=6)
    wall = models.DecimalField("foam length at the wall", max_digits=13, decimal_places=6)
    flat = models.BooleanField(default=False, help_text="side of a frame: front is its outer edge, wall its opening")
    left = models.JSONField(default=dict, help_text='{"kind": "outside", "angle": 90}')
    right = models.JSONField(default=dict)
    live = models.BooleanField(default=True)
    wired = models.BooleanField(default=True)
    wants_coat = models.BooleanField(default=False)
    wants_pack = models.BooleanField(default=False)
    cut = models.PositiveIntegerField(default=0)
    coated = models.PositiveIntegerField(default=0)
    packed = models.PositiveIntegerField(default=0)

    class Meta:
        ordering = ("line", "position")
        constraints = [
            models.CheckConstraint(condition=Q(cut__lte=F("qty")), name="never_more_cut_than_ordered"),
            models.CheckConstraint(condition=Q(coated__lte=F("cut")), name="never_more_coated_than_cut"),
            models.CheckConstraint(condition=Q(packed__lte=F("qty")), name="never_more_packed_than_ordered"),
        ]

    def __str__(self) -> str:
        return f"{self.line} {self.label}"

    @property
    def label(self) -> str:
        """Return “A2–A5”, or “A1” for a single mark."""
        return self.marks[0] if len(self.marks) == 1 else f"{self.marks[0]}–{self.marks[-1]}"

    @property
    def made(self) -> int:
        """Return how many are there as foam: cut at the wire, or sawn where the blank is the piece."""
        return self.cut if self.wired else min(self.qty, self.blank.ready)

    @property
    def to_coat(self) -> int:
        """Return how many are cut and wait for their coat."""
        return self.made - self.coated if self.wants_coat else 0

    @property
    def through(self) -> int:
        """Return how many have all that comes before packing; of a coat the cure is not asked here."""
        return self.coated if self.wants_coat else self.made


class Revision(models.Model):
    """A sheet letter of an order, and what changed since the one before: read out when old paper is scanned."""

    order = models.ForeignKey(Order, on_delete=models.CASCADE, related_name="revisions")
    number = models.PositiveIntegerField()
    changes = models.JSONField(default=list, help_text='[{"what": "A blank high", "old": "10-3/4", "new": "11-1/4"}]')
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True)
    at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering = ("order", "number")
        constraints = [models.UniqueConstraint(fields=["order", "number"], name="one_row_a_revision")]

    def __str__(self) -> str:
        return f"{self.order} revision {self.number}"
