"""Badges, read from their pictures as a scanner at a station would."""

import pytest

from cutsheets.codes import make_badge_code
from cutsheets.errors import CutsheetError
from cutsheets.sheets.badges import BADGE_GRIDS, Badge, badges_pdf
from cutsheets.sheets.labelgrids import GRIDS
from tests.cutsheets.paper_reader import codes, document, letters, quiet_zones_are_white, words
from tests.cutsheets.test_hostile_text import NAMES
from tests.cutsheets.text_boxes import overlaps, text_boxes

BO = Badge("Bo Lindqvist", make_badge_code("7K2M9XHD"))
RAF = Badge("Raf Almeida", make_badge_code("NBPRKYAB"))
EVERY = pytest.mark.parametrize("grid", BADGE_GRIDS.values(), ids=BADGE_GRIDS)


def read(pages, resolution=300):
    return [code.text for page in pages for code in codes(page, resolution)]


@EVERY
def test_every_badge_on_every_grid_is_read_and_leaves_the_white_beside_its_bars_alone(grid):
    pages = document(badges_pdf([BO, RAF], grid, shop="Tern Point Foam Works"))
    assert sorted(read(pages)) == sorted([BO.code, RAF.code])
    assert all(quiet_zones_are_white(page) for page in pages)


@pytest.mark.parametrize("dpi", [203, 300, 600])
def test_a_badge_is_read_from_every_printer(dpi):
    assert read(document(badges_pdf([BO], GRIDS["tag-4x2"], dpi=dpi)), dpi) == [BO.code]


def test_a_badge_says_name_and_shop():
    [text] = words(badges_pdf([BO], GRIDS["tag-4x2"], shop="Tern Point Foam Works"))
    assert "Bo Lindqvist" in text
    assert "Tern Point Foam Works" in text


@pytest.mark.parametrize("grid", ["tag-4x2", "a4-2x7", "letter-2x5"])
@pytest.mark.parametrize("name", NAMES.values(), ids=NAMES)
def test_a_name_of_any_length_and_script_stays_on_its_badge_and_off_the_bars(name, grid):
    data = badges_pdf([Badge(name, BO.code)], GRIDS[grid], shop=name)
    page, *behind = document(data)  # what is cut off stands whole behind it
    cell = next(GRIDS[grid].cells())
    assert read([page]) == [BO.code]
    assert not any(overlaps(each) for each in (page, *behind))
    for each in text_boxes(page):
        assert each.box.left >= cell.x - 1
        assert each.box.right <= cell.x + cell.width + 1
    assert all(size >= 8.98 and embedded for size, embedded in letters(data))


def test_the_same_badges_give_the_same_bytes():
    assert badges_pdf([BO, RAF], GRIDS["a4-2x5"]) == badges_pdf([BO, RAF], GRIDS["a4-2x5"])


@pytest.mark.parametrize(
    ("badges", "grid", "start", "code"),
    [
        ([BO], "letter-3x10", 1, "label-too-small"),
        ([BO], "a4-2x5", 11, "label-start"),
        ([], "a4-2x5", 1, "sheet-empty"),
    ],
)
def test_what_cannot_be_printed_is_refused(badges, grid, start, code):
    with pytest.raises(CutsheetError) as caught:
        badges_pdf(badges, GRIDS[grid], start=start)
    assert caught.value.code == code
