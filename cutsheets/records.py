"""Strict reading of the objects in an open file: every key known, none repeated, every value of the right sort.

A file that is read half is worse than one that is refused: a misspelt key would silently fall back to a default.
"""

from __future__ import annotations

import json
from collections.abc import Collection, Iterable, Mapping
from decimal import Decimal
from typing import Any

from cutsheets.errors import CutsheetError

LONGEST_NUMBER = 60  # signs
LARGEST = 100_000_000  # 100 m in micrometres: no block is longer
LARGEST_FILE = 20_000_000  # characters; a day's work of a shop is some 100 kB


class Record(dict[str, Any]):
    """An object of a file that remembers the keys which were written twice."""

    def __init__(self, pairs: list[tuple[str, Any]]) -> None:
        super().__init__(pairs)
        names = [name for name, _ in pairs]
        self.repeated = sorted({name for name in names if names.count(name) > 1}) if len(self) < len(names) else []


def parse(text: str) -> object:
    """Return what a JSON text holds, decimals exact; raises CutsheetError `json` with line and column."""
    if len(text) > LARGEST_FILE:
        raise CutsheetError("json", "This file is far larger than any order; choose the right file.")
    try:
        return json.loads(text, object_pairs_hook=Record, parse_float=_decimal)
    except json.JSONDecodeError as error:
        raise CutsheetError(
            "json", f"This is not JSON: {error.msg} (line {error.lineno}, column {error.colno}). Correct it there."
        ) from error
    except (ValueError, RecursionError) as error:  # a number of 5,000 digits; ten thousand brackets
        raise CutsheetError("json", "This file holds numbers or nesting beyond reason; check it.") from error


def _decimal(text: str) -> Decimal:
    if len(text) > LONGEST_NUMBER:
        raise ValueError(text)
    return Decimal(text)


def record(
    raw: object, where: str, *, required: Collection[str] = (), optional: Collection[str] = ()
) -> Mapping[str, Any]:
    """Return `raw` as an object that has all of `required` and nothing beyond `required` and `optional`.

    Raises CutsheetError: `not-an-object`, `repeated-key`, `unknown-key`, `missing-key`.
    """
    if not isinstance(raw, Mapping):
        raise CutsheetError("not-an-object", "Write an object here: names and values in braces.", where)
    if isinstance(raw, Record) and raw.repeated:
        raise CutsheetError("repeated-key", f"“{raw.repeated[0]}” is written twice; keep one.", where)
    for name in raw:
        if name not in required and name not in optional:
            known = ", ".join(sorted({*required, *optional}))
            raise CutsheetError("unknown-key", f"“{str(name)[:40]}” is not known here; known are: {known}.", where)
    for name in required:
        if name not in raw:
            raise CutsheetError("missing-key", f"“{name}” is missing; add it.", where)
    return raw


def items(raw: object, where: str, *, least: int = 0, most: int = 5000) -> list[Any]:
    """Return `raw` as a list of `least` to `most` items; raises CutsheetError `not-a-list` or `list-size`."""
    if not isinstance(raw, list | tuple):
        raise CutsheetError("not-a-list", "Write a list here, in square brackets.", where)
    if not least <= len(raw) <= most:
        raise CutsheetError("list-size", f"There are {len(raw)} here; write {least} to {most}.", where)
    return list(raw)


def once(names: Iterable[str], where: str) -> None:
    """Refuse a name that stands twice in a list of the file; raises CutsheetError `repeated-id`."""
    known: set[str] = set()
    for n, name in enumerate(names):
        if name in known:
            raise CutsheetError("repeated-id", f"“{name}” is used twice; give each its own id.", f"{where}[{n}].id")
        known.add(name)


def words(raw: object, where: str, *, least: int = 0, most: int = 200) -> str:
    """Return `raw` as one line of `least` to `most` printable characters; raises CutsheetError `text`."""
    if not isinstance(raw, str) or not least <= len(raw.strip()) <= most or not raw.isprintable():
        raise CutsheetError("text", f"Write one line of {least} to {most} characters here.", where)
    return raw.strip()


def whole(raw: object, where: str, *, least: int = 0, most: int = LARGEST) -> int:
    """Return `raw` as a whole number from `least` to `most`; raises CutsheetError `whole` or `range`."""
    if type(raw) is not int:
        raise CutsheetError("whole", "Write a whole number here (lengths in micrometres, no decimals).", where)
    if not least <= raw <= most:
        raise CutsheetError("range", f"{raw} is out of range; write {least} to {most}.", where)
    return raw
