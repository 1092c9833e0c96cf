"""Foam one blank high against published optima and against a second, naive way."""

import json
from functools import cache
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cutsheets.planning.slabs import best_worth

GCUT = json.loads(Path(__file__).with_name("gcut.json").read_text(encoding="utf-8"))["instances"]


@pytest.mark.parametrize("sheet", GCUT, ids=[each["name"] for each in GCUT])
def test_the_published_optimum_of_each_sheet_is_reached(sheet):
    """Beasley, J. Opl Res. Soc. 36 (1985) 297-306; OR-Library, gcut1 to gcut12."""
    assert best_worth(*sheet["sheet"], [(a, b, a * b) for a, b in sheet["items"]]) == sheet["value"]


def naive(long, wide, items):
    """Every cut at every whole place of every part."""

    @cache
    def best(x, y):
        worth = max((worth for a, b, worth in items if a <= x and b <= y), default=0)
        cuts = [best(at, y) + best(x - at, y) for at in range(1, x // 2 + 1)]
        return max([worth, *cuts, *(best(x, at) + best(x, y - at) for at in range(1, y // 2 + 1))])

    return best(long, wide)


SIDE = st.integers(1, 12)


@settings(max_examples=100, deadline=None)
@given(SIDE, SIDE, st.lists(st.tuples(SIDE, SIDE, st.integers(1, 30)), max_size=4))
def test_cuts_at_ends_of_rows_are_as_good_as_cuts_anywhere(long, wide, items):
    assert best_worth(long, wide, items) == naive(long, wide, items)


def test_too_many_sums_of_sides_are_left_alone():
    assert best_worth(1000, 10, [(1, 10, 1.0)], most=1000) is None
    assert best_worth(1000, 10, [(1, 10, 1.0)], most=1001) == 1000
