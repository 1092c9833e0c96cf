"""Foam one blank high: what blanks from one slab can be worth at most, cut edge to edge, as many of each as like.

Exact dynamic programme (Gilmore and Gomory, Operations Research 14 (1966) 1045-1074) over normal patterns: a cut need
only stand where a row of blanks ends (Herz; Beasley, J. Opl Res. Soc. 36 (1985) 297-306).
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Sequence

import numpy as np
from numpy.typing import NDArray

MOST_SUMS = 400  # of sides along one axis: some tenths of a second
Item = tuple[int, int, float]  # long, wide, worth


def best_worth(long: int, wide: int, items: Sequence[Item], most: int = MOST_SUMS) -> float | None:
    """Return the greatest worth of items cut from a slab, none turned; None where more than `most` sums of sides fit.

    O(sums along² × sums across + sums along × sums across²).

    >>> best_worth(40, 40, [(24, 16, 1.0), (16, 24, 1.0)])  # four of them lie round a core, but no saw gets them out
    3.0
    """
    along, across = _sums([item[0] for item in items], long, most), _sums([item[1] for item in items], wide, most)
    if along is None or across is None:
        return None
    best = np.zeros((len(along), len(across)))
    for a, b, worth in items:
        room = best[bisect_left(along, a) :, bisect_left(across, b) :]
        np.maximum(room, worth, out=room)
    first_across = [_parts(across, n) for n in range(len(across))]
    for n, row in enumerate(best):
        for first, rest in zip(*_parts(along, n), strict=True):
            np.maximum(row, best[first] + best[rest], out=row)
        for m, (firsts, rests) in enumerate(first_across):
            if firsts.size:
                row[m] = max(row[m], (row[firsts] + row[rests]).max())
    return float(best[-1, -1])


def _sums(sides: Iterable[int], longest: int, most: int) -> list[int] | None:
    """Return every length that a row of sides can have, 0 first, or None where there are more than `most`."""
    sums = {0}
    for side in sorted(set(sides)):
        front = sums
        while front:
            front = {length + side for length in front if length + side <= longest} - sums
            sums = sums | front
            if len(sums) > most:
                return None
    return sorted(sums)


def _parts(sums: list[int], n: int) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Return where the sums below half of one stand, and for each the largest sum that is left beside it."""
    firsts = range(1, bisect_right(sums, sums[n] // 2))
    rests = [bisect_right(sums, sums[n] - sums[first]) - 1 for first in firsts]
    return np.array(firsts, dtype=np.int64), np.array(rests, dtype=np.int64)
