"""Small fonts made for tests: boxes for letters, with whatever tables a test is about."""

from io import BytesIO

from fontTools.feaLib.builder import addOpenTypeFeaturesFromString
from fontTools.fontBuilder import FontBuilder
from fontTools.pens.t2CharStringPen import T2CharStringPen
from fontTools.pens.ttGlyphPen import TTGlyphPen

EM, ADVANCE = 1000, 600


def box(left, low, right, high):
    """Return a contour that runs clockwise, as TrueType's outer ones do."""
    return [(left, low), (left, high), (right, high), (right, low)]


H = [box(50, 0, 550, 700)]


def glyph(contours, components=()):
    pen = TTGlyphPen(dict.fromkeys(components))
    _draw(pen, contours)
    for name in components:
        pen.addComponent(name, (1, 0, 0, 1, 0, 0))
    return pen.glyph()


def charstring(contours):
    pen = T2CharStringPen(ADVANCE, None)
    _draw(pen, contours)
    return pen.getCharString()


def round_charstring(made, radius):
    """Return a circle through the origin's corner, as four cubic curves that run counter-clockwise."""
    pen, r, k = T2CharStringPen(ADVANCE, None), radius, radius * 0.5523
    pen.moveTo((2 * r, r))
    pen.curveTo((2 * r, r + k), (r + k, 2 * r), (r, 2 * r))
    pen.curveTo((r - k, 2 * r), (0, r + k), (0, r))
    pen.curveTo((0, r - k), (r - k, 0), (r, 0))
    pen.curveTo((r + k, 0), (2 * r, r - k), (2 * r, r))
    pen.closePath()
    return pen.getCharString(private=made.font["CFF "].cff.topDictIndex[0].Private)


def _draw(pen, contours):
    for first, *others in contours:
        pen.moveTo(first)
        for point in others:
            pen.lineTo(point)
        pen.closePath()


def builder(glyphs, codes=None, *, otf=False, cap=650):
    """Return a font builder; `glyphs` are names (of one letter: that character) and contours."""
    made = FontBuilder(EM, isTTF=not otf)
    order = [".notdef", "space", *glyphs]
    made.setupGlyphOrder(order)
    made.setupCharacterMap({32: "space"} | (codes or {ord(name): name for name in glyphs if len(name) == 1}))
    drawn = {".notdef": [], "space": []} | glyphs
    if otf:
        strings = {name: charstring(contours) for name, contours in drawn.items()}
        made.setupCFF("Test", {}, strings, {})
    else:
        made.setupGlyf({n: one if not isinstance(one, list) else glyph(one) for n, one in drawn.items()})
    made.setupHorizontalMetrics(dict.fromkeys(order, (ADVANCE, 0)))
    made.setupHorizontalHeader(ascent=800, descent=-200)
    made.setupOS2(version=4, sCapHeight=cap)
    made.setupPost()
    return made


def saved(made, features=""):
    """Return the bytes of a font."""
    if features:
        addOpenTypeFeaturesFromString(made.font, features)
    made.font.recalcBBoxes = False  # measuring a hostile font would take for ever
    file = BytesIO()
    made.font.save(file)
    return file.getvalue()


def font_bytes(glyphs, codes=None, *, features="", **more):
    return saved(builder(glyphs, codes, **more), features)
