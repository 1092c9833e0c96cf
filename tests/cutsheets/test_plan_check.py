"""The checker refuses every damage to a plan, and layouts that no saw can cut edge to edge."""

from copy import deepcopy
from itertools import product

import pytest

from cutsheets.planning.check import can_be_sawn, check, first_overlap, leaves
from cutsheets.solids import Placed
from tests.cutsheets.plan_cases import blank, block, instance, remnant

WASTE = {"waste": True}


def cut(axis, at, lo, hi=None):
    return {"axis": axis, "at": at, "lo": lo, "hi": hi}


def leaf(name, lie="LWH"):
    return {"blank": name, "rot": lie}


# A block of 1000 × 500 × 300 with 20 of skin at both ends gives 2 × 2 parts of 478 × 248 × 300, kerf 4: three A and N1.
# Remnant R1 gives B and shaves the wire's own width off its end; a block of the other grade gives two C.
CASE = instance(
    [
        blank("A", (478, 248, 300), 3, lies=("LWH", "HWL")),
        blank("B", (596, 300, 200), 1),
        blank("C", (500, 500, 248), 2, grade="2.0"),
    ],
    [
        block((1000, 500, 300), skin=[[20, 20], [0, 0], [0, 0]], limit=2),
        block((500, 500, 500), name="D", grade="2.0"),
    ],
    kerf=4,
    remnants=[remnant("R1", (600, 300, 200)), remnant("R2", (600, 300, 200))],
    allow_edge_shave=False,
    min_remnant={"dims": [248, 300, 478], "volume": 248 * 300 * 478},
    max_cuts=8,
    max_stages=2,
)
PLAN = {
    "format": "blockyard-plan-1",
    "instance": "case",
    "pieces": [
        {
            "source": "stock:BLK#1",
            "tree": cut("x", 16, WASTE, cut(
                "x", 478, cut("y", 248, leaf("A"), leaf("A")),
                cut("x", 478, cut("y", 248, leaf("A"), {"remnant": "N1"}), WASTE),
            )),
        },
        {"source": "remnant:R1", "tree": cut("x", 596, leaf("B"))},
        {"source": "stock:D#1", "tree": cut("z", 248, leaf("C"), leaf("C"))},
    ],
}  # fmt: skip
TOP = PLAN["pieces"][0]["tree"]


@pytest.fixture
def case():
    return deepcopy(CASE)


@pytest.fixture
def plan():
    return deepcopy(PLAN)


def codes(case, plan):
    return {fault.code for fault in check(case, plan).faults}


def at(plan, path):
    """The node of a plan under a path such as "0 hi lo"."""
    piece, *steps = path.split()
    node = plan["pieces"][int(piece)]["tree"]
    for step in steps:
        node = node[step]
    return node


def put(path, **keys):
    """A damage: these keys of the node under a path."""
    return lambda case, plan: at(plan, path).update(keys)


def instead(path, node):
    """A damage: another node under a path."""
    above, step = path.rsplit(" ", 1)
    return lambda case, plan: at(plan, above).update({step: node})


def source(number, name):
    return lambda case, plan: plan["pieces"][number].update(source=name)


def ask(key, value):
    """A damage: the instance asks for something else."""
    return lambda case, plan: case.update({key: value})


def of(key, number, **keys):
    """A damage: a block, remnant or blank of the instance is another."""
    return lambda case, plan: case[key][number].update(keys)


def opened_again(number, name):
    return lambda case, plan: plan["pieces"].append({**deepcopy(plan["pieces"][number]), "source": name})


def renamed(case, plan):
    plan["instance"] = "yesterday"


def drawn_without_kerf(case, plan):
    plan["pieces"][2]["tree"] = cut("z", 250, leaf("C"), leaf("C"))
    case["blanks"][2]["size"] = [500, 500, 250]


DAMAGES = {
    "a cut moved by 1 µm": (put("0 hi", at=479), {"blank-size", "skin"}),
    "a cut across another axis": (put("0 hi lo", axis="z"), {"blank-size"}),
    "a cut outside the piece in hand": (put("2", at=500), {"cut-outside", "count"}),
    "kerf forgotten": (drawn_without_kerf, {"blank-size"}),
    "kerf 1 µm thicker": (ask("kerf", 5), {"blank-size", "remnant-small", "edge-shave", "skin"}),
    "kerf 1 µm thinner": (ask("kerf", 3), {"blank-size", "left-out", "skin"}),
    "a part where the kerf leaves nothing": (instead("1 hi", WASTE), {"kerf"}),
    "a part left out of the tree": (instead("0 hi hi hi", None), {"left-out"}),
    "a cut partly in the air": (of("remnants", 0, size=[599, 300, 200]), {"edge-shave"}),
    "a blank too few": (instead("0 hi lo hi", WASTE), {"count"}),
    "a blank too many": (instead("0 hi hi lo hi", leaf("A")), {"count"}),
    "a piece left out": (lambda case, plan: plan["pieces"].pop(), {"count"}),
    "a blank 1 µm larger": (of("blanks", 1, size=[596, 300, 201]), {"blank-size"}),
    "a block 1 µm thinner": (of("stock", 0, size=[1000, 500, 299]), {"blank-size", "remnant-small"}),
    "foam of another grade": (of("stock", 1, grade="3.0"), {"grade"}),
    "another block": (source(2, "stock:BLK#2"), {"grade", "blank-size", "skin"}),
    "a blank of another grade": (of("blanks", 1, grade="2.0"), {"grade"}),
    "two ids exchanged": (put("1 lo", blank="A"), {"blank-size", "count"}),
    "a lie that is not allowed": (put("1 lo", rot="WLH"), {"lie"}),
    "a blank turned where it lies": (put("0 hi lo lo", rot="HWL"), {"blank-size"}),
    "a blank in the low skin": (of("stock", 0, skin=[[21, 20], [0, 0], [0, 0]]), {"skin"}),
    "a blank in the high skin": (of("stock", 0, skin=[[20, 21], [0, 0], [0, 0]]), {"skin"}),
    "a remnant used twice": (opened_again(1, "remnant:R1"), {"source-twice", "count"}),
    "a block number twice": (opened_again(0, "stock:BLK#1"), {"source-twice", "count", "remnant-id", "max-cuts"}),
    "more blocks than on hand": (of("stock", 0, limit=0), {"limit"}),
    "an unknown block": (source(2, "stock:E#1"), {"source", "count"}),
    "a block without its number": (source(2, "stock:D"), {"source", "count"}),
    "an unknown remnant": (source(1, "remnant:R3"), {"source", "count"}),
    "an unknown kind of source": (source(1, "R1"), {"source", "count"}),
    "an unknown blank": (put("1 lo", blank="Z"), {"blank-unknown", "count"}),
    "a remnant too small on one side": (ask("min_remnant", {"dims": [249, 300, 478], "volume": 0}), {"remnant-small"}),
    "a remnant of too little foam": (
        ask("min_remnant", {"dims": [1, 1, 1], "volume": 248 * 300 * 478 + 1}), {"remnant-small"},
    ),
    "a remnant with a tag of the rack": (put("0 hi hi lo hi", remnant="R2"), {"remnant-id"}),
    "two remnants with one tag": (instead("0 hi hi lo lo", {"remnant": "N1"}), {"remnant-id", "count"}),
    "one cut more than allowed": (ask("max_cuts", 6), {"max-cuts"}),
    "one change of direction more than allowed": (ask("max_stages", 1), {"max-stages"}),
    "a plan for another day": (renamed, {"instance"}),
}  # fmt: skip


def test_the_plan_as_it_was_drawn_is_accepted_and_its_foam_adds_up(case, plan):
    verdict = check(case, plan)
    assert verdict.faults == []
    stats = verdict.stats
    assert stats.opened == 1000 * 500 * 300 + 600 * 300 * 200 + 500**3
    assert stats.opened == stats.blanks + stats.kept + stats.waste + stats.kerf
    assert stats.blanks == 3 * 478 * 248 * 300 + 596 * 300 * 200 + 2 * 500 * 500 * 248
    assert (stats.new_blocks, stats.remnants_used, stats.remnants_kept) == (2, 1, 1)
    assert (stats.cuts, stats.stages) == (7, 2)


@pytest.mark.parametrize("name", DAMAGES)
def test_a_damaged_plan_is_refused_for_its_reason(case, plan, name):
    damage, wanted = DAMAGES[name]
    damage(case, plan)
    assert codes(case, plan) == wanted


def test_a_fault_names_its_place_in_the_plan(case, plan):
    put("0 hi lo lo", rot="HWL")(case, plan)
    assert [fault.where for fault in check(case, plan).faults] == ["pieces[0].hi.lo.lo"]


def test_a_cut_partly_in_the_air_is_accepted_where_the_saw_may_do_it(case, plan):
    case["remnants"][0]["size"] = [599, 300, 200]
    case["allow_edge_shave"] = True
    assert codes(case, plan) == set()


def test_leaves_lie_where_a_person_would_measure_them():
    found = leaves(CASE, "stock:BLK#1", TOP)
    places = {(part.kind, part.pos) for part in found}
    assert ("blank", (20, 0, 0)) in places
    assert ("remnant", (502, 252, 0)) in places
    assert ("waste", (984, 0, 0)) in places


# A layout is a list of boxes; whether a saw can free them is asked without any tree.


def boxes(*parts):
    """Boxes of one layer, each (x, y, wide, high)."""
    return [Placed("blank", str(n), (x, y, 0), (wide, high, 1)) for n, (x, y, wide, high) in enumerate(parts)]


def bouwkamp(side, groups):
    """Squares from a Bouwkamp code: each group goes from left to right into the lowest gap that is furthest left."""
    heights = [0] * side
    placed = []
    for group in groups:
        x = heights.index(min(heights))
        for square in group:
            assert len(set(heights[x : x + square])) == 1, "a square does not lie flat"
            placed.append((x, heights[x], square, square))
            heights[x : x + square] = [heights[x] + square] * square
            x += square
    assert set(heights) == {side}
    return boxes(*placed)


# A. J. W. Duijvestijn, Simple perfect squared square of lowest order, J. Combin. Theory B 25 (1978) 240-243.
ORDER_21 = [
    [50, 35, 27], [8, 19], [15, 17, 11], [6, 24], [29, 25, 9, 2], [7, 18], [16], [42], [4, 37], [33],
]  # fmt: skip


def test_the_squared_square_of_order_21_fills_its_sheet_but_cannot_be_sawn():
    squares = bouwkamp(112, ORDER_21)
    assert len({part.size for part in squares}) == 21
    assert sum(part.size[0] * part.size[1] for part in squares) == 112 * 112
    assert first_overlap(squares) is None
    assert not can_be_sawn(squares, (112, 112, 1))


PINWHEEL = boxes((0, 0, 3, 2), (3, 0, 2, 3), (2, 3, 3, 2), (0, 2, 2, 3), (2, 2, 1, 1))


def test_a_pinwheel_cannot_be_sawn_and_can_be_once_a_plate_is_taken_out():
    assert first_overlap(PINWHEEL) is None
    assert not can_be_sawn(PINWHEEL, (5, 5, 1))
    assert can_be_sawn(PINWHEEL[1:], (5, 5, 1))


@pytest.mark.parametrize("axes", [(0, 1, 2), (1, 2, 0), (2, 0, 1)])
def test_a_pinwheel_cannot_be_sawn_whichever_way_the_block_is_turned(axes):
    turned = [
        Placed("blank", part.name, tuple(part.pos[a] for a in axes), tuple(part.size[a] for a in axes))
        for part in PINWHEEL
    ]
    assert not can_be_sawn(turned, tuple((5, 5, 1)[a] for a in axes))


def test_a_plain_grid_can_be_sawn():
    places = product(range(0, 28, 7), range(0, 15, 5), range(0, 6, 3))
    grid = [Placed("blank", "A", place, (7, 5, 3)) for place in places]
    assert can_be_sawn(grid, (28, 15, 6))


def test_parts_that_share_foam_are_found_and_cannot_be_sawn():
    apart, shared = boxes((0, 0, 3, 3), (3, 0, 3, 3)), boxes((0, 0, 3, 3), (5, 0, 3, 3), (2, 2, 3, 3))
    assert first_overlap(apart) is None
    assert first_overlap(shared) == (shared[0], shared[2])
    assert not can_be_sawn(shared, (8, 8, 1))


def test_a_part_within_another_shares_its_foam():
    inner, outer = Placed("blank", "A", (2, 2, 2), (1, 1, 1)), Placed("blank", "B", (0, 0, 0), (9, 9, 9))
    assert first_overlap([inner, outer]) == (outer, inner)
