from django.contrib.auth.models import AbstractUser, UserManager
from django.db import models

from shop.roles import STATION, Role, may


class People(UserManager):
    def create_superuser(self, username, email=None, password=None, **rest):
        """Make the first person of a new shop: an administrator, who lets in everybody else."""
        return super().create_superuser(username, email, password, **{"role": Role.ADMIN} | rest)


class Person(AbstractUser):
    """Someone of the shop; the role says what they may do."""

    role = models.CharField(max_length=10, choices=Role, default=Role.FLOOR)

    # At the floor a person is named by a badge or a PIN; of both only a hash is kept.
    pin = models.CharField("PIN", max_length=128, blank=True, default="", editable=False)
    badge_hash = models.CharField(max_length=64, null=True, unique=True, editable=False)  # noqa: DJ001 - none is unique
    badge_made_at = models.DateTimeField(null=True, editable=False)

    objects = People()

    @property
    def short_name(self) -> str:
        """Return “Mina O.”, the form in which sheets and pages name a person."""
        return f"{self.first_name} {self.last_name[:1]}." if self.first_name and self.last_name else self.username

    @property
    def works_at_stations(self) -> bool:
        """Return whether this person may be named at a station."""
        return self.is_active and may(self, STATION)
