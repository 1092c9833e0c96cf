"""Fonts for letters: those that come with the project, and those that the shop uploaded."""

from __future__ import annotations

from collections import Counter
from typing import Any

from cutsheets.errors import CutsheetError
from cutsheets.letters import SHIPPED, read_font, set_text, shipped_font
from cutsheets.solids import Outline
from orders.models import LetterFont
from shop.acts import Act

LABELS = dict(zip(SHIPPED, ("sans, bold", "serif, bold"), strict=True))


def font_choices() -> list[tuple[str, str]]:
    """Return every font by the name that a line gives it, with its words."""
    own = LetterFont.objects.values_list("name", flat=True)
    return [*LABELS.items(), *((name, name) for name in own)]


def font_file(name: str) -> bytes:
    """Return the file of a font; raises CutsheetError `font`."""
    if name in SHIPPED:
        return shipped_font(name)
    data = LetterFont.objects.filter(name=name).values_list("data", flat=True).first()
    if data is None:
        known = ", ".join(known for known, _ in font_choices())
        raise CutsheetError("font", f"Font “{name}” is not here; here are: {known}.", "font")
    return bytes(data)


def set_letters(text: str, font: str, high: float) -> list[tuple[str, Outline]]:
    """Return the parts of letters where they stand on their line, mm; a name that comes again is numbered.

    `high` is the height of the flat capitals, mm. Raises CutsheetError at `text` or `font`.
    """
    named: list[tuple[str, Outline]] = []
    seen: Counter[str] = Counter()
    for letter in set_text(text, read_font(font_file(font), font), high):
        for part in letter.parts:
            seen[letter.name] += 1
            number = f" {seen[letter.name]}" if seen[letter.name] > 1 else ""
            outer, *holes = (tuple((x + letter.x, y) for x, y in ring) for ring in part.rings)
            named.append((letter.name + number, Outline(outer, tuple(holes))))
    return named


def as_outlines(named: list[tuple[str, Outline]]) -> list[dict[str, Any]]:
    """Return shapes as a job file has them, mm."""
    return [{"name": name, "qty": 1, "outer": part.outer, "holes": part.holes} for name, part in named]


def add_font(name: str, data: bytes, licence: str, act: Act) -> LetterFont:
    """Return an uploaded font, kept; raises CutsheetError `font` where letters cannot be set in it."""
    read_font(data, name)
    return LetterFont.objects.create(name=name, data=data, licence=licence, added_by=act.by, added_at=act.at)
