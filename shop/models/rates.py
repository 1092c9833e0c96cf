from django.db import models


class CoatSystem(models.Model):
    """A coat the shop applies: how thick it stands on a face and how long it cures."""

    name = models.CharField(max_length=40, unique=True)
    thickness_mm = models.DecimalField(max_digits=13, decimal_places=6)
    cure_hours = models.PositiveIntegerField(default=48)

    class Meta:
        ordering = ("thickness_mm", "name")

    def __str__(self) -> str:
        return self.name
