"""The pictures of a wing core: from above between its towers, and both ends on top of each other in the blank's end.

For the first hand the root is at the left; the other hand is its mirror image, root at the right, so that the towers
have changed places. A left wing with its root at the left has its leading edge towards the reader, a right wing away.
"""

from __future__ import annotations

from dataclasses import dataclass

from cutsheets.kinds.pictures import Rect, rect_round, rectangle, three_sizes
from cutsheets.solids import Box, Point, Ring, Size, View
from cutsheets.towers import Towers

TOWERS = ("left tower", "right tower")


@dataclass(frozen=True, slots=True)
class Core:
    """Root and tip of one size of a wing, points matched, both in the blank's x (aft) and y (up), mm."""

    span: float
    root: Ring
    tip: Ring

    @property
    def bounds(self) -> Rect:
        """Return the box round both ends: foremost, lowest, rearmost, highest."""
        return rect_round((*self.root, *self.tip))

    @property
    def box(self) -> Box:
        """Return the outer size: span, chordwise, upright."""
        ahead, low, behind, high = self.bounds
        return Box(self.span, behind - ahead, high - low)


@dataclass(frozen=True, slots=True)
class Held:
    """How a core lies on the machine: its blank, what the blank has beyond root, nose and underside, the towers."""

    blank: Box
    trim: float
    ahead: float
    below: float
    towers: Towers


@dataclass(frozen=True, slots=True)
class _Mirror:
    """Turns the sides of a picture about: 1 or -1 for each axis."""

    x: int
    y: int = 1

    def point(self, point: Point) -> Point:
        return point[0] * self.x, point[1] * self.y

    def ring(self, ring: Ring) -> Ring:
        return tuple(map(self.point, ring))

    def rect(self, rect: Rect) -> Rect:
        return rect_round((self.point(rect[:2]), self.point(rect[2:])))


def wing_views(hands: tuple[str, ...], finished: Core, foam: Core, held: Held) -> tuple[View, ...]:
    """Return two pictures for each hand."""
    away = 1 if hands[0] == "left" else -1
    views = []
    for hand, side in zip(hands, (1, -1), strict=False):
        views.append(_from_above(hand, finished, foam, held, _Mirror(side, away)))
        views.append(_from_the_root(hand, finished, foam, held, _Mirror(-side * away)))
    return tuple(views)


def _from_above(hand: str, finished: Core, foam: Core, held: Held, mirror: _Mirror) -> View:
    """Return the planform: along the span, and from nose to tail."""
    inner, outer = foam.bounds, finished.bounds
    front = inner[0] - held.ahead
    blank = (-held.trim, front, held.blank.l - held.trim, front + held.blank.w)
    ends = [(0.0, rect_round(foam.root)), (foam.span, rect_round(foam.tip))]
    near = -held.towers.offset
    stands = [(at, blank[1], blank[3]) for at in (near, near + held.towers.gap)]
    (root_nose, root_tail), (tip_nose, tip_tail) = ((end[0], end[2]) for _, end in ends)
    middle = (root_nose + tip_nose + root_tail + tip_tail) / 4
    labels = [
        ((foam.span / 2, middle), f"{hand} wing"),
        ((foam.span / 10, (root_nose + root_tail) / 2), "root"),
        ((foam.span * 0.9, (tip_nose + tip_tail) / 2), "tip"),
        ((foam.span / 2, (root_nose + tip_nose) / 2), "leading edge"),
        *((stand[::2], name) for stand, name in zip(stands, TOWERS[:: mirror.x], strict=True)),
    ]
    return View(
        f"{hand} wing from above",
        foam=(mirror.ring(_plan(foam)),), finished=(mirror.ring(_plan(finished)),),
        blank=(rectangle(mirror.rect(blank)),),
        lines=tuple(mirror.ring(((at, low), (at, high))) for at, low, high in stands),
        sizes=(
            *three_sizes(
                mirror.rect((0.0, inner[0], foam.span, inner[2])),
                mirror.rect((0.0, outer[0], foam.span, outer[2])), mirror.rect(blank),
            ),
            *(Size(mirror.point((at, end[0])), mirror.point((at, end[2])), "foam", 0.0) for at, end in ends),
        ),
        labels=tuple((mirror.point(at), words) for at, words in labels),
    )  # fmt: skip


def _from_the_root(hand: str, finished: Core, foam: Core, held: Held, mirror: _Mirror) -> View:
    """Return the root's foam in the end of the blank, the tip's dashed upon it."""
    inner = foam.bounds
    ahead, below = inner[0] - held.ahead, inner[1] - held.below
    blank = mirror.rect((ahead, below, ahead + held.blank.w, below + held.blank.h))
    return View(
        f"{hand} wing from the root's end",
        foam=(mirror.ring(foam.root),), finished=(mirror.ring(finished.root),), blank=(rectangle(blank),),
        lines=(mirror.ring((*foam.tip, foam.tip[0])),),
        sizes=three_sizes(mirror.rect(inner), mirror.rect(finished.bounds), blank),
        labels=((mirror.point((ahead, min(foam.root)[1])), "leading edge"),),
    )  # fmt: skip


def _plan(core: Core) -> Ring:
    """Return the outline from above."""
    root, tip = rect_round(core.root), rect_round(core.tip)
    return (0.0, root[0]), (core.span, tip[0]), (core.span, tip[2]), (0.0, root[2])
