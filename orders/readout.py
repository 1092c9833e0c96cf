"""The three figures of a blank, set in one drawing so that long, wide and high always come out in one size.

A style sheet cannot fit text to a box; a drawing with its own measure can. One em of the figures is EM units.
"""

from __future__ import annotations

from dataclasses import dataclass

from cutsheets.drawings.lettering import CAP, length_parts, plain, typeset
from cutsheets.units import Unit

EM = 100.0
SHARE = 0.40  # fraction digits of figures this large
GAP = 0.42 * EM
LABEL = 0.037  # the words LONG, WIDE, HIGH as a share of the whole width
LABEL_ROOM = 5.2  # a word between two crow's feet needs this many times its own size
FOOT = 0.5  # arms of a crow's foot, in label sizes
NAMES = ("long", "wide", "high")


@dataclass(frozen=True, slots=True)
class Word:
    """Characters at a place of the drawing, y downwards."""

    x: float
    y: float
    size: float
    text: str


@dataclass(frozen=True, slots=True)
class Readout:
    """The drawing: its box, figures, bars of fractions (x, y, width, height), words and the path of all lines."""

    width: float
    height: float
    figures: tuple[Word, ...]
    bars: tuple[tuple[float, float, float, float], ...]
    words: tuple[Word, ...]
    lines: str
    said: str


def readout(size_um: tuple[int, int, int], unit: Unit) -> Readout:
    """Return long, wide and high of a blank, laid out side by side.

    >>> readout((2_235_200, 241_300, 285_750), "in").said
    '88 long, 9 1/2 wide, 11 1/4 high'
    """
    parts = [length_parts(um / 1000, unit, "up") for um in size_um]
    settings = [typeset(one, "figures", EM, SHARE) for one in parts]
    label = LABEL * (sum(setting.width for setting in settings) + 2 * GAP)
    base = CAP * EM
    line = base + 1.15 * label
    figures: list[Word] = []
    bars: list[tuple[float, float, float, float]] = []
    words, lines, x = [], "", 0.0
    for name, setting in zip(NAMES, settings, strict=True):
        width = max(setting.width, LABEL_ROOM * label)
        start = x + (width - setting.width) / 2
        figures += [Word(start + run.x, base - run.y, run.size, run.text) for run in setting.glyphs]
        bars += [(start + bar.x, base - bar.y - bar.thick, bar.width, bar.thick) for bar in setting.bars]
        words.append(Word(x + width / 2, line + CAP * label / 2, label, name.upper()))
        lines += _dimension(x, x + width, line, label)
        x += width + GAP
    said = ", ".join(f"{plain(one)} {name}" for one, name in zip(parts, NAMES, strict=True))
    return Readout(x - GAP, line + 0.6 * label, tuple(figures), tuple(bars), tuple(words), lines, said)


def _dimension(left: float, right: float, y: float, label: float) -> str:
    """Return the path of a dimension line: a gap for its word, a crow's foot at both ends, its point on the end."""
    foot, gap, middle = FOOT * label, 1.65 * label, (left + right) / 2
    path = ""
    for tip, inward, to in ((left, foot, middle - gap), (right, -foot, middle + gap)):
        path += f"M{tip + inward:.1f} {y - foot:.1f}L{tip:.1f} {y:.1f}L{tip + inward:.1f} {y + foot:.1f}"
        path += f"M{tip:.1f} {y:.1f}H{to:.1f}"
    return path
