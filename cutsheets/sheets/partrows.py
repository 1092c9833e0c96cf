"""Below the fold, for a part that is no stick: its views in a grid, a row for each kind of piece, its figures.

The views take a wider column than a section: a wing, a mould or a pair of hands has several, and where they would come
out too small together they are spread over the pages of the line.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from functools import lru_cache, partial

from cutsheets.drawings.figures import figure_parts, for_the_wire
from cutsheets.drawings.lettering import Parts, length_parts
from cutsheets.drawings.part import stations, view_scene
from cutsheets.drawings.runs import Like, group_sticks, name_marks
from cutsheets.drawings.scene import Scene
from cutsheets.sheets.furniture import Item, pencil_boxes, with_marks_above
from cutsheets.sheets.page import BOLD, LEAST, MARKS, MIXED, NOTE, Pen, Type
from cutsheets.sheets.scaled import Scaled, draw_scaled, to_scale
from cutsheets.solids import Figure, View, Worked
from cutsheets.units import Unit

VIEW_TEXT = 15.2  # figures of a view: the digits of their fractions and the words come out above 9 pt
SUFFERS = 0.33  # of its size alone on a page: a view that came out smaller has a page of its own
LONG_SCALE = "scale 1 : 100"
GAP, NAME = 6.0, 13.0  # between two views, and below each for its name
COLUMNS = {"piece": 0.0, "count": 46.0, "long": 68.0, "part": 134.0}
MARK = 84.0  # room for marks, whatever else stands in the row
FIGURE = Type("figures", 16.5, share=0.56)
ROW, BOXES = 19.0, 15.8
LINE = 17.2  # fractions of two lines stay apart
HANDS = ("left", "right")


def view_pages(views: Sequence[View], unit: Unit, room: tuple[float, float]) -> list[tuple[View, ...]]:
    """Return views page by page: all on one if none suffers, else a hand or a single one a page."""
    alone = [to_scale(partial(_view, view, unit), room, VIEW_TEXT).points for view in views]
    for count in (len(views), max(1, len(views) // 2)):
        pages = [tuple(views[first : first + count]) for first in range(0, len(views), count)]
        drawn = [drawing for page in pages for drawing in _best_grid(page, unit, room)[0]]
        if all(each.scale and each.points >= SUFFERS * most for each, most in zip(drawn, alone, strict=True)):
            return pages
    return [(view,) for view in views]


def sizes_of(views: Sequence[View], unit: Unit, room: tuple[float, float]) -> list[float]:
    """Return how large views come out together, points a millimetre; 0 for what is not to scale."""
    return [drawing.points * bool(drawing.scale) for drawing in _best_grid(views, unit, room)[0]]


def draw_views(
    pen: Pen, views: Sequence[View], unit: Unit, *, at: tuple[float, float], room: tuple[float, float]
) -> None:
    """Draw views, each with its name and scale below."""
    drawings, across = _best_grid(views, unit, room)
    heights = _heights(drawings, across)
    wide = _cell(room[0], across)
    for place, (view, drawing) in enumerate(zip(views, drawings, strict=True)):
        row, column = divmod(place, across)
        x, y = at[0] + column * (wide + GAP), at[1] + sum(heights[:row]) + row * NAME
        draw_scaled(pen, drawing, x, y, (wide, heights[row]))
        said = f"{view.name}, {drawing.words}"
        pen.label(x + wide / 2, y + heights[row] + NAME - 3, said, NOTE, width=wide, anchor="middle")


def part_items(worked: Worked, unit: Unit, width: float) -> Iterator[Item]:
    """Yield a row for each kind of piece, then what the wire must know about the part."""
    yield from part_rows(worked, unit, width)
    yield from station_items(worked.views, unit, width)
    yield from figure_items((*for_the_wire(worked.part),), unit, width)


def part_rows(worked: Worked, unit: Unit, width: float) -> Iterator[Item]:
    """Yield a row for each kind of piece."""
    for like in group_sticks(worked.sticks, by_run=True):
        marks = name_marks(like.marks)
        above = replace(MARKS, size=LEAST).width((marks,)) > MARK
        row = Item(ROW + BOXES, partial(_row, like=like, marks="" if above else marks, unit=unit, width=width))
        yield with_marks_above(marks, width, row) if above else row


def figure_items(figures: tuple[Figure, ...], unit: Unit, width: float) -> Iterator[Item]:
    """Yield figures, a line each, wrapped where they are longer than the column; a row of several stays together."""
    for figure in figures:
        for one in _row_by_row(figure):
            lines = [line for parts in figure_parts(one, unit) for line in MIXED.wrapped(parts, width)]
            yield Item(LINE * len(lines), partial(_lines, lines=lines, width=width))


def _row_by_row(figure: Figure) -> list[Figure]:
    return [replace(figure, value=(row,)) for row in figure.value] if figure.of == "rows" else [figure]


def _best_grid(views: Sequence[View], unit: Unit, room: tuple[float, float]) -> tuple[list[Scaled], int]:
    """Return views in the grid that lets the smallest come out largest, and how many stand beside each other.

    No column is narrower than the name of a view.
    """
    longest = max(NOTE.width((f"{view.name}, {LONG_SCALE}",)) for view in views)
    most = max([1, *(across for across in range(2, len(views) + 1) if _cell(room[0], across) >= longest)])
    grids = [_grid(views, unit, across, room) for across in range(1, most + 1)]
    best = [max(grid[place].points for grid in grids) for place in range(len(views))]

    def worst(grid: list[Scaled]) -> float:
        """Return how large the view comes out that suffers most, against the best that any grid can give it."""
        return min(bool(each.scale) * each.points / most for each, most in zip(grid, best, strict=True))

    chosen = max(grids, key=worst)
    return chosen, grids.index(chosen) + 1


def station_items(views: Sequence[View], unit: Unit, width: float) -> Iterator[Item]:
    """Yield where a turned part is measured, from the base up: "a  5 1/8 up, 6 5/8 across"."""
    for view in views:
        base = min(y for ring in view.foam for _, y in ring)
        for letter, one in stations(view):
            up, across = length_parts(one.a[1] - base, unit), length_parts(abs(one.b[0] - one.a[0]), unit)
            parts = (f"{letter}  ", *up, " up, ", *across, " across")
            yield Item(LINE, partial(_lines, lines=[parts], width=width))


def _grid(views: Sequence[View], unit: Unit, across: int, room: tuple[float, float]) -> list[Scaled]:
    """Return the views as large as they come out with so many beside each other: what is too high is drawn smaller."""
    wide = _cell(room[0], across)
    high = room[1] - -(-len(views) // across) * NAME
    builds = [partial(_view, view, unit) for view in views]
    grid = [to_scale(build, (wide, high), VIEW_TEXT) for build in builds]
    while sum(_heights(grid, across)) > high:
        tallest = max(range(len(grid)), key=lambda place: grid[place].size[1])
        if not grid[tallest].scale:
            return [to_scale(build, (wide, high / -(-len(views) // across)), VIEW_TEXT) for build in builds]
        grid[tallest] = to_scale(builds[tallest], (wide, high), VIEW_TEXT, above=grid[tallest].scale)
    return grid


def _heights(grid: Sequence[Scaled], across: int) -> list[float]:
    """Return the height of each row of a grid."""
    return [max(each.size[1] for each in grid[first : first + across]) for first in range(0, len(grid), across)]


def _cell(width: float, across: int) -> float:
    return (width - (across - 1) * GAP) / across


@lru_cache(maxsize=128)  # every grid tries the same few scales
def _view(view: View, unit: Unit, text: float) -> Scene:
    return view_scene(view, unit, look="cutter", text=text)


def _row(  # noqa: PLR0913 - a row is what it is
    pen: Pen, x: float, y: float, *, like: Like, marks: str, unit: Unit, width: float
) -> None:
    """Draw marks, count, length and name of like pieces, each moved on by a longer one before; below, a box a piece."""
    base, stick = y + 14.5, like.stick
    count = (str(like.qty),)
    end = pen.label(x, base, marks, MARKS.fitted((marks,), COLUMNS["count"] - 4), width=MARK)
    for column, parts, kind in (
        ("count", count, Type("figures", 13.0).fitted(count, 24)),
        ("long", (*length_parts(stick.long, unit), " long"), FIGURE),
    ):
        left = max(COLUMNS[column], end + GAP)
        end = left + pen.text(x + left, base, parts, kind)
    name = stick.run.upper() if stick.run in HANDS else stick.run
    left = max(COLUMNS["part"], end + GAP)
    pen.label(x + left, base, name, BOLD, width=width - left)
    pencil_boxes(pen, x, y + ROW + 0.5, like.qty, width=width, size=11.0)
    pen.line(x, y + ROW + BOXES - 2, x + width, y + ROW + BOXES - 2)


def _lines(pen: Pen, x: float, y: float, *, lines: list[Parts], width: float) -> None:
    for number, parts in enumerate(lines):
        pen.text(x, y + 12.0 + number * LINE, parts, MIXED.fitted(parts, width))
