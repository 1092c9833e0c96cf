from django.contrib.auth.models import AbstractUser
from django.db import models

from shop.roles import Role


class Person(AbstractUser):
    """Someone of the shop; the role says what they may do."""

    role = models.CharField(max_length=10, choices=Role, default=Role.FLOOR)

    @property
    def short_name(self) -> str:
        """Return “Mina O.”, the form in which sheets and pages name a person."""
        return f"{self.first_name} {self.last_name[:1]}." if self.first_name and self.last_name else self.username
