"""Tag numbers of blocks and remnants: a letter, a hyphen and a number that is never given twice."""

import re

from cutsheets.codes import StockCode, StockKind
from shop.models import StockPiece

BLOCK, REMNANT = "K-", "R-"
PREFIXES: dict[StockKind, str] = {"block": BLOCK, "remnant": REMNANT}


def free_tags(prefix: str, count: int, *, taken: tuple[str, ...] = ()) -> list[str]:
    """Return the next `count` tags of this kind (`K-0007`, …) above every one on the books or in `taken`.

    Numbers are compared as numbers; tags of another form are left alone. Reads every tag of the kind: O(n).
    """
    known = [*StockPiece.objects.filter(tag__startswith=prefix).values_list("tag", flat=True), *taken]
    numbers = [int(tag[len(prefix) :]) for tag in known if tag[len(prefix) :].isdecimal()]
    first = max(numbers, default=0) + 1
    return [f"{prefix}{number:04d}" for number in range(first, first + count)]


def code_of(tag: str) -> StockCode | None:
    """Return what the bars of a tag stand for, or None for a tag that was not numbered here."""
    kinds = [kind for kind, prefix in PREFIXES.items() if tag.startswith(prefix)]
    codes = [StockCode(kind, int(digits)) for kind in kinds if re.fullmatch("[0-9]{4,}", digits := tag[2:])]
    return next((code for code in codes if tag_of(code) == tag), None)


def tag_of(code: StockCode) -> str:
    """Return the tag that a code stands for."""
    return f"{PREFIXES[code.kind]}{code.number:04d}"
