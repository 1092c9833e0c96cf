"""The front door of nesting: outlines and faces in, a checked nest out. A faulty nest is never returned."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass, replace

from cutsheets.engines.children import Stop
from cutsheets.nesting.boxes import fits
from cutsheets.nesting.check import NestVerdict
from cutsheets.nesting.faces import Nest, NestInstance
from cutsheets.nesting.search import Found, Search

TELL_EVERY = 1.0  # seconds at least between two nests that are told


@dataclass(frozen=True, slots=True)
class LeftOut:
    """Parts that the nest does not give, and why: `fits-nothing` or `no-face-left`."""

    item: str
    qty: int
    why: str


@dataclass(frozen=True, slots=True)
class NestResult:
    """A checked nest with its figures, beside those of the plain one; what is left out.

    `refused` counts the answers of engines that the checker found wrong: none of them is here.
    """

    nest: Nest
    verdict: NestVerdict
    plain: Nest
    plain_verdict: NestVerdict
    left_out: tuple[LeftOut, ...]
    refused: int = 0


Tell = Callable[[NestResult], None]


def nest(
    instance: NestInstance, *, seconds: float = 10.0, seed: int = 0, stop: Stop | None = None, tell: Tell | None = None,
    in_counters: bool = True,
) -> NestResult:  # fmt: skip
    """Return the best nest found in the time; what has no face is named in `left_out`.

    `stop` is asked ten times a second, `tell` is handed the best nest so far, once a second at most. `in_counters`:
    small parts may lie in the counters of larger ones. The engines work against the clock, so the same seed gives the
    same nest only where both have time to finish.
    """
    began = time.monotonic()
    fitting = tuple(item for item in instance.items if any(fits(item, each) for each in instance.stock))
    nothing = [LeftOut(item.id, item.qty, "fits-nothing") for item in instance.items if item not in fitting]
    told = -TELL_EVERY

    def heard(found: Found) -> None:
        nonlocal told
        now = time.monotonic()
        if tell is not None and now - told >= TELL_EVERY:
            told = now
            tell(result(found))

    def result(found: Found) -> NestResult:
        plain = search.plain
        left_out = [LeftOut(name, qty, "no-face-left") for name, qty in sorted(found.left.items())]
        return NestResult(
            nest=found.nest,
            verdict=found.verdict,
            plain=plain.nest,
            plain_verdict=plain.verdict,
            left_out=(*nothing, *left_out),
            refused=search.refused,
        )

    search = Search(replace(instance, items=fitting), seed, stop or (lambda: False), heard, in_counters, began)
    search.improve(seconds)
    return result(search.best)
