"""The faces of a plan: the sections that are wired out of each of its big blanks, as the line has them now."""

from __future__ import annotations

from typing import Any

from cutsheets.drawings.part import face_caption, view_scene
from cutsheets.drawings.scene import Scene
from cutsheets.errors import CutsheetError
from cutsheets.planning.gang import face_name
from cutsheets.solids import View
from cutsheets.units import Unit
from orders.lines import shop_figures, work_out
from orders.models import CuttingRun, Line

WIDE, HIGH = 600, 480  # pixels at most
FIGURES = 24  # lines of figures go into the longer side of a face: its numbers come out some 13 pixels high
MOST = 12  # lines whose faces are shown: each is worked out for it


def faces(run: CuttingRun, unit: Unit) -> list[dict[str, Any]]:
    """Return a picture of every different face of the planned blanks that give many pieces, with its line."""
    big = Line.objects.filter(blanks__in=run.figures["blanks"].values(), blanks__gives__gt=1).distinct()
    lines = list(big.select_related("order", "grade", "profile__profile")[:MOST])
    if not lines:
        return []
    shop, found = shop_figures(), []
    for line in lines:
        try:
            views = work_out(line, shop).views
        except CutsheetError:  # the line was changed since; its own page says so
            continue
        found += [picture(line, view, unit) for view in views if view.name.startswith(face_name(""))]
    return found


def picture(line: Line, view: View, unit: Unit) -> dict[str, Any]:
    """Return one face with its line."""
    name, scene, width = face_picture(view, unit)
    return {"line": line, "name": name, "scene": scene, "width": width}


def face_picture(view: View, unit: Unit) -> tuple[str, Scene, int]:
    """Return a face: its words, its drawing, and how many pixels wide that is; a tall one is drawn narrower."""
    text = max(max(side) for side in zip(*view.blank[0], strict=True)) / FIGURES
    scene = view_scene(view, unit, text=text)
    left, bottom, right, top = scene.bounds
    return face_caption(view, unit), scene, round(min(WIDE, HIGH * (right - left) / (top - bottom)))
