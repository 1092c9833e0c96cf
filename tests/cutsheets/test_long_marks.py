"""A long mark is never two: it has a line of its own, or what goes on in another line begins with a hook."""

from dataclasses import replace

import pytest

from cutsheets.sheets.bundlelabels import BundleLabels, bundle_labels_pdf
from cutsheets.sheets.coatsheet import CoatSheet, coat_sheet_pdf
from cutsheets.sheets.cutsheet import CutSheet, Wire, cut_sheets_pdf
from cutsheets.sheets.labelgrids import GRIDS
from cutsheets.sheets.packing import PackedLine
from cutsheets.sheets.packlist import PackList, pack_list_pdf
from cutsheets.sheets.page import MARKS
from cutsheets.sheets.sawsheet import saw_sheet_pdf
from cutsheets.sheets.traveller import traveller_pdf
from tests.cutsheets.kind_jobs import work
from tests.cutsheets.packed_orders import HEAD, MESHED, STEPPED
from tests.cutsheets.paper_reader import document, letters, words
from tests.cutsheets.paper_samples import CORNICE_LINE, FULL_SAW_SHEET, SHEET
from tests.cutsheets.text_boxes import overlaps

HOOK = "↳"
LONG = "NORTHGABLEOFTHEOLDTOWNHALLW30B"  # thirty letters and figures
PIECES = tuple(f"{LONG}{number}" for number in range(1, 7))
STICKS = {"section": STEPPED, "pieces": [{"length": 60 + 5 * number, "qty": 2} for number in range(6)]}
COLUMN = {"round": 18, "height": 120, "shells": 2, "void": {"square": 6, "clearance": 0.25}}


def line(mark=LONG, kind="moulding", **spec):
    """Return a line whose marks may be longer than a job file lets them be."""
    worked = work(kind=kind, mark="A", coat="1/8", **spec or STICKS)
    sticks = tuple(replace(stick, mark=mark + stick.mark[1:]) for stick in worked.sticks)
    blanks = tuple(replace(blank, marks=tuple(mark + each[1:] for each in blank.marks)) for blank in worked.blanks)
    return replace(CORNICE_LINE, worked=replace(worked, mark=mark, sticks=sticks, blanks=blanks))


def packed(mark=LONG):
    return (PackedLine(line(mark).worked, "Cornice", MESHED),)


def cut_sheet(mark=LONG, **how):
    return cut_sheets_pdf([CutSheet(HEAD, line(mark, **how), Wire("Cutter 1", 1143, 0.5), 3, 1.5)])


def traveller(mark=LONG, **how):
    return traveller_pdf(replace(SHEET, lines=(line(mark, **how),)))


SHEETS = {
    "traveller": traveller,
    "cut sheet": cut_sheet,
    "coat sheet": lambda mark=LONG: coat_sheet_pdf(CoatSheet(HEAD, packed(mark))),
    "pack list": lambda mark=LONG: pack_list_pdf(PackList(HEAD, packed(mark), 6)),
    "bundle labels": lambda mark=LONG: bundle_labels_pdf(BundleLabels(HEAD, packed(mark), 6), GRIDS["tag-4x6"]),
}


@pytest.mark.parametrize("sheet", SHEETS)
def test_a_mark_of_thirty_signs_stands_in_one_line_on_every_sheet(sheet):
    data = SHEETS[sheet]()
    text = " ".join(words(data))
    assert [mark for mark in PIECES if mark not in text] == []
    assert not [pair for page in document(data) for pair in overlaps(page)]


@pytest.mark.parametrize("make", [traveller, cut_sheet])
def test_a_strip_names_long_marks_by_what_tells_them_apart(make):
    runs = [{"name": "north", "wall": 504, "left": {"outside": 90}, "right": {"outside": 90}}]
    data = make("Ш" * 40, section=STEPPED, runs=runs)
    text = " ".join(words(data))
    assert all(f"…{number}" in text for number in range(1, 7))
    assert all(size >= 8.98 for size, _ in letters(data))


@pytest.mark.parametrize("make", [traveller, cut_sheet])
def test_long_marks_of_a_part_that_is_no_stick_stand_above_its_row(make):
    data = make(kind="column", **COLUMN)
    text = " ".join(words(data))
    assert f"{LONG}1 2 96 long shell" in text
    assert f"{LONG}2 2 24 long shell" in text
    assert not [pair for page in document(data) for pair in overlaps(page)]


@pytest.mark.parametrize("sheet", [name for name in SHEETS if name != "bundle labels"])
def test_a_mark_longer_than_a_row_goes_on_behind_a_hook(sheet):
    text = " ".join(words(SHEETS[sheet]("W" * 90)))
    assert f"{HOOK} W" in text


def test_a_short_mark_stays_in_its_column_without_a_hook():
    for make in SHEETS.values():
        assert HOOK not in "".join(words(make("CORNICE")))


def test_a_list_of_marks_breaks_between_them_before_it_breaks_one():
    kind, lines = MARKS.paragraph("CORNICE1–CORNICE12, CORNICE14", 60, 9)
    assert lines == ["CORNICE1–", "CORNICE12,", "CORNICE14"]
    assert kind.size < MARKS.size


def test_a_saw_sheet_names_long_marks_behind_a_hook():
    pieces = tuple(
        replace(piece, blanks=tuple(replace(each, marks="W" * 60) for each in piece.blanks))
        for piece in FULL_SAW_SHEET.pieces
    )
    assert f"{HOOK} W" in " ".join(words(saw_sheet_pdf(replace(FULL_SAW_SHEET, pieces=pieces))))
