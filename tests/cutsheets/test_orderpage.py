"""What coat sheet, pack list and packing slip have in common: whose they are, codes, pages, room for any name."""

import re
from datetime import datetime
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cutsheets.sheets.bundlelabels import BundleLabels, bundle_labels_pdf
from cutsheets.sheets.coatsheet import CoatSheet, coat_sheet_pdf
from cutsheets.sheets.labelgrids import grid_named
from cutsheets.sheets.orderpage import OrderHead
from cutsheets.sheets.packingslip import PackingSlip, packing_slip_pdf
from cutsheets.sheets.packlist import PackList, pack_list_pdf
from tests.cutsheets.packed_orders import CORNICE, HEAD, LINES, MANY, UGLY
from tests.cutsheets.paper_reader import codes, document, ink_box, letters, quiet_zones_are_white, text_overlaps, words

CLEAR = 4.5 / 25.4 * 72
NOW = datetime(2026, 11, 23, 14, 12, tzinfo=ZoneInfo("America/New_York"))
SHEETS = {
    "coat sheet": lambda head, lines, page: coat_sheet_pdf(CoatSheet(head, lines), page),
    "coat sheet with a start": lambda head, lines, page: coat_sheet_pdf(CoatSheet(head, lines, NOW), page),
    "pack list": lambda head, lines, page: pack_list_pdf(PackList(head, lines, 6), page),
    "packing slip": lambda head, lines, page: packing_slip_pdf(PackingSlip(head, lines, 6, 120 * "W"), page),
}


@pytest.fixture(scope="module", params=[(name, page) for name in SHEETS for page in ("letter", "a4")], ids="-".join)
def printed(request):
    """Every sheet, short and as ugly as the columns let it be: (head, bytes) of both."""
    name, page = request.param
    return [(head, SHEETS[name](head, lines, page)) for head, lines in ((HEAD, LINES), (UGLY, 2 * MANY))]


def test_both_codes_of_every_page_say_order_and_sheet(printed):
    for head, data in printed:
        for page in document(data):
            assert [code.text for code in codes(page, 203)] == [head.code] * 2
            assert quiet_zones_are_white(page)


def test_every_page_says_which_of_how_many_it_is_and_whose(printed):
    for head, data in printed:
        texts = words(data)
        for number, text in enumerate(texts, 1):
            assert f"{number} of {len(texts)}" in text
            assert f"{head.number} {head.revision}" in text
            assert text.count(head.code) == 2


def test_a_part_that_goes_on_says_so_with_its_columns(printed):
    _, data = printed[1]
    texts = words(data)
    assert len(texts) > 1
    for text in texts[1:]:
        assert re.search(r"continued|In all|Received|Line \w|Bundles", text)


def test_a_reprint_says_so(printed):
    for (head, data), said in zip(printed, ("print 1", "reprint 12"), strict=True):
        assert head.print_number in (1, 12)
        assert all(f"printed, {said}" in text for text in words(data))


def test_nothing_runs_over_the_edge_and_no_letter_is_too_small(printed):
    for _, data in printed:
        assert all(min(ink_box(page)) >= CLEAR - 0.8 for page in document(data))
        found = list(letters(data))
        assert min(size for size, _ in found) >= 8.98
        assert all(embedded for _, embedded in found)


def test_no_words_lie_on_others(printed):
    for _, data in printed:
        assert [text_overlaps(page) for page in document(data)] == [[] for _ in document(data)]


def test_names_as_long_as_they_may_be_are_there_to_the_end(printed):
    _, data = printed[1]
    text = words(data)[0].replace(" ", "")
    for name in (UGLY.job, UGLY.customer, UGLY.reference):
        assert name.replace(" ", "") in text


@pytest.mark.parametrize("name", SHEETS)
def test_the_same_sheet_is_the_same_bytes(name):
    assert SHEETS[name](HEAD, LINES, "letter") == SHEETS[name](HEAD, LINES, "letter")


@settings(max_examples=12, deadline=None)
@given(st.text(st.characters(codec="utf-8", exclude_categories=("Cs",)), max_size=120))
def test_whatever_the_names_are_they_stay_on_the_paper(name):
    head = OrderHead(4182, "C", name[:80], name, name[:60], "in", HEAD.printed, name[:30], reference=name[:40])
    for make in SHEETS.values():
        for page in document(make(head, (CORNICE,), "letter")):
            assert min(ink_box(page, 50)) >= CLEAR - 1.5
    label = document(bundle_labels_pdf(BundleLabels(head, (CORNICE,), 6), grid_named("tag-4x3")))[0]
    assert min(ink_box(label, 50)) >= 2.0
