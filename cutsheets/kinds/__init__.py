"""The kinds of line, by name. A new kind: copy the nearest file, add one entry here."""

from cutsheets.kinds.arch import ARCH
from cutsheets.kinds.base import Kind, Line
from cutsheets.kinds.column import COLUMN
from cutsheets.kinds.mould import MOULD
from cutsheets.kinds.moulding import MOULDING
from cutsheets.kinds.panel import PANEL
from cutsheets.kinds.turned import TURNED

KINDS: dict[str, Kind] = {kind.name: kind for kind in (COLUMN, MOULDING, TURNED, ARCH, MOULD, PANEL)}

__all__ = ["KINDS", "Kind", "Line"]
