"""Blocks and slabs: every numbered cut is on the drawing once, every part where the plan has it."""

import itertools
import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cutsheets.drawings.bars import cut_runs
from cutsheets.drawings.foam import Slice, foam_bar_scene
from cutsheets.drawings.lettering import plain
from cutsheets.drawings.plan import block_scene, slab_drawings
from cutsheets.drawings.scene import Circle, Polygon, Text
from cutsheets.drawings.slabs import dissect, grow
from cutsheets.planning import plan
from cutsheets.steps import opened_piece
from tests.cutsheets import sawn_days
from tests.cutsheets.paper_samples import (
    ALONE,
    BLOCK,
    BUSY,
    KERF,
    LAYERED,
    STACKED,
    TRIM,
    UM,
    WHOLE,
    opened,
    rest,
    ripped,
)
from tests.cutsheets.sawn_days import FT

ALL = [BLOCK, BUSY, STACKED, ALONE, WHOLE, LAYERED]


def marks(scene):
    return [int(plain(s.parts)) for s in scene.flat() if isinstance(s, Text) and s.role == "mark"]


def words(scene):
    return [plain(s.parts) for s in scene.flat() if isinstance(s, Text) and s.role == "label"]


def told(slab):
    """Return the cuts that a slab tells of: in circles, between the two circles of a run, in the label of one."""
    numbers = marks(slab.scene)
    numbers += [cut.number for run in cut_runs(slab.view.cuts, 1300 * slab.text) for cut in run[1:-1]]
    for label in words(slab.scene):
        for first, last in re.findall(r"(\d+)–(\d+)", label.partition("cuts ")[2]):
            numbers += range(int(first), int(last) + 1)
    return numbers


@pytest.mark.parametrize("opened", ALL, ids=lambda opened: opened.source)
def test_every_cut_is_drawn_once(opened):
    drawn = marks(block_scene(opened))
    for slab in slab_drawings(opened, "in"):
        drawn += told(slab)
    assert sorted(drawn) == [step.number for step in opened.steps]


@pytest.mark.parametrize("opened", ALL, ids=lambda opened: opened.source)
def test_every_blank_and_remnant_lies_in_a_view(opened):
    seen = {leaf.name for view in dissect(opened).views for region in view.regions for leaf in region.leaves}
    assert {leaf.name for leaf in opened.placed if leaf.kind != "waste"} <= seen


@pytest.mark.parametrize("opened", ALL, ids=lambda opened: opened.source)
def test_the_tree_of_cuts_found_from_the_leaves_uses_every_cut_once(opened):
    def numbers(piece):
        own = [piece.step.number] if piece.step else []
        return own + [number for part in piece.parts for number in numbers(part)]

    assert sorted(numbers(grow(opened.placed, opened.steps, opened.source))) == [step.number for step in opened.steps]


@settings(max_examples=25, deadline=None)
@given(st.lists(st.tuples(st.integers(2, 8), st.integers(1, 4), st.integers(1, 2), st.integers(1, 4)), max_size=4))
def test_every_cut_of_any_plan_is_drawn_once(rows):
    saw = sawn_days.KERF
    blanks = [(f"A{n}", (x * FT - saw, y * FT - saw, z * FT - saw), q) for n, (x, y, z, q) in enumerate(rows)]
    instance = sawn_days.day(*blanks)
    for piece in plan(instance, iterations=3).plan["pieces"]:
        test_every_cut_is_drawn_once(opened_piece(instance, piece))


def test_slabs_come_in_sawing_order_with_their_height():
    slabs = slab_drawings(BLOCK, "in")
    assert [(slab.name, plain(slab.size), slab.size_word) for slab in slabs] == [
        ("slab 1", "11 1/4", "high"),
        ("slab 2", "11 1/4", "high"),
    ]
    assert words(slabs[0].scene) == ["A1", "A2", "A3", "A4", "A5"]


def test_a_slab_is_as_high_as_its_saw_is_set_and_a_remnant_no_higher_than_it_is():
    odd = opened("F-2208", (50, 12, 25), (2, 12.9, ripped(["A1"], TRIM), rest("R-0240")))
    assert [(slab.name, plain(slab.size)) for slab in slab_drawings(odd, "in")] == [
        ("slab 1", "12 15/16"),  # 12.9 is nearer to 12 7/8, from which no blank of 12 15/16 comes
        ("remnant R-0240", "12"),  # 25 - 12.9 - 1/16 = 12.0375, nearer to 12 1/16
    ]


def test_a_cut_up_from_the_table_and_one_from_the_fence_run_where_the_plan_has_them():
    found = dissect(BLOCK)
    assert [(cut.number, cut.at) for cut in found.whole] == [(1, 11.25 * UM), (2, 22.5 * UM + KERF)]
    first = found.views[0].cuts[1]
    assert (first.number, first.start[1]) == (4, 9.5 * UM)


def test_a_block_that_is_ripped_first_is_shown_bar_by_bar_from_the_fence_side():
    assert [(slab.name, slab.seen) for slab in slab_drawings(STACKED, "in")] == [
        ("bar 1", "from the fence side"),
        ("bar 2", "from the fence side"),
    ]


def test_a_part_cut_again_parallel_to_the_view_says_how_many_lie_there():
    slabs = slab_drawings(LAYERED, "in", text=20)
    assert "M1, M2, L1, 2 high" in words(slabs[0].scene)
    assert marks(slabs[0].scene) == [3, 4, 2]
    assert [slab.name for slab in slabs] == ["slab 1", "slab 2", "N1"]
    assert {"M1", "M2"} <= set(words(slabs[1].scene))


def test_remnants_are_dashed_and_trim_is_hatched():
    shapes = [s for s in slab_drawings(BLOCK, "in")[1].scene.flat() if isinstance(s, Polygon)]
    assert sum(shape.role == "remnant" and shape.dash for shape in shapes) == 3
    assert sum(shape.hatch > 0 for shape in shapes) == 1


@pytest.mark.parametrize("opened", [BUSY])
def test_numbers_stand_off_each_other(opened):
    for slab in slab_drawings(opened, "in"):
        circles = [s for s in slab.scene.flat() if isinstance(s, Circle)]
        for a, b in itertools.combinations(circles, 2):
            gap = ((a.centre[0] - b.centre[0]) ** 2 + (a.centre[1] - b.centre[1]) ** 2) ** 0.5
            assert gap >= a.radius + b.radius


@pytest.fixture(scope="module")
def thin():
    """A block of many thin bars, some of them ripped again out of sight."""
    bars = ("4182 A1–A60", (2_387_600, 50_800, 38_100), 60), ("4183 B1–B40", (1_524_000, 63_500, 25_400), 40)
    day = sawn_days.day(*bars)
    return opened_piece(day, plan(day, iterations=4, seed=1).plan["pieces"][0])


def test_many_thin_bars_have_one_label_and_their_cuts_the_first_and_last_number(thin):
    slabs = slab_drawings(thin, "in")
    labels = [label for slab in slabs for label in words(slab.scene)]
    assert any(re.match(r"\d+ × 4182 A1–A60", label) for label in labels)
    assert any(re.match(r"\d+ × 4183 B1–B40", label) for label in labels)
    drawn = marks(block_scene(thin)) + [number for slab in slabs for number in told(slab)]
    assert sorted(drawn) == [step.number for step in thin.steps]


def test_numbers_of_many_thin_bars_never_cover_each_other(thin):
    test_numbers_stand_off_each_other(thin)


def test_leaves_can_be_given_other_words():
    assert "4182 A1" in words(slab_drawings(BLOCK, "in", labels={"A1": "4182 A1"})[0].scene)


def test_an_uncut_remnant_is_one_part_without_numbers():
    assert marks(block_scene(WHOLE)) == []
    assert words(slab_drawings(WHOLE, "in")[0].scene) == ["K2"]


def test_foam_bars_of_one_scale_are_as_long_as_their_foam():
    def length(*amounts):
        slices = [Slice("trim" if n else "blanks", amount, "", "") for n, amount in enumerate(amounts)]
        left, _, right, _ = foam_bar_scene(slices, scale=0.1).bounds
        return right - left

    assert length(600, 300, 100) == pytest.approx(100)
    assert length(300, 100) == pytest.approx(40)


def test_the_words_above_a_foam_bar_never_overlap():
    slices = [Slice("kerf", 1, f"a long name {n}", "1.0") for n in range(5)]
    texts = [s for s in foam_bar_scene(slices, scale=2).flat() if isinstance(s, Text)]
    for a, b in itertools.combinations(texts, 2):
        assert a.at[1] != b.at[1] or a.at[0] + a.width < b.at[0] or b.at[0] + b.width < a.at[0]
