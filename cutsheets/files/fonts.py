"""The fonts that a job file may name on the command line: those of the project, and files beside it."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

from cutsheets.errors import CutsheetError
from cutsheets.letters import LARGEST_FONT, SHIPPED, shipped_font


def fonts_beside(path: str) -> Callable[[str], bytes]:
    """Return the function that gives the file of a font by its name; it raises CutsheetError `font`.

    A job file comes from elsewhere, so it may name nothing in any other folder than its own.
    """
    folder = Path(path).parent

    def read(name: str) -> bytes:
        if name in SHIPPED:
            return shipped_font(name)
        if not re.fullmatch(r"[^/\\:.][^/\\:]*\.(ttf|otf)", name, re.IGNORECASE):
            raise CutsheetError("font", "Write the plain name of a TTF or OTF file beside the job file.", "font")
        try:
            with (folder / name).open("rb") as file:
                return file.read(LARGEST_FONT + 1)
        except (OSError, ValueError) as error:
            raise CutsheetError(
                "font", f"There is no “{name}” beside the job file; always here are {', '.join(SHIPPED)}.", "font"
            ) from error

    return read
