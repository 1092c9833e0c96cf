"""Reading and writing whole files for the command line, with refusals instead of tracebacks."""

from __future__ import annotations

import os
import shutil
import sys
from collections.abc import Iterator
from contextlib import contextmanager
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


def try_to_write(path: str) -> None:
    """Raise CutsheetError `file` where `write_text` could not write now; no file is changed or left behind."""
    with _refused(f"“{path}”"):
        target = _target(path)
        if _is_special(target):
            return
        if target.exists():
            target.open("ab").close()
        with _beside(target) as fresh:
            fresh.touch()


def write_text(text: str, path: str | None) -> None:
    """Write a text as UTF-8 to a file, or to standard output where there is none; raises CutsheetError `file`.

    A file is written beside its place and then put there: whatever happens, it holds the old text or all of the new.
    """
    if path is None:
        _write_out(text)
        return
    with _refused(f"“{path}”"):
        target = _target(path)
        if _is_special(target):
            target.write_text(text, encoding="utf-8")
            return
        with _beside(target) as fresh:
            fresh.write_text(text, encoding="utf-8")
            if target.exists():
                shutil.copymode(target, fresh)
            fresh.replace(target)


def _write_out(text: str) -> None:
    with _refused("Standard output"):
        try:
            sys.stdout.flush()
            sys.stdout.buffer.write(text.encode())
            sys.stdout.buffer.flush()
        except OSError:  # or Python tries again when it ends, and complains in its own words
            os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
            raise


def _target(path: str) -> Path:
    """Return the file that is meant, where a link leads to it."""
    return Path(os.path.realpath(path))


def _is_special(target: Path) -> bool:
    """Return whether this is a device or a pipe, beside which nothing can be written."""
    return target.exists() and not target.is_file() and not target.is_dir()


@contextmanager
def _beside(target: Path) -> Iterator[Path]:
    """Yield a file for a while, on the same disk as another one."""
    fresh = target.with_name(f".cutsheets-{os.getpid()}.tmp")
    try:
        yield fresh
    finally:
        fresh.unlink(missing_ok=True)


@contextmanager
def _refused(place: str) -> Iterator[None]:
    """Turn what the system says into a refusal."""
    try:
        yield
    except (OSError, ValueError) as error:
        reason = error.strerror if isinstance(error, OSError) and error.strerror else "not a file name"
        raise CutsheetError("file", f"{place} cannot be written ({reason}); choose another place.") from error
