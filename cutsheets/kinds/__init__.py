"""The kinds of line, by name. A new kind: copy the nearest file, add one entry here."""

from cutsheets.kinds.arch import ARCH
from cutsheets.kinds.base import Kind, Line
from cutsheets.kinds.column import COLUMN
from cutsheets.kinds.cutout import CUTOUT
from cutsheets.kinds.mould import MOULD
from cutsheets.kinds.moulding import MOULDING
from cutsheets.kinds.panel import PANEL
from cutsheets.kinds.taper import TAPER
from cutsheets.kinds.turned import TURNED
from cutsheets.kinds.twisted import TWISTED
from cutsheets.kinds.wing import WING

KINDS: dict[str, Kind] = {
    kind.name: kind for kind in (COLUMN, TAPER, TWISTED, MOULDING, TURNED, ARCH, CUTOUT, MOULD, WING, PANEL)
}

__all__ = ["KINDS", "Kind", "Line"]
