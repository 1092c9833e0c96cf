from django.contrib.auth.models import AbstractUser, UserManager
from django.db import models

from shop.roles import Role


class People(UserManager):
    def create_superuser(self, username, email=None, password=None, **rest):
        """Make the first person of a new shop: an administrator, who lets in everybody else."""
        return super().create_superuser(username, email, password, **{"role": Role.ADMIN} | rest)


class Person(AbstractUser):
    """Someone of the shop; the role says what they may do."""

    role = models.CharField(max_length=10, choices=Role, default=Role.FLOOR)

    objects = People()

    @property
    def short_name(self) -> str:
        """Return “Mina O.”, the form in which sheets and pages name a person."""
        return f"{self.first_name} {self.last_name[:1]}." if self.first_name and self.last_name else self.username
