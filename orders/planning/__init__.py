"""Cutting plans: which blanks are wanted, a checked draft out of what stands on the rack, and what becomes of it.

A blank is wanted while it is due at the saw and no accepted plan gives it. A draft reserves nothing; accepting it
checks it once more against the rack and the orders of that moment, and reserves the foam.
"""

from .accepting import accept, stop, throw_away
from .asked import Asked
from .making import make_plan
from .pieces import opened_pieces
from .wanted import Waiting, demand, waiting_grades

__all__ = ["Asked", "Waiting", "accept", "demand", "make_plan", "opened_pieces", "stop", "throw_away", "waiting_grades"]
