"""The file as a reader's program gets it: bookmarks, words, fonts, the same bytes twice."""

import unicodedata

import pytest

from cutsheets.drawings.lettering import as_printed, font, font_runs
from cutsheets.sheets.furniture import print_words
from cutsheets.sheets.page import BOLD, LEFT, WORDS, Pen
from tests.cutsheets.paper_reader import document, words


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
    "ศักดิ์ ไทย",
    "አማርኛ ភាសា",
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
        assert "?" not in letters
        glyphs = font(font_name).face.charToGlyph
        assert all(glyphs[ord(letter)] for letter in letters)


def test_a_name_from_right_to_left_stands_in_that_order_and_is_joined():
    assert as_printed("order דוד") == "order " + "דוד"[::-1]
    first, *_, last = as_printed("محمد")
    assert [unicodedata.decomposition(each) for each in (first, last)] == ["<final> 062F", "<initial> 0645"]


def test_signs_that_nobody_sees_take_no_part():
    assert as_printed("Ab\u202ecd\x00\u200b\ud800\tef") == "Abcd ef"
    assert font_runs("😀 ok", "text") == [("? ok", "BlockyardText")]  # seen, but no font has it
