"""The pictures of a wing core: from above between its towers, and both ends on top of each other in the blank's end.

For the first hand the root is at the left; the other hand is its mirror image, root at the right, so that the towers
have changed places. A left wing with its root at the left has its leading edge towards the reader, a right wing away.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

from shapely import LinearRing

from cutsheets.kinds.pictures import Rect, rect_round, rectangle, three_sizes
from cutsheets.solids import Box, Point, Ring, Size, Sized, View
from cutsheets.towers import Towers

TOWERS = ("left tower", "right tower")
SEEN = 0.05  # mm: no picture shows what lies nearer to its line
APART = 1.6  # rows of figures between upright dimensions, whose figures lie across


@dataclass(frozen=True)
class Core:
    """Root and tip of one size of a wing, points matched, both in the blank's x (aft) and y (up), mm."""

    span: float
    root: Ring
    tip: Ring

    @cached_property
    def ends(self) -> tuple[Rect, Rect]:
        """Return the boxes round root and tip: foremost, lowest, rearmost, highest."""
        return rect_round(self.root), rect_round(self.tip)

    @property
    def bounds(self) -> Rect:
        """Return the box round both ends."""
        root, tip = self.ends
        return rect_round((root[:2], root[2:], tip[:2], tip[2:]))

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
    front = foam.bounds[0] - held.ahead
    blank = (-held.trim, front, held.blank.l - held.trim, front + held.blank.w)
    near = -held.towers.offset
    stands = [(at, blank[1], blank[3]) for at in (near, near + held.towers.gap)]
    nose, tail = ((foam.ends[0][i] + foam.ends[1][i]) / 2 for i in (0, 2))
    labels = [
        ((foam.span / 2, nose + 0.75 * (tail - nose)), f"{hand} wing"),
        ((foam.span / 2, nose + 0.25 * (tail - nose)), "leading edge"),
        *(
            (stand[::2], f"{end}, {name}")
            for stand, end, name in zip(stands, ("root", "tip"), TOWERS[:: mirror.x], strict=True)
        ),
    ]
    return View(
        f"{hand} wing from above",
        foam=(mirror.ring(_plan(foam)),), finished=(mirror.ring(_plan(finished)),),
        blank=(rectangle(mirror.rect(blank)),),
        lines=tuple(mirror.ring(((at, low), (at, high))) for at, low, high in stands),
        sizes=tuple(_plan_sizes(finished, foam, blank, mirror)),
        labels=tuple((mirror.point(at), words) for at, words in labels),
    )  # fmt: skip


def _plan_sizes(finished: Core, foam: Core, blank: Rect, mirror: _Mirror) -> Iterator[Size]:
    """Yield the span below; chords and the width of the blank beside root and tip, foam first."""
    left, low, right, _ = mirror.rect(blank)
    start, _, end, _ = mirror.rect((0.0, 0.0, foam.span, 0.0))
    yield Size((start, low), (end, low), "foam", -1.0)
    yield Size((left, low), (right, low), "blank", -2.0)
    cores: list[tuple[Core, Sized]] = [(foam, "foam"), (finished, "finished")]
    for row, (core, of) in enumerate(cores if finished != foam else cores[:1]):
        yield _beside(blank[0], core.ends[0], of, row, mirror)
        yield _beside(blank[2], core.ends[1], of, row, mirror)
    yield _beside(blank[2], (blank[1], 0.0, blank[3], 0.0), "blank", len(cores), mirror)


def _beside(at: float, section: Rect, of: Sized, row: int, mirror: _Mirror) -> Size:
    """Return a chordwise dimension outside the blank, at its root's edge or, where `at` is beyond 0, at its tip's."""
    x, low, _, high = mirror.rect((at, section[0], at, section[2]))
    outwards = mirror.x if at <= 0 else -mirror.x
    return Size((x, low), (x, high), of, outwards * (1 + APART * row))


def _from_the_root(hand: str, finished: Core, foam: Core, held: Held, mirror: _Mirror) -> View:
    """Return the root's foam in the end of the blank, the tip's dashed upon it."""
    ahead, below = foam.bounds[0] - held.ahead, foam.bounds[1] - held.below
    blank = mirror.rect((ahead, below, ahead + held.blank.w, below + held.blank.h))
    return View(
        f"{hand} wing from the root's end, tip dashed",
        foam=(_drawn(foam.root, mirror),), finished=(_drawn(finished.root, mirror),), blank=(rectangle(blank),),
        lines=((*(tip := _drawn(foam.tip, mirror)), tip[0]),),
        sizes=three_sizes(mirror.rect(foam.bounds), mirror.rect(finished.bounds), blank),
    )  # fmt: skip


def _plan(core: Core) -> Ring:
    """Return the outline from above."""
    root, tip = core.ends
    return (0.0, root[0]), (core.span, tip[0]), (core.span, tip[2]), (0.0, root[2])


def _drawn(section: Ring, mirror: _Mirror) -> Ring:
    """Return a section with the points that a picture needs: six hundred would be most of its page."""
    seen = LinearRing(section).simplify(SEEN).coords[:-1]
    return mirror.ring(tuple((x, y) for x, y, *_ in seen))
