"""Sets of foam that are large enough for some blanks by their volume: the cheapest ones of every size."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from cutsheets.planning.layout import Source
from cutsheets.stock import volume

MOST = 142  # per cent of the foam that is needed: sets that are so large get no more foam
KEPT = 2  # sets for each per cent (all found by trial)
Set = tuple[Source, ...]


def cheapest_sets(sources: Sequence[Source], needed: int, used: Mapping[str, int]) -> list[Set]:
    """Return sets of foam with room for `needed` cubic micrometres, small ones first: the cheapest for each per cent.

    `used`: how many pieces of each foam are open already. O(MOST × kinds of foam × copies).
    """
    sizes: dict[int, list[tuple[int, int, Set]]] = {0: [(0, 0, ())]}
    for source in sources:
        room = volume(source.core)
        copies = needed * MOST // (100 * room) + 1
        if source.limit is not None:
            copies = min(copies, source.limit - used.get(source.name, 0))
        for price, filled, foam in [each for row in sizes.values() for each in row]:
            for count in range(1, copies + 1):
                if (filled + (count - 1) * room) * 100 >= needed * MOST:
                    break  # it was large enough without this one
                row = sizes.setdefault((filled + count * room) * 100 // needed, [])
                row.append((price + count * source.price, filled + count * room, foam + (source,) * count))
                row.sort(key=lambda each: (each[0], len(each[2])))
                del row[KEPT:]
    return [foam for size, row in sorted(sizes.items()) if size >= 100 for _, _, foam in row]
