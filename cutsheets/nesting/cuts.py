"""The cuts of a nest, face by face, in their order, with the lead-in cuts that some of them need."""

from __future__ import annotations

from dataclasses import dataclass

from cutsheets.nesting.faces import Nest, NestInstance, placed
from cutsheets.nesting.order import cut_order
from cutsheets.solids import Point


@dataclass(frozen=True, slots=True)
class NestCut:
    """One closed cut: the number of its placement, its ring (0: outer edge, 1 …: counters), and its lead-in cut.

    `lead` goes through foam, from where the wire is to the ring; None where the wire is there already.
    """

    placement: int
    ring: int
    lead: tuple[Point, Point] | None


def nest_cuts(instance: NestInstance, nest: Nest) -> tuple[NestCut, ...]:
    """Return every cut of a nest once, in the order of cutting, the first face first."""
    items = {item.id: item for item in instance.items}
    found: list[NestCut] = []
    for number, face in enumerate(nest.faces):
        lying = [n for n, placement in enumerate(nest.placements) if placement.face == number]
        parts = [placed(items[nest.placements[n].item], nest.placements[n]) for n in lying]
        found += [NestCut(lying[cut.part], cut.ring, cut.lead) for cut in cut_order(parts, face.room, instance.kerf)]
    return tuple(found)
