"""The pictures of a station's screen."""

from cutsheets.drawings.plan import block_scene
from cutsheets.drawings.profile import profile_scene
from cutsheets.drawings.runs import strip_scene
from cutsheets.drawings.scene import Scene
from cutsheets.errors import CutsheetError
from cutsheets.solids import Box, End, Stick
from orders.lines import work_out
from orders.models import Line, Piece, RunSource


def profile_picture(line: Line) -> Scene | None:
    """Return the section as the wire must leave it, coated edges thick."""
    try:
        return profile_scene(work_out(line), line.order.unit, look="cutter")
    except CutsheetError:
        return None  # the shop's rules changed since the release; the figures of the sheet still hold


def hand_picture(piece: Piece, left: End, right: End) -> Scene:
    """Return the piece from above, wall at the top, face towards the reader; the side of a frame as it lies flat."""
    blank = Box(*(side / 1000 for side in piece.blank.size_um))
    lengths = float(piece.front), float(piece.wall)
    stick = Stick(piece.label, piece.qty, *lengths, left, right, blank, flat=piece.flat)
    return strip_scene([stick], piece.line.order.unit, lengths=False)


def block_picture(source: RunSource) -> Scene | None:
    """Return the block or remnant of a plan in slanting view, with its numbered cuts."""
    if not source.run.plan:
        return None
    from orders.planning import opened_pieces

    opened = next((one for one in opened_pieces(source.run) if one.source == source.piece.tag), None)
    return block_scene(opened) if opened else None
