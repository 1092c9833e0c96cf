"""Small things that a hand at the saw, the wire or the door trips over: struck words, doubled words, missing units."""

import re
from dataclasses import replace

import pytest
from pypdfium2.raw import FPDF_PAGEOBJ_PATH

from cutsheets.drawings.lettering import CAP, length_parts, typeset
from cutsheets.sheets.confirmation import confirmation_pdf
from cutsheets.sheets.cuthalf import INSET, SECTION
from cutsheets.sheets.cutsheet import CutSheet, Wire, cut_sheets_pdf
from cutsheets.sheets.dayreport import day_report_pdf
from cutsheets.sheets.office import MEASURES
from cutsheets.sheets.office import words as office_words
from cutsheets.sheets.packing import PackedLine
from cutsheets.sheets.packingslip import PackingSlip, packing_slip_pdf
from cutsheets.sheets.packlist import PackList, pack_list_pdf
from cutsheets.sheets.page import LEFT, MIXED, RIGHT, Type
from cutsheets.sheets.partrows import figure_items
from cutsheets.sheets.quote import quote_pdf
from cutsheets.sheets.sawsheet import saw_sheet_pdf
from cutsheets.sheets.traveller import traveller_pdf
from cutsheets.solids import Figure
from tests.cutsheets.kind_jobs import work
from tests.cutsheets.office_samples import CONFIRMATION, DAY, QUOTE
from tests.cutsheets.packed_orders import HEAD, MESHED, UGLY, moulding
from tests.cutsheets.paper_reader import document, letters, words
from tests.cutsheets.paper_samples import CORNICE_LINE, FULL_SAW_SHEET, PANEL_LINE, SHEET
from tests.cutsheets.test_traveller_parts import LETTERS, LINES
from tests.cutsheets.text_boxes import overlaps, text_boxes

LONG_MARK = "WMÄ@W010"
CORNER = {"outside": 90}


def traveller(worked, unit="in"):
    return traveller_pdf(replace(SHEET, unit=unit, lines=(replace(CORNICE_LINE, worked=worked, profile="", note=""),)))


def first_piece(line):
    return " ".join(words(cut_sheets_pdf([CutSheet(HEAD, line, Wire("Cutter 1", 1143, 0.5), 3, 1.5)])))


def struck(page):
    """Return the words that a rule goes through."""
    bounds = [shape.get_bounds() for shape in page.get_objects(filter=(FPDF_PAGEOBJ_PATH,))]
    rules = [(left, (low + top) / 2, right) for left, low, right, top in bounds if top - low < 3 < right - left]
    return [
        one.text
        for one in text_boxes(page)
        for left, y, right in rules
        if one.box.bottom + 0.5 < y < one.box.top - 0.5 and left < one.box.right and one.box.left < right
    ]


@pytest.mark.parametrize("line", LINES.values(), ids=LINES)
def test_marks_of_eight_signs_stay_off_the_count_and_the_length_beside_them(line):
    assert not [pair for page in document(traveller(work(**line, mark=LONG_MARK))) for pair in overlaps(page)]


def test_the_name_of_a_sheet_stays_off_the_frame_of_its_title_block():
    line = replace(CORNICE_LINE, worked=replace(CORNICE_LINE.worked, mark="WM"))
    page = document(cut_sheets_pdf([CutSheet(HEAD, line, Wire("Cutter 1", 1143, 0.5), 3, 1.5)]))[0]
    [name] = [one.box for one in text_boxes(page) if one.text.replace(" ", "") == "cutsheetWM"]
    assert name.right <= RIGHT - 6
    assert name.top - name.bottom > 8  # and it is as large as it was


def test_no_rule_strikes_the_last_line_of_long_marks():
    runs = [{"wall": 504, "left": CORNER, "right": CORNER}]
    pages = document(traveller(moulding(mark=LONG_MARK, runs=runs)))
    assert not [words for page in pages for words in struck(page) if words[0].isalnum()]


def test_runs_of_one_name_are_named_once():
    side = {"name": "sides", "wall": 78}
    runs = [{**side, "left": "cap", "right": CORNER}, {**side, "left": CORNER, "right": "cap"}]
    line = moulding(runs=runs)
    assert "check sides: " in " ".join(words(traveller(line)))
    slip = PackingSlip(HEAD, (PackedLine(line, "Cornice", MESHED),), 6)
    assert re.search(r"For the wall sides, .{1,12}, 2 times\.", " ".join(words(packing_slip_pdf(slip))))


def test_pieces_that_differ_in_their_ends_are_still_named_in_a_row_on_the_slip():
    runs = [{"name": name, "wall": 300, "left": CORNER, "right": "square"} for name in ("left", "right")]
    line = PackedLine(moulding(runs=runs), "Cornice", MESHED)
    assert f"Pieces A1–A{line.qty}." in " ".join(words(packing_slip_pdf(PackingSlip(HEAD, (line,), 6))))


def test_feet_and_inches_of_a_wall_stay_in_one_line():
    for length in range(1, 41):
        run = {"name": ("mm " * 14)[:length].strip(), "wall": 116, "left": "square", "right": "square"}
        slip = PackingSlip(HEAD, (PackedLine(moulding(runs=[run]), "Cornice", MESHED),), 6)
        [page] = document(packing_slip_pdf(slip))
        assert not [one for one in text_boxes(page) if one.text.endswith("9′")]


def test_who_signs_reads_on_the_same_page_for_how_much():
    lines = (PackedLine(work(kind="panel", size=[48, 24, 6], qty=40), "Panels"),)
    for count in range(1, 12):
        signed = words(packing_slip_pdf(PackingSlip(HEAD, lines * count, 6, "Dale Osgood")))[-1]
        assert "signature" in signed
        assert f"{40 * count} pieces, about" in signed


def saw_sheet(**sheet):
    return " ".join(words(saw_sheet_pdf(replace(FULL_SAW_SHEET, **sheet))))


def test_the_saw_hand_reads_the_unit():
    assert ", inches" in saw_sheet()
    assert ", mm" in saw_sheet(unit="mm")


def test_two_equal_pieces_of_a_cut_are_said_as_a_count():
    piece = FULL_SAW_SHEET.pieces[0]
    step = replace(piece.opened.steps[0], off="4182 A1", rest="4182 A1")
    opened = replace(piece.opened, steps=(step, *piece.opened.steps[1:]))
    assert "makes 2 × 4182 A1" in saw_sheet(pieces=(replace(piece, opened=opened),))


def test_only_a_piece_with_a_short_side_has_a_long_point():
    assert "long point of A1" in first_piece(CORNICE_LINE)
    assert "length of A1" in first_piece(replace(PANEL_LINE, worked=work(**LINES["turned"])))


def test_the_pack_list_points_to_no_picture_that_it_does_not_have():
    letters = PackedLine(work(**LETTERS), "Letters")
    assert "pictured" not in " ".join(words(pack_list_pdf(PackList(HEAD, (letters,), 6))))


@pytest.mark.parametrize(
    ("paper", "name"),
    [
        (quote_pdf(QUOTE), "Quote"),
        (confirmation_pdf(CONFIRMATION), "Order confirmation"),
        (day_report_pdf(DAY), "Day's foam"),
    ],
)
def test_paper_of_the_office_can_be_found_by_its_bookmark(paper, name):
    [mark] = document(paper).get_toc()
    assert mark.get_title().startswith(name)


def many_marks(count):
    """Return pieces that are alike under marks that no dash joins: every other one is of another length."""
    return [{"length": 40 + n % 2, "qty": 1} for n in range(2 * count)]


def test_marks_that_a_row_has_no_room_for_stand_whole_behind_the_traveller():
    worked = moulding(mark="WMA@W001", pieces=many_marks(19))
    text = "".join(words(traveller(worked))).replace(" ", "")
    for number in range(1, 39):
        assert f"WMA@W001{number}" in text


def test_the_title_block_of_a_cut_sheet_names_its_line():
    line = replace(CORNICE_LINE, worked=moulding(mark="WMA@W001", pieces=many_marks(1)))
    assert "cut sheet WMA@W001" in first_piece(line)


def test_the_pack_list_names_the_line_of_every_bundle():
    line = PackedLine(moulding(mark="WMA@W001", pieces=many_marks(1)), "Band")
    text = " ".join(words(pack_list_pdf(PackList(HEAD, (line,), 6))))
    assert re.search(r"1 of 1 WMA@W001 2", text)
    assert "…" not in text


def test_a_remnant_is_called_so_in_its_title_block():
    piece = replace(FULL_SAW_SHEET.pieces[0], kind="remnant")
    assert "remnant F-2207" in " ".join(words(saw_sheet_pdf(replace(FULL_SAW_SHEET, pieces=(piece,)))))


def test_long_marks_break_at_a_dash():
    assert Type("strong", 20.0).lines("WMA@W0011–WMA@W0012", 160) == ["WMA@W0011–", "WMA@W0012"]


@pytest.mark.parametrize("mark", ["A", "WMA@W001"])
def test_words_of_strips_are_nine_points_however_long_the_marks(mark):
    runs = [{"name": name, "wall": wall, "left": CORNER, "right": CORNER} for name, wall in (("N", 504), ("E", 60))]
    worked = moulding(mark=mark, runs=[*runs, runs[1] | {"wall": 70, "right": "square"}])
    line = replace(CORNICE_LINE, worked=worked)
    sheets = (traveller(worked), cut_sheets_pdf([CutSheet(HEAD, line, Wire("Cutter 1", 1143, 0.5), 3, 1.5)]))
    assert all(size >= 8.98 for sheet in sheets for size, _ in letters(sheet))


@pytest.mark.parametrize("kind", ["mould", "twisted"])
@pytest.mark.parametrize("times", [4, 20])
def test_long_notes_go_on_to_a_page_rather_than_shrink_a_picture(kind, times):
    note = "Take care of the soft side and of the hard side, " * times
    line = replace(CORNICE_LINE, worked=work(**LINES[kind]), profile="", note=note)
    sheet = traveller_pdf(replace(SHEET, lines=(line,)))
    scales = re.findall(r"not to scale|scale 1 : \d+", " ".join(words(sheet)))
    assert len(set(scales)) == 2  # one for each view, on every page
    assert min(size for size, _ in letters(sheet)) >= 8.98


def test_a_panel_that_is_only_sawn_has_no_feed_and_no_section():
    panel = replace(CORNICE_LINE, worked=work(kind="panel", size=[48, 24, 6]), profile="", note="Keep the blue face.")
    said = first_piece(panel)
    for word in ("At the wire", "Feed", "section", "dashed"):
        assert word not in said
    assert "Keep the blue face." in said


def test_what_is_dashed_in_a_picture_is_named():
    cornice, turned = CORNICE_LINE.worked, work(**LINES["turned"])
    for worked, dashed in ((cornice, "dashed: blank"), (turned, "dashed: blank, axis, stubs")):
        assert dashed in " ".join(words(traveller(worked)))
        assert dashed in first_piece(replace(CORNICE_LINE, worked=worked))


def test_fractions_of_two_lines_of_figures_stay_apart():
    figure, said = Figure("long", "long", 39.6875, "length"), "1-9/16 in"
    rows = [*figure_items((figure,), "in", 300), *office_words(said, MEASURES)]
    for kind, row in zip((MIXED, MEASURES), rows, strict=True):
        setting = typeset(length_parts(figure.value, "in"), kind.face, kind.size, kind.share)
        digits = [glyphs for glyphs in setting.glyphs if glyphs.size < kind.size]
        ups = [glyphs.y for glyphs in digits]
        assert row.height >= max(ups) - min(ups) + CAP * digits[0].size + 2


@pytest.mark.parametrize("page", ["letter", "a4"])
def test_what_thick_and_dashed_lines_mean_stays_off_the_rows_of_a_sprung_moulding(page):
    runs = [{"name": "porch", "wall": 300 + 40 * n, "left": CORNER, "right": {"inside": 135}} for n in range(3)]
    worked = work(kind="moulding", coat="1/8", sprung={"face": 4.5, "thick": 0.75, "spring": 45}, runs=runs)
    data = traveller_pdf(replace(SHEET, lines=(replace(CORNICE_LINE, worked=worked),)), page)
    assert "thick edge gets coat, thin stays bare, dashed: blank, axes, joints" in words(data)[0]
    ends = [one.box.right for each in document(data) for one in text_boxes(each) if one.text.startswith("thickedge")]
    assert ends
    assert max(ends) <= LEFT + INSET + SECTION


LENGTHS = [{"length": 40 + n, "qty": 20} for n in range(20)]


@pytest.mark.parametrize("high", [4.5, 4.75, 9.25, 9.75])
def test_a_picture_stays_off_the_foot_below_names_of_two_lines(high):
    worked = work(kind="moulding", section=[[0, 0], [2, 0], [2, high], [0, high]], pieces=LENGTHS)
    line = replace(CORNICE_LINE, worked=worked, what="Cornice of the northern gable, " * 4)
    data = cut_sheets_pdf([CutSheet(UGLY, line, Wire("Cutter 1", 1143, 0.5), 3, 1.5)])
    assert not [pair for each in document(data) for pair in overlaps(each)]


@pytest.mark.parametrize("count", range(1, 9))
def test_the_name_of_a_check_stands_on_the_page_of_its_sum(count):
    name, ends = "the long run along the northern gable", {"left": CORNER, "right": "cap"}
    worked = moulding(runs=[{"name": f"{name} {n}", "wall": 300 + 9 * n} | ends for n in range(count)])
    pages = words(traveller_pdf(replace(SHEET, lines=(replace(CORNICE_LINE, worked=worked),))))
    assert len(re.findall(rf"check {name} \d: \d", " ".join(pages))) == count
    assert not any(re.search(rf"check {name} \d: (?!\d)", page) for page in pages)
