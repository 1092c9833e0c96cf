"""The cut sheet as the wire cutter gets it: read back from the file, and measured on the picture of the page."""

import re
from dataclasses import replace

import pytest

from cutsheets.codes import make_sheet_code
from cutsheets.errors import CutsheetError
from cutsheets.sheets.cutsheet import CutSheet, Wire, cut_sheets_pdf
from cutsheets.sheets.orderpage import OrderHead
from tests.cutsheets.drawn_lines import MM, bar_before, strokes
from tests.cutsheets.kind_jobs import work
from tests.cutsheets.paper_reader import codes, document, ink_box, letters, picture, quiet_zones_are_white, words
from tests.cutsheets.paper_samples import CORNICE_LINE, IN, LONG_LINE, PANEL_LINE, SHEET
from tests.cutsheets.test_traveller_faces import gang_line
from tests.cutsheets.test_traveller_parts import LINES, TWISTED, WING

CLEAR = 4.5 * MM
DPI = 600
HEAD = OrderHead(
    4182, "C", "Osgood & Lyle Builders", "Bramhall Street Theatre, front", "Tern Point Foam Works", "in",
    SHEET.printed, "Mina O.", 2, SHEET.needed,
)  # fmt: skip
WIRE = Wire("Cutter 1", 55 * IN, 0.5)


def sheet(line=CORNICE_LINE, unit="in", *, section=IN / 16, **head):
    return CutSheet(replace(HEAD, unit=unit, **head), line, WIRE, IN / 8, section)


def of_kind(unit="in", **line):
    return sheet(replace(CORNICE_LINE, worked=work(unit, **line), profile="", note=""), unit)


def said(one):
    return " ".join(words(cut_sheets_pdf([one])))


SHEETS = {
    "cornice": sheet(), "panel": sheet(PANEL_LINE), "long": sheet(LONG_LINE), "metric": sheet(unit="mm"),
    "wing": of_kind("mm", **WING), **{name: of_kind(**line) for name, line in LINES.items()},
    "faces": sheet(replace(CORNICE_LINE, worked=gang_line((2, 5, 4)))),
}  # fmt: skip


@pytest.mark.parametrize("page", ["letter", "a4"])
@pytest.mark.parametrize("name", SHEETS)
def test_every_page_stays_on_the_paper_in_letters_that_can_be_read(name, page):
    data = cut_sheets_pdf([SHEETS[name]], page)
    assert all(min(ink_box(each, 50)) >= CLEAR - 1.5 for each in document(data))
    assert all(size >= 8.98 and embedded for size, embedded in letters(data))
    assert all(quiet_zones_are_white(each) for each in document(data))


@pytest.mark.parametrize("resolution", [203, 300, 600])
def test_every_page_carries_the_code_of_its_line_twice(resolution):
    line = replace(CORNICE_LINE, number=2)
    for page in document(cut_sheets_pdf([sheet(line)])):
        assert [code.text for code in codes(page, resolution)] == [make_sheet_code(4182, "C", 2)] * 2


def test_a_hundred_millimetres_are_a_hundred_on_the_paper():
    """Measured on the picture, ± 0.2 mm: a print that was fitted to the page is told from one in full size."""
    page = document(cut_sheets_pdf([sheet()]))[0]
    assert bar_before(page, picture(page, DPI), "100 mm on this paper", DPI) == pytest.approx(100, abs=0.2)


@pytest.mark.parametrize(
    ("unit", "word", "long"), [("in", "4 in of the part", 4 * IN), ("mm", "100 mm of the part", 100)]
)
def test_bar_and_drawing_are_to_the_scale_that_stands_there(unit, word, long):
    page = document(cut_sheets_pdf([sheet(unit=unit)]))[0]
    scale = int(re.search(r"scale 1 : (\d+)", words(cut_sheets_pdf([sheet(unit=unit)]))[0])[1])
    assert bar_before(page, picture(page, DPI), word, DPI) * scale == pytest.approx(long, abs=0.1 * scale)
    foam = CORNICE_LINE.worked.foam
    # pdfium's bounds hold the line itself and as much again for its corners
    drawn = [(right - left - 2 * line, top - low - 2 * line) for left, low, right, top, line, _ in strokes(page)]
    wanted = (foam.width / scale * MM, foam.height / scale * MM)
    assert any(each == pytest.approx(wanted, abs=0.3) for each in drawn)


def test_a_section_comes_out_as_large_as_a_page_lets_it():
    for line, most in ((CORNICE_LINE, 3), (replace(CORNICE_LINE, worked=gang_line((1, 2, 2))), 1)):
        assert f"scale 1 : {most}." in words(cut_sheets_pdf([sheet(line)]))[0]


def test_the_first_piece_is_held_to_the_foam_s_sizes_with_their_tolerance():
    text = said(sheet())
    # 8 7/8 and 10 3/4 ± 1/16, 87 ± 1/8 in
    assert re.search(r"depth of the section 8 7 ?8 8 ?13 ?16 8 ?15 ?16", text)
    assert re.search(r"height of the section 10 3 ?4 10 ?11 ?16 10 ?13 ?16", text)
    assert re.search(r"long point of A1 87 86 ?7 ?8 87 1 ?8", text)


def test_least_and_most_are_never_beyond_the_tolerance():
    """273.05 ± 1.53 mm is 271.52 to 274.58: to 0.1 mm the least is rounded up, the most down."""
    assert "height of the section 273.1 271.6 274.5" in said(sheet(unit="mm", section=1.53))


def test_limits_are_in_32nds_of_an_inch_as_a_tape_has_them():
    """8 7/8 ± 1.2 mm is 8.8278 to 8.9222: 8 27/32 and 8 29/32 lie inside, 8 53/64 is on no tape."""
    assert re.search(r"depth of the section 8 7 ?8 8 ?27 ?32 8 ?29 ?32", said(sheet(section=1.2)))


def test_no_size_but_the_foam_s_is_on_the_sheet():
    text = said(sheet())
    assert "Finished" not in text
    assert not re.search(r"(?<!\d)(88|52)(?!\d)|11 1 ?4", text)  # the blanks
    assert not re.search(r"9 deep|× 11 high", text)


def test_settings_hands_and_who_printed_it_can_be_read():
    text = said(sheet())
    settings = "Feed 55 in a minute in Firm 1.5 FR on Cutter 1; 0.5 min for each way in or out."
    by_hand = ("heat used", "feed used", "first piece checked by")
    assert all(each in text for each in (settings, *by_hand, "reprint 2", "Guards stay on", "29 CFR 1910.1000"))
    assert "Hands: 3 LEFT, 3 RIGHT" in said(of_kind(**TWISTED))
    assert "wire kerf 1 16 wire outside the foam by 1 32" in re.sub(r"(\d)(16|32)", r"\1 \2", said(of_kind(**TWISTED)))


def test_both_ends_of_a_wing_are_drawn_with_their_towers():
    text = said(SHEETS["wing"])
    for words_ in ("root, left tower", "tip, right tower", "left wing", "right wing", "right tower 118.2 × 5.6 mm"):
        assert words_ in text


def test_the_figures_of_a_wing_stand_below_the_share_of_the_chord_that_they_are_for():
    at = r" [\d.]+ × [\d.]+ mm"
    rows = f"share of the chord 0.(\\d+) root{at} tip{at} left tower{at} right tower{at}"
    assert re.findall(rows, said(SHEETS["wing"])) == ["300", "500", "700"]


def test_nothing_that_the_sheet_says_of_its_own_pictures_is_cut_off():
    sheets = {name: said(one) for name, one in SHEETS.items()}
    assert [name for name, text in sheets.items() if re.search("of the part[^…]*…", text)] == []


def test_a_face_of_many_sections_is_drawn_with_a_box_for_every_blank():
    text = said(SHEETS["faces"])
    assert "2 blanks. Face 18 × 14-1/2 in, 20 sections" in text
    assert {str(n) for n in range(1, 21)} <= set(text.split())


def test_a_long_line_goes_on_with_its_columns_and_leaves_nothing_out():
    texts = words(cut_sheets_pdf([sheet(LONG_LINE)]))
    assert [f"{n} of {len(texts)}" in text for n, text in enumerate(texts, 1)] == [True] * len(texts)
    whole = " ".join(texts)
    assert all(mark in whole for mark in ("D1", "D2–D59", "D60", *(f"D{n}" for n in range(61, 74))))
    assert whole.count("keep the Łódź pieces apart.") == 3


def test_the_same_sheets_are_the_same_bytes_and_several_lines_one_file():
    both = [sheet(), sheet(replace(PANEL_LINE, number=2))]
    assert cut_sheets_pdf(both) == cut_sheets_pdf(both)
    found = {codes(page, 200)[0].text for page in document(cut_sheets_pdf(both))}
    assert found == {make_sheet_code(4182, "C", 1), make_sheet_code(4182, "C", 2)}


def test_a_line_without_a_blank_is_refused():
    empty = replace(CORNICE_LINE, worked=replace(CORNICE_LINE.worked, blanks=()))
    with pytest.raises(CutsheetError) as caught:
        cut_sheets_pdf([sheet(empty)])
    assert caught.value.code == "sheet-empty"
