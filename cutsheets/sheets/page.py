"""A page of paper: its sizes, its margins, and a pen that counts downwards from the top.

Black only, no grey; least rule 0.6 pt, least text 9 pt; 0.75 in clear at the left for the punch, 4.5 mm elsewhere for
the printer. The text block is 7.3 in wide and fits Letter and A4. Text shrinks down to 9 pt to fit, then it is wrapped;
what still does not fit ends in "…" and stands whole on a page behind the sheet.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, replace
from io import BytesIO
from typing import Literal

from reportlab.lib.units import inch, mm
from reportlab.pdfgen.canvas import Canvas

from cutsheets.drawings.lettering import CAP, Face, Parts, seen, signs, text_width, typeset
from cutsheets.drawings.pdf import DASH, draw_scene, draw_setting
from cutsheets.drawings.scene import Anchor, Scene

PageSize = Literal["letter", "a4"]
TagSize = Literal["4x2", "4x3", "4x6", "a7"]  # one tag a page
Paper = PageSize | TagSize
SIZES: dict[Paper, tuple[float, float]] = {
    "letter": (8.5 * inch, 11 * inch), "a4": (210 * mm, 297 * mm),
    "4x2": (4 * inch, 2 * inch), "4x3": (4 * inch, 3 * inch), "4x6": (4 * inch, 6 * inch), "a7": (105 * mm, 74 * mm),
}  # fmt: skip
LEFT = 0.75 * inch
WIDTH = 7.3 * inch
RIGHT = LEFT + WIDTH
CLEAR = 4.5 * mm
IN_FULL = 90.0  # below the heading of what goes on behind a sheet
LEAST = 9.0  # pt
LEADING = 1.22
DASHES = "-–"  # a line may end in one
NO_BREAK = "\u00a0"  # between words that stay on one line, such as a first name and its last
HAIR, RULE, FRAME = 0.6, 1.0, 1.6


@dataclass(frozen=True, slots=True)
class Type:
    """A face at a size, points; `share` is the size of fraction digits where the usual one would not fit.

    `hook`: what a line begins with that goes on inside a word, for words that would read like two, such as marks.
    """

    face: Face
    size: float
    share: float | None = None
    hook: str = ""

    def width(self, parts: Parts) -> float:
        """Return how wide the parts come out in one line."""
        return typeset(parts, self.face, self.size, self.share).width

    def fitted(self, parts: Parts, width: float, least: float = LEAST) -> Type:
        """Return this face at the largest size, down to `least`, at which the parts fit the width."""
        wide = self.width(parts)
        return self if wide <= width else replace(self, size=max(least, self.size * width / wide * 0.995))

    def lines(self, text: str, width: float) -> list[str]:
        """Return the text broken into lines of at most that width; a word longer than a line is broken too.

        No line breaks at a no-break space.
        """
        lines = [""]
        for kept in re.split(rf"[^\S{NO_BREAK}]+", text.strip()):
            word = kept.replace(NO_BREAK, " ")
            joined = f"{lines[-1]} {word}".strip()
            if text_width(joined, self.face, self.size) <= width:
                lines[-1] = joined
                continue
            pieces = self._broken(word, width)
            lines = [*lines, *pieces] if lines[-1] else [*lines[:-1], *pieces]
        return lines

    def wrapped(self, parts: Parts, width: float) -> list[Parts]:
        """Return parts broken into lines of at most that width, before a + or an = where that helps."""
        lines: list[Parts] = [()]
        for group in _groups(parts):
            if lines[-1] and self.width((*lines[-1], *group)) > width:
                lines.append(())
            lines[-1] = (*lines[-1], *group)
        return lines

    def _broken(self, word: str, width: float) -> list[str]:
        pieces = [""]
        for part in self._parts(word, width - text_width(self.hook, self.face, self.size)):
            if pieces[-1] and text_width(pieces[-1] + part, self.face, self.size) > width:
                pieces.append("" if pieces[-1][-1] in DASHES else self.hook)
            pieces[-1] += part
        return pieces

    def _parts(self, word: str, width: float) -> Iterator[str]:
        """Yield what of a long word stays together: what ends in a dash where that fits a line, else its signs."""
        for dashed in re.split(f"(?<=[{DASHES}])", word):
            if text_width(dashed, self.face, self.size) <= width:
                yield dashed
                continue
            for sign in signs(dashed):
                yield from (sign,) if text_width(sign, self.face, self.size) <= width else sign

    def paragraph(self, text: str, width: float, most: int) -> tuple[Type, list[str]]:
        """Return the type and the lines in which a text fits `most` lines: shrunk first, then ended with "…"."""
        for size in (self.size, self.size * 0.9, self.size * 0.8, LEAST):
            smaller = replace(self, size=max(LEAST, size))
            lines = smaller.lines(text, width)
            if len(lines) <= most and not (size > LEAST and self.hooked(lines)):
                return smaller, lines
        last = signs(lines[most - 1])  # `whole` says that this will happen
        while last and text_width("".join(last) + "…", self.face, smaller.size) > width:
            last.pop()
        return smaller, [*lines[: most - 1], "".join(last) + "…"]

    def whole(self, text: str, width: float, most: int) -> bool:
        """Return whether all of a text is set in so many lines of that width, shrunk if need be."""
        return len(replace(self, size=LEAST).lines(text, width)) <= most

    def breaks(self, text: str, width: float) -> bool:
        """Return whether a word is broken inside even where the text is shrunk."""
        return self.hooked(replace(self, size=LEAST).lines(text, width))

    def hooked(self, lines: list[str]) -> bool:
        """Return whether one of its lines goes on inside a word."""
        return bool(self.hook) and any(line.startswith(self.hook) for line in lines)


def _groups(parts: Parts) -> list[Parts]:
    """Return parts in groups that each begin with a sign of a sum."""
    groups: list[Parts] = [()]
    for part in parts:
        if part in {" + ", " − ", " = "}:
            groups.append(())
        groups[-1] = (*groups[-1], part)
    return groups


NOTE = Type("text", 9.0)
MIXED = Type("strong", 13.0, share=0.7)  # words with fractions: their digits come out at 9 pt
SMALL = Type("text", 9.8)
WORDS = Type("text", 11.0)
BOLD = Type("strong", 11.0)
MARKS = Type("strong", 14.0, hook=f"↳{NO_BREAK}")  # of pieces
BOLD_MARKS = replace(MARKS, size=BOLD.size)
SIGN = Type("strong", 20.0)  # white on black: never smaller


class Pen:
    """Draws on one page after the other; y counts downwards from the top edge, points."""

    def __init__(self, size: Paper, *, title: str, author: str, subject: str) -> None:
        self.width, self.height = SIZES[size]
        self._held = BytesIO()
        self._bookmarks, self._level = 0, -1
        self._sheet, self._cut = "", dict[str, None]()  # what the sheet is called, what it has no room for
        self.canvas = Canvas(self._held, pagesize=SIZES[size], invariant=1, pageCompression=1)
        self.canvas.setTitle(seen(title))
        self.canvas.setAuthor(seen(author))
        self.canvas.setCreator("Blockyard")
        self.set_subject(subject)

    @property
    def bottom(self) -> float:
        """Return the lowest place that every printer reaches."""
        return self.height - CLEAR

    def set_subject(self, subject: str) -> None:
        """Say what the whole file is about."""
        self.canvas.setSubject(seen(subject))

    def next_page(self) -> None:
        """Begin a new page."""
        self.canvas.showPage()

    def bookmark(self, title: str, level: int = 0) -> None:
        """Name this page in the reader's list of bookmarks, at most one level deeper than the one before."""
        self._bookmarks += 1
        self._level = min(level, self._level + 1)
        self._sheet = self._sheet or title
        key = f"bookmark {self._bookmarks}"
        self.canvas.bookmarkPage(key)
        self.canvas.addOutlineEntry(seen(title), key, self._level)
        self.canvas.showOutline()

    def in_full(self) -> None:
        """End a sheet: what it had no room for stands whole on pages that go on behind it."""
        lines = [line for text in self._cut for line in ("", *NOTE.lines(text, WIDTH))]
        most = int((self.bottom - IN_FULL - NOTE.size) // (NOTE.size * LEADING))
        for first in range(0, len(lines), most):
            self.next_page()
            self.text(LEFT, IN_FULL - 14, "In full, what ends in “…” on the pages before", BOLD)
            kind, (name, *_) = BOLD.paragraph(self._sheet, WIDTH, 1)
            self.text(LEFT, IN_FULL - 30, name, kind)
            for row, line in enumerate(lines[first : first + most], 1):
                self.text(LEFT, IN_FULL + row * NOTE.size * LEADING, line, NOTE)
        self._sheet, self._cut = "", {}

    def finish(self) -> bytes:
        """Return the whole file."""
        self.in_full()
        self.canvas.showPage()
        self.canvas.save()
        return self._held.getvalue()

    def text(self, x: float, y: float, parts: Parts | str, kind: Type, anchor: Anchor = "start") -> float:
        """Set one line with its baseline at y; return its width."""
        setting = typeset((parts,) if isinstance(parts, str) else parts, kind.face, kind.size, kind.share)
        left = x - {"start": 0.0, "middle": 0.5, "end": 1.0}[anchor] * setting.width
        self.canvas.setFillGray(0)
        draw_setting(self.canvas, setting, left, self.height - y)
        return setting.width

    def fit(self, kind: Type, text: str, width: float, most: int) -> tuple[Type, list[str]]:
        """Return a paragraph in so many lines at most; what is cut is kept for the end of the sheet."""
        fitted, lines = kind.paragraph(text, width, most)
        if not kind.whole(text, width, most):
            self._cut[text] = None
        return fitted, lines

    def label(self, x: float, y: float, text: str, kind: Type, *, width: float, anchor: Anchor = "start") -> float:
        """Set a name in one line, never wider than `width`: shrunk, then ended with "…"; return its width."""
        fitted, (line, *_) = self.fit(kind.fitted((text,), width), text, width, 1)
        return self.text(x, y, line, fitted, anchor)

    def block(self, x: float, y: float, text: str, kind: Type, *, width: float, most: int = 99) -> float:
        """Set a paragraph with its first baseline at y; return the baseline after its last line."""
        fitted, lines = self.fit(kind, text, width, most)
        for line in lines:
            self.text(x, y, line, fitted)
            y += fitted.size * LEADING
        return y

    def sign(self, x: float, y: float, word: str, *, width: float, height: float) -> None:
        """Draw a word white on black: SAW, CUT."""
        self.canvas.setFillGray(0)
        self.canvas.rect(x, self.height - y - height, width, height, stroke=0, fill=1)
        self.canvas.setFillGray(1)
        setting = typeset((word,), SIGN.face, SIGN.size)
        down = y + (height + CAP * SIGN.size) / 2
        draw_setting(self.canvas, setting, x + (width - setting.width) / 2, self.height - down)

    def line(self, x0: float, y0: float, x1: float, y1: float, weight: float = HAIR) -> None:
        """Draw a rule."""
        self._pen(weight)
        self.canvas.line(x0, self.height - y0, x1, self.height - y1)

    def dashed(self, x0: float, x1: float, y: float) -> None:
        """Draw a level dashed rule."""
        self._pen(HAIR)
        self.canvas.setDash(*DASH)
        self.canvas.line(x0, self.height - y, x1, self.height - y)

    def box(self, x: float, y: float, w: float, h: float, weight: float = RULE) -> None:
        """Draw an open rectangle from its upper left corner; square ones are for the pencil."""
        self._pen(weight)
        self.canvas.rect(x, self.height - y - h, w, h, stroke=1, fill=0)

    def dashed_box(self, x: float, y: float, w: float, h: float) -> None:
        """Draw a dashed rectangle from its upper left corner."""
        self._pen(RULE)
        self.canvas.setDash(*DASH)
        self.canvas.rect(x, self.height - y - h, w, h, stroke=1, fill=0)

    def circle(self, x: float, y: float, radius: float) -> None:
        """Draw the circle of a cut's number."""
        self._pen(RULE)
        self.canvas.circle(x, self.height - y, radius, stroke=1, fill=0)

    def scene(self, scene: Scene, x: float, y: float, w: float, h: float) -> None:
        """Draw a scene in the middle of a rectangle given by its upper left corner."""
        draw_scene(self.canvas, scene, x=x, y=self.height - y - h, w=w, h=h)

    def _pen(self, weight: float) -> None:
        self.canvas.setStrokeGray(0)
        self.canvas.setLineWidth(weight)
        self.canvas.setDash()
