"""The kinds of line, by name. A new kind: copy the nearest file, add one entry here."""

from cutsheets.kinds.base import Kind, Line
from cutsheets.kinds.moulding import MOULDING
from cutsheets.kinds.panel import PANEL

KINDS: dict[str, Kind] = {kind.name: kind for kind in (MOULDING, PANEL)}

__all__ = ["KINDS", "Kind", "Line"]
