"""Members stacked freely from the bottom up: a moulding on a wall, or a turned part about its axis.

Each member starts at the projection where the last one ended. Heights add up to the height of the whole, steps to its
projection. The stack is closed level at top and bottom, to the wall or the axis at x = 0.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from itertools import pairwise
from typing import Any

from cutsheets.errors import CutsheetError
from cutsheets.families.arcs import turn
from cutsheets.families.base import Family, Member, length, read_values, write_points
from cutsheets.families.members import MEMBERS
from cutsheets.records import items
from cutsheets.sections import SAME
from cutsheets.solids import Point
from cutsheets.units import Unit

MOST_MEMBERS = 24
FEATHER = 10.0  # degrees of foam at an edge: thinner crumbles under the wire and the coat (common practice, no source)
STRAIGHT = 1e-6  # degrees

Placed = tuple[Point, int]  # a point, and the number of the member that it belongs to


def build_section(raw: Mapping[str, Any], unit: Unit) -> dict[str, Any]:
    """Return the section of a stack on a wall; raises CutsheetError with the member's place."""
    start = read_values(FIELDS, raw, unit, ("family", "members"))["base"]
    ring = closed(stack(raw.get("members"), MEMBERS, start, unit))
    refuse_edges(ring)
    return {"section": write_points((point for point, _ in ring), unit), "bare": "wall"}


def stack(raw: Any, members: Sequence[Member], start: float, unit: Unit) -> list[Placed]:
    """Return the points of a stack from (start, 0) to its top, mm, each with the number of its member.

    Raises CutsheetError: `family-member`, `family-wall` (back to or behind x = 0), `family-no-height`, and what a
    member refuses.
    """
    known = {member.name: member for member in members}
    placed: list[Placed] = [((start, 0.0), 0)]
    for i, row in enumerate(items(raw if raw is not None else [], "members", least=1, most=MOST_MEMBERS)):
        (x, y), _ = placed[-1]
        try:
            drawn = _draw(row, known, x, unit)
        except CutsheetError as error:
            raise error.at(f"members[{i}]") from None
        placed += [((px, y + py), i) for px, py in drawn[1:]]
    placed = _apart(placed)
    for (x, _), i in placed[1:-1]:
        if x < SAME:
            raise _behind(i)
    (x, top), i = placed[-1]
    if x < -SAME:
        raise _behind(i)
    if top < SAME:
        raise CutsheetError("family-no-height", "Nothing here has a height; add a fillet or another member.", "members")
    return placed


def closed(placed: Sequence[Placed]) -> list[Placed]:
    """Return a stack closed to x = 0 at its bottom and its top, without the points that lie on a straight edge."""
    (_, top), last = placed[-1]
    ring = _apart([((0.0, 0.0), 0), *placed, ((0.0, top), last)])
    return [three[1] for three in _corners(ring) if abs(_turn(*three)) > STRAIGHT]


def refuse_edges(ring: Sequence[Placed], *, about_axis: bool = False) -> None:
    """Refuse a corner that no wire leaves: a feather edge of foam, or a face that lies on the one before it.

    `ring` is counter-clockwise. On the axis of a turned part (x = 0) the foam is twice the angle that is drawn.
    Raises CutsheetError `family-feather` or `family-folded`.
    """
    for before, corner, after in _corners(ring):
        left = _turn(before, corner, after)
        foam = (180 - left) * (2 if about_axis and corner[0][0] < SAME else 1)
        if left < -179.9:
            raise CutsheetError(
                "family-folded",
                "This member turns straight back on the one before it; join the two.",
                f"members[{after[1]}]",
            )
        if foam < FEATHER:
            raise CutsheetError(
                "family-feather",
                "This member runs out to a feather edge; set a fillet beside it, or turn it the other way.",
                f"members[{corner[1]}]",
            )


def _draw(row: Any, known: Mapping[str, Member], start: float, unit: Unit) -> Sequence[Point]:
    name = row.get("member") if isinstance(row, Mapping) else None
    if not isinstance(name, str) or name not in known:
        raise CutsheetError("family-member", f"A member is one of: {', '.join(known)}.", "member")
    member = known[name]
    return member.draw(read_values(member.fields, row, unit, ("member",)), start)


def _apart(placed: Sequence[Placed]) -> list[Placed]:
    """Return the points without those that repeat the one before."""
    return [placed[0], *(after for before, after in pairwise(placed) if math.dist(before[0], after[0]) >= SAME)]


def _corners(ring: Sequence[Placed]) -> Iterator[tuple[Placed, Placed, Placed]]:
    for i, corner in enumerate(ring):
        yield ring[i - 1], corner, ring[(i + 1) % len(ring)]


def _turn(before: Placed, corner: Placed, after: Placed) -> float:
    return turn(before[0], corner[0], after[0])


def _behind(member: int) -> CutsheetError:
    return CutsheetError(
        "family-wall",
        "This member goes back to the wall or the axis, or behind it; step in by less, or start further out.",
        f"members[{member}]",
    )


FIELDS = (length("base", "projection at the bottom", "1 in", "where the first member starts", zero_ok=True),)

STACKED = Family("stacked", "stacked members", "section", FIELDS, build_section, MEMBERS)
