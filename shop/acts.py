"""Who does something, where, and when: handed to every service that writes a row."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, datetime

from django.utils import timezone

from shop.models import Person, Station


@dataclass(frozen=True, slots=True)
class Act:
    """One person's act. `at` is when it happened, `scan_id` the page's own id that makes a repeat harmless.

    `books` is the day whose foam it moves, where the day on which it happened is closed already.
    """

    by: Person | None
    station: Station | None = None
    at: datetime = field(default_factory=timezone.now)
    scan_id: str | None = None
    books: date | None = None

    @property
    def day(self) -> date:
        """Return the shop's day under which it is booked: the one on which it happened, as a rule."""
        return self.books or timezone.localdate(self.at)

    @property
    def name(self) -> str:
        """Return who it was as sheets write it: “Mina O.”, or nothing."""
        return self.by.short_name if self.by else ""
