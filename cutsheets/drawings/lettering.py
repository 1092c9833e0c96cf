"""How words and figures are set: one rule for screen and paper.

A length is a whole number and then a stacked fraction with a level bar at the middle of the capitals. The stack is
drawn from its parts (numerator, bar, denominator) and not left to a font feature, so that both back ends show the
same. Widths come from the print fonts, which are cut from the family that the screen uses.

A word with a letter that the family lacks (Greek, Cyrillic, Chinese …) is set whole in the first fallback font that
has it, so that no name prints as boxes. Emoji come out as outlines, sign by sign; a sign that no font has is named by
its code point, [U+1FBFF]. Hebrew and Arabic are put in the order in which they stand on paper (Unicode
Standard Annex 9), and Arabic letters are joined. Letters of India and its neighbours are joined and put in order
by HarfBuzz.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache, lru_cache, reduce
from operator import add
from pathlib import Path
from typing import Any, Literal

from arabic_reshaper import ArabicReshaper
from bidi import get_display
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.pdfdoc import PDFDocument, PDFStream
from reportlab.pdfbase.ttfonts import TTFont, shapeStr

from cutsheets.units import Rounding, Unit, fraction, say

Face = Literal["figures", "strong", "text"]
FAR = ("BlockyardOtherEast", "BlockyardOtherSouth", "BlockyardOtherSigns")  # in one weight
JOINED = "BlockyardOtherSouth"  # its glyphs are no longer letters
FONTS: dict[Face, tuple[str, ...]] = {
    "figures": ("BlockyardFigures", "BlockyardOtherStrong", *FAR),
    "strong": ("BlockyardStrong", "BlockyardOtherStrong", *FAR),
    "text": ("BlockyardText", "BlockyardOtherText", *FAR),
}
FONT_FOLDER = Path(__file__).parent.parent / "fonts"
CAP = 0.69  # height of a capital, em; the same in all three faces
# Size of fraction digits as a share of the whole number: a large figure needs smaller ones to keep its line.
SHARES = ((100.0, 0.40), (60.0, 0.46), (26.0, 0.56), (0.0, 0.66))

LEFTWARD = re.compile("[\u0590-\u08ff\ufb1d-\ufdff\ufe70-\ufeff]")  # Hebrew, Arabic and their kin
ARABIC = ArabicReshaper({"delete_harakat": False})
JOINER_SIGNS = "\u200c\u200d"
JOINERS = re.compile(f"(?<=[\u0900-\u109f\u1780-\u17ff])([{JOINER_SIGNS}])")  # they choose the shape of a letter
VIRAMA = 9  # combining class of what joins a letter to the next one
VARIANTS = re.compile("[\ufe00-\ufe0f\U000e0100-\U000e01ef]")  # which shape of the sign before: there is one
UNSEEN = {"Cc", "Cf", "Cs"}  # control and format characters, halves of pairs
OPPOSITE: dict[Rounding, Rounding] = {"up": "down", "down": "up", "nearest": "nearest"}


@dataclass(frozen=True, slots=True)
class Figure:
    """A whole number with a stacked fraction behind it; `den` 1 means no fraction.

    >>> str(Figure(11, 1, 4)), str(Figure(0, 1, 8)), str(Figure(88))
    ('11 1/4', '1/8', '88')
    """

    whole: int
    num: int = 0
    den: int = 1

    def __str__(self) -> str:
        if not self.num:
            return str(self.whole)
        return f"{self.whole} {self.num}/{self.den}" if self.whole else f"{self.num}/{self.den}"


Parts = tuple[str | Figure, ...]


@dataclass(frozen=True, slots=True)
class Glyphs:
    """A run of characters in one font: its left end and baseline, from the start of the whole text."""

    x: float
    y: float
    text: str
    font: str
    size: float


@dataclass(frozen=True, slots=True)
class Bar:
    """The bar of a fraction: lower left corner, width, thickness."""

    x: float
    y: float
    width: float
    thick: float


@dataclass(frozen=True, slots=True)
class Setting:
    """A text set in one line from (0, 0), its baseline at y = 0."""

    width: float
    glyphs: tuple[Glyphs, ...]
    bars: tuple[Bar, ...]


def length_parts(mm: float, unit: Unit, rounding: Rounding = "nearest", denominator: int = 16) -> Parts:
    """Return a length ready to be set: inches with a stacked fraction, or millimetres to 0.1.

    >>> length_parts(285.75, "in"), length_parts(-3.175, "in"), length_parts(285.75, "mm")
    ((Figure(whole=11, num=1, den=4),), ('−', Figure(whole=0, num=1, den=8)), ('285.8',))
    """
    if unit == "mm":
        return (say(mm, unit, rounding).replace("-", "−"),)
    if mm < 0:
        positive = length_parts(-mm, unit, OPPOSITE[rounding], denominator)
        return positive if positive == (Figure(0),) else ("−", *positive)
    return (Figure(*fraction(mm, denominator, rounding)),)


def feet_parts(mm: float) -> Parts:
    """Return a length in feet and inches ready to be set.

    >>> plain(feet_parts(12801.6)), plain(feet_parts(13252.45))
    ('42′ 0″', '43′ 5 3/4″')
    """
    whole, num, den = fraction(mm)
    feet, inches = divmod(whole, 12)
    return (f"{feet}′ ", Figure(inches, num, den), "″")


def times(*sizes: Parts) -> Parts:
    """Return sizes with × between them: long × wide × high, deep × high.

    >>> plain(times((Figure(88),), (Figure(9, 1, 2),)))
    '88 × 9 1/2'
    """
    return tuple(part for place, size in enumerate(sizes) for part in ((" × ", *size) if place else size))


def plain(parts: Iterable[str | Figure]) -> str:
    """Return the parts as one plain text, for titles and for reading aloud."""
    return "".join(str(part) for part in parts)


class PrintFont(TTFont):
    """A font whose signs beyond U+FFFF are copied from the file as they are: reportlab 5.1 writes five digits.

    `known`: the letters that it has.
    """

    def __init__(self, name: str) -> None:
        super().__init__(name, str(FONT_FOLDER / f"{name}.ttf"))
        self.known = frozenset(self.face.charToGlyph)
        if name == JOINED:
            self._name_glyphs()

    def _name_glyphs(self) -> None:
        """Give every glyph without a letter a private one, in their order: the same text makes the same file."""
        this: Any = self  # the stubs do not know what shaping adds
        shapes, glyphs = this.hbFont(), range(this.hbFace.glyph_count)
        for glyph in (each for each in glyphs if each not in this.face.glyphToChar):
            this.hbAddPrivate(shapes.glyph_to_string(glyph), glyph, shapes.get_glyph_h_advance(glyph))

    def addObjects(self, doc: PDFDocument) -> None:
        """Add the font to a file, with what each of its signs means."""
        super().addObjects(doc)
        for name, held in doc.idToObject.items():
            if isinstance(held, PDFStream) and name.startswith("toUnicodeCMap:"):
                held.content = re.sub("<([0-9A-F]{5})>", _surrogates, held.content)


def _surrogates(found: re.Match[str]) -> str:
    return f"<{chr(int(found[1], 16)).encode('utf-16-be').hex().upper()}>"


@cache
def font(name: str) -> PrintFont:
    """Return the print font of that name, registered with reportlab on first use."""
    loaded = PrintFont(name)
    pdfmetrics.registerFont(loaded)
    return loaded


@lru_cache(maxsize=1024)
def joined(text: str) -> Any:
    """Return the glyphs of a text of India and its neighbours, reportlab's ShapedStr; each word is of one script."""
    font(JOINED)
    words = re.findall(r"\S+|\s+", text)
    return reduce(add, (shapeStr(word, JOINED, 1.0, force=True) for word in words))


def run_width(text: str, name: str, size: float) -> float:
    """Return the width of letters of one font, in the unit of `size`."""
    if name == JOINED:
        return float(sum(glyph.x_advance for glyph in joined(text).__shapeData__)) * size / 1000
    return font(name).stringWidth(text, size)


def text_width(text: str, face: Face, size: float) -> float:
    """Return the width of a plain text, in the unit of `size`."""
    return typeset((text,), face, size).width


@lru_cache(maxsize=4096)
def typeset(parts: Parts, face: Face, size: float, share: float | None = None) -> Setting:
    """Return the parts set in one line; `share` overrides the size of fraction digits (see SHARES)."""
    share = share or next(value for least, value in SHARES if size >= least)
    x = 0.0
    glyphs: list[Glyphs] = []
    bars: list[Bar] = []
    for part in parts:
        run = str(part) if isinstance(part, str) else str(part.whole) if part.whole or not part.num else ""
        for text, name in font_runs(run, face):
            # a blank that takes no room, so that "11" and the 1 of "1/4" are copied and read aloud as two numbers
            apart = " " if isinstance(part, Figure) and part.num else ""
            glyphs.append(Glyphs(x, 0.0, text + apart, name, size))
            x += run_width(text, name, size)
        if isinstance(part, Figure) and part.num:
            x += 0.07 * size if run else 0.0
            stack, bar = _stack(part, FONTS[face][0], x, size, share)
            glyphs += stack
            bars.append(bar)
            x += bar.width + 0.05 * size
    return Setting(x, tuple(glyphs), tuple(bars))


def _stack(figure: Figure, name: str, x: float, size: float, share: float) -> tuple[list[Glyphs], Bar]:
    small = size * share
    digits = [str(figure.num), str(figure.den)]
    widths = [font(name).stringWidth(text, small) for text in digits]
    wide = max(widths) + 0.04 * size
    thick, gap = 0.065 * size, 0.055 * size
    middle = CAP * size / 2
    lines = (middle + thick / 2 + gap, middle - thick / 2 - gap - CAP * small)
    stack = [
        Glyphs(x + (wide - width) / 2, y, text, name, small)
        for text, width, y in zip(digits, widths, lines, strict=True)
    ]
    return stack, Bar(x, middle - thick / 2, wide, thick)


def font_runs(text: str, face: Face) -> list[tuple[str, str]]:
    """Return the text as it stands on paper, cut into runs of one font each: (characters, font name).

    >>> font_runs("Osgood Ильин", "text")
    [('Osgood ', 'BlockyardText'), ('Ильин', 'BlockyardOtherText')]
    """
    runs: list[tuple[str, str]] = []
    for word in re.findall(r"\S+| +", as_printed(text)):
        for letters, name in _word_runs(word, FONTS[face]):
            if runs and (runs[-1][1] == name or (letters.isspace() and _covers(runs[-1][1], " "))):
                runs[-1] = (runs[-1][0] + letters, runs[-1][1])
            else:
                runs.append((letters, name))
    return runs


def as_printed(text: str) -> str:
    r"""Return the characters from left to right, Arabic ones joined, without those that nobody sees.

    >>> as_printed("a\u0301\tb\u202e") == "\u00e1 b", as_printed("\u05d0\u05d1") == "\u05d1\u05d0"
    (True, True)
    """
    shown = VARIANTS.sub("", re.sub(r"\s", " ", unicodedata.normalize("NFC", text)))
    if LEFTWARD.search(shown):
        shown = str(get_display(ARABIC.reshape(shown), base_dir="L"))
    return "".join(part if place % 2 else seen(part) for place, part in enumerate(JOINERS.split(shown)))


def seen(text: str) -> str:
    """Return a text without the characters that nobody sees and no file can hold."""
    return text if text.isprintable() else "".join(c for c in text if unicodedata.category(c) not in UNSEEN)


def signs(text: str) -> list[str]:
    """Return the signs of a text that no line is broken within: a letter with its marks, letters that are joined.

    >>> signs("\u0915\u094d\u0937\u0947\u0924") == ["\u0915\u094d\u0937\u0947", "\u0924"]
    True
    """
    found: list[str] = []
    for letter in text:
        joins = unicodedata.category(letter).startswith("M") or letter in JOINER_SIGNS
        if found and (joins or found[-1][-1] == "\u200d" or unicodedata.combining(found[-1][-1]) == VIRAMA):
            found[-1] += letter
        else:
            found.append(letter)
    return found


def _word_runs(word: str, names: tuple[str, ...]) -> list[tuple[str, str]]:
    """Return a word in the first font that has all of it, else letter by letter; a letter of no font is named."""
    for name in names:
        if _covers(name, word):
            return [(word, name)]
    if len(word) == 1:
        return [(f"[U+{ord(word):04X}]", names[0])]
    return [run for letter in word for run in _word_runs(letter, names)]


def _covers(name: str, text: str) -> bool:
    return all(ord(letter) in font(name).known for letter in text)
