"""The checker is shown bad plans: whatever is damaged, it is told by a code, and nothing damaged ever passes."""

import json
from copy import deepcopy
from functools import cache

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from cutsheets.planning import plan
from cutsheets.planning.check import Verdict, Walk, can_be_sawn, check, first_overlap, leaves
from cutsheets.solids import Placed
from tests.cutsheets.plan_days import ANY, blank, block, inches, instance, remnant

WASTE = {"waste": True}
DAY = instance(
    blank("A", [40, 18, 30], 2), blank("B", [60, 50, 20], 1, rot=["LWH", "WLH"]),
    stock=[block([100, 50, 40], "BLK", skin=[[5, 5]] * 3, limit=1)], remnants=[remnant("R1", [60, 50, 40], 9)],
    kerf=3, min_remnant={"dims": [15, 30, 40], "volume": 0},
)  # fmt: skip


def cut(axis, at, lo, hi):
    return {"axis": axis, "at": at, "lo": lo, "hi": hi}


def good():
    """A plan by hand: skins off the block, two A and a remnant out of its core; B and a remnant out of R1.

    The second A takes the rest of its strip: the last kerf hangs in the air by 2.
    """
    a = {"blank": "A", "rot": "LWH"}
    core = cut("x", 40, cut("y", 18, a, cut("y", 18, a, None)), {"remnant": "N1"})
    for axis, length in (("x", 90), ("y", 40), ("z", 30)):
        core = cut(axis, 2, WASTE, cut(axis, length, core, WASTE))
    rest = cut("z", 20, {"blank": "B", "rot": "LWH"}, {"remnant": "N2"})
    pieces = [{"source": "stock:BLK#1", "tree": core}, {"source": "remnant:R1", "tree": rest}]
    return {"format": "blockyard-plan-1", "instance": "day", "pieces": pieces}


def codes(changed, day=DAY):
    return {fault.code for fault in check(day, changed).faults}


def at(changed, *path):
    """The node at the end of a path: piece number, then lo and hi."""
    node = changed["pieces"][path[0]]["tree"]
    for side in path[1:]:
        node = node[side]
    return node


CORE = (0, "hi", "lo", "hi", "lo", "hi", "lo")  # of the block, without its skins
STRIP = (*CORE, "lo")  # the two A


def test_a_good_plan_passes_and_its_figures_add_up():
    verdict = check(DAY, good())
    assert verdict.faults == []
    stats = verdict.stats
    assert (stats.new_blocks, stats.remnants_used, stats.remnants_kept, stats.cuts, stats.stages) == (1, 1, 2, 10, 4)
    assert stats.blanks == 2 * 40 * 18 * 30 + 60 * 50 * 20
    assert stats.kept == 47 * 40 * 30 + 60 * 50 * 17
    assert stats.opened == stats.blanks + stats.kept + stats.waste + stats.kerf == 100 * 50 * 40 + 60 * 50 * 40


def test_the_leaves_of_a_piece_lie_where_the_saw_leaves_them():
    placed = {leaf.name: leaf for leaf in leaves(DAY, "remnant:R1", good()["pieces"][1]["tree"])}
    assert placed["B"] == Placed("blank", "B", (0, 0, 0), (60, 50, 20))
    assert placed["N2"] == Placed("remnant", "N2", (0, 0, 23), (60, 50, 17))
    assert leaves(DAY, "remnant:nobody", WASTE) == []


def change(*path, **keys):
    """A damage: keys of the node at this path are set."""
    return lambda damaged: at(damaged, *path).update(keys)


def put(node, *path):
    """A damage: another node stands at this path."""
    return lambda damaged: at(damaged, *path[:-1]).update({path[-1]: node})


def again(number, source=None):
    """A damage: a piece is in the plan twice, or once more under another name."""
    return lambda damaged: damaged["pieces"].append(
        deepcopy(damaged["pieces"][number]) | ({"source": source} if source else {})
    )


def source(number, name):
    return lambda damaged: damaged["pieces"][number].update(source=name)


DAMAGED = {
    "a cut moved by a micrometre": (change(*STRIP, at=19), "blank-size"),
    "a cut moved out of the piece": (change(*STRIP, at=40), "cut-outside"),
    "a cut at nothing": (change(*STRIP, at=0), "cut-outside"),
    "a cut along another axis": (change(*STRIP, axis="z"), "blank-size"),
    "a blank thrown away": (put(WASTE, *STRIP, "lo"), "count"),
    "a blank too many": (put({"blank": "B", "rot": "LWH"}, 1, "hi"), "count"),
    "a piece left out of the plan": (lambda damaged: damaged["pieces"].pop(), "count"),
    "a remnant opened twice": (again(1), "source-twice"),
    "a block number twice": (again(0), "source-twice"),
    "more blocks than there are": (again(0, "stock:BLK#2"), "limit"),
    "a lie that is not allowed": (change(*STRIP, "lo", rot="WLH"), "lie"),
    "an allowed lie that does not fit": (change(1, "lo", rot="WLH"), "blank-size"),
    "blanks swapped": (change(*STRIP, "lo", blank="B"), "blank-size"),
    "a blank nobody knows": (change(*STRIP, "lo", blank="Z"), "blank-unknown"),
    "a block nobody knows": (source(0, "stock:ELSE#1"), "source"),
    "a block without a number": (source(0, "stock:BLK"), "source"),
    "a remnant nobody knows": (source(1, "remnant:R9"), "source"),
    "neither a block nor a remnant": (source(1, "R1"), "source"),
    "a kept tag twice": (change(1, "hi", remnant="N1"), "remnant-id"),
    "a kept tag that is on the rack": (change(1, "hi", remnant="R1"), "remnant-id"),
    "a part that is left out": (change(1, hi=None), "left-out"),
    "a part where the kerf leaves nothing": (change(*STRIP, "hi", hi=WASTE), "kerf"),
    "the plan of another day": (lambda damaged: damaged.update(instance="other"), "instance"),
}


@pytest.mark.parametrize(("damage", "code"), DAMAGED.values(), ids=DAMAGED)
def test_a_damaged_plan_is_refused_by_code(damage, code):
    damaged = good()
    damage(damaged)
    assert code in codes(damaged)


OTHER_DAYS = {
    "the saw takes a micrometre more": ({"kerf": 4}, "cut-outside"),
    "the saw takes a micrometre less": ({"kerf": 2}, "skin"),
    "this saw may not cut air": ({"allow_edge_shave": False}, "edge-shave"),
    "fewer cuts are allowed": ({"max_cuts": 9}, "max-cuts"),
    "fewer changes of direction are allowed": ({"max_stages": 3}, "max-stages"),
    "only larger offcuts are worth keeping": ({"min_remnant": {"dims": [18, 30, 40], "volume": 0}}, "remnant-small"),
    "only bulkier offcuts are worth keeping": ({"min_remnant": {"dims": [1, 1, 1], "volume": 51_001}}, "remnant-small"),
    "a blank is a micrometre longer": ({"blanks": [blank("A", [41, 18, 30], 2), DAY["blanks"][1]]}, "blank-size"),
    "one blank less is ordered": ({"blanks": [blank("A", [40, 18, 30], 1), DAY["blanks"][1]]}, "count"),
    "the skin is thicker": ({"stock": [block([100, 50, 40], skin=[[5, 5], [6, 5], [5, 5]])]}, "skin"),
    "the skin is thicker above": ({"stock": [block([100, 50, 40], skin=[[5, 5], [5, 5], [5, 6]])]}, "skin"),
    "the block is of another grade": ({"stock": [block([100, 50, 40], grade="2.0")]}, "grade"),
    "the remnant is of another grade": ({"remnants": [remnant("R1", [60, 50, 40], 9, grade="2.0")]}, "grade"),
    "the remnant has gone": ({"remnants": []}, "source"),
    "the block has gone": ({"stock": [block([100, 50, 40], limit=0)]}, "limit"),
    "the remnant is shorter": ({"remnants": [remnant("R1", [59, 50, 40], 9)]}, "blank-size"),
}


@pytest.mark.parametrize(("changes", "code"), OTHER_DAYS.values(), ids=OTHER_DAYS)
def test_a_plan_for_another_day_is_refused_by_code(changes, code):
    assert code in codes(good(), DAY | changes)


# The block, 100 × 50 × 40, has its skin taken off along z first; its first cut is 100 × 50, its second 100 × 35.
SAWS = {
    "a saw that just reaches": ({"height": 50, "length": 100}, set()),
    "a saw without limits": ({"height": None, "length": None}, set()),
    "a saw a micrometre too low": ({"height": 49, "length": None}, {"saw-height"}),
    "a saw a micrometre too short": ({"height": None, "length": 99}, {"saw-length"}),
    "a saw too low and too short": ({"height": 1, "length": 1}, {"saw-height", "saw-length"}),
}


@pytest.mark.parametrize(("saw", "found"), SAWS.values(), ids=SAWS)
def test_a_cut_that_the_saw_does_not_reach_is_refused(saw, found):
    assert codes(good(), DAY | {"saw": saw}) == found


@pytest.mark.parametrize(
    ("number", "names", "found"),
    [(0, ["BLK"], set()), (0, ["R1"], {"not-from"}), (1, ["R1", "BLK"], set()), (1, ["BLK"], {"not-from"})],
)
def test_a_blank_out_of_foam_that_is_not_for_it_is_refused(number, names, found):
    day = deepcopy(DAY)
    day["blanks"][number]["from"] = names
    assert codes(good(), day) == found


def test_a_plan_that_forgets_the_kerf_is_refused():
    day = instance(blank("A", inches(24, 24, 24), 16), stock=[block(inches(96, 48, 48))])
    without_kerf = plan(day, iterations=5).plan
    assert len(without_kerf["pieces"]) == 1
    assert codes(without_kerf, day | {"kerf": 3_175}) & {"blank-size", "cut-outside"}


# The second look, at boxes without the tree ---------------------------------------------------------------------------


def boxes_looked_at(*parts):
    walk = Walk(DAY, DAY["remnants"][0], Verdict(), "pieces[0]")
    walk.leaves = list(parts)
    walk.check_boxes()
    return [fault.code for fault in walk.verdict.faults]


def part(pos, size, name="P"):
    return Placed("blank", name, pos, size)


def test_two_parts_in_the_same_foam_are_found_although_the_volumes_add_up():
    assert boxes_looked_at(part((0, 0, 0), (30, 50, 40)), part((29, 0, 0), (30, 50, 40))) == ["overlap"]


def test_a_part_outside_the_piece_is_found():
    assert boxes_looked_at(part((0, 0, 0), (30, 50, 40)), part((31, 0, 0), (30, 50, 40))) == ["outside"]


def test_foam_that_is_in_no_part_is_found():
    assert boxes_looked_at(part((0, 0, 0), (30, 50, 40)), part((30, 0, 0), (30, 50, 39))) == ["volume"]


def test_boxes_that_only_touch_do_not_overlap():
    one, two = part((0, 0, 0), (10, 10, 10)), part((10, 0, 0), (10, 10, 10))
    assert first_overlap([two, one]) is None
    assert first_overlap([part((9, 9, 9), (2, 2, 2)), two, one]) is not None


# Layouts that no saw can cut ------------------------------------------------------------------------------------------


def squares(code, side):
    """The squares of a Bouwkamp code: each goes to the leftmost of the highest places of the skyline."""
    skyline = [0] * side
    placed = []
    for size in code:
        y = min(skyline)
        x = skyline.index(y)
        skyline[x : x + size] = [y + size] * size
        placed.append(part((x, y, 0), (size, size, 1), str(size)))
    assert skyline == [side] * side
    return placed


def test_the_squared_square_of_order_21_lies_without_overlap_and_cannot_be_sawn():
    """Duijvestijn, J. Combin. Theory B 25 (1978) 240-243; OEIS A014530 lists the sides."""
    placed = squares([50, 35, 27, 8, 19, 15, 17, 11, 6, 24, 29, 25, 9, 2, 7, 18, 16, 42, 4, 37, 33], 112)
    assert first_overlap(placed) is None
    assert sum(square.size[0] ** 2 for square in placed) == 112**2
    assert not can_be_sawn(placed, (112, 112, 1))


def test_a_pinwheel_of_four_plates_round_a_core_cannot_be_sawn():
    plates = [
        part((0, 0, 0), (3, 2, 1)), part((3, 0, 0), (2, 3, 1)), part((2, 3, 0), (3, 2, 1)), part((0, 2, 0), (2, 3, 1)),
    ]  # fmt: skip
    assert not can_be_sawn([*plates, part((2, 2, 0), (1, 1, 1))], (5, 5, 1))
    assert not can_be_sawn(plates, (5, 5, 1))
    assert can_be_sawn(plates[:3], (5, 5, 1))


def test_a_plain_grid_can_be_sawn_in_three_dimensions():
    grid = [part((x, y, z), (2, 3, 4)) for x in (0, 2, 4) for y in (0, 3) for z in (0, 4)]
    assert can_be_sawn(grid, (6, 6, 8))
    assert not can_be_sawn(grid, (6, 6, 7))
    assert not can_be_sawn([*grid, part((1, 1, 1), (1, 1, 1))], (6, 6, 8))


# Every damage to a real plan ------------------------------------------------------------------------------------------

REAL = (
    instance(
        blank("A", inches(71.5, 6, 4), 5, rot=ANY), blank("B", inches(59.5, 8.5, 6), 4, rot=["LWH", "LHW"]),
        blank("C", inches(30, 12, 10), 7, rot=ANY), stock=[block(inches(97, 49, 25), skin=[[12_700, 12_700]] * 3)],
        remnants=[remnant("R1", inches(60, 30, 12), 900)], kerf=1_588,
    ),
    instance(blank("A", [10, 10, 10], 20), blank("B", [7, 10, 12], 9, rot=ANY), stock=[block([64, 50, 33])], kerf=3),
    instance(
        blank("A", [40, 20, 9], 6), blank("B", [40, 20, 9], 3, grade="2.0"), stock=[block([90, 50, 20]),
        block([90, 50, 30], "TWO", grade="2.0")], min_remnant={"dims": [5, 5, 5], "volume": 0},
    ),
)  # fmt: skip


@cache
def real_plan(number):
    return json.dumps(plan(REAL[number], iterations=15).plan)


def nodes(tree):
    """Every node of a tree with the node above it and its side there."""
    todo = [(tree, None, "")]
    while todo:
        node, above, side = todo.pop()
        yield node, above, side
        todo += [(node[key], node, key) for key in ("lo", "hi") if node.get(key)]


def is_cut_beside_a_blank(node):
    return "axis" in node and any("blank" in (node[side] or {}) for side in ("lo", "hi"))


@settings(max_examples=150, deadline=None)
@given(st.integers(0, 2), st.integers(-3000, 3000).filter(bool), st.data())
def test_moving_a_cut_beside_a_blank_is_never_accepted(number, by, data):
    damaged = json.loads(real_plan(number))
    tree = data.draw(st.sampled_from(damaged["pieces"]))["tree"]
    data.draw(st.sampled_from([node for node, _, _ in nodes(tree) if is_cut_beside_a_blank(node)]))["at"] += by
    assert codes(damaged, REAL[number])


@settings(max_examples=150, deadline=None)
@given(st.integers(0, 2), st.sampled_from("xyz"), st.data())
def test_turning_a_cut_beside_a_blank_is_never_accepted(number, axis, data):
    damaged = json.loads(real_plan(number))
    tree = data.draw(st.sampled_from(damaged["pieces"]))["tree"]
    node = data.draw(st.sampled_from([node for node, _, _ in nodes(tree) if is_cut_beside_a_blank(node)]))
    assume(node["axis"] != axis)
    node["axis"] = axis
    assert codes(damaged, REAL[number])


@settings(max_examples=150, deadline=None)
@given(st.integers(0, 2), st.data())
def test_another_leaf_in_place_of_a_leaf_is_never_accepted(number, data):
    """A blank thrown away, made out of waste, or given another name."""
    damaged = json.loads(real_plan(number))
    names = [each["id"] for each in REAL[number]["blanks"]]
    tree = data.draw(st.sampled_from(damaged["pieces"]))["tree"]
    leaf, above, side = data.draw(st.sampled_from([found for found in nodes(tree) if "axis" not in found[0]]))
    other = data.draw(st.sampled_from([WASTE, *({"blank": name, "rot": "LWH"} for name in names)]))
    assume(other.get("blank") != leaf.get("blank"))
    above[side] = other
    assert codes(damaged, REAL[number])


@settings(max_examples=100, deadline=None)
@given(st.integers(0, 2), st.data())
def test_parts_of_two_sizes_that_change_places_are_never_accepted(number, data):
    damaged = json.loads(real_plan(number))
    tree = data.draw(st.sampled_from(damaged["pieces"]))["tree"]
    found = [node for node, _, _ in nodes(tree) if is_cut_beside_a_blank(node) and node["hi"]]
    assume(found)
    node = data.draw(st.sampled_from(found))
    assume(node["lo"].get("blank") != node["hi"].get("blank"))
    before = check(REAL[number], damaged).stats
    node["lo"], node["hi"] = node["hi"], node["lo"]
    assert codes(damaged, REAL[number]) or check(REAL[number], damaged).stats == before


@settings(max_examples=60, deadline=None)
@given(st.integers(0, 2), st.booleans(), st.data())
def test_a_piece_twice_or_not_at_all_is_never_accepted(number, twice, data):
    damaged = json.loads(real_plan(number))
    piece = data.draw(st.sampled_from(damaged["pieces"]))
    damaged["pieces"].append(piece) if twice else damaged["pieces"].remove(piece)
    assert codes(damaged, REAL[number])


@settings(max_examples=60, deadline=None)
@given(st.integers(0, 2), st.sampled_from([-1, 1]), st.data())
def test_a_blank_a_micrometre_larger_or_smaller_is_never_accepted(number, by, data):
    day = deepcopy(REAL[number])
    data.draw(st.sampled_from(day["blanks"]))["size"][data.draw(st.integers(0, 2))] += by
    assert codes(json.loads(real_plan(number)), day)
