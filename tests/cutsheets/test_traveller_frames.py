"""A traveller's three frames, its scales, its operations, and one sheet a line: read and measured on the page."""

import re
from dataclasses import replace

import pytest

from cutsheets.codes import make_sheet_code
from cutsheets.sheets.traveller import traveller_pdf
from tests.cutsheets.drawn_lines import MM, strokes
from tests.cutsheets.kind_jobs import work
from tests.cutsheets.packed_orders import moulding
from tests.cutsheets.paper_reader import codes, document, letters, words
from tests.cutsheets.paper_samples import CORNICE, CORNICE_LINE, LONG_LINE, PANEL_LINE, SHEET

TEXT_BLOCK = 7.3 * 72
FINIAL = {
    "kind": "turned", "half_profile": [[0, 3], [1, 3], [1, 2], [4, 1.5], [6, 2.5], [9, 0.5]], "stub": {"base": 1.5},
}  # fmt: skip


def frames(page):
    """The rectangles as wide as the text, and the dashed ones: (upper edge, lower edge, weight, dashed)."""
    return [
        (top, low, weight, dashed)
        for left, low, right, top, weight, dashed in strokes(page)
        if top - low > 12 and (abs(right - left - TEXT_BLOCK) < 5 or (dashed and right - left > 150))
    ]


@pytest.mark.parametrize("page", ["letter", "a4"])
def test_blank_foam_and_finished_size_stand_in_three_different_frames(page):
    sheet = document(traveller_pdf(SHEET, page))[0]
    fold = sheet.get_height() / 2
    (blank,) = [each for each in frames(sheet) if each[1] > fold]
    foam, finished = sorted((each for each in frames(sheet) if each[0] < fold), reverse=True)
    assert (blank[2], foam[2]) == (pytest.approx(2.8, abs=0.1), pytest.approx(1.0, abs=0.1))
    assert (blank[3], foam[3], finished[3]) == (False, False, True)
    assert "Finished 9 deep" in sheet.get_textpage().get_text_bounded(top=finished[0], bottom=finished[1])


def test_the_blank_is_the_largest_size_on_the_page():
    sizes = {}
    page = document(traveller_pdf(SHEET))[0]
    for half, low, high in (("upper", 396, 650), ("lower", 0, 396)):
        reader = page.get_textpage()
        boxes = (reader.get_charbox(n) for n in range(reader.count_chars()) if reader.get_text_range(n, 1).isdigit())
        sizes[half] = max(top - bottom for _, bottom, _, top in boxes if low < bottom < high)
    assert sizes["upper"] > 2 * sizes["lower"]


@pytest.mark.parametrize(("unit", "page"), [("in", "letter"), ("mm", "a4")])
def test_the_section_is_drawn_to_the_scale_that_stands_above_it(unit, page):
    data = traveller_pdf(replace(SHEET, unit=unit), page)
    scale = int(re.search(r"scale 1 : (\d+)", words(data)[0])[1])
    drawn = [
        (right - left - 2 * line, top - low - 2 * line) for left, low, right, top, line, _ in strokes(document(data)[0])
    ]
    wanted = (CORNICE.foam.width / scale * MM, CORNICE.foam.height / scale * MM)
    assert any(each == pytest.approx(wanted, abs=0.3) for each in drawn)


def test_what_the_edges_of_a_section_mean_costs_it_no_scale():
    line = replace(CORNICE_LINE, worked=moulding(pieces=[{"length": 60}]))
    text = words(traveller_pdf(replace(SHEET, lines=(line,))))[0]
    assert "thick edge: coat, dashed: blank" in text
    assert "scale 1 : 4 " in text  # 1 : 5 where both stand below the drawing


def test_every_operation_has_its_count_and_room_for_initials():
    (text,) = words(traveller_pdf(SHEET))
    assert re.search(r"Saw .*Cut .*Coat .*Cured .*Check .*Pack", text)
    assert text.count("of 8 by") + text.count("of 8") >= 6
    many = words(traveller_pdf(replace(SHEET, lines=(replace(CORNICE_LINE, worked=work(**FINIAL, qty=12)),))))[0]
    assert many.count("of 12") == 6


def test_bare_foam_has_no_boxes_for_a_coat_and_a_panel_none_for_the_wire():
    bare = words(traveller_pdf(replace(SHEET, lines=(replace(CORNICE_LINE, coat_mm=0.0),))))[0]
    assert re.search(r"Saw .*Cut .*Check .*Pack", bare)
    assert "Cured" not in bare
    panel = words(traveller_pdf(replace(SHEET, lines=(replace(PANEL_LINE, coat_mm=0.0),))))[0]
    assert panel.count("of 40") == 3  # Saw, Check, Pack


def test_an_inside_and_an_outside_corner_are_called_so():
    text = " ".join(words(traveller_pdf(replace(SHEET, lines=(LONG_LINE,)))))
    assert "mitre 45° outside" in text
    assert "mitre 22.5° inside" in text


def test_a_second_print_says_that_it_is_one():
    assert "print 1" in words(traveller_pdf(replace(SHEET, print_number=1)))[0]
    assert "reprint 2" in words(traveller_pdf(SHEET))[0]


def test_a_shop_may_have_one_traveller_a_line_with_its_own_code_and_pages():
    lines = (CORNICE_LINE, replace(PANEL_LINE, number=2))
    data = traveller_pdf(replace(SHEET, lines=lines, each_line=True))
    found = [codes(page, 300)[0].text for page in document(data)]
    assert found == [make_sheet_code(4182, "C", 1), make_sheet_code(4182, "C", 2)]
    assert all("1 of 1" in text and f"4182 C line {mark}" in text for text, mark in zip(words(data), "AC", strict=True))


def test_an_order_has_one_code_and_counts_all_pages():
    data = traveller_pdf(replace(SHEET, lines=(CORNICE_LINE, PANEL_LINE)))
    assert {code.text for page in document(data) for code in codes(page, 200)} == {make_sheet_code(4182, "C")}
    assert ["1 of 2" in words(data)[0], "2 of 2" in words(data)[1]] == [True, True]


def test_a_turned_part_has_the_height_of_every_diameter():
    """Heights from the base, foam: 1/8 in of coat off each radius and off the top, by hand."""
    worked = work(**FINIAL, coat="1/8")
    (text,) = words(traveller_pdf(replace(SHEET, lines=(replace(CORNICE_LINE, worked=worked),))))
    for row in (r"a 0 up, 5 3 ?4 across", r"4 up, 2 3 ?4 across", r"6 up, 4 3 ?4 across", r"8 7 ?8 up"):
        assert re.search(row, text), row


def filled(count, note=""):
    """The pages of a line with so many different sticks."""
    sticks = tuple(replace(CORNICE.sticks[0], mark=f"A{n}", front=1000.0 + 40 * n, run="") for n in range(count))
    line = replace(CORNICE_LINE, worked=replace(CORNICE, sticks=sticks, runs=()), note=note)
    return words(traveller_pdf(replace(SHEET, lines=(line,))))


@pytest.mark.parametrize("times", [2, 4, 6])
def test_a_note_alone_takes_no_page(times):
    """The half holds just so many sticks: the note goes below the section."""
    most = max(count for count in range(4, 14) if len(filled(count)) == 1)
    (noted,) = filled(most, " ".join(["mind the gap"] * times))
    assert noted.count("gap") == times


def test_views_that_would_come_out_too_small_together_have_pages_of_their_own():
    wing = {
        "kind": "wing", "root": {"naca": "0012", "chord": 220}, "tip": {"naca": "0012", "chord": 150}, "span": 700,
        "towers": {"gap": 1300, "root_offset": 150},
        "margin": {"ahead": 8, "behind": 8, "above": 5, "below": 5},
    }  # fmt: skip
    data = traveller_pdf(replace(SHEET, unit="mm", lines=(replace(CORNICE_LINE, worked=work("mm", **wing)),)))
    whole = " ".join(words(data))
    for view in ("left wing from above", "right wing from above", "right wing from the root's end, tip dashed"):
        assert re.search(rf"{view}, scale 1 : \d+", whole)
    assert min(size for size, _ in letters(data)) >= 8.98
