"""Names, notes and marks of any length and script: on every sheet they stay on the page and off each other."""

from collections import Counter
from dataclasses import replace
from datetime import date, datetime

import pytest

from cutsheets.drawings.lettering import as_printed
from cutsheets.drawings.scene import Polygon, Scene
from cutsheets.sheets.batch import batch_pdf
from cutsheets.sheets.bundlelabels import BundleLabels, bundle_labels_pdf
from cutsheets.sheets.coatsheet import CoatSheet, coat_sheet_pdf
from cutsheets.sheets.confirmation import confirmation_pdf
from cutsheets.sheets.cutsheet import CutSheet, Wire, cut_sheets_pdf
from cutsheets.sheets.dayreport import day_report_pdf
from cutsheets.sheets.labelgrids import GRIDS
from cutsheets.sheets.packingslip import PackingSlip, packing_slip_pdf
from cutsheets.sheets.packlist import PackList, pack_list_pdf
from cutsheets.sheets.page import WORDS, Pen
from cutsheets.sheets.quote import quote_pdf
from cutsheets.sheets.repeatsheet import RepeatSheet, repeat_sheet_pdf
from cutsheets.sheets.sawsheet import saw_sheet_pdf
from cutsheets.sheets.tags import StockTag, tags_pdf
from cutsheets.sheets.traveller import traveller_pdf
from cutsheets.solids import Box
from tests.cutsheets.office_samples import CONFIRMATION, DAY, QUOTE
from tests.cutsheets.packed_orders import HEAD, LINES
from tests.cutsheets.paper_reader import document, quiet_zones_are_white, words
from tests.cutsheets.paper_samples import FULL_SAW_SHEET, LONG_LINE, LONG_SHEET, SHEET
from tests.cutsheets.text_boxes import overlaps, text_boxes, with_names

CLEAR = 4.5 / 25.4 * 72
# Not names: codes, choices, and what is worked out of marks.
KEEP = {
    *("revision", "replaces", "pattern", "unit", "kind", "operations", "part", "run", "axis", "action", "sides"),
    *("opened", "views", "figures", "frames", "sprung", "currency"),
}
NAMES = {
    "long": "Nguyễn Văn Đặng & Łukasz Żółć ask: keep the northern pieces apart, please. " * 9,
    "wide": "W" * 150,
    "thin": "i" * 700,
    "Arabic": "محمد الحسن وأولاده للمقاولات " * 8,
    "Chinese": "東京株式会社建設工業" * 15,
    "marks on marks": ("Z" + "\u0301\u0327\u0323\u0308" * 6) * 30,
    "signs": "&<b>\"'%s{}\\()[]|~^`$#@!?*/;:=+ " * 6,
    "unseen": "a\nb\tc\x00\u202e\u200bd\n" * 30,
    "joined": "क्षेत्रीय विद्यार्थी স্ত্রী " * 20,
    "emoji": "🎉🏛️ 👩‍🔧 \U00012000 " * 20,
    "none": "",
}
TAG = StockTag(
    "remnant", 1234567, "R-1234567", "Firm 1.5 FR", "two", Box(2438.4, 490.5, 285.75), "in", date(2026, 11, 24),
    parent="K-2207", lot="L-88", place="rack 4",
)  # fmt: skip
PROFILE = RepeatSheet(
    number=14, code="TP-14", name="Crown cornice", revision="B", unit="in", size=(100, 50), sides=("deep", "high"),
    picture=lambda text: Scene((Polygon((((0, 0), (100, 0), (100, 50), (0, 50)),)),)), usual=("Cut as moulding.",),
    shop="Tern Point", printed=datetime(2026, 11, 28, 14, 2), printed_by="Mina O.", grade="Firm 1.5", pattern="two",
)  # fmt: skip
SHEETS = {
    "traveller": (traveller_pdf, SHEET),
    "long traveller": (traveller_pdf, LONG_SHEET),
    "saw sheet": (saw_sheet_pdf, FULL_SAW_SHEET),
    "cut sheet": (
        lambda sheet: cut_sheets_pdf([sheet]),
        CutSheet(HEAD, LONG_LINE, Wire("Cutter 1", 1400, 0.5), 3, 1.5),
    ),
    "coat sheet": (coat_sheet_pdf, CoatSheet(HEAD, LINES)),
    "pack list": (pack_list_pdf, PackList(HEAD, LINES, 6)),
    "packing slip": (packing_slip_pdf, PackingSlip(HEAD, LINES, 6, "Mina O., 555 0100")),
    "quote": (quote_pdf, QUOTE),
    "confirmation": (confirmation_pdf, CONFIRMATION),
    "repeat sheet": (repeat_sheet_pdf, PROFILE),
    "day report": (day_report_pdf, DAY),
}


def faults(data, clear=CLEAR):
    """Return what is printed over something else or nearer to the edge than that."""
    found = []
    for number, page in enumerate(document(data), 1):
        wide, high = page.get_size()
        found += [(number, one.text, other.text) for one, other in overlaps(page)]
        for each in text_boxes(page):
            box = each.box
            if min(box.left, box.bottom, wide - box.right, high - box.top) < clear - 1:
                found.append((number, each.text))
    return found


@pytest.mark.parametrize("name", NAMES.values(), ids=NAMES)
@pytest.mark.parametrize("sheet", SHEETS)
def test_names_of_any_length_and_script_stay_on_the_page_and_off_each_other(sheet, name):
    make, value = SHEETS[sheet]
    assert not faults(make(with_names(value, name, KEEP)))


@pytest.mark.parametrize("sheet", ["long traveller", "saw sheet", "pack list"])
def test_names_of_any_length_leave_the_white_beside_the_bars_alone(sheet):
    make, value = SHEETS[sheet]
    pages = document(make(with_names(value, NAMES["long"], KEEP), "a4"))
    assert all(quiet_zones_are_white(page) for page in pages)


JOB, CUSTOMER = (" ".join(f"{what}{n}" for n in range(200)) for what in ("job", "customer"))
WHOSE = {"job": JOB, "customer": CUSTOMER}
TOLD = {
    "traveller": replace(SHEET, **WHOSE),
    **{
        name: replace(SHEETS[name][1], head=replace(HEAD, **WHOSE)) for name in ("coat sheet", "pack list", "cut sheet")
    },
}


@pytest.mark.parametrize("name", TOLD)
def test_what_a_sheet_has_no_room_for_stands_whole_on_a_page_behind_it(name):
    pages = words(SHEETS[name][0](TOLD[name]))
    assert pages[-1].startswith("In full, what ends in “…” on the pages before")
    assert "4182 C" in pages[-1]
    assert set(JOB.split() + CUSTOMER.split()) <= set(" ".join(pages).replace(",", " ").split())


def test_many_sheets_in_one_file_each_have_it_behind_themselves_alone():
    sheets = [TOLD["traveller"], SHEET, TOLD["traveller"]]
    behind = [page.startswith("In full") for page in words(batch_pdf(sheets, title="", shop=""))]
    assert behind.count(True) >= 2
    plain = behind.index(True) + behind[behind.index(True) :].index(False)
    assert (behind[0], behind[plain], behind[plain + 1], behind[-1]) == (False, False, False, True)
    assert not any(page.startswith("In full") for page in words(traveller_pdf(SHEET)))


# A tag's name is the shop's own number; the rest is typed.
def tags(name, grid, **how):
    return tags_pdf([with_names(TAG, name, {*KEEP, "name"})], GRIDS[grid], **how)


def bundles(name, grid, **how):
    """Return labels of the bundles of a line whose marks are as long as names are."""
    line = with_names(LINES[0], name, KEEP, marks=40)
    return bundle_labels_pdf(BundleLabels(with_names(HEAD, name, KEEP), (line,), 6, **how), GRIDS[grid])


LABELS = [(tags, "tag-4x2"), (tags, "tag-a7"), (bundles, "tag-4x3"), (bundles, "a4-2x4")]
EVERY_LABEL = pytest.mark.parametrize(
    ("make", "grid"), LABELS, ids=[f"{grid} {make.__name__}" for make, grid in LABELS]
)


@pytest.mark.parametrize("name", NAMES.values(), ids=NAMES)
@EVERY_LABEL
def test_names_of_any_length_and_script_stay_on_a_label(make, grid, name):
    assert not faults(make(name, grid), clear=3)
    assert not faults(make(name, grid, dpi=203), clear=3)


def printed(data):
    """Return all text of a file without blanks, as letters stand on paper."""
    return "".join(as_printed("".join(words(data))).split())


# Marks over marks are copied in another order, and lines of Arabic turned round; their letters are counted instead.
@pytest.mark.parametrize("name", ["long", "wide", "thin", "Chinese", "signs", "joined", "emoji"])
@EVERY_LABEL
def test_every_word_of_a_name_stands_on_its_label_or_on_the_next(make, grid, name):
    text = printed(make(NAMES[name], grid))
    assert "continued,2of" in text
    for word in as_printed(NAMES[name]).replace("\U00012000", "[U+12000]").split():
        assert text.count(word) >= 2, word  # as job and customer, as grade and lot


@EVERY_LABEL
def test_every_letter_of_an_arabic_name_stands_on_its_label_or_on_the_next(make, grid):
    counted, wanted = (
        Counter(printed(make(NAMES["Arabic"], grid))),
        Counter(as_printed(NAMES["Arabic"]).replace(" ", "")),
    )
    assert all(counted[letter] >= 2 * count for letter, count in wanted.items())


@pytest.mark.parametrize(("make", "grid"), [(tags, "tag-4x3"), (bundles, "tag-4x6")])
def test_a_name_as_long_as_the_shop_may_type_it_takes_one_label(make, grid):
    assert "continued" not in printed(make("Nordwestliche Giebelseite, zweiter Stock", grid))


def test_letters_that_are_joined_stay_on_one_line_unless_they_are_wider_than_it():
    word = "क्षेत्री"
    joined = [line.replace("…", "") for line in WORDS.paragraph(word * 9, 60, 2)[1]]
    assert all(len(line) % 4 == 0 for line in joined)  # क्षे and त्री
    lines = WORDS.lines("क्" * 300, 60)
    assert len(lines) > 3
    assert all(WORDS.width((line,)) <= 60 for line in lines)


def test_what_is_over_something_else_or_over_the_edge_is_found():
    pen = Pen("letter", title="", author="", subject="")
    pen.text(100, 100, "over", WORDS)
    pen.text(110, 104, "each other", WORDS)
    pen.text(600, 200, "beyond", WORDS)
    assert faults(pen.finish()) == [(1, "over", "eachother"), (1, "beyond")]
