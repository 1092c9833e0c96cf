"""What a manager asks of a plan, as its run keeps it: time, orders, and foam to leave, to use first or to keep."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any, Self

from orders.models import CuttingRun


@dataclass(frozen=True, slots=True)
class Asked:
    """What is asked of one plan.

    `seconds`: how long to look for it. `orders`: their numbers; None is every order that waits. `out`: tags that may
    not be opened. `first`: tags to use before others. `keep`: tags whose piece of the plan before stays as it is.
    `saw`: the code of the station that saws it; empty is any saw, with the shop's kerf. `instead_of`: the number of the
    accepted plan whose rest it takes over: planned as if that plan opened no more, which it does once this is accepted.
    """

    seconds: int = 10
    orders: tuple[int, ...] | None = None
    out: tuple[str, ...] = ()
    first: tuple[str, ...] = ()
    keep: tuple[str, ...] = ()
    saw: str = ""
    instead_of: int = 0

    @classmethod
    def of(cls, run: CuttingRun) -> Self:
        """Return what was asked of a run; what an older run does not say is as a new one has it."""
        return cls(**{name: tuple(value) if isinstance(value, list) else value for name, value in run.asked.items()})

    def as_json(self) -> dict[str, Any]:
        """Return the value of the column."""
        return {name: list(value) if isinstance(value, tuple) else value for name, value in asdict(self).items()}
