"""The traveller as the floor gets it: read back from the file and from pictures of the page."""

import re
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cutsheets.errors import CutsheetError
from cutsheets.sheets.traveller import traveller_pdf
from cutsheets.solids import Blank
from tests.cutsheets.paper_reader import codes, document, ink_box, letters, quiet_zones_are_white, words
from tests.cutsheets.paper_samples import CORNICE, CORNICE_LINE, LONG_LINE, LONG_SHEET, PANEL_LINE, SHEET, box

CLEAR = 4.5 / 25.4 * 72
SHEETS = {"short": SHEET, "long": LONG_SHEET, "metric": replace(SHEET, unit="mm", lines=(CORNICE_LINE, PANEL_LINE))}


@pytest.fixture(scope="module", params=[(name, page) for name in SHEETS for page in ("letter", "a4")], ids="-".join)
def printed(request):
    name, page = request.param
    return SHEETS[name], traveller_pdf(SHEETS[name], page)


def numbers(text):
    return re.findall(r"\d+", text)


@pytest.mark.parametrize("resolution", [203, 300, 600])
def test_both_codes_of_the_first_and_the_last_page_are_read_from_a_print(resolution):
    pages = document(traveller_pdf(LONG_SHEET))
    for page in (pages[0], pages[len(pages) - 1]):
        assert [code.text for code in codes(page, resolution)] == ["BY104182BDE", "BY104182BDE"]


def test_the_printed_words_and_the_bars_say_the_same(printed):
    sheet, data = printed
    for text, page in zip(words(data), document(data), strict=True):
        assert text.count(codes(page, 150)[0].text) == 2
        assert f"{sheet.number} {sheet.revision}" in text


def test_nothing_is_printed_beside_the_bars(printed):
    assert all(quiet_zones_are_white(page) for page in document(printed[1]))


def test_nothing_runs_over_the_edge(printed):
    for page in document(printed[1]):
        assert min(ink_box(page)) >= CLEAR - 0.8


def test_the_punch_margin_is_clear_but_for_the_fold():
    page = document(traveller_pdf(LONG_SHEET))[0]
    # 0.75 in from the left, at 72 dots an inch
    margin = page.render(scale=1, grayscale=True, crop=(0, 0, 612 - 53, 0)).to_numpy()
    inked = [row for row, line in enumerate(margin) if line.min() < 128]
    assert inked
    assert all(abs(row - 396) < 14 for row in inked)


def test_every_letter_is_at_least_nine_points_and_its_font_is_in_the_file(printed):
    found = list(letters(printed[1]))
    assert min(size for size, _ in found) >= 8.98
    assert all(embedded for _, embedded in found)


def test_the_upper_half_knows_only_blanks_and_the_lower_only_foam():
    data = traveller_pdf(SHEET)
    (upper,), (lower,) = words(data, "upper"), words(data, "lower")
    assert {"88", "52", "9", "11"} <= set(numbers(upper))
    assert not {"87", "50", "78", "10"} & set(numbers(upper))
    assert {"87", "86", "50", "78", "8", "10"} <= set(numbers(lower))
    assert not {"88", "52"} & set(numbers(lower))
    assert ("Cut blanks to this, inches" in upper, "Cut foam to this, inches" in lower) == (True, True)


def test_the_finished_size_is_one_sentence_that_forbids_cutting_it():
    (upper,), (lower,) = words(traveller_pdf(SHEET), "upper"), words(traveller_pdf(SHEET), "lower")
    assert "Finished 9 deep × 11 high, for checking only. Never cut to this." in lower
    assert "Finished" not in upper


def test_an_uncoated_part_has_no_finished_size_to_be_confused_with():
    text = words(traveller_pdf(replace(SHEET, lines=(PANEL_LINE,))))[0]
    assert "the foam size is the finished size" in text
    assert "Never cut to this" not in text


def test_cautions_stand_on_every_page_and_indoor_parts_have_one_more():
    for sheet in (SHEET, replace(SHEET, lines=(PANEL_LINE,))):
        (text,) = words(traveller_pdf(sheet))
        for caution in ("29 CFR 1910.1000", "pentane", "Guards stay on", "Follow local codes", "maker's instructions"):
            assert caution in text
        assert ("For indoors" in text) == sheet.lines[0].indoors


def test_who_printed_when_and_what_it_replaces_can_be_read():
    (text,) = words(traveller_pdf(SHEET))
    assert "Mon 23 Nov 2026 14:12, Mina O." in text
    assert all(each in text for each in ("print 2", "sheet B", "Tern Point Foam Works", "needed Thu 3 Dec", "1 of 1"))


def test_names_in_other_letters_can_be_read_back():
    text = words(traveller_pdf(LONG_SHEET))[0]
    for name in ("Nguyễn Thị Hương", "Большой театр", "Łódź", "Żółć", "Παπαδόπουλος"):
        assert name in text


def test_a_long_order_flows_over_pages_and_leaves_nothing_out():
    texts = words(traveller_pdf(LONG_SHEET))
    assert len(texts) > 3
    assert [f"{n} of {len(texts)}" in text for n, text in enumerate(texts, 1)] == [True] * len(texts)
    whole = " ".join(texts)
    marks = [f"D{n}" for n in (1, 60, *range(61, 74))] + ["D2–D59", "D1–D6", "D43–D48"]
    assert all(re.search(rf"(?<!\w){mark}(?!\w)", whole) for mark in marks)
    assert whole.count("keep the Łódź pieces apart.") == 3
    assert "order longer blocks" in whole


def test_a_page_without_blanks_says_where_they_are():
    last_of_line = words(traveller_pdf(replace(LONG_SHEET, lines=(LONG_LINE,))))[-1]
    assert "All blanks of line D stand on the pages before this one." in last_of_line


def test_the_check_line_is_on_the_sheet():
    (text,) = words(traveller_pdf(SHEET), "lower")
    assert "wall + 2 × 8" in text
    assert "521" in numbers(text)


def test_a_metric_shop_has_millimetres_and_no_feet():
    text = words(traveller_pdf(SHEETS["metric"]))[0]
    assert {"2235.2", "241.3", "285.8", "2209.8"} <= set(re.findall(r"\d+\.\d", text))
    assert ("″" in text, "inches" in text, "Cut blanks to this, mm" in text) == (False, False, True)


def test_a_blank_is_printed_rounded_up():
    odd = replace(CORNICE, blanks=(Blank(box(88.01, 9.5, 11.25), 1, ("A1",)),))
    (upper,) = words(traveller_pdf(replace(SHEET, lines=(replace(CORNICE_LINE, worked=odd),))), "upper")
    assert re.search(r"88 1 16", upper)


def test_the_same_sheet_is_the_same_bytes_and_another_letter_is_not():
    assert traveller_pdf(SHEET) == traveller_pdf(SHEET)
    assert traveller_pdf(SHEET) != traveller_pdf(replace(SHEET, revision="D"))


def test_a_sheet_without_a_blank_is_refused():
    for lines in ((), (replace(CORNICE_LINE, worked=replace(CORNICE, blanks=())),)):
        with pytest.raises(CutsheetError) as caught:
            traveller_pdf(replace(SHEET, lines=lines))
        assert caught.value.code == "sheet-empty"


@settings(max_examples=15, deadline=None)
@given(
    st.lists(st.tuples(st.integers(1, 3000), st.floats(1, 190)), min_size=1, max_size=9),
    st.text(st.characters(codec="utf-8", exclude_categories=("Cs",)), max_size=200),
)
def test_whatever_is_ordered_stays_on_the_paper(rows, name):
    blanks = tuple(Blank(box(long, 9.5, 11.25), qty, (f"A{n}",)) for n, (qty, long) in enumerate(rows, 1))
    line = replace(CORNICE_LINE, worked=replace(CORNICE, blanks=blanks), what=name, note=name, saw_from=name)
    data = traveller_pdf(replace(SHEET, lines=(line,), job=name, customer=name, printed_by=name, shop=name))
    assert all(min(ink_box(page, 50)) >= CLEAR - 1.5 for page in document(data))
    assert sum(qty for qty, _ in rows) == int(re.search(r"(\d+) blanks?,", words(data)[0])[1])
