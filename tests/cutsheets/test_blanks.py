import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cutsheets.blanks import blocks_at_least, check_blank_fits, fits, group, grown, note_too_long, section_blank
from cutsheets.errors import CutsheetError
from cutsheets.rules import Rules
from cutsheets.sections import measure
from cutsheets.solids import Blank, Box, End, Stick

size = st.floats(1, 5000)
allowance = st.floats(0, 50)


def stick(mark, blank, qty=1):
    return Stick(mark, qty, blank.l, blank.l, End("square"), End("square"), blank)


def test_a_blank_is_the_foam_part_with_skim_all_round_and_trim_at_both_ends():
    foam = measure([(0, 0), (7.875, 0), (7.875, 8.75), (0, 8.75)])
    rules = Rules(skim_wall=0.25, skim_other=0.25, end_trim=0.5)
    assert section_blank(foam, 96, rules) == Box(97, 8.375, 9.25)


def test_a_shop_that_saws_the_back_to_size_leaves_no_skim_on_the_wall_side():
    assert grown(Box(96, 8, 9), Rules(skim_wall=0, skim_other=0.25, end_trim=0)) == Box(96, 8.25, 9.5)


def test_every_size_is_rounded_up_to_the_shops_step_and_never_down():
    rules = Rules(skim_wall=0, skim_other=0, end_trim=0, blank_step=0.5)
    assert grown(Box(96.01, 8.5, 9.49), rules) == Box(96.5, 8.5, 9.5)
    assert grown(Box(0.1 + 0.2, 1, 1), Rules(skim_wall=0, skim_other=0, end_trim=0, blank_step=0.1)).l == pytest.approx(
        0.3
    )


@given(st.builds(Box, size, size, size), allowance, allowance, allowance, st.sampled_from([0, 1, 1.5875, 25.4]))
def test_a_blank_is_never_smaller_than_its_foam_on_any_axis(part, wall, other, trim, step):
    blank = grown(part, Rules(skim_wall=wall, skim_other=other, end_trim=trim, blank_step=step))
    due = (part.l + 2 * trim, part.w + wall + other, part.h + 2 * other)
    for got, least in zip((blank.l, blank.w, blank.h), due, strict=True):
        assert least - 1e-4 <= got <= least + step + 1e-6


def test_blanks_of_one_size_are_counted_together_longest_first():
    short, long = Box(56, 8, 9), Box(97, 8, 9)
    blanks = group([stick("A1", long, 2), stick("A2", short), stick("A3", long, 4)])
    assert blanks == (Blank(long, 6, ("A1", "A3")), Blank(short, 1, ("A2",)))


def test_a_blank_may_lie_any_way_in_a_block():
    assert fits(Box(36, 97, 48), Box(97, 48, 36))
    assert not fits(Box(97.1, 10, 10), Box(97, 48, 36))


def test_a_blank_that_no_block_holds_is_refused_with_the_limit_named():
    with pytest.raises(CutsheetError) as caught:
        check_blank_fits(Box(2463.9, 200, 200), Box(2463.8, 1219.2, 914.4), "in", "lines[0]")
    assert (caught.value.code, caught.value.where) == ("blank-too-long", "lines[0]")
    assert "97 × 48 × 36 in" in caught.value.message
    check_blank_fits(Box(2463.8, 200, 200), Box(2463.8, 1219.2, 914.4))


def test_a_blank_that_no_block_holds_is_remarked_on():
    blanks = [Blank(Box(3000, 100, 100), 1)]
    assert [note.code for note in note_too_long(blanks, Box(2500, 1200, 900), "mm")] == ["blank-too-long"]
    assert note_too_long(blanks, Box(3000, 1200, 900), "mm") == note_too_long(blanks, None, "mm") == ()


@pytest.mark.parametrize(("bar", "pieces"), [(96, 3), (96.1875, 4)])
def test_kerf_costs_a_piece_out_of_a_bar_just_as_long(bar, pieces):
    # S5: floor((L + k) / (p + k)), p = 24, k = 1/16; arithmetic
    kerf = 0.0625
    assert math.floor((bar + kerf) / (24 + kerf)) == pieces
    block = Box(bar, 10, 10)
    assert blocks_at_least([Blank(Box(24, 10, 10), pieces)], block, kerf) == 1
    assert blocks_at_least([Blank(Box(24, 10, 10), pieces + 1)], block, kerf) == 2


def test_bricks_in_a_block_are_bounded_by_volume():
    # S7: 1×2×4 bricks in 6×6×6: volume bound 27; de Bruijn, Amer. Math. Monthly 76 (1969) 37-40
    assert blocks_at_least([Blank(Box(4, 2, 1), 27)], Box(6, 6, 6), 0) == 1
    assert blocks_at_least([Blank(Box(4, 2, 1), 28)], Box(6, 6, 6), 0) == 2


def test_no_blanks_need_no_block():
    assert blocks_at_least([], Box(1, 1, 1), 0) == 0
