"""Tags of blocks and remnants, read from their pictures as a scanner and an eye at the rack would."""

from dataclasses import replace
from datetime import date
from itertools import combinations, pairwise

import pypdfium2.raw as pdfium
import pytest
from shapely.geometry import box

from cutsheets.errors import CutsheetError
from cutsheets.sheets.labelgrids import GRIDS
from cutsheets.sheets.tags import TAG_GRIDS, StockTag, tags_pdf
from cutsheets.solids import Box
from tests.cutsheets.paper_reader import codes, document, letters, picture, quiet_zones_are_white, words

REMNANT = StockTag(
    "remnant", 231, "R-0231", "Firm 1.5 FR", "two", Box(2438.4, 490.5, 285.75), "in", date(2026, 11, 24),
    parent="K-2207", lot="L-88", place="rack 4",
)  # fmt: skip
BLOCK = StockTag(
    "block", 7, "K-0007", "Dense 2.0", "chevron", Box(2440, 1220, 610), "mm", date(2026, 11, 24), lot="2026-114",
    mould_date=date(2026, 11, 2),
)  # fmt: skip
UGLY = replace(
    REMNANT, number=1234567, name="R-1234567", grade="Ganz besonders schwerer Schaum für Dächer", parent="K-1234567",
    lot="W" * 40, place="ganz hinten links unter der Treppe im Hof", size=Box(2641.6, 1238.25, 601.6625),
)  # fmt: skip
SINGLE = ("tag-4x2", "tag-4x3", "tag-a7")
EVERY = pytest.mark.parametrize("grid", TAG_GRIDS.values(), ids=TAG_GRIDS)


def read(page, resolution):
    return sorted(code.text for code in codes(page, resolution))


@EVERY
def test_every_tag_on_every_grid_is_read(grid):
    tags = [REMNANT, BLOCK, UGLY]
    found = [text for page in document(tags_pdf(tags, grid)) for text in read(page, 300)]
    assert sorted(found) == sorted(tag.code for tag in tags)


@pytest.mark.parametrize("name", SINGLE)
@pytest.mark.parametrize("resolution", [203, 300, 600])
def test_a_tag_is_read_from_every_printer(name, resolution):
    for tag in (REMNANT, BLOCK, UGLY):
        assert read(document(tags_pdf([tag], GRIDS[name]))[0], resolution) == [tag.code]


@EVERY
def test_a_tag_for_a_printer_of_203_dots_an_inch_is_read_on_every_grid_and_keeps_its_words(grid):
    for tag in (REMNANT, BLOCK):
        page, *more = document(tags_pdf([tag], grid, dpi=203))
        assert read(page, 203) == [tag.code]
        assert not more
        assert quiet_zones_are_white(page)
    found = [text for page in document(tags_pdf([UGLY], grid, dpi=203)) for text in read(page, 203)]
    assert found == [UGLY.code]


@pytest.mark.parametrize("name", SINGLE)
@pytest.mark.parametrize("tag", [REMNANT, UGLY], ids=["remnant", "ugly"])
def test_bars_for_203_dots_an_inch_are_three_dots_wide_or_more(name, tag):
    """As below, for a printer of 203 dots an inch: each bar and each white is a whole number of modules of dots."""
    edges, quiet, high = bars(document(tags_pdf([tag], GRIDS[name], dpi=203))[0], 203)
    widths = [b - a for a, b in pairwise(edges)]
    module = min(widths)
    assert module >= 3
    assert {width / module for width in widths} <= {1, 2, 3, 4}
    assert min(quiet) >= 10 * module
    assert high >= max(10 / 25.4 * 203 - 1, 0.15 * (edges[-1] - edges[0] + 20 * module) - 1)


def bars(page, resolution=600):
    """Return the edges along the middle of the bars, the white on both sides and the height of the first bar, dots."""
    sheet = picture(page, resolution)
    [code] = codes(page, resolution)
    row = round((code.position.top_left.y + code.position.bottom_left.y) / 2)
    dark = [value == 0 for value in sheet.crop((0, row, sheet.width, row + 1)).tobytes()]
    start, end = round(code.position.top_left.x) - 6, round(code.position.top_right.x) + 6
    edges = [x for x in range(start, end) if dark[x] != dark[x - 1]]
    before = next((n for n in range(1, edges[0]) if dark[edges[0] - 1 - n]), edges[0])
    after = next((n for n in range(sheet.width - edges[-1]) if dark[edges[-1] + n]), sheet.width - edges[-1])
    column = sheet.crop((edges[0] + 1, 0, edges[0] + 2, sheet.height)).tobytes()
    above, below = column[:row].rfind(255), column.find(255, row)
    return edges, (before, after), below - above - 1


@pytest.mark.parametrize("name", SINGLE)
@pytest.mark.parametrize("tag", [REMNANT, UGLY], ids=["remnant", "ugly"])
def test_bars_are_whole_dots_at_least_ten_mils_wide_and_high_enough_with_quiet_zones(name, tag):
    """ISO/IEC 15417: elements of 1 to 4 modules, quiet zones of 10. 10 mil = 6 dots at 600 dpi; even ones fit 300 dpi.

    The height is at least 10 mm and 15 % of the width, quiet zones counted.
    """
    edges, quiet, high = bars(document(tags_pdf([tag], GRIDS[name]))[0])
    widths = [b - a for a, b in pairwise(edges)]
    module = min(widths)
    assert module >= 6
    assert module % 2 == 0
    assert {width / module for width in widths} <= {1, 2, 3, 4}
    assert min(quiet) >= 10 * module
    assert high >= max(10 / 25.4 * 600 - 1, 0.15 * (edges[-1] - edges[0] + 20 * module) - 1)


@pytest.mark.parametrize("name", SINGLE)
def test_a_remnant_says_what_it_is_where_it_came_from_and_its_size_rounded_down(name):
    [text] = words(tags_pdf([REMNANT], GRIDS[name]))
    for part in ("R-0231", "Firm 1.5 FR", "remnant of K-2207", "lot L-88", "24 Nov 2026", "rack 4", "long", "BR0231G"):
        assert part in text
    # 490.5 mm are 0.03 mm less than 19 5/16 in, and 19 1/4 is what a tape surely finds
    assert text[: text.index("long")].split("×")[1].split() == ["19", "1", "4"]


def test_a_block_says_its_lot_and_mould_date_and_a_second_print_that_it_is_one():
    [text] = words(tags_pdf([BLOCK], GRIDS["tag-4x2"]))
    for part in (
        "K-0007",
        "Dense 2.0",
        "lot 2026-114",
        "moulded 2 Nov 2026",
        "received 24 Nov 2026",
        "2440 × 1220 × 610",
    ):
        assert part in text
    assert "print" not in text
    assert "reprint 2" in words(tags_pdf([replace(BLOCK, print_number=2)], GRIDS["tag-4x2"]))[0]


@EVERY
@pytest.mark.parametrize("tag", [REMNANT, BLOCK, UGLY], ids=["remnant", "block", "ugly"])
def test_no_text_lies_on_another_or_beyond_its_label_or_below_nine_points(grid, tag):
    data = tags_pdf([tag], grid)
    page, cells = document(data)[0], list(grid.cells())[:2]  # the second is for what the first has no room for
    found = [shape.get_bounds() for shape in page.get_objects(filter=(pdfium.FPDF_PAGEOBJ_TEXT,))]
    high = page.get_height()
    labels = [box(cell.x, high - cell.y - cell.height, cell.x + cell.width, high - cell.y) for cell in cells]
    boxes = [box(*each) for each in found]
    assert all(any(label.buffer(1).contains(each) for label in labels) for each in boxes)
    for a, b in combinations(boxes, 2):
        assert not a.buffer(-0.1).intersects(b)
    assert all(size >= 8.98 and embedded for size, embedded in letters(data))


def test_the_stripe_of_the_grade_runs_down_the_left():
    one, two = (
        picture(document(tags_pdf([replace(REMNANT, pattern=p)], GRIDS["tag-4x2"]))[0], 300) for p in ("one", "two")
    )
    band = (110, 12, 240, one.height - 12)
    assert one.crop(band).tobytes() != two.crop(band).tobytes()
    rest = (240, 0, one.width, one.height)
    assert one.crop(rest).tobytes() == two.crop(rest).tobytes()


def test_the_same_tag_is_the_same_file():
    assert tags_pdf([REMNANT], GRIDS["tag-a7"]) == tags_pdf([REMNANT], GRIDS["tag-a7"])


def test_a_label_that_is_too_small_is_refused():
    for name in GRIDS.keys() - TAG_GRIDS.keys():
        with pytest.raises(CutsheetError) as caught:
            tags_pdf([REMNANT], GRIDS[name])
        assert caught.value.code == "label-too-small"
    assert {"tag-4x2", "tag-a7", "letter-2x5", "a4-2x4-a7"} <= TAG_GRIDS.keys()


@pytest.mark.parametrize("unit", ["in", "mm"])
def test_a_tag_names_the_unit_of_its_size(unit):
    [text] = words(tags_pdf([replace(REMNANT, unit=unit)], GRIDS[SINGLE[0]]))
    for side in ("long", "wide", "high"):
        assert f"{side}, {unit}" in text
