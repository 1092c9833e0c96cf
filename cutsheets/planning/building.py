"""Filling foam: whole plans piece by piece, and pieces or parts of them again until their blanks have found room."""

from __future__ import annotations

from collections import Counter
from random import Random

from cutsheets.planning.aims import Aims
from cutsheets.planning.budget import Budget
from cutsheets.planning.choosing import Patterns
from cutsheets.planning.fill import Filler, Grounds, Taste
from cutsheets.planning.layout import Job, Layout, Opened, Source
from cutsheets.planning.mending import Part, any_part, whole
from cutsheets.planning.tidying import tidied
from cutsheets.stock import volume

MENDING, MENDING_NEAR, NEAR = 0.6, 0.9, 0.02  # share of the rounds that fill parts of pieces and not whole ones
MOST_MENDED = 3  # parts filled again in one round
CUTS_A_BOX = 3  # cuts that are put in order in the time in which a box is filled
MOST_AGAIN = 3  # pieces filled again in one round
WORSE = 0.15  # of the largest blank: foam without a place that a round may add
TRIED = 3  # kinds of foam that are tried for the next piece (all numbers here: found by trial)
PLAIN = Taste()


class Builder:
    """Fills pieces of one grade within a budget; `patterns` sees each of them."""

    def __init__(self, job: Job, rng: Random, budget: Budget) -> None:
        self.job, self.rng, self.budget = job, rng, budget
        self.grounds = Grounds(job, rng)
        self.aims = Aims(job, rng, self.grounds.reach)
        self.patterns = Patterns(job)

    def foam(self, blanks: Counter[int]) -> int:
        """Return the foam in some blanks."""
        volumes = self.job.volumes
        return sum(volumes[number] * count for number, count in blanks.items())

    def build(self, demand: Counter[int], kept: list[Opened], taste: Taste) -> list[Opened] | None:
        """Return pieces that give the whole demand, the best value first, or None where foam or time runs out."""
        left = Counter(demand)
        built = self.built(left, kept, taste)
        return None if +left else built

    def built(self, left: Counter[int], kept: list[Opened], taste: Taste) -> list[Opened]:
        """Return pieces that give what is left, the best value first; what remains of `left` has no foam or no time."""
        built: list[Opened] = []
        while +left:
            tried = [self.open(source, left, taste) for source in self._candidates(left, kept + built, taste)]
            useful = [piece for piece in tried if piece.gives]
            if not useful or self.budget.late():
                break
            best = min(useful, key=lambda piece: piece.cost / piece.blank_volume)
            left.subtract(dict(best.gives))
            built.append(best)
        return built

    def open(self, source: Source, left: Counter[int], taste: Taste) -> Opened:
        """Return a piece of this foam filled from what is left, which stays untouched."""
        self.budget.used += 1
        piece = self.job.opened(source, Filler(self.grounds, Counter(left), taste, self.budget.late).fill(source))
        self.patterns.add(piece)
        return piece

    def settle(
        self, pieces: list[Opened], left: Counter[int], patience: int, fresh: list[int] | None = None
    ) -> tuple[list[Opened], Counter[int]]:
        """Fill pieces or parts of them again, so that the foam of the blanks without a place (`left`) shrinks.

        Return all pieces, and what has no place in the end; `fresh` are the numbers to begin with, `patience` the
        rounds without less of it.
        """
        sources, layouts = [piece.source for piece in pieces], [piece.layout for piece in pieces]
        missing, kept = self.foam(left), (layouts, left)
        lowest, slack = missing, WORSE * max((self.job.volumes[n] for n in +left), default=0)
        near = NEAR * sum(volume(source.core) for source in sources)
        rounds = patience
        while missing and rounds and not self.budget.stopped():
            rounds -= 1
            rest, tried = Counter(left), list(layouts)
            mending = MENDING if missing > near else MENDING_NEAR
            numbers, parts = self._some_parts(sources, layouts, fresh, mending)
            filled = self._filled([sources[number] for number in numbers], parts, rest)
            for number, layout in zip(numbers, filled, strict=True):
                tried[number] = layout
            short, fresh = self.foam(rest), None
            if short <= missing + slack * self.rng.random() ** 3:
                layouts, left, missing = tried, rest, short
            if missing < lowest:
                lowest, kept, rounds = missing, (layouts, left), patience
        layouts, left = kept
        return [self.job.opened(source, layout) for source, layout in zip(sources, layouts, strict=True)], left

    def _some_parts(
        self, sources: list[Source], layouts: list[Layout], fresh: list[int] | None, mending: float
    ) -> tuple[list[int], list[Part]]:
        """Choose some pieces, or a part of some; return their numbers and the parts."""
        rng, mends = self.rng, not fresh and self.rng.random() < mending
        if not fresh:
            most = rng.randint(1, MOST_MENDED if mends else MOST_AGAIN)
            fresh = rng.sample(range(len(layouts)), min(most, rng.randint(1, len(layouts))))
        if mends:
            return fresh, [any_part(layouts[number], sources[number], rng) for number in fresh]
        return fresh, [whole(layouts[number], sources[number]) for number in fresh]

    def _filled(self, sources: list[Source], parts: list[Part], left: Counter[int]) -> list[Layout]:
        """Fill parts again, with their own blanks and those in `left`, which becomes what finds no place."""
        self.budget.used += 1
        for part in parts:
            left.update(part.gives())
        filler = Filler(self.grounds, left, self.taste(), self.budget.late)
        return [
            part.put_back(filler.fill(source, part.box, part.above(source, self.job.limits)))
            for source, part in zip(sources, parts, strict=True)
        ]  # fmt: skip

    def mended(self, plan: list[Opened]) -> list[Opened] | None:
        """Return a plan with a part of one to three pieces filled again, or None where a blank found no place."""
        apart = self.rng.sample(plan, min(self.rng.randint(1, MOST_MENDED), len(plan)))
        parts = [any_part(piece.layout, piece.source, self.rng) for piece in apart]
        left: Counter[int] = Counter()
        layouts = self._filled([piece.source for piece in apart], parts, left)
        if +left:
            return None
        again = [self.job.opened(piece.source, layout) for piece, layout in zip(apart, layouts, strict=True)]
        return [piece for piece in plan if piece not in apart] + [piece for piece in again if piece.gives]

    def tidied(self, piece: Opened) -> Opened:
        """Return a piece with its free foam in order, where that is cheaper and the limits of cuts allow it."""
        self.grounds.boxes += piece.cuts // CUTS_A_BOX
        layout = tidied(self.job, piece.layout, piece.source.core)
        if layout is piece.layout:
            return piece
        better = self.job.opened(piece.source, layout)
        if better.cost >= piece.cost or (piece.sound and not (better.sound and self.job.keeps(better))):
            return piece
        self.patterns.add(better)
        return better

    def _candidates(self, left: Counter[int], opened: list[Opened], taste: Taste) -> list[Source]:
        used = Counter(piece.source.name for piece in opened)
        free = [source for source in self.aims.open if source.limit is None or used[source.name] < source.limit]
        sources = [source for source in free if any(self.grounds.holds(source, n) for n in +left)]
        return sources if taste is PLAIN or len(sources) <= TRIED else self.rng.sample(sources, TRIED)

    def taste(self) -> Taste:
        """Return any taste."""
        return Taste(
            noise=self.rng.choice((0.05, 0.2, 0.5)),
            large=self.rng.choice((0.0, 0.2, 0.5)),
            loss=self.rng.choice((0.3, 1.0, 2.0, 6.0)),
            singly=self.rng.random() < 0.5,
        )
