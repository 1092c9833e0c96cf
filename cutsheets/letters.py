"""Text in a font as outlines: cap height exact, kerning used, counters kept. Lengths mm, y up from the baseline.

The cap height is that of the flat capital H as it is drawn, not the figure that a font states about itself. One
character is one glyph, set from left to right; ligatures, marks that stand alone and scripts that run the other way
are not set. Kerning: see `font_tables`. Overlapping contours are filled as both outline formats are (winding number
not 0) and joined. Curves become chords that leave them by `CHORD` at most.

A font is a stranger's file: limits on size, parts, points, crossings and steps hold, and nothing in it is unrolled.
"""

from __future__ import annotations

import math
import unicodedata
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from functools import cache, lru_cache, partial
from io import BytesIO
from pathlib import Path
from threading import Lock
from typing import Any

import numpy as np
import shapely
from fontTools.misc.psCharStrings import T2CharString, T2OutlineExtractor
from fontTools.pens.basePen import BasePen
from fontTools.ttLib import TTFont
from shapely.geometry.polygon import orient

from cutsheets import font_tables
from cutsheets.errors import CutsheetError
from cutsheets.solids import Outline, Point, Ring

CHORD = 0.05  # mm between a curve and its chords: no hot wire follows a line as closely
FOLDER = Path(__file__).parent / "lettering_fonts"
SHIPPED = ("SignSans-Bold.ttf", "SignSerif-Bold.ttf")
LARGEST_FONT = 4_000_000  # bytes; a face with every European script has some 700,000
MOST_LETTERS = 100
WIDEST = 20_000.0  # mm, one letter
DUST = 0.01  # mm²: what an overlap leaves by rounding
KEPT = ("head", "maxp", "hhea", "hmtx", "loca", "glyf", "CFF ", "OS/2")  # all that is ever unpacked

MOST_PARTS, MOST_POINTS, MOST_STEPS, MOST_TOUCHES = 100, 10_000, 100_000, 10


@dataclass(frozen=True, slots=True, eq=False)
class Font:
    """A font that was read: `cap` is the height of its capitals in font units, `cap_note` says where it had no H."""

    name: str
    cap: float
    cap_note: str
    cmap: bytes
    kerning: Callable[[int, int], int]
    glyphs: Any  # fontTools' glyph set, by name
    order: list[str]  # names of the glyphs by number
    lock: Lock = field(default_factory=Lock)  # fontTools unpacks a glyph in place when it is first drawn


@dataclass(frozen=True, slots=True)
class Letter:
    """One letter of a text: its parts from its own origin, where that lies on the line (`x`), its number (`at`)."""

    name: str
    parts: tuple[Outline, ...]
    x: float
    at: int


@cache
def shipped_font(name: str) -> bytes:
    """Return the file of a font that comes with the project; raises CutsheetError `font`."""
    if name not in SHIPPED:
        raise CutsheetError("font", f"Font “{name}” is not here; here are: {', '.join(SHIPPED)}.", "font")
    return (FOLDER / name).read_bytes()


@lru_cache(maxsize=8)
def read_font(data: bytes, name: str = "") -> Font:
    """Return the font in a TTF or OTF file; raises CutsheetError `font`."""
    if len(data) > LARGEST_FONT:
        raise CutsheetError("font", f"This font is larger than {LARGEST_FONT // 10**6} MB; use a plainer one.", "font")
    if data[:4] not in (b"\0\1\0\0", b"true", b"OTTO"):
        raise CutsheetError("font", "This is no TTF or OTF font; unpack it, or choose the right file.", "font")
    with _readable():
        file = TTFont(BytesIO(data), lazy=True)
        tables = file.reader
        cmap, kerning = tables["cmap"], _kerning(tables)
        for tag in set(tables.keys()) - set(KEPT):
            del tables.tables[tag]
        glyphs, order = _glyphs(file)
        font = Font(name, 1.0, "", cmap, kerning, glyphs, order)
        return Font(name, *_cap_height(font, file), cmap, kerning, glyphs, order)


def set_text(text: str, font: Font, cap_height: float, where: str = "text", chord: float = CHORD) -> tuple[Letter, ...]:
    """Return the letters of a text that is `cap_height` mm high at its flat capitals, from left to right.

    The places of errors count the characters. Raises CutsheetError `font-glyph` (the font cannot draw it), `text`
    (too long, nothing to cut), `font`.
    """
    text = unicodedata.normalize("NFC", text)
    if len(text) > MOST_LETTERS:
        raise CutsheetError("text", f"This is longer than {MOST_LETTERS} characters; make lines of it.", where)
    scale = cap_height / font.cap
    drawn: dict[int, tuple[Outline, ...]] = {}
    letters: list[Letter] = []
    x, before = 0.0, 0
    with font.lock, _readable():
        for at, sign in enumerate(text):
            glyph = _glyph(sign, font, f"{where}[{at}]")
            x += scale * font.kerning(before, glyph) if before else 0.0
            if glyph not in drawn:
                drawn[glyph] = _outlines(_contours(font, glyph, chord / scale), scale)
            if drawn[glyph]:
                letters.append(Letter(sign, drawn[glyph], x, at))
            elif not sign.isspace():
                raise _lacking(sign, font, f"{where}[{at}]")
            x, before = x + scale * font.glyphs[font.order[glyph]].width, glyph
    if not letters:
        raise CutsheetError("text", "There is no letter to cut; write some.", where)
    return tuple(letters)


@contextmanager
def _readable() -> Iterator[None]:
    """Turn whatever a broken font makes fontTools raise into a refusal."""
    try:
        yield
    except CutsheetError:
        raise
    except Exception as error:
        raise CutsheetError("font", "This font is broken or of a rare kind; choose another.", "font") from error


def _kerning(tables: Any) -> Callable[[int, int], int]:
    """Return the function that gives the kerning of two glyphs; the old table serves where GPOS has no kerning."""
    if "GPOS" in tables and (lookups := font_tables.pair_subtables(tables["GPOS"])):
        return partial(font_tables.pair_kerning, tables["GPOS"], lookups)
    if "kern" in tables:
        return partial(font_tables.old_kerning, tables["kern"])
    return lambda left, right: 0


def _glyphs(file: Any) -> tuple[Any, list[str]]:
    """Return the glyphs of a font file, and their names by number."""
    if "glyf" in file:  # without made-up names fontTools would unroll `cmap` to find some
        file.setGlyphOrder([str(number) for number in range(file["maxp"].numGlyphs)])
    glyphs = file.getGlyphSet(preferCFF=False)
    if "glyf" not in file:
        glyphs.charStrings.charStringsIndex.subrClass = _BoundedCharString
    return glyphs, file.getGlyphOrder()


def _cap_height(font: Font, file: Any) -> tuple[float, str]:
    """Return the height of the capitals in font units, and a remark where there is no H to measure."""
    glyph = font_tables.glyph_id(font.cmap, ord("H"))
    tops = [y for contour in _contours(font, glyph, 0.5) for _, y in contour] if glyph else []
    if tops and max(tops) > 0:
        return max(tops), ""
    stated = getattr(file["OS/2"], "sCapHeight", 0)
    if stated <= 0:
        raise CutsheetError("font", "This font has no H and states no cap height; choose another.", "font")
    return float(stated), "This font has no H; the cap height that it states itself was taken."


def _glyph(sign: str, font: Font, where: str) -> int:
    """Return the number of the glyph for a character that can be set."""
    if unicodedata.bidirectional(sign) in ("R", "AL") or unicodedata.category(sign).startswith("M"):
        raise CutsheetError(
            "text", f"“{sign}” runs from right to left or stands on another letter; that is not set here.", where
        )
    glyph = font_tables.glyph_id(font.cmap, ord(sign))
    if not 0 < glyph < len(font.order):
        raise _lacking(sign, font, where)
    return glyph


def _lacking(sign: str, font: Font, where: str) -> CutsheetError:
    return CutsheetError(
        "font-glyph", f"The font {font.name} has no “{sign}”; write another character, or choose another font.", where
    )


def _contours(font: Font, glyph: int, chord: float) -> list[list[Point]]:
    """Return the closed contours of a glyph as points, font units."""
    pen = _ChordPen(font.glyphs, chord)
    font.glyphs[font.order[glyph]].draw(pen)
    return [contour for contour in pen.contours if len(contour) > 2]


def _outlines(contours: list[list[Point]], scale: float) -> tuple[Outline, ...]:
    """Return what contours fill, in mm: faces of the winding number 0 are left out, the others joined."""
    rings = [np.array([*contour, contour[0]]) * scale for contour in contours]
    if not rings:
        return ()
    _within_reason(np.concatenate([np.stack((ring[:-1], ring[1:]), axis=1) for ring in rings]))
    noded = shapely.union_all([shapely.MultiLineString(rings)])
    faces = [face for face in shapely.polygonize([noded]).geoms if _winding(face.representative_point(), rings)]
    joined = shapely.union_all(faces)
    return tuple(outline_of(part) for part in shapely.get_parts(joined) if part.area > DUST)


def outline_of(polygon: shapely.Polygon) -> Outline:
    """Return a polygon as an outline; holes that are dust are left out."""
    turned = orient(polygon)
    holes = (hole for hole in turned.interiors if shapely.Polygon(hole).area > DUST)
    return Outline(_ring(turned.exterior), tuple(_ring(hole) for hole in holes))


def _ring(ring: Any) -> Ring:
    return tuple((float(x), float(y)) for x, y in ring.coords[:-1])


def _within_reason(edges: Any) -> None:
    """Refuse what is larger than any letter, or whose edges cross so often that joining them would take minutes."""
    if not np.isfinite(edges).all() or np.ptp(edges, axis=(0, 1)).max() > WIDEST:
        raise ValueError("a letter as large as a house")
    lines = shapely.linestrings(edges)
    tree = shapely.STRtree(lines)
    touches = 0
    for first in range(0, len(lines), 256):
        touches += tree.query(lines[first : first + 256], predicate="intersects").shape[1]
        if touches > MOST_TOUCHES * len(lines):
            raise ValueError("crossings beyond reason")


def _winding(point: shapely.Point, rings: list[Any]) -> int:
    """Return how often closed rings run round a point, those to the right counted below 0."""
    turns = 0
    for ring in rings:
        (x, y), (x2, y2) = ring[:-1].T, ring[1:].T
        side = (x2 - x) * (point.y - y) - (point.x - x) * (y2 - y)
        up, down = (y <= point.y) & (y2 > point.y) & (side > 0), (y > point.y) & (y2 <= point.y) & (side < 0)
        turns += int(up.sum()) - int(down.sum())
    return turns


class _ChordPen(BasePen):  # type: ignore[misc]  # fontTools has no types
    """Collects contours with curves as chords, at most `chord` font units away, and counts what it is given.

    A Bézier curve cut into n equal steps leaves its chords by at most 1/(8n²) of its largest second derivative.
    """

    def __init__(self, glyphs: Any, chord: float) -> None:
        super().__init__(glyphs)
        self.chord = chord
        self.contours: list[list[Point]] = []
        self.points = self.parts = 0

    def addComponent(self, glyphName: str, transformation: Any) -> None:
        self.parts += 1
        if self.parts > MOST_PARTS:
            raise ValueError("parts beyond reason")
        super().addComponent(glyphName, transformation)

    def _moveTo(self, pt: Point) -> None:
        self.contours.append([])
        self._lineTo(pt)

    def _lineTo(self, pt: Point) -> None:
        self.points += 1
        if self.points > MOST_POINTS:
            raise ValueError("points beyond reason")
        if not self.contours[-1] or self.contours[-1][-1] != pt:
            self.contours[-1].append(pt)

    def _qCurveToOne(self, pt1: Point, pt2: Point) -> None:
        start = self._getCurrentPoint()
        for t in self._steps(2 * _bend(start, pt1, pt2)):
            self._lineTo(_mix((start, pt1, pt2), ((1 - t) ** 2, 2 * t * (1 - t), t**2)))

    def _curveToOne(self, pt1: Point, pt2: Point, pt3: Point) -> None:
        start = self._getCurrentPoint()
        for t in self._steps(6 * max(_bend(start, pt1, pt2), _bend(pt1, pt2, pt3))):
            shares = ((1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t**2 * (1 - t), t**3)
            self._lineTo(_mix((start, pt1, pt2, pt3), shares))

    def _closePath(self) -> None:
        if self.contours[-1][0] == self.contours[-1][-1]:
            self.contours[-1].pop()

    _endPath = _closePath

    def _steps(self, second: float) -> Iterator[float]:
        """Yield the places on a curve, 0 left out, that are enough for its largest second derivative."""
        count = max(1, math.ceil(math.sqrt(second / (8 * self.chord))))
        return (step / count for step in range(1, count + 1))


def _bend(a: Point, b: Point, c: Point) -> float:
    return math.hypot(a[0] - 2 * b[0] + c[0], a[1] - 2 * b[1] + c[1])


def _mix(points: tuple[Point, ...], shares: tuple[float, ...]) -> Point:
    x, y = (math.fsum(share * point[axis] for point, share in zip(points, shares, strict=True)) for axis in (0, 1))
    return x, y


class _BoundedExtractor(T2OutlineExtractor):  # type: ignore[misc]
    """Counts the bytes of the routines it runs, which may call each other without an end."""

    done = 0

    def execute(self, charString: Any, **more: Any) -> None:
        self.done += len(charString.bytecode or charString.program)
        if self.done > MOST_STEPS:
            raise ValueError("steps beyond reason")
        super().execute(charString, **more)


class _BoundedCharString(T2CharString):  # type: ignore[misc]
    outlineExtractor = _BoundedExtractor
