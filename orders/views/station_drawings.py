"""The pictures of a station's screen."""

from cutsheets.drawings.figures import for_the_wire
from cutsheets.drawings.part import part_scenes, view_scene
from cutsheets.drawings.plan import block_scene
from cutsheets.drawings.runs import strip_scene
from cutsheets.drawings.scene import Scene
from cutsheets.errors import CutsheetError
from cutsheets.figures import figure_words
from cutsheets.planning.gang import face_name
from cutsheets.solids import Box, End, Stick, Worked
from orders.lines import work_out
from orders.models import Line, Piece, RunSource
from orders.next_cuts import opened_as_planned

PART_TEXT = 7  # the figures of a part that shares the screen with its face: a share of its longer side


def worked_line(line: Line) -> Worked | None:
    """Return a line worked out; None where the shop's rules changed since the release and it no longer can be."""
    try:
        return work_out(line)
    except CutsheetError:
        return None  # the figures of the sheet still hold


def foam_pictures(worked: Worked, unit: str, part: str, gives: int = 1) -> list[Scene]:
    """Return the foam as the wire must leave it, coated edges thick: the views that name this part of the piece.

    Where none does it is the first; of a sprung moulding both, as it hangs and as it lies on the machine. Of a blank
    that gives many pieces its face comes beside them.
    """
    scenes = part_scenes(worked, unit, look="cutter")
    if gives > 1:
        return _beside_its_face(worked, unit, gives)
    named = {name: sum(word in name for word in part.split()) for name, _ in scenes}
    most = max(named.values())
    if not most:
        return [scene for _, scene in (scenes if worked.sprung else scenes[:1])]
    return [scene for name, scene in scenes if named[name] == most]


def _beside_its_face(worked: Worked, unit: str, gives: int) -> list[Scene]:
    """Return the part with figures that can be read beside its face, then the face."""
    faces = [view for view in worked.views if view.name == face_name(gives)]
    parts = [view for view in worked.views if not view.name.startswith(face_name(""))]
    size = max(worked.foam.width, worked.foam.height) / PART_TEXT
    return [view_scene(view, unit, look="cutter", text=size) for view in parts] + [
        view_scene(view, unit, look="cutter") for view in faces
    ]


def wire_figures(worked: Worked, unit: str) -> list[str]:
    """Return what the wire must know about a part, a line each: “bevel 22.5°”."""
    figures = (*for_the_wire(worked.part), *worked.sprung)
    return [words for figure in figures for words in figure_words(figure, unit)]


def hand_picture(piece: Piece, left: End, right: End) -> Scene:
    """Return the piece from above, wall at the top, face towards the reader; the side of a frame as it lies flat."""
    blank = Box(*(side / 1000 for side in piece.blank.size_um))
    lengths = float(piece.front), float(piece.wall)
    stick = Stick(piece.label, piece.qty, *lengths, left, right, blank, flat=piece.flat)
    return strip_scene([stick], piece.line.order.unit, lengths=False)


def block_picture(source: RunSource) -> Scene | None:
    """Return the block or remnant of a plan in slanting view, with its numbered cuts."""
    opened = opened_as_planned(source)
    return block_scene(opened) if opened else None
