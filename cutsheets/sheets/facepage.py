"""A page of a traveller for the faces of a line: many sections wired out of each big blank, large enough to count.

Foam only, as below the fold of the other pages. A face is at least 3 in wide where its height lets it: two such faces
stand on a page, one that would come out narrower has a page of its own.
"""

from __future__ import annotations

from collections.abc import Sequence

from cutsheets.drawings.part import face_caption, view_scene
from cutsheets.drawings.scene import Scene, fitted
from cutsheets.sheets.furniture import UNIT_WORD, pencil_boxes, stripe
from cutsheets.sheets.page import LEFT, RIGHT, WIDTH, Pen, Type
from cutsheets.sheets.values import TravellerLine
from cutsheets.solids import View, Worked
from cutsheets.units import Unit

TOP = 138.0  # below the header, as the upper half
HEAD = 40.0  # the sign and the grade
CAPTION = 38.0  # its words and its pencil boxes
GAP = 10.0
LEAST_WIDE = 216.0  # 3 in
FIGURES = 15.2  # of a face: the numbers of its sections come out above 10 pt
WORDS = Type("strong", 12.5)


def faces_of(worked: Worked) -> tuple[View, ...]:
    """Return the pictures of a line that show faces with many sections."""
    return tuple(view for view in worked.views if view.numbers)


def blanks_of_face(worked: Worked, view: View) -> int:
    """Return how many blanks have this face."""
    sides = [max(side) for side in zip(*view.blank[0], strict=True)]
    alike = (blank for blank in worked.blanks if [blank.size.w, blank.size.h] == sides)
    return sum(blank.qty for blank in alike if blank.gives == len(view.numbers))


def face_pages(line: TravellerLine, unit: Unit, page_height: float, foot: float) -> list[tuple[View, ...]]:
    """Return the faces of a line, page by page."""
    half = _room(page_height, foot) / 2
    pages: list[tuple[View, ...]] = []
    shared = False  # whether the last page has room for one more
    for view in faces_of(line.worked):
        small = _face_width(view, unit, half) < LEAST_WIDE
        if shared and not small:
            pages[-1] = (*pages[-1], view)
        else:
            pages.append((view,))
        shared = not small and len(pages[-1]) == 1
    return pages


def draw_face_page(pen: Pen, line: TravellerLine, unit: Unit, faces: Sequence[View], *, foot: float) -> None:
    """Draw the faces of a page with what each is and a pencil box for every one to be wired."""
    pen.sign(LEFT, TOP, "CUT", width=84, height=26)
    words = f"Wire these out of each face, {UNIT_WORD[unit]}"
    pen.text(LEFT + 94, TOP + 18, words, Type("strong", 15.0).fitted((words,), 176))
    stripe(pen, LEFT + 276, TOP, line.worked.grade, line.pattern)
    room = _room(pen.height, foot) / len(faces)
    for number, view in enumerate(faces):
        y = TOP + HEAD + number * room
        qty = blanks_of_face(line.worked, view)
        caption = f"{qty} blank{'s' if qty != 1 else ''}. {face_caption(view, unit)}"
        pen.text(LEFT, y + 12, caption, WORDS.fitted((caption,), WIDTH))
        pencil_boxes(pen, LEFT, y + 18, qty, width=WIDTH)
        scene = _fitted(view, unit, room)
        _, low, _, high = scene.bounds
        pen.scene(scene, LEFT, y + CAPTION, WIDTH, (high - low) * scene.scale_for(WIDTH, room - CAPTION - GAP))
        if number:
            pen.line(LEFT, y - 3, RIGHT, y - 3)


def _room(page_height: float, foot: float) -> float:
    return page_height - TOP - HEAD - foot - 8


def _fitted(view: View, unit: Unit, room: float) -> Scene:
    return fitted(lambda text: view_scene(view, unit, text=text), WIDTH, room - CAPTION - GAP, FIGURES)


def _face_width(view: View, unit: Unit, room: float) -> float:
    """Return how wide a face comes out on the paper in this room, its figures beside it."""
    wide = max(x for x, _ in view.blank[0])
    return wide * _fitted(view, unit, room).scale_for(WIDTH, room - CAPTION - GAP)
