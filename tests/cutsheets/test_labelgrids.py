"""Grids of labels: every label lies on its sheet, none on another, and they lie in the middle of the paper."""

from functools import partial
from itertools import combinations

import pytest
from shapely.geometry import box

from cutsheets.errors import CutsheetError
from cutsheets.sheets.labelgrids import GRIDS, grid_named
from cutsheets.sheets.labels import Label, draw_labels
from cutsheets.sheets.page import CLEAR, SIZES, WORDS, Pen
from tests.cutsheets.paper_reader import document

EVERY = pytest.mark.parametrize("grid", GRIDS.values(), ids=GRIDS)


def labels_of(grid):
    """Return the labels as they are cut, worked out apart from the grid's own cells: points, y downwards."""
    (wide, high), (across, down), (left, top) = grid.size, grid.pitch, grid.margin
    corners = [(left + c * across, top + r * down) for r in range(grid.rows) for c in range(grid.columns)]
    return [box(*(v * grid.unit for v in (x, y, x + wide, y + high))) for x, y in corners]


@EVERY
def test_labels_lie_on_the_page_and_not_on_each_other(grid):
    wide, high = SIZES[grid.page]
    page = box(-0.001, -0.001, wide + 0.001, high + 0.001)
    labels = labels_of(grid)
    assert all(page.contains(label) for label in labels)
    assert all(a.intersection(b).area < 0.001 for a, b in combinations(labels, 2))


@EVERY
def test_what_may_be_printed_on_lies_in_its_own_label_and_off_the_edge_of_the_page(grid):
    wide, high = SIZES[grid.page]
    reach = CLEAR if grid.per_page > 1 else 0
    for cell, label in zip(grid.cells(), labels_of(grid), strict=True):
        printed = box(cell.x, cell.y, cell.x + cell.width, cell.y + cell.height)
        assert label.buffer(-5).contains(printed)  # 1.8 mm of drift
        assert box(reach, reach, wide - reach, high - reach).buffer(0.001).contains(printed)


@EVERY
def test_labels_lie_in_the_middle_of_the_paper(grid):
    """Margins are equal left and right, and above and below, to 0.1 mm: a measure typed wrong shows here."""
    wide, high = SIZES[grid.page]
    labels = labels_of(grid)
    left, top = labels[0].bounds[:2]
    right, bottom = labels[-1].bounds[2:]
    assert left == pytest.approx(wide - right, abs=0.3)
    assert top == pytest.approx(high - bottom, abs=3.0)


def test_a_grid_that_nobody_knows_is_refused():
    with pytest.raises(CutsheetError) as caught:
        grid_named("letter-9x9")
    assert caught.value.code == "grid-unknown"


def printed(name, count, start, rest=None):
    """Return the words of each page of labels numbered from 1; `rest` is what some have no room for."""
    grid, pen = GRIDS[name], Pen(GRIDS[name].page, title="", author="", subject="")

    def draw(pen, cell, n):
        pen.text(cell.x, cell.y + 20, f"<{n}>", WORDS)
        return (rest or {}).get(n, ())

    labels = [Label(str(n), partial(draw, n=n)) for n in range(1, count + 1)]
    draw_labels(pen, grid, labels, start)
    return [page.get_textpage().get_text_bounded().split() for page in document(pen.finish())]


def test_labels_begin_at_the_first_one_left_and_go_on_upon_the_next_sheet():
    assert printed("letter-2x5", 4, 8) == [["<1>", "<2>", "<3>"], ["<4>"]]
    assert printed("letter-2x5", 3, 8) == [["<1>", "<2>", "<3>"]]
    assert [len(page) for page in printed("a4-3x7", 43, 1)] == [21, 21, 1]
    assert printed("tag-a7", 2, 1) == [["<1>"], ["<2>"]]


def test_what_a_label_has_no_room_for_stands_on_the_next_one_and_the_others_follow():
    assert printed("letter-2x5", 2, 9, {1: ("lot: 7",)}) == [
        ["<1>", "1,", "continued,", "2", "of", "2", "lot:", "7"],
        ["<2>"],
    ]
    [_, second, third] = printed("tag-4x2", 1, 1, {1: ("lot: " + "7 " * 500, "end")})
    assert (second[:6], third[:6]) == (
        ["1,", "continued,", "2", "of", "3", "lot:"],
        ["1,", "continued,", "3", "of", "3", "7"],
    )
    assert second.count("7") + third.count("7") == 500
    assert third[-1] == "end"


@pytest.mark.parametrize(
    ("count", "start", "code"), [(0, 1, "sheet-empty"), (1, 0, "label-start"), (1, 11, "label-start")]
)
def test_a_start_beyond_the_sheet_and_an_empty_sheet_are_refused(count, start, code):
    with pytest.raises(CutsheetError) as caught:
        printed("letter-2x5", count, start)
    assert caught.value.code == code
