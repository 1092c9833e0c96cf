"""The file as a reader's program gets it: bookmarks, words, fonts, the same bytes twice."""

import unicodedata
from io import BytesIO

import pikepdf
import pytest
import uharfbuzz
from PIL import ImageFont
from reportlab.lib.units import mm

from cutsheets.drawings.lettering import FONT_FOLDER, as_printed, font, font_runs, joined, text_width
from cutsheets.drawings.scene import Polygon, Scene
from cutsheets.sheets.batch import batch_pdf
from cutsheets.sheets.coatsheet import CoatSheet
from cutsheets.sheets.furniture import print_words
from cutsheets.sheets.packingslip import PackingSlip
from cutsheets.sheets.page import BOLD, LEFT, WORDS, Pen, Type
from cutsheets.sheets.sawsheet import saw_sheet_pdf
from cutsheets.sheets.traveller import traveller_pdf
from tests.cutsheets.packed_orders import HEAD, LINES
from tests.cutsheets.paper_reader import document, ink_box, picture, words
from tests.cutsheets.paper_samples import FULL_SAW_SHEET, LONG_SHEET


def new_pen(page="letter", **more):
    return Pen(page, **{"title": "Traveller 4182 C", "author": "Tern Point", "subject": "a porch, Osgood", **more})


def test_bookmarks_name_their_pages_in_the_order_of_the_paper():
    pen = new_pen()
    pen.bookmark("Plan 118")
    pen.bookmark("Łódź, Большой театр", 1)
    pen.next_page()
    pen.bookmark("order 4182 C", 1)
    pen.next_page()
    pen.next_page()
    pen.bookmark("Plan 119")
    found = [(mark.level, mark.get_title(), mark.get_dest().get_index()) for mark in document(pen.finish()).get_toc()]
    assert found == [(0, "Plan 118", 0), (1, "Łódź, Большой театр", 0), (1, "order 4182 C", 1), (0, "Plan 119", 3)]


def test_a_bookmark_is_never_more_than_one_level_deeper_than_the_one_before():
    pen = new_pen()
    pen.bookmark("line A", 1)
    pen.bookmark("page 2", 3)
    assert [mark.level for mark in document(pen.finish()).get_toc()] == [0, 1]


MAKE = {"traveller": lambda: traveller_pdf(LONG_SHEET), "saw sheet": lambda: saw_sheet_pdf(FULL_SAW_SHEET, "a4")}


@pytest.mark.parametrize("make", MAKE.values(), ids=MAKE)
def test_a_file_is_sound_and_says_what_it_is(make):
    """pikepdf opens a file through qpdf; `check` is what `qpdf --check` does."""
    with pikepdf.open(BytesIO(make())) as file:
        assert file.check_pdf_syntax() == []
        said = {name: str(file.docinfo[name]) for name in ("/Title", "/Author", "/Subject", "/Creator")}
        assert all(said.values())
        assert said["/Creator"] == "Blockyard"


def subject(*sheets):
    with pikepdf.open(BytesIO(batch_pdf(sheets, title="Sheets", shop="Tern Point"))) as file:
        return str(file.docinfo["/Subject"])


def test_a_file_of_one_order_is_about_its_job_and_one_for_the_floor_says_so():
    slip = PackingSlip(HEAD, LINES, 6)
    assert subject(slip) == subject(slip, CoatSheet(HEAD, LINES)) == f"{HEAD.job}, {HEAD.customer}"
    assert subject(LONG_SHEET) == f"{LONG_SHEET.job}, {LONG_SHEET.customer}"
    assert subject(FULL_SAW_SHEET) == subject(slip, LONG_SHEET) == "Sheets for the floor"


@pytest.mark.parametrize("make", MAKE.values(), ids=MAKE)
def test_every_font_is_in_the_file_and_says_what_its_letters_are(make):
    with pikepdf.open(BytesIO(make())) as file:
        fonts = [each for each in file.objects if isinstance(each, pikepdf.Dictionary) and each.get("/Type") == "/Font"]
        own = [font for font in fonts if "Blockyard" in str(font.get("/BaseFont"))]
        assert own
        assert all("/FontFile2" in font["/FontDescriptor"] and "/ToUnicode" in font for font in own)


@pytest.mark.parametrize("make", MAKE.values(), ids=MAKE)
def test_the_same_input_is_the_same_bytes(make):
    assert make() == make()


@pytest.mark.parametrize("title", ["Żółć 東京 محمد", "(a\\b) <c> %d", "", "x" * 3000, "a\x00b\ud800"])
def test_any_title_makes_a_sound_file(title):
    pen = new_pen(title=title, author=title, subject=title)
    pen.bookmark(title)
    with pikepdf.open(BytesIO(pen.finish())) as file:
        assert file.check_pdf_syntax() == []


@pytest.mark.parametrize("page", ["letter", "a4"])
def test_a_hundred_millimetres_on_paper_are_a_hundred_millimetres(page):
    """Measured on the picture of the page at 1,200 dots an inch, whose sizes are those of ISO 216 and ANSI Y14.1."""
    pen = new_pen(page)
    bar = Polygon((((0, 0), (100, 0), (100, 10), (0, 10)),), fill="stripe", role=None)
    pen.scene(Scene((bar,)), 60, 60, 100 * mm, 10 * mm)
    paper = document(pen.finish())[0]
    dots = picture(paper, 1200).point(lambda value: 255 - value).getbbox()
    assert (dots[2] - dots[0]) / 1200 * 25.4 == pytest.approx(100, abs=0.2)
    assert (dots[3] - dots[1]) / 1200 * 25.4 == pytest.approx(10, abs=0.2)
    sides = [side / 72 * 25.4 for side in paper.get_size()]
    assert sides == pytest.approx({"a4": [210, 297], "letter": [215.9, 279.4]}[page], abs=0.05)


def test_a_second_print_says_that_it_is_a_reprint():
    assert [print_words(number) for number in (1, 2, 11)] == ["print 1", "reprint 2", "reprint 11"]


# Invented names, one or two for each script that the fonts have.
NAMES = (
    "José Núñez, Łódź, Şahin, Þórður",
    "Nguyễn Thị Hương Đặng",
    "Σπύρος Παπαδόπουλος",
    "Ильин, Большой театр",
    "Հայ ქართული",
    "ẹ̀kọ́",
    "東京株式会社",
    "北京市建筑公司",
    "ひらがなカタカナ",
    "한국 건설",
    "محمد الحسن",
    "פנחס כהן 123",
    "राम शर्मा",
    "தமிழ் മലയാളം",
    "क्षेत्र विद्यार्थी, श्री",
    "ক্ষত্রিয় స్త్రీ ಕನ್ನಡ",
    "සිංහල, ગુજરાતી ਪੰਜਾਬੀ ଓଡ଼ିଆ မြန်မာ",
    "ศักดิ์ ไทย",
    "አማርኛ ភាសា",
    "Party 🎉🎂 at 🏛, 👍🏽 ☎",
    "🪚🧱 Saw & Brick",
)


@pytest.mark.parametrize("name", NAMES)
def test_a_name_of_any_language_is_read_back_from_the_file(name):
    for kind in (WORDS, BOLD):
        pen = new_pen()
        pen.text(LEFT, 100, f"Job: {name}.", kind)
        (text,) = words(pen.finish())
        assert unicodedata.normalize("NFC", name) in text


@pytest.mark.parametrize("name", NAMES)
def test_a_name_of_any_language_has_ink_of_its_own(name):
    """No box and no blank: every letter that is a letter has a glyph."""
    for letters, font_name in font_runs(name, "text"):
        assert "U+" not in letters
        glyphs = font(font_name).face.charToGlyph
        assert all(glyphs[ord(letter)] for letter in letters)


def test_a_name_from_right_to_left_stands_in_that_order_and_is_joined():
    assert as_printed("order דוד") == "order " + "דוד"[::-1]
    first, *_, last = as_printed("محمد")
    assert [unicodedata.decomposition(each) for each in (first, last)] == ["<final> 062F", "<initial> 0645"]


JOINED = (
    "क्षेत्र",
    "विद्यार्थी",
    "ক্ষত্রিয়",
    "ગુજરાતી",
    "ਪੰਜਾਬੀ",
    "தமிழ்",
    "స్త్రీ",
    "ಕನ್ನಡ",
    "സ്ത്രീ",
    "ශ්\u200dරී",
    "မြန်မာ",
    "ភាសាខ្មែរ",
)


@pytest.mark.parametrize("word", JOINED)
def test_letters_of_india_are_joined_and_ordered_as_harfbuzz_and_pillow_do(word):
    """HarfBuzz by itself gives the glyphs; Pillow, with a HarfBuzz of its own, the width of the same font file."""
    [(text, name)] = font_runs(word, "text")
    glyphs = font(name).face.charToGlyph
    shapes = uharfbuzz.Font(uharfbuzz.Face(uharfbuzz.Blob.from_file_path(str(FONT_FOLDER / f"{name}.ttf"))))
    buffer = uharfbuzz.Buffer()
    buffer.add_str(unicodedata.normalize("NFC", word))
    buffer.guess_segment_properties()
    uharfbuzz.shape(shapes, buffer)
    assert [glyphs[ord(letter)] for letter in joined(text)] == [each.codepoint for each in buffer.glyph_infos]
    pillow = ImageFont.truetype(str(FONT_FOLDER / f"{name}.ttf"), 1000, layout_engine=ImageFont.Layout.RAQM)
    assert text_width(word, "text", 1000) == pytest.approx(pillow.getlength(text), abs=1)


def test_a_joined_word_has_the_ink_that_pillow_draws():
    word, size = "विद्यार्थी क्षेत्र", 60
    pen = new_pen()
    pen.text(LEFT, 200, word, Type("text", size))
    left, top, right, bottom = ink_box(document(pen.finish())[0], 72)
    pillow = ImageFont.truetype(str(FONT_FOLDER / "BlockyardOtherSouth.ttf"), size, layout_engine=ImageFont.Layout.RAQM)
    box = pillow.getbbox(word, anchor="ls")
    assert [left - LEFT, top - 200, 612 - right - LEFT, 792 - bottom - 200] == pytest.approx(box, abs=2)


def test_glyphs_without_a_letter_have_private_ones_in_their_order_which_no_name_can_say():
    """So that a file does not depend on what was printed before it."""
    face = font("BlockyardOtherSouth").face
    private = [glyph for code, glyph in sorted(face.charToGlyph.items()) if 0xE000 <= code < 0xF900]
    assert len(private) > 1000
    assert private == sorted(private)
    assert font_runs("\ue000", "text") == [("[U+E000]", "BlockyardText")]


def test_signs_that_nobody_sees_take_no_part():
    assert as_printed("Ab\u202ecd\x00\u200b\ud800\tef") == "Abcd ef"
    assert as_printed("☎\ufe0f👩\u200d🔧") == "☎👩🔧"  # a variant, two signs that could be one: sign by sign


def test_a_sign_that_no_font_has_is_named_by_its_code_point():
    pen = new_pen()
    pen.text(LEFT, 100, "Ba\U00012000r \U0001fbff.", WORDS)
    assert words(pen.finish()) == ["Ba[U+12000]r [U+1FBFF]."]


def test_every_emoji_prints_as_an_outline_of_its_own():
    """Ink of each sign is looked at: no two are alike, none is a blank or the box of a letter that is missing."""
    signs = "😀😁🎉🎂🏛🧱🪚🛠🚚📦🔥🌡⛔✂❤✅"
    pen = new_pen()
    for place, sign in enumerate(signs):
        pen.text(40 + 30 * place, 100, sign, Type("text", 20))
    sheet = picture(document(pen.finish())[0], 100)
    cells = [
        sheet.crop((round((38 + 30 * n) / 0.72), 100, round((68 + 30 * n) / 0.72), 150)) for n in range(len(signs))
    ]
    assert all(cell.getextrema() == (0, 255) for cell in cells)
    assert len({cell.tobytes() for cell in cells}) == len(signs)
