"""A cutting run: a checked cutting plan for one grade, from draft to sawn."""

from django.conf import settings
from django.db import models
from django.utils import timezone

from shop.models import Grade, Station, StockPiece

from .orders import Blank
from .trees import PlanField


class CuttingRun(models.Model):
    class State(models.TextChoices):
        PLANNING = "planning", "being planned"
        FAILED = "failed", "no plan"
        DRAFT = "draft", "draft"
        ACCEPTED = "accepted", "accepted"
        DONE = "done", "sawn"
        VOID = "void", "thrown away"

    class Wish(models.TextChoices):
        KEEP = "keep", "stop and keep the best so far"
        CANCEL = "cancel", "stop and keep nothing"

    number = models.PositiveIntegerField(unique=True)
    grade = models.ForeignKey(Grade, on_delete=models.PROTECT)
    state = models.CharField(max_length=10, choices=State, default=State.DRAFT, db_index=True)
    saw = models.ForeignKey(Station, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    asked = models.JSONField(default=dict, help_text="what the manager asked of this plan: see orders.planning.asked")
    follows = models.ForeignKey("self", on_delete=models.SET_NULL, null=True, blank=True, related_name="followed_by")
    instance = models.JSONField(default=dict, help_text="blockyard-stock-1")
    plan = PlanField(default=dict, help_text="blockyard-plan-1; while it is being planned the best so far")
    figures = models.JSONField(default=dict, help_text="score, bound, plain score, yields, seconds, seed")
    wish = models.CharField(max_length=8, choices=Wish, blank=True, help_text="what the manager wants meanwhile")
    refusal = models.TextField(blank=True, help_text="why there is no plan, and what to do")
    alive_at = models.DateTimeField(null=True, blank=True, help_text="when a worker last said that it plans this")
    made_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True)
    made_at = models.DateTimeField(default=timezone.now)
    accepted_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ("-number",)

    def __str__(self) -> str:
        return f"plan {self.number}"


class RunSource(models.Model):
    """One block or remnant of a run, in the order they are opened."""

    class State(models.TextChoices):
        WAITING = "waiting", "waiting"
        ON_SAW = "saw", "on the saw"
        DONE = "done", "sawn"
        OUT = "out", "left out"

    run = models.ForeignKey(CuttingRun, on_delete=models.CASCADE, related_name="sources")
    position = models.PositiveIntegerField()
    piece = models.ForeignKey(StockPiece, on_delete=models.PROTECT, related_name="run_sources")
    state = models.CharField(max_length=10, choices=State, default=State.WAITING)

    class Meta:
        ordering = ("run", "position")

    def __str__(self) -> str:
        return f"{self.run}, {self.piece}"


class RunBlank(models.Model):
    """How many blanks of one order line come out of one source, and how many of them are sawn."""

    source = models.ForeignKey(RunSource, on_delete=models.CASCADE, related_name="blanks")
    blank = models.ForeignKey(Blank, on_delete=models.PROTECT, related_name="planned")
    qty = models.PositiveIntegerField()
    sawn = models.PositiveIntegerField(default=0)
    miscut = models.PositiveIntegerField(default=0)

    class Meta:
        ordering = ("source", "pk")
        constraints = [
            models.CheckConstraint(
                condition=models.Q(qty__gte=models.F("sawn") + models.F("miscut")), name="no_more_than_planned",
            ),
        ]  # fmt: skip

    def __str__(self) -> str:
        return f"{self.source}: {self.blank}"


class RunRemnant(models.Model):
    """A remnant that a source should leave; `piece` is set when it is put back on the rack, as measured."""

    source = models.ForeignKey(RunSource, on_delete=models.CASCADE, related_name="remnants")
    tag = models.CharField(max_length=20, unique=True)
    l_um = models.BigIntegerField()
    w_um = models.BigIntegerField()
    h_um = models.BigIntegerField()
    piece = models.OneToOneField(StockPiece, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    settled = models.BooleanField(default=False, help_text="put back or given up: nothing more is expected")

    class Meta:
        ordering = ("source", "tag")

    def __str__(self) -> str:
        return self.tag
