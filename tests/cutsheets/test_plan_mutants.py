"""Damage of every sort to real plans: the checker accepts one only where a second, naive reading finds it sound."""

from collections import Counter
from copy import deepcopy
from functools import cache

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cutsheets.planning import plan
from cutsheets.planning.check import check
from cutsheets.stock import LIES, volume
from tests.cutsheets.plan_days import ANY, blank, block, instance, remnant

many = settings(max_examples=400, deadline=None)
CASE = instance(
    blank("A", [61, 20, 10], 9, rot=["LWH", "LHW"]), blank("B", [47, 20, 10], 7, rot=ANY), blank("C", [30, 30, 30], 4),
    blank("D", [25, 24, 23], 6, rot=ANY, grade="2.0"),
    stock=[
        block([120, 60, 50], skin=[[5, 5], [5, 5], [5, 5]]),
        block([80, 60, 50], "D", grade="2.0", skin=[[0, 3], [2, 0], [0, 0]]),
    ],
    remnants=[remnant("R1", [70, 45, 32], 500)],
    kerf=2,
    min_remnant={"dims": [8, 15, 25], "volume": 3_500},
)  # fmt: skip
CASES = [CASE, {**CASE, "kerf": 0}, {**CASE, "kerf": 3, "allow_edge_shave": False}]


@cache
def real(number):
    """A case and the planner's plan for it; the last case is the first one with nothing to spare for its plan."""
    case = CASES[number % len(CASES)]
    result = plan(case, iterations=30)
    assert result.left_out == ()
    return (case if number < len(CASES) else just_enough(case, result.plan)), result.plan


def just_enough(case, written):
    """The case with the lowest and shortest saw for a plan, and every blank kept for the foam it comes out of."""
    faces = [face for piece in written["pieces"] for face in cut_faces(case, piece["tree"], size_of(case, piece))]
    saw = {"height": max(face[0] for face in faces), "length": max(face[1] for face in faces)}
    foam = {blank["id"]: set() for blank in case["blanks"]}
    for piece in written["pieces"]:
        for node in nodes(piece["tree"]):
            foam.get(node.get("blank"), set()).add(source_of(case, piece)["id"])
    return {**case, "saw": saw, "blanks": [{**blank, "from": sorted(foam[blank["id"]])} for blank in case["blanks"]]}


def cut_faces(case, node, size):
    """The sides of the face of every cut below a node, the smaller first."""
    if "axis" not in node:
        return []
    axis, at = "xyz".index(node["axis"]), node["at"]
    low, high = list(size), list(size)
    low[axis], high[axis] = at, size[axis] - at - case["kerf"]
    face = sorted(size[:axis] + size[axis + 1 :])
    return [face, *cut_faces(case, node["lo"], low), *(cut_faces(case, node["hi"], high) if node["hi"] else [])]


def boxes(case, node, size, pos=(0, 0, 0)):
    """(leaf, size, position) of every leaf below a node; None stands where a cut or a leaf has no foam to be in."""
    if "axis" not in node:
        return [(node, tuple(size), tuple(pos))]
    axis, at = "xyz".index(node["axis"]), node["at"]
    if not 0 < at < size[axis]:
        return [(None, size, pos)]
    low, high, beyond = list(size), list(size), list(pos)
    low[axis], high[axis], beyond[axis] = at, size[axis] - at - case["kerf"], pos[axis] + at + case["kerf"]
    found = boxes(case, node["lo"], low, pos)
    if node["hi"] is not None:
        return found + (boxes(case, node["hi"], high, beyond) if high[axis] > 0 else [(None, high, beyond)])
    in_the_air = high[axis] < 0 and not case["allow_edge_shave"]
    return [*found, (None, high, beyond)] if high[axis] > 0 or in_the_air else found


def source_of(case, piece):
    """The block or remnant that a piece opens."""
    name = piece["source"].split(":")[1].split("#")[0]
    return next(each for each in case["stock"] + case["remnants"] if each["id"] == name)


def size_of(case, piece):
    return list(source_of(case, piece)["size"])


def is_in_reach(case, piece):
    """Whether the saw, if it has limits, gets through every cut of a piece."""
    saw = case.get("saw", {"height": 1_000, "length": 1_000})
    faces = cut_faces(case, piece["tree"], size_of(case, piece))
    return all(low <= saw["height"] and long <= saw["length"] for low, long in faces)


def is_sound(case, written):
    """Whether every blank is there and well, every remnant worth keeping and under a tag of its own."""
    cut = Counter(node["blank"] for node in all_nodes(written) if "blank" in node)
    tags = Counter(node["remnant"] for node in all_nodes(written) if "remnant" in node)
    new = tags.keys().isdisjoint(remnant["id"] for remnant in case["remnants"]) and set(tags.values()) <= {1}
    return (
        new
        and cut == Counter({blank["id"]: blank["qty"] for blank in case["blanks"]})
        and all(is_in_reach(case, piece) for piece in written["pieces"])
        and all(
            leaf is not None and is_well(case, source_of(case, piece), leaf, size, pos)
            for piece in written["pieces"]
            for leaf, size, pos in boxes(case, piece["tree"], source_of(case, piece)["size"])
        )
    )


def is_well(case, foam, leaf, size, pos):
    """Whether a blank has its size, lie, grade and place, a remnant its least size."""
    if "remnant" in leaf:
        least = case["min_remnant"]
        long_enough = all(side >= most for side, most in zip(sorted(size), least["dims"], strict=True))
        return long_enough and volume(size) >= least["volume"]
    if "blank" not in leaf:
        return True
    wanted = next(blank for blank in case["blanks"] if blank["id"] == leaf["blank"])
    if foam["id"] not in wanted.get("from", [foam["id"]]):
        return False
    if leaf["rot"] not in wanted["rot"] or wanted["grade"] != foam["grade"]:
        return False
    skin = foam.get("skin", [[0, 0]] * 3)
    inside = all(skin[a][0] <= pos[a] and pos[a] + size[a] <= foam["size"][a] - skin[a][1] for a in range(3))
    return inside and size == tuple(wanted["size"][a] for a in LIES[leaf["rot"]])


def nodes(tree):
    """Every node of a tree."""
    todo = [tree]
    while todo:
        node = todo.pop()
        yield node
        todo += [node[part] for part in ("lo", "hi") if node.get(part) is not None]


def all_nodes(written):
    return [node for piece in written["pieces"] for node in nodes(piece["tree"])]


def become(node, other):
    other = deepcopy(other)
    node.clear()
    node.update(other)


def move_cut(draw, case, written):
    cut = draw(st.sampled_from([node for node in all_nodes(written) if "axis" in node]))
    cut["at"] += draw(st.integers(-5, 5))


def turn_cut(draw, case, written):
    cut = draw(st.sampled_from([node for node in all_nodes(written) if "axis" in node]))
    cut["axis"] = draw(st.sampled_from("xyz"))


def swap_sides(draw, case, written):
    cut = draw(st.sampled_from([node for node in all_nodes(written) if node.get("hi")]))
    cut["lo"], cut["hi"] = cut["hi"], cut["lo"]


def forget_high_part(draw, case, written):
    draw(st.sampled_from([node for node in all_nodes(written) if "axis" in node]))["hi"] = None


def invent_high_part(draw, case, written):
    draw(st.sampled_from([node for node in all_nodes(written) if "axis" in node]))["hi"] = {"waste": True}


def change_leaf(draw, case, written):
    leaf = draw(st.sampled_from([node for node in all_nodes(written) if "axis" not in node]))
    name = st.sampled_from([blank["id"] for blank in case["blanks"]])
    blanks = st.fixed_dictionaries({"blank": name, "rot": st.sampled_from(ANY)})
    become(leaf, draw(blanks | st.just({"waste": True}) | st.just({"remnant": "NEW"})))


def exchange_parts(draw, case, written):
    one, two = (draw(st.sampled_from(all_nodes(written))) for _ in range(2))
    if one in list(nodes(two)) or two in list(nodes(one)):
        return  # one lies in the other
    first, second = deepcopy(one), deepcopy(two)
    become(one, second)
    become(two, first)


def change_kerf(draw, case, written):
    case["kerf"] = max(0, case["kerf"] + draw(st.sampled_from([-1, 1])))


def grow_blank(draw, case, written):
    size = draw(st.sampled_from(case["blanks"]))["size"]
    size[draw(st.integers(0, 2))] += draw(st.sampled_from([-1, 1]))


def grow_foam(draw, case, written):
    size = draw(st.sampled_from(case["stock"] + case["remnants"]))["size"]
    size[draw(st.integers(0, 2))] += draw(st.sampled_from([-1, 1]))


def thicken_skin(draw, case, written):
    skin = draw(st.sampled_from(case["stock"]))["skin"]
    draw(st.sampled_from(skin))[draw(st.integers(0, 1))] += 1


def shrink_saw(draw, case, written):
    if "saw" in case:
        case["saw"][draw(st.sampled_from(["height", "length"]))] += draw(st.sampled_from([-1, 1]))


def keep_blank_for_other_foam(draw, case, written):
    names = st.sampled_from([each["id"] for each in case["stock"] + case["remnants"]])
    draw(st.sampled_from(case["blanks"]))["from"] = draw(st.lists(names, min_size=1, unique=True))


def forget_piece(draw, case, written):
    written["pieces"].remove(draw(st.sampled_from(written["pieces"])))


DAMAGES = [
    move_cut, turn_cut, swap_sides, forget_high_part, invent_high_part, change_leaf, exchange_parts, change_kerf,
    grow_blank, grow_foam, thicken_skin, shrink_saw, keep_blank_for_other_foam, forget_piece,
]  # fmt: skip


@pytest.mark.parametrize("number", range(len(CASES) + 1))
def test_a_real_plan_is_sound_by_both_readings(number):
    case, written = real(number)
    assert is_sound(case, written)
    assert check(case, written).ok


@many
@given(st.data(), st.integers(0, len(CASES)), st.lists(st.sampled_from(DAMAGES), min_size=1, max_size=2))
def test_a_damaged_plan_is_accepted_only_where_the_damage_is_none(data, number, damages):
    case, written = deepcopy(real(number))
    for damage in damages:
        damage(data.draw, case, written)
    assert check(case, written).ok == is_sound(case, written)
