"""From the lines of a drawing to closed outlines, with every trouble named and placed."""

from cutsheets.tracing.drawn import Drawn, Trouble
from cutsheets.tracing.loops import trace
from cutsheets.tracing.uses import as_half_profile, as_outlines, as_section

__all__ = ["Drawn", "Trouble", "as_half_profile", "as_outlines", "as_section", "trace"]
