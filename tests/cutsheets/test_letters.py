import math
import struct
from io import BytesIO

import pytest
import shapely
from fontTools.misc.psCharStrings import T2CharString
from fontTools.ttLib import TTFont, newTable
from fontTools.ttLib.tables._k_e_r_n import KernTable_format_0
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image, ImageDraw, ImageFont

from cutsheets import font_tables
from cutsheets.errors import CutsheetError
from cutsheets.letters import FOLDER, LARGEST_FONT, SHIPPED, read_font, set_text, shipped_font
from tests.cutsheets.font_files import ADVANCE, EM, H, box, builder, font_bytes, glyph, round_charstring, saved

CAP = 304.8
FACES = {72: "H", 0x1F600: "x", 0x1F601: "y"}  # beyond the first plane
HOURGLASS = [box(0, 0, 300, 300), box(200, 200, 500, 500)]


def font_of(name=SHIPPED[0]):
    return read_font(shipped_font(name), name)


def made(glyphs, codes=None, **more):
    return read_font(font_bytes({"H": H} | glyphs, codes, **more), "test.ttf")


def faces(letter):
    return shapely.MultiPolygon([shapely.Polygon(part.outer, part.holes) for part in letter.parts])


def refused(text, font, **more):
    with pytest.raises(CutsheetError) as caught:
        set_text(text, font, CAP, **more)
    return caught.value.code, caught.value.where


@pytest.mark.parametrize("name", SHIPPED)
def test_the_cap_height_is_that_of_the_flat_capital(name):
    _, low, _, high = faces(set_text("H", font_of(name), CAP)[0]).bounds
    assert (low, high) == (0, pytest.approx(CAP, abs=1e-9))


@pytest.mark.parametrize("otf", [False, True])
def test_the_cap_height_is_measured_and_what_a_font_states_serves_only_without_an_h(otf):
    assert made({}, otf=otf).cap == 700
    without = read_font(font_bytes({"I": H}, otf=otf))
    assert (without.cap, made({}).cap_note) == (650, "")
    assert "no H" in without.cap_note
    with pytest.raises(CutsheetError) as caught:
        read_font(font_bytes({"I": H}, cap=0))
    assert caught.value.code == "font"


@pytest.mark.parametrize("name", SHIPPED)
@pytest.mark.parametrize(("text", "parts", "counters"), [
    ("ADOPQR4690", 1, 1), ("B8", 1, 2), ("CHILMTVXYZ", 1, 0), ("ij", 2, 0), ("Ä", 3, 1), ("%", 3, 2),
])  # fmt: skip
def test_counters_and_loose_parts_are_kept(name, text, parts, counters):
    for letter in set_text(text, font_of(name), CAP):
        assert (letter.name, len(letter.parts)) == (letter.name, parts)
        assert (letter.name, sum(len(part.holes) for part in letter.parts)) == (letter.name, counters)


@pytest.mark.parametrize("name", SHIPPED)
@pytest.mark.parametrize("sign", "ABRSQg&%Ä8")
def test_a_letter_has_the_area_that_another_rasteriser_fills(name, sign):
    # FreeType through Pillow, 900 pixels to the em
    pixels, file = 900, FOLDER / name
    image = Image.new("L", (2 * pixels, 2 * pixels))
    ImageDraw.Draw(image).text((100, 100), sign, 255, font=ImageFont.truetype(file, pixels))
    filled = sum(value * count for value, count in enumerate(image.histogram())) / 255
    font = TTFont(file)
    scale = CAP / font_of(name).cap * font["head"].unitsPerEm / pixels
    assert faces(set_text(sign, font_of(name), CAP)[0]).area == pytest.approx(filled * scale**2, rel=0.005)


def kerning_of(name):
    """Return the kerning of a shipped font as fontTools unrolls it: (left, right) → units."""
    font = TTFont(FOLDER / name)
    (lookup,) = font["GPOS"].table.LookupList.Lookup
    pairs = {}
    for table in reversed(lookup.SubTable):
        assert table.Format == 1
        for left, each in zip(table.Coverage.glyphs, table.PairSet, strict=True):
            pairs |= {(left, record.SecondGlyph): record.Value1.XAdvance for record in each.PairValueRecord}
    return font, pairs


@pytest.mark.parametrize("name", SHIPPED)
def test_letters_stand_as_far_apart_as_the_fonts_own_tables_say(name):
    font, pairs = kerning_of(name)
    signs, names, scale = "AVTLYPoe1.", font.getBestCmap(), CAP / font_of(name).cap
    for left in signs:
        for right in signs:
            one, other = names[ord(left)], names[ord(right)]
            units = font["hmtx"][one][0] + pairs.get((one, other), 0)
            assert set_text(left + right, font_of(name), CAP)[1].x == pytest.approx(units * scale), left + right
    assert pairs[names[ord("A")], names[ord("V")]] < 0


FEATURES = """
@ROUND = [O Q]; @SLANT = [A V];
languagesystem DFLT dflt; languagesystem latn dflt;
feature kern {
  lookup pairs {
    pos A V -80; pos A O -11;
    subtable;
    pos @SLANT @ROUND -30; pos @ROUND @SLANT <-5 0 -25 0>;
  } pairs;
} kern;
"""
LETTERS = dict.fromkeys("AVOQ", H)


@pytest.mark.parametrize("features", [FEATURES, FEATURES.replace("lookup pairs", "lookup pairs useExtension")])
def test_pairs_and_classes_of_gpos_are_read(features):
    font = made(LETTERS, features=features)
    wanted = {"AV": -80, "AO": -11, "VO": -30, "VQ": -30, "AQ": -30, "OA": -25, "OO": 0, "VA": 0, "HA": 0}
    units = {pair: set_text(pair, font, 700)[1].x - ADVANCE for pair in wanted}
    assert units == pytest.approx(wanted)


def test_the_old_kern_table_serves_where_there_is_no_other():
    maker = builder({"H": H} | LETTERS)
    table = KernTable_format_0()
    table.coverage, table.kernTable = 1, {("A", "V"): -70, ("V", "A"): -60, ("A", "O"): 12}
    maker.font["kern"] = newTable("kern")
    maker.font["kern"].version, maker.font["kern"].kernTables = 0, [table]
    font = read_font(saved(maker))
    for pair, kern in {"AV": -70, "VA": -60, "AO": 12, "OA": 0}.items():
        assert set_text(pair, font, 700)[1].x == pytest.approx(ADVANCE + kern)


@pytest.mark.parametrize("data", [*map(shipped_font, SHIPPED), font_bytes({"H": H, "x": H, "y": H}, FACES)])
def test_characters_find_the_glyphs_that_fonttools_finds(data):
    font = TTFont(BytesIO(data))
    cmap, found = font.getBestCmap(), font.reader["cmap"]
    for code in [*range(0x2600), 0x1F5FF, 0x1F600, 0x1F601, 0x1F602]:
        assert font_tables.glyph_id(found, code) == (font.getGlyphID(cmap[code]) if code in cmap else 0), hex(code)


def test_a_space_is_an_advance_and_a_composed_character_one_letter():
    letters = set_text("A  \u0041\u0308", made({"A": H, "Ä": H}), 700)
    assert [(letter.name, letter.at, letter.x) for letter in letters] == [("A", 0, 0), ("Ä", 3, 3 * ADVANCE)]


def test_overlapping_contours_are_one_shape_and_only_opposite_ones_are_counters():
    inner, turned = box(100, 100, 400, 400), box(100, 100, 400, 400)[::-1]
    font = made({"A": HOURGLASS, "B": [box(0, 0, 500, 500), inner], "C": [box(0, 0, 500, 500), turned]})
    areas = [faces(letter).area for letter in set_text("ABC", font, 700)]
    assert areas == pytest.approx([300**2 + 300**2 - 100**2, 500**2, 500**2 - 300**2])
    joined, filled, ring = (letter.parts for letter in set_text("ABC", font, 700))
    assert [len(parts[0].holes) for parts in (joined, filled, ring)] == [0, 0, 1]
    assert shapely.LinearRing(ring[0].outer).is_ccw
    assert not shapely.LinearRing(ring[0].holes[0]).is_ccw


@pytest.mark.parametrize("name", SHIPPED)
def test_chords_leave_the_curve_by_no_more_than_stated(name):
    true = faces(set_text("S", font_of(name), CAP, chord=0.001)[0])
    for chord in (1.0, 0.05):
        drawn = faces(set_text("S", font_of(name), CAP, chord=chord)[0])
        assert shapely.hausdorff_distance(drawn.boundary, true.boundary, 0.1) <= chord + 0.002


def test_cubic_curves_are_cut_into_chords_too():
    # a circle of four Bézier arcs with the usual handles, 0.5523 of the radius, is within 0.03 % of the true one
    maker = builder({"H": H, "O": H}, otf=True)
    maker.font["CFF "].cff.topDictIndex[0].CharStrings["O"] = round_charstring(maker, 350)
    (letter,) = set_text("O", read_font(saved(maker)), 700, chord=0.5)
    outer = shapely.Polygon(letter.parts[0].outer)
    assert outer.area == pytest.approx(math.pi * 350**2, rel=0.003)
    nearest = shapely.distance(outer.exterior, shapely.Point(350, 350))
    assert 350 - 0.5 - 0.1 < nearest < 350
    assert len(letter.parts[0].outer) < 100


def test_what_a_font_cannot_draw_is_refused_at_its_place():
    font = made({"A": H, "B": []})
    assert refused("A Ж", font) == ("font-glyph", "text[2]")
    assert refused("AB", font, where="lines[0].text") == ("font-glyph", "lines[0].text[1]")
    assert refused("שלום", font_of()) == ("text", "text[0]")
    assert refused("x\u0301\u0323", font_of()) == ("text", "text[1]")
    assert refused("   ", font) == refused("A" * 101, font) == ("text", "text")


def readable(data, text="HAÄ8g"):
    """Read a font and set a text in it; return the code of the refusal, "" where there is none."""
    try:
        set_text(text, read_font(data), CAP)
    except CutsheetError as error:
        return error.code
    return ""


def test_a_file_that_is_no_font_is_refused():
    for data in (b"", b"\0\1\0\0", b"wOF2" + bytes(100), b"OTTO" + bytes(100), b"ttcf" + bytes(100), b"%PDF-1.7"):
        assert readable(data) == "font"
    assert readable(shipped_font(SHIPPED[0]) + bytes(LARGEST_FONT)) == "font"
    with pytest.raises(CutsheetError):
        shipped_font("../letters.py")


@settings(max_examples=60)
@given(st.sampled_from(SHIPPED), st.integers(0, 90_000))
def test_a_font_cut_short_is_refused(name, length):
    assert readable(shipped_font(name)[: min(length, len(shipped_font(name)) - 60_000)]) in ("font", "font-glyph")


@settings(max_examples=100, deadline=None)
@given(st.sampled_from([*map(shipped_font, SHIPPED), font_bytes({"H": H, "A": HOURGLASS}, otf=True)]), st.data())
def test_a_broken_font_is_read_or_refused(data, draw):
    broken = bytearray(data)
    for at in draw.draw(st.lists(st.integers(0, len(data) - 1) | st.integers(0, 2000), min_size=1, max_size=40)):
        broken[at % len(data)] = draw.draw(st.sampled_from([0, 1, 127, 128, 255]))
    assert readable(bytes(broken)) in ("", "font", "font-glyph", "text")


@given(st.binary(max_size=2000), st.sampled_from([b"\0\1\0\0", b"OTTO", b"true", b""]))
def test_random_bytes_are_refused(data, head):
    assert readable(head + data) == "font"


def test_a_character_map_of_billions_is_looked_up_and_not_unrolled():
    maker = builder({"H": H})
    groups = struct.pack(">HHLLL", 12, 0, 28, 0, 1) + struct.pack(">LLL", 0, 0xFFFFFFFF, 2)
    table = struct.pack(">HHHHL", 0, 1, 3, 10, 12) + groups
    file = TTFont(BytesIO(saved(maker)))
    file["cmap"] = newTable("cmap")
    file["cmap"].compile = lambda font: table
    out = BytesIO()
    file.save(out)
    assert readable(out.getvalue(), "H") in ("", "font", "font-glyph")


def test_parts_within_parts_without_end_are_refused():
    glyphs = {"H": H, "g0": []} | {f"g{n}": glyph([], [f"g{n - 1}"] * 2) for n in range(1, 30)}
    maker = builder(glyphs, {72: "H", 65: "g29"})
    assert readable(saved(maker), "HA") == "font"


def test_routines_that_call_each_other_without_end_are_refused():
    maker = builder({"H": H, "A": H}, otf=True)
    top = maker.font["CFF "].cff.topDictIndex[0]
    call = maker.font["CFF "].cff.GlobalSubrs
    for number in range(40):
        more = [number + 1 - 107, "callgsubr"] * 2 if number < 39 else [0, "hmoveto"]
        call.append(T2CharString(program=[*more, "return"]))
    top.CharStrings["A"].program = [-107, "callgsubr", "endchar"]
    assert readable(saved(maker), "HA") == "font"


def test_a_letter_that_crosses_itself_a_thousand_times_is_refused():
    zigzag = [(x * 7919 % 5000, x * 104729 % 5000) for x in range(3000)]
    assert readable(font_bytes({"H": H, "A": [zigzag]}), "HA") == "font"
    assert readable(font_bytes({"H": [box(0, 0, 10, 1)], "A": [box(0, 0, 30000, 1)]}), "HA") == "font"


def test_fonts_of_one_content_are_read_once():
    assert font_of() is font_of()
    assert EM == 1000
