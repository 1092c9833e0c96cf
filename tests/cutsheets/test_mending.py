"""Parts of layouts: a part is taken out, filled otherwise and put back, and nothing else changes."""

from collections import Counter
from random import Random

from hypothesis import given, settings
from hypothesis import strategies as st

from cutsheets.planning.layout import FREE, Job, walk
from cutsheets.planning.mending import any_part, whole
from cutsheets.planning.prices import Prices
from cutsheets.planning.shelves import shelves
from cutsheets.stock import volume
from tests.cutsheets.bars import bar_job, cut_up, number, source
from tests.cutsheets.plan_days import any_instance


def blanks_in(layout, box):
    return Counter(node[1] for node, _ in walk(layout, box) if node[0] == "blank")


def test_the_whole_of_a_layout_gives_all_its_blanks_and_gives_way_to_another():
    job = bar_job((40, 2), (20, 1))
    piece = cut_up(job, "BAR", 40, 40)
    part = whole(piece.layout, piece.source)
    assert (part.box, part.gives()) == (piece.source.core, {number(job, 40): 2})
    assert part.put_back(FREE) == FREE


def test_a_layout_without_free_foam_can_only_be_taken_as_a_whole():
    piece = cut_up(bar_job((50, 2)), "BAR", 50, 50)
    part = any_part(piece.layout, piece.source, Random(1))
    assert part == whole(piece.layout, piece.source)


def test_a_part_of_a_bar_is_what_lies_beyond_one_of_its_cuts():
    piece = cut_up(bar_job((20, 4)), "BAR", 20, 20, 20, 20)
    parts = [any_part(piece.layout, piece.source, Random(seed)) for seed in range(60)]
    assert {part.box[0] for part in parts} == {100, 80, 60, 40}
    assert all(part.gives().total() == part.box[0] // 20 - 1 for part in parts)


def test_another_layout_is_put_back_in_the_place_of_a_part():
    job = bar_job((20, 4), (40, 1))
    piece, wanted = cut_up(job, "BAR", 20, 20, 20, 20), cut_up(job, "BAR", 20, 20, 20, 40)
    other = ("blank", number(job, 40), "LWH")
    part = next(part for seed in range(60) if (part := any_part(piece.layout, piece.source, Random(seed))).box[0] == 40)
    assert part.put_back(other) == wanted.layout


def test_a_part_before_a_cut_is_put_back_before_it():
    job = bar_job((20, 1), (80, 1))
    short, long = (("blank", number(job, length), "LWH") for length in (20, 80))
    foam = source(job, "BAR")
    layout = ("cut", 0, 80, FREE, short)
    low = any_part(layout, foam, Random(0))._replace(layout=FREE, box=(80, 10, 10), trail=[(layout, False, foam.core)])
    assert low.put_back(long) == ("cut", 0, 80, long, short)


def test_large_free_foam_is_taken_more_often_than_small():
    """One cut parts a core into 90 and 10; in each part a blank of 5 lies before free foam."""
    job = bar_job((5, 2))
    part, foam = ("blank", number(job, 5), "LWH"), source(job, "BAR")
    layout = ("cut", 0, 90, ("cut", 0, 5, part, FREE), ("cut", 0, 5, part, FREE))
    boxes = Counter(any_part(layout, foam, Random(seed)).box[0] for seed in range(400))
    assert set(boxes) == {100, 90, 10}
    assert boxes[90] > 5 * boxes[10]


@settings(max_examples=60, deadline=None)
@given(any_instance(), st.integers(0, 1000))
def test_a_part_that_is_emptied_takes_its_own_blanks_and_no_others(day, seed):
    for grade in {each["grade"] for each in day["blanks"]}:
        job = Job(day, grade, Prices.of(day))
        for piece in shelves(job)[0]:
            core = piece.source.core
            part = any_part(piece.layout, piece.source, Random(seed))
            assert part.put_back(part.layout) == piece.layout
            emptied = part.put_back(FREE)
            assert blanks_in(emptied, core) == Counter(dict(piece.gives)) - part.gives()
            assert volume(part.box) <= volume(core)
