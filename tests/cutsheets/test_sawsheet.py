"""The saw sheet as the saw hand gets it: every cut with its number, what is put back, what comes out."""

import re
from dataclasses import replace

import pytest

from cutsheets.drawings.lettering import plain, times
from cutsheets.errors import CutsheetError
from cutsheets.sheets.furniture import sides
from cutsheets.sheets.sawsheet import saw_sheet_pdf
from cutsheets.solids import Box
from tests.cutsheets.paper_reader import codes, document, ink_box, letters, quiet_zones_are_white, words
from tests.cutsheets.paper_samples import BLOCK, BUSY, FULL_SAW_SHEET, SAW_PIECE, SAW_SHEET, opened, ripped_at

CLEAR = 4.5 / 25.4 * 72
SHEETS = {"one": SAW_SHEET, "day": FULL_SAW_SHEET, "metric": replace(FULL_SAW_SHEET, unit="mm")}


@pytest.fixture(scope="module", params=[(name, page) for name in SHEETS for page in ("letter", "a4")], ids="-".join)
def printed(request):
    name, page = request.param
    return saw_sheet_pdf(SHEETS[name], page)


@pytest.mark.parametrize("resolution", [203, 300, 600])
def test_every_page_has_its_own_code_twice(resolution):
    for number, page in enumerate(document(saw_sheet_pdf(SAW_SHEET)), 1):
        first, second = codes(page, resolution)
        assert first.text == second.text
        assert first.text.startswith(f"BS118P{number}")


def test_pages_of_a_day_are_told_apart_by_their_codes():
    texts = [codes(page, 150)[0].text for page in document(saw_sheet_pdf(FULL_SAW_SHEET))]
    assert len(set(texts)) == len(texts) > len(FULL_SAW_SHEET.pieces)


def test_nothing_runs_over_the_edge_or_beside_the_bars(printed):
    for page in document(printed):
        assert min(ink_box(page)) >= CLEAR - 0.8
        assert quiet_zones_are_white(page)


def test_every_letter_is_at_least_nine_points_and_its_font_is_in_the_file(printed):
    found = list(letters(printed))
    assert min(size for size, _ in found) >= 8.98
    assert all(embedded for _, embedded in found)


def test_a_block_with_fourteen_cuts_is_one_page():
    (text,) = words(saw_sheet_pdf(SAW_SHEET))
    assert "page 1 of 1" in text
    for step in BLOCK.steps:
        assert re.search(rf"(?<!\d){step.number} (Slab|Rip|Cross)", text)
    assert text.count("from the straight edge") == 8


def test_a_cut_says_what_it_makes_and_what_it_leaves():
    (text,) = words(saw_sheet_pdf(SAW_SHEET))
    for made in ("the block, makes slab 1", "slab 2, makes bar 3 + R-0231", "bar 2, makes B1 + R-0232"):
        assert made in text


def test_cuts_that_do_not_fit_go_on_to_the_next_page():
    texts = words(saw_sheet_pdf(replace(SAW_SHEET, pieces=(replace(SAW_PIECE, opened=BUSY),))))
    assert len(texts) == 3
    assert all("F-2209" in text and "Firm 1.5 FR" in text for text in texts)
    found = [int(n) for text in texts for n in re.findall(r"(\d+) (?:Slab|Rip|Cross)", text)]
    assert sorted(found) == list(range(1, 53))


def test_remnants_are_listed_with_their_tag_rounded_down():
    (text,) = words(saw_sheet_pdf(SAW_SHEET))
    assert "put back, with a tag" in text
    # 96 - 52 - 1/16 = 43 15/16 less a micrometre of kerf, which no tape shows
    assert re.search("R-0232 43 15 16 × 9 1 ?2 × 11 1 4", text)  # the reader takes some stacked fractions for one word


def test_blanks_are_listed_by_order():
    (text,) = words(saw_sheet_pdf(SAW_SHEET))
    assert "4182 C: A1–A6" in text
    assert "6 of 88 × 9 1 2 × 11 1 4" in text


def test_the_shares_of_the_foam_add_up_to_the_block():
    (text,) = words(saw_sheet_pdf(SAW_SHEET))
    shares = re.search(r"blanks ([\d.]+) %, remnants ([\d.]+) %, trim ([\d.]+) %, kerf ([\d.]+) %", text).groups()
    assert sum(map(float, shares)) == pytest.approx(100, abs=0.2)


def test_cautions_and_lines_to_sign_stand_on_every_page():
    for text in words(saw_sheet_pdf(FULL_SAW_SHEET)):
        for each in ("Guards stay on", "29 CFR 1910.1000", "pentane", "Follow local codes", "sawn by", "short or over"):
            assert each in text


def test_station_day_plan_and_printer_can_be_read():
    (text,) = words(saw_sheet_pdf(SAW_SHEET))
    for each in ("Saw 1, Tue 24 Nov", "saw sheet 118", "Mon 23 Nov 2026 16:24, Raf T.", "lot 2610-B", "rack 4"):
        assert each in text


def test_a_block_with_more_slabs_than_a_page_holds_shows_them_all():
    names = [f"P{n}" for n in range(14)]
    tree = ("waste", "trim")
    for name in reversed(names):
        tree = (2, 1.5, ripped_at(20, [("blank", name), ("remnant", f"R-{name}")]), tree)
    piece = replace(SAW_PIECE, opened=opened("F-9", (96, 48, 24), tree))
    text = " ".join(words(saw_sheet_pdf(replace(SAW_SHEET, pieces=(piece,)))))
    assert all(f"slab {n}" in text and f"P{n - 1}" in text for n in range(1, 15))
    assert all(text.count(f"R-P{n}") >= 3 for n in range(14))  # drawn, cut free, and put back


def test_a_metric_shop_has_no_fractions():
    text = words(saw_sheet_pdf(SHEETS["metric"]))[0]
    assert "2438.4 × 1219.2 × 609.6" in text


def test_sizes_are_said_long_wide_high():
    assert plain(times(*sides(Box(2235.2, 241.3, 285.75), "in"))) == "88 × 9 1/2 × 11 1/4"


def test_the_same_sheet_is_the_same_bytes():
    assert saw_sheet_pdf(FULL_SAW_SHEET) == saw_sheet_pdf(FULL_SAW_SHEET)


def test_a_sheet_without_a_piece_is_refused():
    with pytest.raises(CutsheetError) as caught:
        saw_sheet_pdf(replace(SAW_SHEET, pieces=()))
    assert caught.value.code == "sheet-empty"


def late_skin():
    """A block whose skin comes off late: 7/16 in off each bar and slab first, then off the far side with the last."""
    low, cores = 0.4375, (2, 11.5, ("blank", "A1"), (2, 11.5, ("blank", "A2"), ("waste", "trim")))
    slabs = (2, low, ("waste", "trim"), cores)
    bars = (1, low, ("waste", "trim"), (1, 47, (1, 12, slabs, ("remnant", "R-0500")), ("waste", "trim")))
    return opened("F-2211", (96, 48, 24.5), bars, (0, low, low))


def test_skin_that_comes_off_late_is_a_numbered_cut_where_it_comes_off():
    """Every setting is the size that stays between fence and blade: 7/16 of skin, then 47, then 12 of the bar."""
    piece = replace(SAW_PIECE, opened=late_skin())
    (text,) = words(saw_sheet_pdf(replace(SAW_SHEET, pieces=(piece,))))
    plain_text = re.sub(r"(?<=\d)(?=16\b)", " ", text)
    for row in (
        r"1 Rip 7 16 from the raw edge the block, trim off",
        r"2 Rip 47 from the straight edge the block, makes bar 1",
        r"3 Rip 12 from the straight edge bar 1, makes bar 2 \+ R-0500",
        r"4 Slab 7 16 up from the table bar 2, trim off",
        r"6 Slab 11 1 ?2 up from the table bar 2, makes A2",
    ):
        assert re.search(row, plain_text), row


def test_every_setting_is_a_part_s_own_size_and_never_a_sum():
    """Walked through the block by hand: what comes off a cut is its setting, whatever came off before."""
    for each in (late_skin(), BLOCK, BUSY):
        for step in each.steps:
            inside = [leaf for leaf in each.placed if leaf.pos[step.axis] >= step.pos[step.axis]]
            ends = {leaf.pos[step.axis] + leaf.size[step.axis] - step.pos[step.axis] for leaf in inside}
            assert step.at_um in ends


def test_the_sheet_says_where_everything_goes_and_that_it_is_a_reprint():
    (text,) = words(saw_sheet_pdf(replace(SAW_SHEET, print_number=3)))
    assert "blanks to the wire, tagged remnants to the rack, trim to the bin" in text
    assert "reprint 3" in text
