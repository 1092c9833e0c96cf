"""Who may do what: four roles, and the decorator that each view wears so that a test can read the whole table.

An administrator may do everything; every other role only what a view names.
"""

from collections.abc import Callable
from functools import wraps

from django.core.exceptions import PermissionDenied
from django.db.models import TextChoices


class Role(TextChoices):
    OFFICE = "office", "Office"
    FLOOR = "floor", "Floor"
    MANAGER = "manager", "Manager"
    ADMIN = "admin", "Administrator"


EVERYONE = (Role.OFFICE, Role.FLOOR, Role.MANAGER)
DESK = (Role.OFFICE, Role.MANAGER)
STATION = (Role.FLOOR, Role.MANAGER)
MANAGER = (Role.MANAGER,)
ADMIN = (Role.ADMIN,)


def may(person, roles) -> bool:
    """Return whether this person has one of these roles (an administrator always may)."""
    return person.is_authenticated and (person.role == Role.ADMIN or person.role in roles)


def allowed(roles, *, write=None) -> Callable:
    """Let only these roles open the view, and only `write` (default: the same) change anything through it."""

    def wrap(view):
        @wraps(view)
        def inner(request, *args, **kwargs):
            wanted = roles if request.method in ("GET", "HEAD") else (write or roles)
            if not may(request.user, wanted):
                raise PermissionDenied
            return view(request, *args, **kwargs)

        return inner

    return wrap
