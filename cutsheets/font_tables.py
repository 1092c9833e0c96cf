"""Three tables of a font looked up in place: which glyph draws a character, and the kerning of two glyphs.

They are read by hand because fontTools unrolls them: a hostile table of a few bytes may name billions of characters.
A lookup here takes a few steps, whatever the table holds; a table that ends too soon raises struct.error.

Formats: Microsoft OpenType specification, `cmap`, `GPOS`, `kern`. Read are cmap formats 4 and 12, of GPOS the pair
adjustment (formats 1 and 2, also as extension) under the feature `kern` of the Latin script, else of the default one,
and format 0 of the old `kern` table. Of an adjustment only the advance of the first glyph counts.
"""

from __future__ import annotations

import struct
from bisect import bisect_left
from collections.abc import Iterator

CMAPS = (
    (3, 10),
    (0, 6),
    (0, 4),
    (3, 1),
    (0, 3),
    (0, 2),
    (0, 1),
    (0, 0),
)  # best first: full Unicode, then its first plane
MOST_SUBTABLES = 500  # of one font's kerning; large families have some fifty
PAIR, EXTENSION = 2, 9  # types of a GPOS lookup
X_ADVANCE = 4  # bit of a value format; the values before it stand in the two lower bits


def glyph_id(cmap: bytes, code: int) -> int:
    """Return the number of the glyph for a Unicode character; 0 where the font has none."""
    offsets = {(_u16(cmap, at), _u16(cmap, at + 2)): _u32(cmap, at + 4) for at in range(4, 4 + 8 * _u16(cmap, 2), 8)}
    for best in CMAPS:
        if best in offsets:
            at = offsets[best]
            return _segment_glyph(cmap, at, code) if _u16(cmap, at) == 4 else _group_glyph(cmap, at, code)
    return 0


def pair_subtables(gpos: bytes) -> list[list[int]]:
    """Return the places of the pair adjustments for `kern`, those of one lookup together, in the order of use."""
    features, lookups = _u16(gpos, 6), _u16(gpos, 8)
    used: set[int] = set()
    for index in _feature_indices(gpos, _u16(gpos, 4)):
        record = features + 2 + 6 * index
        if gpos[record : record + 4] == b"kern":
            feature = features + _u16(gpos, record + 4)
            used.update(_u16s(gpos, feature + 4, _u16(gpos, feature + 2)))
    found = [list(_pairs_of(gpos, lookups + _u16(gpos, lookups + 2 + 2 * index))) for index in sorted(used)]
    if sum(map(len, found)) > MOST_SUBTABLES:
        raise ValueError("kerning beyond reason")
    return [places for places in found if places]


def pair_kerning(gpos: bytes, lookups: list[list[int]], left: int, right: int) -> int:
    """Return what GPOS adds to the advance of the glyph `left` before `right`, font units.

    Every lookup adds its own; inside one the first part that knows the pair counts.
    """
    total = 0
    for places in lookups:
        values = (_pair_value(gpos, at, left, right) for at in places)
        total += next((value for value in values if value is not None), 0)
    return total


def old_kerning(kern: bytes, left: int, right: int) -> int:
    """Return what the old `kern` table adds to the advance of the glyph `left` before `right`, font units."""
    if _u16(kern, 0):  # Apple's form
        return 0
    at = 4
    for _ in range(min(_u16(kern, 2), MOST_SUBTABLES)):
        coverage, count = _u16(kern, at + 4), _u16(kern, at + 6)
        if coverage & 0xFF07 == 1:  # format 0, along the line, no minimum, no cross-stream
            found = _search(kern, at + 14, step=6, count=count, key=left << 16 | right, form=">L")
            if found is not None:
                return _i16(kern, found + 4)
        at += _u16(kern, at + 2)
    return 0


def _segment_glyph(cmap: bytes, at: int, code: int) -> int:
    """Return the glyph from a cmap subtable of format 4."""
    size = _u16(cmap, at + 6)
    ends, starts = at + 14, at + 16 + size
    index = bisect_left(range(size // 2), code, key=lambda i: _u16(cmap, ends + 2 * i))
    if index == size // 2 or code > 0xFFFF or _u16(cmap, starts + 2 * index) > code:
        return 0
    delta, shift = _u16(cmap, starts + size + 2 * index), starts + 2 * size + 2 * index
    offset = _u16(cmap, shift)
    if not offset:
        return (code + delta) & 0xFFFF
    glyph = _u16(cmap, shift + offset + 2 * (code - _u16(cmap, starts + 2 * index)))
    return (glyph + delta) & 0xFFFF if glyph else 0


def _group_glyph(cmap: bytes, at: int, code: int) -> int:
    """Return the glyph from a cmap subtable of format 12."""
    if _u16(cmap, at) != 12:
        raise ValueError("cmap of an old format")
    count = _u32(cmap, at + 12)
    index = bisect_left(range(count), code, key=lambda i: _u32(cmap, at + 20 + 12 * i))
    group = at + 16 + 12 * index
    if index == count or _u32(cmap, group) > code:
        return 0
    return _u32(cmap, group + 8) + code - _u32(cmap, group)


def _feature_indices(gpos: bytes, scripts: int) -> tuple[int, ...]:
    """Return the features that the Latin script, else the default one, has for any language."""
    found = {}
    for at in range(scripts + 2, scripts + 2 + 6 * _u16(gpos, scripts), 6):
        found[gpos[at : at + 4]] = scripts + _u16(gpos, at + 4)
    for tag in (b"latn", b"DFLT"):
        if tag in found and _u16(gpos, found[tag]):
            language = found[tag] + _u16(gpos, found[tag])
            return _u16s(gpos, language + 6, _u16(gpos, language + 4))
    return ()


def _pairs_of(gpos: bytes, lookup: int) -> Iterator[int]:
    """Yield the places of a lookup's pair adjustments."""
    for offset in _u16s(gpos, lookup + 6, min(_u16(gpos, lookup + 4), MOST_SUBTABLES + 1)):
        kind, at = _u16(gpos, lookup), lookup + offset
        if kind == EXTENSION:
            kind, at = _u16(gpos, at + 2), at + _u32(gpos, at + 4)
        if kind == PAIR:
            yield at


def _pair_value(gpos: bytes, at: int, left: int, right: int) -> int | None:
    """Return the advance that one pair adjustment gives, None where it does not know the pair."""
    index = _coverage(gpos, at + _u16(gpos, at + 2), left)
    if index is None:
        return None
    first, second = _u16(gpos, at + 4), _u16(gpos, at + 6)
    size = 2 * (first.bit_count() + second.bit_count())
    place: int | None
    if _u16(gpos, at) == 1:
        pairs = at + _u16(gpos, at + 10 + 2 * index)
        pair = _search(gpos, pairs + 2, step=size + 2, count=_u16(gpos, pairs), key=right)
        place = pair + 2 if pair is not None else None
    else:
        classes = _class(gpos, at + _u16(gpos, at + 8), left) * _u16(gpos, at + 14)
        place = at + 16 + size * (classes + _class(gpos, at + _u16(gpos, at + 10), right))
    if place is None:
        return None
    return _i16(gpos, place + 2 * (first & 3).bit_count()) if first & X_ADVANCE else 0


def _coverage(gpos: bytes, at: int, glyph: int) -> int | None:
    """Return the number of a glyph in a coverage table, None where it is not covered."""
    if _u16(gpos, at) == 1:
        found = _search(gpos, at + 4, step=2, count=_u16(gpos, at + 2), key=glyph)
        return None if found is None else (found - at - 4) // 2
    span = _span(gpos, at, glyph)
    return None if span is None else _u16(gpos, span + 4) + glyph - _u16(gpos, span)


def _class(gpos: bytes, at: int, glyph: int) -> int:
    """Return the class of a glyph, 0 for those that are not listed."""
    if _u16(gpos, at) == 1:
        index = glyph - _u16(gpos, at + 2)
        return _u16(gpos, at + 6 + 2 * index) if 0 <= index < _u16(gpos, at + 4) else 0
    span = _span(gpos, at, glyph)
    return 0 if span is None else _u16(gpos, span + 4)


def _span(gpos: bytes, at: int, glyph: int) -> int | None:
    """Return the place of the range (first glyph, last glyph, value) that holds a glyph."""
    count = _u16(gpos, at + 2)
    index = bisect_left(range(count), glyph, key=lambda i: _u16(gpos, at + 6 + 6 * i))
    span = at + 4 + 6 * index
    return span if index < count and _u16(gpos, span) <= glyph else None


def _search(data: bytes, at: int, *, step: int, count: int, key: int, form: str = ">H") -> int | None:
    """Return the place of the record that begins with `key` among sorted ones."""
    index = bisect_left(range(count), key, key=lambda i: _read(form, data, at + step * i))
    place = at + step * index
    return place if index < count and _read(form, data, place) == key else None


def _u16(data: bytes, at: int) -> int:
    return _read(">H", data, at)


def _i16(data: bytes, at: int) -> int:
    return _read(">h", data, at)


def _u32(data: bytes, at: int) -> int:
    return _read(">L", data, at)


def _u16s(data: bytes, at: int, count: int) -> tuple[int, ...]:
    return struct.unpack_from(f">{count}H", data, at)


def _read(form: str, data: bytes, at: int) -> int:
    (value,) = struct.unpack_from(form, data, at)
    return int(value)
