"""Cutting plans: which blanks are wanted, a checked draft out of what stands on the rack, and what becomes of it.

A blank is wanted while it is due at the saw and no accepted plan gives it. A draft reserves nothing; accepting it
checks it once more against the rack and the orders of that moment, and reserves the foam.
"""

from .accepting import accept, stop, throw_away
from .again import Change, changes_since, replan
from .asked import Asked
from .making import make_plan
from .pieces import opened_pieces
from .rack import free_pieces
from .wanted import Waiting, demand, waiting_grades
from .working import (
    LOST,
    cancel,
    forget_finished_tasks,
    is_anything_queued,
    keep,
    leaving,
    requeue_lost,
    standing,
    start_plan,
)

__all__ = [
    "LOST", "Asked", "Change", "Waiting", "accept", "cancel", "changes_since", "demand", "forget_finished_tasks",
    "free_pieces", "is_anything_queued", "keep", "leaving", "make_plan", "opened_pieces", "replan", "requeue_lost",
    "standing", "start_plan", "stop", "throw_away", "waiting_grades",
]  # fmt: skip
