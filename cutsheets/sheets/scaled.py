"""Drawings at a stated scale: one millimetre on the paper is so many of the part, and the sheet says how many."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Callable
from dataclasses import dataclass

from reportlab.lib.units import mm

from cutsheets.drawings.scene import Scene
from cutsheets.sheets.page import Pen

SCALES = (1, 2, 3, 4, 5, 6, 8, 10, 12, 15, 16, 20, 24, 25, 30, 32, 40, 48, 50, 60, 64, 80, 96, 100, 125, 150, 200)


@dataclass(frozen=True, slots=True)
class Scaled:
    """A drawing at 1 : `scale`, 0 where only a drawing out of scale has room; `points` on the paper a millimetre."""

    scene: Scene
    scale: int
    points: float

    @property
    def words(self) -> str:
        """Return the scale as it stands on the sheet."""
        return f"scale 1 : {self.scale}" if self.scale else "not to scale"

    @property
    def size(self) -> tuple[float, float]:
        """Return its width and height on the paper, points."""
        left, low, right, high = self.scene.bounds
        return (right - left) * self.points, (high - low) * self.points


def to_scale(build: Callable[[float], Scene], room: tuple[float, float], size: float, *, above: int = 0) -> Scaled:
    """Return the drawing of `build(text size in mm)` at the largest of SCALES that fits the room, points.

    Its text comes out `size` points. `above`: it is drawn smaller than at this scale. O(log scales) builds.
    """

    def at(scale: int) -> Scaled:
        return Scaled(build(size * scale / mm), scale, mm / scale)

    def fits(scale: int) -> bool:
        return scale > above and all(has <= most for has, most in zip(at(scale).size, room, strict=True))

    place = bisect_left(SCALES, True, key=fits)
    if place < len(SCALES):
        return at(SCALES[place])
    scene = at(SCALES[-1]).scene  # its words alone are larger than the room
    return Scaled(scene, 0, scene.scale_for(*room))


def draw_scaled(pen: Pen, drawing: Scaled, x: float, y: float, room: tuple[float, float]) -> None:
    """Draw at its scale in the middle of a room given by its upper left corner."""
    wide, tall = drawing.size
    pen.scene(drawing.scene, x + (room[0] - wide) / 2, y + (room[1] - tall) / 2, wide, tall)
