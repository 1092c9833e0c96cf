"""Reading cutting instances and plans: every refusal has its code and its place, and nothing is rounded or guessed."""

import json
from copy import deepcopy

import pytest

from cutsheets.errors import CutsheetError
from cutsheets.files.stock import read_instance, read_plan
from tests.cutsheets.plan_cases import blank, block, instance, remnant

CASE = instance(
    [blank("A", (300, 200, 100), 4, lies=("LWH", "WLH")), blank("B", (50, 40, 30), 1)],
    [block((1000, 500, 400), skin=5), block((2000, 500, 400), name="LONG", limit=3)],
    kerf=4,
    remnants=[remnant("R1", (600, 300, 200))],
    min_remnant={"dims": [100, 200, 300], "volume": 6_000_000},
    note="two sizes",
)
CUT = {"axis": "x", "at": 300, "lo": {"blank": "A", "rot": "LWH"}, "hi": None}
PLAN = {
    "format": "blockyard-plan-1",
    "instance": "case",
    "pieces": [
        {"source": "stock:BLK#1", "tree": {**CUT, "hi": {"waste": True}}},
        {"source": "remnant:R1", "tree": {**CUT, "hi": {"remnant": "N1"}}},
        {"source": "stock:LONG#1", "tree": CUT},
    ],
}


def refusal(read, content):
    """Return (code, place) of the refusal of a text, or of an object written as JSON."""
    with pytest.raises(CutsheetError) as refused:
        read(content if isinstance(content, str) else json.dumps(content))
    return refused.value.code, refused.value.where


def changed(document, path, value):
    """Return the document with another value under a path such as `stock.0.size`; DROP takes the key out."""
    document = deepcopy(document)
    *above, last = [int(step) if step.isdigit() else step for step in path.split(".")]
    inside = document
    for step in above:
        inside = inside[step]
    if value is DROP:
        del inside[last]
    else:
        inside[last] = value
    return document


DROP = object()


def test_an_instance_and_a_plan_are_read_as_they_stand():
    assert read_instance(json.dumps(CASE)) == {key: value for key, value in CASE.items() if key != "note"}
    assert read_plan(json.dumps(PLAN)) == PLAN


def test_the_smallest_useful_sides_are_put_in_order():
    mixed = changed(CASE, "min_remnant.dims", [300, 100, 200])
    assert read_instance(json.dumps(mixed))["min_remnant"]["dims"] == [100, 200, 300]


@pytest.mark.parametrize(
    ("path", "value", "code", "where"),
    [
        ("format", "blockyard-plan-1", "format", "format"),
        ("unit", "in", "unit", "unit"),
        ("name", "", "text", "name"),
        ("name", "two\nlines", "text", "name"),
        ("kerf", 3175.0, "whole", "kerf"),
        ("kerf", True, "whole", "kerf"),
        ("kerf", "3175", "whole", "kerf"),
        ("kerf", None, "whole", "kerf"),
        ("kerf", -1, "range", "kerf"),
        ("kerf", 10**9, "range", "kerf"),
        ("allow_edge_shave", 1, "yes-no", "allow_edge_shave"),
        ("max_cuts", 2.5, "whole", "max_cuts"),
        ("max_stages", -1, "range", "max_stages"),
        ("colour", "blue", "unknown-key", ""),
        ("kerf", DROP, "missing-key", ""),
        ("min_remnant", 5, "not-an-object", "min_remnant"),
        ("min_remnant.dims", [1, 2], "list-size", "min_remnant.dims"),
        ("min_remnant.volume", -1, "range", "min_remnant.volume"),
        ("stock", {}, "not-a-list", "stock"),
        ("stock.1.id", "BLK", "repeated-id", "stock[1].id"),
        ("stock.0.id", 7, "text", "stock[0].id"),
        ("stock.0.grade", "", "text", "stock[0].grade"),
        ("stock.0.size.2", 0, "range", "stock[0].size"),
        ("stock.0.size.2", 400.0, "whole", "stock[0].size"),
        ("stock.0.size", [1000, 500], "list-size", "stock[0].size"),
        ("stock.0.skin.1", [250, 250], "skin", "stock[0].skin.y"),
        ("stock.0.skin.2", [5], "list-size", "stock[0].skin.z"),
        ("stock.0.skin.0", [-1, 5], "range", "stock[0].skin.x"),
        ("stock.1.limit", -1, "range", "stock[1].limit"),
        ("stock.1.limit", True, "whole", "stock[1].limit"),
        ("stock.1.price", 332.80, "whole", "stock[1].price"),
        ("stock.1.colour", "blue", "unknown-key", "stock[1]"),
        ("remnants.0.size.0", -600, "range", "remnants[0].size"),
        ("remnants.0.skin", [], "unknown-key", "remnants[0]"),
        ("remnants.0.price", DROP, "missing-key", "remnants[0]"),
        ("remnants", [CASE["remnants"][0]] * 2, "repeated-id", "remnants[1].id"),
        ("blanks.1.id", "A", "repeated-id", "blanks[1].id"),
        ("blanks.0.qty", 0, "range", "blanks[0].qty"),
        ("blanks.0.qty", 1.5, "whole", "blanks[0].qty"),
        ("blanks.0.rot", [], "list-size", "blanks[0].rot"),
        ("blanks.0.rot.1", "LLW", "lie", "blanks[0].rot"),
        ("blanks.0.rot.1", ["WLH"], "lie", "blanks[0].rot"),
        ("blanks.0", "A", "not-an-object", "blanks[0]"),
    ],
)
def test_a_fault_in_an_instance_is_refused_at_its_place(path, value, code, where):
    assert refusal(read_instance, changed(CASE, path, value)) == (code, where)


@pytest.mark.parametrize(
    ("path", "value", "code", "where"),
    [
        ("format", "blockyard-stock-1", "format", "format"),
        ("pieces", None, "not-a-list", "pieces"),
        ("pieces.0.source", 1, "text", "pieces[0].source"),
        ("pieces.0.tree", None, "not-an-object", "pieces[0].tree"),
        ("pieces.0.tree.axis", "w", "axis", "pieces[0].tree.axis"),
        ("pieces.0.tree.axis", ["x"], "axis", "pieces[0].tree.axis"),
        ("pieces.0.tree.at", 300.0, "whole", "pieces[0].tree.at"),
        ("pieces.0.tree.at", "300", "whole", "pieces[0].tree.at"),
        ("pieces.0.tree.at", True, "whole", "pieces[0].tree.at"),
        ("pieces.0.tree.at", 0, "range", "pieces[0].tree.at"),
        ("pieces.0.tree.hi", DROP, "missing-key", "pieces[0].tree"),
        ("pieces.0.tree.kerf", 4, "unknown-key", "pieces[0].tree"),
        ("pieces.0.tree.lo", None, "not-an-object", "pieces[0].tree.lo"),
        ("pieces.0.tree.lo.rot", "XYZ", "lie", "pieces[0].tree.lo.rot"),
        ("pieces.0.tree.lo.size", [1, 2, 3], "unknown-key", "pieces[0].tree.lo"),
        ("pieces.0.tree.hi.waste", False, "waste", "pieces[0].tree.hi"),
        ("pieces.0.tree.hi.waste", 1, "waste", "pieces[0].tree.hi"),
        ("pieces.0.tree.hi", {}, "missing-key", "pieces[0].tree.hi"),
        ("pieces.1.tree.hi.remnant", "", "text", "pieces[1].tree.hi"),
        ("seed", 1, "unknown-key", ""),
    ],
)
def test_a_fault_in_a_plan_is_refused_at_its_place(path, value, code, where):
    assert refusal(read_plan, changed(PLAN, path, value)) == (code, where)


@pytest.mark.parametrize("read", [read_instance, read_plan])
@pytest.mark.parametrize(
    "text", ["", "{", "[1, 2", '{"kerf": 1,}', "\x00", "9" * 5000, "[" * 100_000, '{"a": 1e' + "9" * 70 + "}"]
)
def test_what_is_not_json_is_refused(read, text):
    assert refusal(read, text)[0] == "json"


@pytest.mark.parametrize("text", ["null", "[]", "7", '"blockyard-stock-1"'])
def test_what_is_not_an_object_is_refused(text):
    assert refusal(read_instance, text) == ("not-an-object", "")
    assert refusal(read_plan, text) == ("not-an-object", "")


@pytest.mark.parametrize("number", ["NaN", "Infinity", "-Infinity", "1e400", "3.175e3"])
def test_a_number_that_is_not_whole_is_refused(number):
    text = json.dumps(CASE).replace('"kerf": 4', f'"kerf": {number}')
    assert refusal(read_instance, text) == ("whole", "kerf")


@pytest.mark.parametrize(
    ("old", "new", "where"),
    [
        ('"kerf": 4', '"kerf": 4, "kerf": 5', ""),
        ('"qty": 4', '"qty": 4, "qty": 4', "blanks[0]"),
        ('"volume": 6000000', '"volume": 6000000, "volume": 0', "min_remnant"),
    ],
)
def test_a_key_written_twice_is_refused(old, new, where):
    assert refusal(read_instance, json.dumps(CASE).replace(old, new)) == ("repeated-key", where)


def test_a_key_written_twice_in_a_tree_is_refused():
    text = json.dumps(PLAN).replace('"at": 300', '"at": 300, "at": 301', 1)
    assert refusal(read_plan, text) == ("repeated-key", "pieces[0].tree")


def nested(depth, side):
    """The text of a plan with this many cuts, each in the low or the high part of the one before."""
    before = '"hi": null, "lo": ' if side == "lo" else '"lo": {"waste": true}, "hi": '
    cuts = f'{{"axis": "x", "at": 1, {before}' * depth
    pieces = f'[{{"source": "stock:BLK#1", "tree": {cuts}{{"waste": true}}{"}" * depth}}}]'
    return f'{{"format": "blockyard-plan-1", "instance": "case", "pieces": {pieces}}}'


def test_a_row_of_400_cuts_is_read_to_its_end():
    node = read_plan(nested(400, "hi"))["pieces"][0]["tree"]
    cuts = 0
    while "axis" in node:
        node, cuts = node["hi"], cuts + 1
    assert (node, cuts) == ({"waste": True}, 400)


@pytest.mark.parametrize(("depth", "side"), [(400, "lo"), (20_000, "lo"), (50_000, "hi")])
def test_nesting_beyond_reason_is_refused_without_a_crash(depth, side):
    assert refusal(read_plan, nested(depth, side))[0] in {"too-deep", "json"}


def test_a_plan_that_leaves_blanks_out_can_be_read_and_says_nothing_of_them():
    answer = {**PLAN, "left_out": [{"blank": "C", "qty": 2, "why": "fits-nothing"}]}
    assert read_plan(json.dumps(answer)) == PLAN
