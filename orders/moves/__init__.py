"""The only writer of an order's words and counts.

Every move runs in one transaction: it claims what it changes with a conditional update (the database says whether one
row was changed, so two stations can never both take the last piece), writes, and leaves a row. A repeat of the same
scan changes nothing and returns the first row. A move that is not possible raises `Refused`, and nothing is written.
"""

from collections.abc import Callable

from orders.models import Move

from .finish import count_coated, count_packed, ruin_before_coat, ruin_before_packing
from .hand import pause, start
from .rows import changed_meanwhile, settle_done, turn_down
from .saw import count_sawn, miscut_at_saw
from .undoing import last_count, undo
from .wire import count_cut, miscut_at_wire
from .words import cancel, hold, raise_revision, release, resume

# What a station of each operation counts with, and books what it ruined with.
COUNT: dict[str, Callable[..., Move]] = {
    "saw": count_sawn, "cut": count_cut, "coat": count_coated, "pack": count_packed,
}  # fmt: skip
RUIN: dict[str, Callable[..., Move]] = {
    "saw": miscut_at_saw, "cut": miscut_at_wire, "coat": ruin_before_coat, "pack": ruin_before_packing,
}  # fmt: skip

__all__ = [
    "COUNT", "RUIN",
    "cancel", "changed_meanwhile", "count_coated", "count_cut", "count_packed", "count_sawn", "hold", "last_count",
    "miscut_at_saw", "miscut_at_wire", "pause", "raise_revision", "release", "resume", "ruin_before_coat",
    "ruin_before_packing", "settle_done", "start", "turn_down", "undo",
]  # fmt: skip
