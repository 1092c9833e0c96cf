"""Office paper as its reader gets it: what it is, what is priced and what is not, nothing lost however long it is."""

import re
from dataclasses import replace
from datetime import date
from io import BytesIO

import pikepdf
import pytest

from cutsheets.errors import CutsheetError
from cutsheets.sheets.batch import batch_pdf
from cutsheets.sheets.confirmation import confirmation_pdf
from cutsheets.sheets.dayreport import day_report_pdf
from cutsheets.sheets.quote import quote_pdf
from tests.cutsheets.office_samples import BAND, BOARD_FOOT, CONFIRMATION, DAY, FIRM, HOSTILE, OFFER, QUOTE
from tests.cutsheets.paper_reader import document, ink_box, letters, words
from tests.cutsheets.paper_samples import SAW_SHEET, SHEET

CLEAR = 4.5 / 25.4 * 72
PUNCH = 0.75 * 72
UGLY = replace(QUOTE, offer=HOSTILE)
BUSY_DAY = replace(DAY, orders=DAY.orders * 40, look_at=("W" * 300,) * 12)
PAPERS = {
    "quote": (quote_pdf, QUOTE), "confirmation": (confirmation_pdf, CONFIRMATION), "day": (day_report_pdf, DAY),
    "ugly": (quote_pdf, UGLY), "busy day": (day_report_pdf, BUSY_DAY),
}  # fmt: skip


@pytest.fixture(scope="module", params=[(name, page) for name in PAPERS for page in ("letter", "a4")], ids="-".join)
def printed(request):
    name, page = request.param
    draw, value = PAPERS[name]
    return draw(value, page)


@pytest.mark.parametrize("name", ["quote", "confirmation"])
def test_the_file_for_a_customer_is_about_his_job(name):
    make, paper = PAPERS[name]
    with pikepdf.open(BytesIO(make(paper))) as file:
        assert str(file.docinfo["/Subject"]) == "Front, north side, Bramhall Street Theatre"


def test_ink_stays_off_the_edges_and_the_punch_margin(printed):
    for page in document(printed):
        left, *others = ink_box(page)
        assert left >= PUNCH - 1.5
        assert min(others) >= CLEAR - 0.8


def test_every_letter_is_at_least_nine_points_and_its_font_is_in_the_file(printed):
    found = list(letters(printed))
    assert min(size for size, _ in found) >= 8.98
    assert all(embedded for _, embedded in found)


def test_no_two_lines_of_text_lie_on_each_other(printed):
    for page in document(printed):
        text = page.get_textpage()
        boxes = [text.get_rect(number) for number in range(text.count_rects())]
        for place, (left, bottom, right, top) in enumerate(boxes):
            for other in boxes[place + 1 :]:
                wide = min(right, other[2]) - max(left, other[0])
                high = min(top, other[3]) - max(bottom, other[1])
                assert wide < 2 or high < 2.5  # a fraction stands close to its number


@pytest.mark.parametrize("name", PAPERS)
def test_the_same_values_give_the_same_bytes(name):
    draw, value = PAPERS[name]
    assert draw(value) == draw(value)


def test_a_quote_says_that_it_is_one_and_until_when_it_holds():
    (text,) = words(quote_pdf(QUOTE))
    for said in ("Quote", "4182-7", "not an order", "holds until Mon 28 Dec 2026", "Bramhall Street Theatre", "BST-77"):
        assert said in text


def test_what_has_no_price_says_so_and_is_in_no_sum():
    (text,) = words(quote_pdf(QUOTE))
    assert "Not in the price: coat, 102.30 ft²." in text
    assert "Line A, as far as it is priced $115.16" in text
    assert "Sum of what is priced $125.56" in text  # 94.64 + 20.52 + 10.40, added by hand
    assert "no price yet in line A" in text


@pytest.mark.parametrize(("currency", "said"), [("$", "$10.40"), ("€", "€10.40"), ("CHF", "CHF 10.40")])
def test_a_sum_is_in_the_currency_of_the_shop(currency, said):
    offer = replace(OFFER, lines=(BAND,), currency=currency)
    papers = quote_pdf(replace(QUOTE, offer=offer)), confirmation_pdf(replace(CONFIRMATION, offer=offer))
    for (text,) in map(words, papers):
        assert f"Line B {said}" in text
        assert f"Sum {said}" in text


def test_the_customer_reads_the_price_of_a_line_and_not_how_it_is_made():
    (text,) = words(quote_pdf(QUOTE))
    for workings in ("2.60", "36.00", "94.64", "0.57 h"):
        assert workings not in text
    assert text.count("Neither tax nor freight") == 1


def test_an_offer_that_is_priced_wholly_has_a_plain_sum():
    (text,) = words(quote_pdf(replace(QUOTE, offer=replace(OFFER, lines=(BAND,)))))
    assert "Sum $10.40" in text
    assert "Not in" not in text


def test_a_confirmation_names_its_sheet_and_the_one_it_replaces():
    (text,) = words(confirmation_pdf(CONFIRMATION))
    assert "4182 C" in text
    assert "replaces our confirmation 4182 B" in text


def test_a_second_print_says_so():
    (text,) = words(quote_pdf(replace(QUOTE, offer=replace(OFFER, print_number=2))))
    assert "reprint 2" in text


def test_nothing_long_is_lost_and_every_page_says_which_it_is():
    pages = words(quote_pdf(UGLY))
    whole = "".join(pages).replace(" ", "")
    assert whole.count("W" * 20) >= 9
    assert whole.count("Ґанокізкарнизом") >= 6 * len(HOSTILE.lines)
    assert whole.count("i" * 300) == len(HOSTILE.lines)
    for number, page in enumerate(pages, 1):
        assert f"page {number} of {len(pages)}" in page
        assert "4182-7" in page


def test_a_line_that_fits_a_page_is_not_parted():
    offer = replace(OFFER, lines=tuple(replace(BAND, mark=f"M{number}") for number in range(30)))
    for page in words(quote_pdf(replace(QUOTE, offer=offer))):
        assert re.findall(r"Line (M\d+): Band", page) == re.findall(r"Line (M\d+) \$10\.40", page)


def test_the_day_closes_on_paper_grade_by_grade():
    (text,) = words(day_report_pdf(DAY))
    assert "Firm 1.5 40.0 900.0 800.0 500.0 12.0 200.0 103.0 25.0 0.0" in text
    assert "All foam 40.0 900.0 1,100.0 780.0 12.0 200.0 123.0 25.0 0.0" in text
    assert "40.000 on the saw + 800.000 issued = 500.000 good" in text
    assert text.count("nothing is missing") == 2


def test_foam_that_is_not_found_is_said_and_never_balanced_away():
    short = replace(FIRM, waste=FIRM.waste - 3 * BOARD_FOOT)
    (text,) = words(day_report_pdf(replace(DAY, grades=(short,))))
    assert "issued against" in text
    assert "3.000 bf not found" in text


def test_a_day_without_foam_says_that():
    (text,) = words(day_report_pdf(replace(DAY, day=date(2026, 11, 29), grades=(), orders=(), look_at=())))
    assert "No foam moved on this day" in text


def test_an_offer_without_lines_is_refused():
    with pytest.raises(CutsheetError) as caught:
        quote_pdf(replace(QUOTE, offer=replace(OFFER, lines=())))
    assert caught.value.code == "sheet-empty"


def test_a_batch_is_one_file_with_a_bookmark_for_each_sheet():
    both = batch_pdf([SAW_SHEET, SHEET], title="Sheets of plan 118", shop="Tern Point Foam Works")
    marks = [(mark.get_title(), mark.get_dest().get_index()) for mark in document(both).get_toc() if mark.level == 0]
    assert marks == [("Saw sheet 118", 0), (f"Traveller {SHEET.name}", 1)]


def test_an_empty_batch_is_refused():
    with pytest.raises(CutsheetError) as caught:
        batch_pdf([], title="Nothing", shop="Tern Point Foam Works")
    assert caught.value.code == "batch-empty"
