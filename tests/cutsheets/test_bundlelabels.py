"""Labels of bundles: one a bundle, with a code that scans, on every grid that is large enough."""

import re
from dataclasses import replace

import pytest

from cutsheets.codes import make_bundle_code
from cutsheets.errors import CutsheetError
from cutsheets.sheets.barcodes import modules
from cutsheets.sheets.bundlelabels import BundleLabels, bundle_grids, bundle_labels_pdf
from cutsheets.sheets.labelgrids import GRIDS, grid_named
from cutsheets.sheets.packing import make_bundles
from cutsheets.sheets.packlist import say_weight
from cutsheets.sheets.page import NO_BREAK
from tests.cutsheets.packed_orders import HEAD, LINES, MANY, UGLY
from tests.cutsheets.paper_reader import codes, document, letters, quiet_zones_are_white, words

WIDE = replace(HEAD, number=104182, revision="BD")  # the bars of a large number and many sheets
BUNDLES = make_bundles(LINES, 6)


def wanted(head, grid):
    """Return the codes of the first sheet of labels: each bundle has its own."""
    return {make_bundle_code(head.number, head.revision, number) for number in range(1, grid.per_page + 1)}


@pytest.fixture(scope="module", params=[grid.name for grid in bundle_grids()])
def grid(request):
    return grid_named(request.param)


def test_every_bundle_has_its_label_with_marks_count_and_weight(grid):
    text = " ".join(words(bundle_labels_pdf(BundleLabels(HEAD, LINES, 6), grid)))
    numbers = re.findall(rf"bundle (\d+) of {len(BUNDLES)}(?!\d)", text)
    assert [int(number) for number in numbers] == list(range(1, len(BUNDLES) + 1))
    for bundle in BUNDLES:
        pieces = f"{bundle.qty} piece{'' if bundle.qty == 1 else 's'}"
        assert re.search(
            rf"{bundle.names} {pieces} {say_weight(bundle.kg, 'in')} Line {bundle.line.worked.mark}:".replace(
                NO_BREAK, " "
            ),
            text,
        )


@pytest.mark.parametrize("resolution", [203, 300, 600])
def test_every_code_is_read_from_a_print(grid, resolution):
    for head in (HEAD, WIDE):
        page = document(bundle_labels_pdf(BundleLabels(head, MANY, 6), grid))[0]
        assert {code.text for code in codes(page, resolution)} == wanted(head, grid)


def test_every_code_for_a_printer_of_203_dots_an_inch_is_read_and_is_three_dots_wide(grid):
    """3 dots are 14.8 mil; 2 would be less than 10 mil."""
    for head in (HEAD, WIDE):
        page = document(bundle_labels_pdf(BundleLabels(head, MANY, 6, 203), grid))[0]
        found = codes(page, 203)
        assert {code.text for code in found} == wanted(head, grid)
        long = found[0].position.top_right.x - found[0].position.top_left.x
        assert round(long / len(modules(found[0].text))) >= 3


def test_the_code_keeps_ten_modules_of_white_on_its_own_label(grid):
    """ISO/IEC 15417: a quiet zone of 10 modules on both sides; the next label may lie anywhere (memory)."""
    page = document(bundle_labels_pdf(BundleLabels(WIDE, MANY, 6), grid))[0]
    points = 72 / 300
    found = sorted(codes(page, 300), key=lambda code: (code.position.top_left.y // 60, code.position.top_left.x))
    assert len(found) == grid.per_page
    for cell, code in zip(grid.cells(), found, strict=True):
        left, right = code.position.top_left.x * points, code.position.top_right.x * points
        quiet = 10 * (right - left) / len(modules(code.text))
        assert cell.x <= left - quiet + 0.5
        assert right + quiet <= cell.x + cell.width + 0.5
        assert quiet_zones_are_white(page)


def test_printing_begins_at_the_first_label_that_is_left():
    grid = grid_named("letter-2x3")
    pages = words(bundle_labels_pdf(BundleLabels(HEAD, LINES, 6), grid, 5))
    counts = [page.count("keep dry") for page in pages]
    assert (counts[0], sum(counts)) == (2, len(BUNDLES))
    assert all(count == 6 for count in counts[1:-1])


def test_every_letter_is_at_least_nine_points(grid):
    found = list(letters(bundle_labels_pdf(BundleLabels(UGLY, MANY, 6), grid)))
    assert min(size for size, _ in found) >= 8.98
    assert all(embedded for _, embedded in found)


def test_labels_too_small_for_a_bundle_are_not_offered():
    offered = {grid.name for grid in bundle_grids()}
    assert {"tag-4x3", "tag-4x6", "letter-2x3", "a4-2x4"} <= offered
    assert not {"letter-3x10", "a4-3x8", "tag-4x2"} & offered
    assert offered <= set(GRIDS)


def test_a_label_that_the_sheet_does_not_have_is_refused():
    with pytest.raises(CutsheetError) as caught:
        bundle_labels_pdf(BundleLabels(HEAD, LINES, 6), grid_named("letter-2x3"), 7)
    assert caught.value.code == "label-start"


def test_an_order_whose_bars_are_too_wide_for_the_label_is_refused_and_larger_labels_are_named():
    head = replace(HEAD, number=10**12)
    assert bundle_labels_pdf(BundleLabels(head, LINES, 6), grid_named("tag-4x3"))
    with pytest.raises(CutsheetError) as caught:
        bundle_labels_pdf(BundleLabels(head, LINES, 6, 203), grid_named("tag-4x3"))
    assert caught.value.code == "barcode-too-wide"
