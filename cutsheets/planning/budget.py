"""How long a search may take: a time, a number of rounds, or until somebody says so."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass


@dataclass
class Budget:
    """How long to search: until a moment, or a number of rounds, or until `stop` says so."""

    seconds: float | None = None
    rounds: int | None = None
    stop: Callable[[], bool] | None = None

    def __post_init__(self) -> None:
        self.until = time.monotonic() + self.seconds if self.seconds is not None else None
        self.used = 0

    def late(self) -> bool:
        """Return whether the time is over: a round that is not done by then counts for nothing."""
        return self.until is not None and time.monotonic() >= self.until

    def stopped(self) -> bool:
        """Return whether what is under way must be given up."""
        return self.late() or (self.stop is not None and self.stop())

    def spent(self) -> bool:
        """Return whether nothing more may be begun."""
        return self.stopped() or (self.rounds is not None and self.used >= self.rounds)
