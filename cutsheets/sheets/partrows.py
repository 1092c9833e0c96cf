"""Below the fold, for a part that is no stick: its views in a grid, a row for each kind of piece, its figures.

The views take a wider column than a section: a wing, a mould or a pair of hands has several.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import partial

from cutsheets.drawings.figures import figure_parts, for_the_wire
from cutsheets.drawings.lettering import Parts, length_parts
from cutsheets.drawings.part import view_scene
from cutsheets.drawings.runs import Like, group_sticks, name_marks
from cutsheets.drawings.scene import Scene, fitted
from cutsheets.sheets.furniture import Item, pencil_boxes
from cutsheets.sheets.page import BOLD, MIXED, Pen, Type
from cutsheets.solids import Figure, View, Worked
from cutsheets.units import Unit

VIEW_TEXT = 15.2  # figures of a view: the digits of their fractions and the words come out above 9 pt
GAP = 6.0  # between two views
COLUMNS = {"piece": 0.0, "count": 46.0, "long": 68.0, "part": 134.0}
FIGURE = Type("figures", 16.5, share=0.56)
ROW, BOXES, LINE = 19.0, 15.8, 15.8
HANDS = ("left", "right")
Cell = tuple[float, float, float, float]  # left and upper end in the room of the views, width and height


def draw_views(
    pen: Pen, views: Sequence[View], unit: Unit, *, at: tuple[float, float], room: tuple[float, float]
) -> None:
    """Draw the views of a line in the grid that lets the smallest come out largest."""
    grids = [_grid(views, unit, across, room) for across in range(1, len(views) + 1)]
    best = [max(grid[place][0].scale_for(*grid[place][1][2:]) for grid in grids) for place in range(len(views))]

    def worst(grid: list[tuple[Scene, Cell]]) -> float:
        """Return how large the view comes out that suffers most, against the best that any grid can give it."""
        return min(scene.scale_for(*cell[2:]) / most for (scene, cell), most in zip(grid, best, strict=True))

    for scene, cell in max(grids, key=worst):
        x, y, wide, high = cell
        pen.scene(scene, at[0] + x, at[1] + y, wide, high)


def part_items(worked: Worked, unit: Unit, width: float) -> Iterator[Item]:
    """Yield a row for each kind of piece, then what the wire must know about the part."""
    for like in group_sticks(worked.sticks, by_run=True):
        yield Item(ROW + BOXES, partial(_row, like=like, unit=unit, width=width))
    yield from figure_items((*for_the_wire(worked.part),), unit, width)


def figure_items(figures: tuple[Figure, ...], unit: Unit, width: float) -> Iterator[Item]:
    """Yield figures, a line each, wrapped where they are longer than the column."""
    for figure in figures:
        for parts in figure_parts(figure, unit):
            lines = MIXED.wrapped(parts, width)
            yield Item(LINE * len(lines), partial(_lines, lines=lines, width=width))


def _grid(views: Sequence[View], unit: Unit, across: int, room: tuple[float, float]) -> list[tuple[Scene, Cell]]:
    """Return each view with the cell it stands in, so many views beside each other."""
    down = -(-len(views) // across)
    wide, high = (room[0] - (across - 1) * GAP) / across, (room[1] - (down - 1) * GAP) / down
    return [
        (
            fitted(partial(_view, views[place], unit), wide, high, VIEW_TEXT),
            (place % across * (wide + GAP), place // across * (high + GAP), wide, high),
        )
        for place in range(len(views))
    ]


def _view(view: View, unit: Unit, text: float) -> Scene:
    return view_scene(view, unit, look="cutter", text=text)


def _row(pen: Pen, x: float, y: float, *, like: Like, unit: Unit, width: float) -> None:
    """Draw marks, count, length and name of like pieces, a pencil box for each below."""
    base, stick = y + 14.5, like.stick
    marks = Type("strong", 14.0).fitted((name_marks(like.marks),), COLUMNS["count"] - 4)
    pen.text(x, base, name_marks(like.marks), marks)
    count: Parts = (str(like.qty),)
    pen.text(x + COLUMNS["count"], base, count, Type("figures", 13.0).fitted(count, 24))
    pen.text(x + COLUMNS["long"], base, (*length_parts(stick.long, unit), " long"), FIGURE)
    name = stick.run.upper() if stick.run in HANDS else stick.run
    pen.text(x + COLUMNS["part"], base, name, BOLD.fitted((name,), width - COLUMNS["part"]))
    pencil_boxes(pen, x, y + ROW - 1, like.qty, width=width, size=11.0)
    pen.line(x, y + ROW + BOXES - 2, x + width, y + ROW + BOXES - 2)


def _lines(pen: Pen, x: float, y: float, *, lines: list[Parts], width: float) -> None:
    for number, parts in enumerate(lines):
        pen.text(x, y + 12.0 + number * LINE, parts, MIXED.fitted(parts, width))
