import pytest

from cutsheets.errors import CutsheetError
from cutsheets.files.job import line_from_dict
from cutsheets.kinds import KINDS
from cutsheets.rules import Rules
from cutsheets.units import board_feet, pounds

IN = 25.4


def inches(box):
    return tuple(round(side / IN, 6) for side in (box.l, box.w, box.h))


def work(rules=None, **keys):
    raw = {"mark": "B", "kind": "panel", "grade": "EPS 1.0", "size": [48, 24, 6]} | keys
    return KINDS["panel"].work(line_from_dict(raw, "in", rules or Rules(), grades={"EPS 1.0": 16.01846337396}))


def test_the_blank_of_a_panel_is_its_size_whatever_the_shop_allows_elsewhere():
    done = work(Rules(skim_wall=9, skim_other=9, end_trim=9, blank_step=40), qty=3)
    assert inches(done.blanks[0].size) == inches(done.foam) == (48, 24, 6)
    assert (done.blanks[0].qty, done.parts, done.sticks[0].mark) == (3, 3, "B1")


def test_a_panel_gets_the_allowances_of_its_own_line():
    done = work(allow={"skim": "1/4", "end_trim": "1/2"})
    assert inches(done.blanks[0].size) == (49, 24.5, 6.5)
    assert done.quantities.core_volume < done.quantities.blank_volume


def test_a_panel_is_counted_in_board_feet_and_pounds():
    # E-W2: 300 bf / 12 · 1.0 pcf = 25 lb; arithmetic
    done = work(size=[120, 30, 12])
    assert board_feet(done.quantities.core_volume) == pytest.approx(300)
    assert pounds(done.quantities.core_mass) == pytest.approx(25)
    assert done.quantities.wire_minutes == done.quantities.coat_area == 0


@pytest.mark.parametrize(("keys", "code", "where"), [
    ({"size": [48, 24]}, "list-size", "size"),
    ({"size": [48, 24, 0]}, "length-zero", "size[2]"),
    ({"coat": "1/8"}, "coat-panel", "coat"),
    ({"section": [[0, 0], [1, 0], [1, 1]]}, "unknown-key", ""),
    ({"allow": {"skim": {"front": 1}}}, "unknown-key", "allow.skim"),
])  # fmt: skip
def test_a_panel_that_cannot_be_sawn_is_refused(keys, code, where):
    with pytest.raises(CutsheetError) as caught:
        work(**keys)
    assert (caught.value.code, caught.value.where) == (code, where)


def test_a_panel_without_a_size_is_refused():
    with pytest.raises(CutsheetError) as caught:
        line_from_dict({"mark": "B", "kind": "panel", "grade": "x"}, "in", Rules(), "lines[4]", grades={"x": 16})
    assert (caught.value.code, caught.value.where) == ("missing-key", "lines[4]")


@pytest.mark.parametrize("side", [1e-7, 1220])
def test_a_side_that_no_panel_has_is_refused_with_its_place(side):
    with pytest.raises(CutsheetError) as caught:
        KINDS["panel"].read({"size": [48, side, 6]}, "in")
    assert (caught.value.code, caught.value.where) == ("range", "size[1]")
