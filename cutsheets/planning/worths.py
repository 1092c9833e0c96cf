"""What every blank has cost in the plans so far, for fills that place the dear ones first.

Sequential value correction (after Mukhacheva and Zalgaller 1993, Belov and Scheithauer 2007; from memory): a blank that
came out of badly filled foam in one plan weighs more in the next, so it is placed while others still fill the rest.
"""

from __future__ import annotations

from collections import defaultdict

from cutsheets.planning.layout import Job, Opened

LARGE_FIRST = 0.8  # power of a blank's volume that it weighs before any plan was seen (found by trial, as all here)
POWER = 0.7  # of what a blank cost against the mean of all
CHEAPEST = 0.1  # of the mean: foam of a remnant may cost nothing


class Worths(dict[int, float]):
    """The weight of each blank by its number; they mean something against each other only."""

    def __init__(self, job: Job) -> None:
        self.volumes = job.volumes
        largest = max(job.volumes.values(), default=1)
        super().__init__({n: (job.volumes[n] / largest) ** LARGE_FIRST for n in job.numbers})

    def learn(self, plan: list[Opened]) -> None:
        """Correct the weights by what a plan pays for the foam of each blank. O(pieces × sizes in a piece)."""
        mean = sum(piece.cost for piece in plan) / sum(piece.blank_volume for piece in plan)
        if mean <= 0:
            return  # no price says what is dear
        paid, count = defaultdict[int, float](float), defaultdict[int, int](int)
        for piece in plan:
            rate = max(piece.cost / piece.blank_volume / mean, CHEAPEST)
            for number, given in piece.gives:
                paid[number] += given * rate
                count[number] += given
        for number, given in count.items():
            self[number] *= (paid[number] / given) ** POWER
