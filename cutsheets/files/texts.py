"""Reading and writing whole files for the command line, with refusals instead of tracebacks."""

from __future__ import annotations

import os
import sys
from pathlib import Path

from cutsheets.errors import CutsheetError


def read_text(path: str) -> str:
    """Return the text of a UTF-8 file; raises CutsheetError `file` or `not-utf-8`."""
    try:
        return Path(path).read_text(encoding="utf-8-sig")  # Windows editors put a mark first
    except UnicodeDecodeError as error:
        raise CutsheetError("not-utf-8", f"“{path}” is not UTF-8 text; save it as UTF-8.") from error
    except (OSError, ValueError) as error:
        reason = error.strerror if isinstance(error, OSError) and error.strerror else "not a file name"
        raise CutsheetError("file", f"“{path}” cannot be read ({reason}); check the name.") from error


def write_text(text: str, path: str | None) -> None:
    """Write a text as UTF-8 to a file, or to standard output where there is none; raises CutsheetError `file`."""
    try:
        if path is None:
            sys.stdout.flush()
            sys.stdout.buffer.write(text.encode())
            sys.stdout.buffer.flush()
        else:
            Path(path).write_text(text, encoding="utf-8")
    except (OSError, ValueError) as error:
        if path is None:  # or Python tries again when it ends, and complains in its own words
            os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        reason = error.strerror if isinstance(error, OSError) and error.strerror else "not a file name"
        place = "Standard output" if path is None else f"“{path}”"
        raise CutsheetError("file", f"{place} cannot be written ({reason}); choose another place.") from error
