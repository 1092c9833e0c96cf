from django.db import models


class CoatSystem(models.Model):
    """A coat the shop applies: how thick it stands on a face, how long it cures, its mesh and its weight.

    Lap and density are common practice, no source: a shop types its own.
    """

    name = models.CharField(max_length=40, unique=True)
    thickness_mm = models.DecimalField(max_digits=13, decimal_places=6)
    cure_hours = models.PositiveIntegerField(default=48)
    mesh_lap = models.DecimalField(
        max_digits=13, decimal_places=6, default=0,
        help_text="along each long edge of a piece; 2-1/2 in is usual, 0: a coat without mesh",
    )  # fmt: skip
    density = models.DecimalField(
        "density when cured", max_digits=13, decimal_places=6, default=1600,
        help_text="for the weight of bundles; a cement base coat weighs about 100 lb/ft³, 1600 kg/m³",
    )  # fmt: skip

    class Meta:
        ordering = ("thickness_mm", "name")

    def __str__(self) -> str:
        return self.name
