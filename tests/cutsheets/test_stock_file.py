"""Reading cutting instances and plans: whole micrometres, every fault with its code and its place, nothing guessed."""

import json
from time import process_time

import pytest
from hypothesis import given, settings

from cutsheets.errors import CutsheetError
from cutsheets.files.stock import DEEPEST, LARGEST, MOST_BLANKS, read_instance, read_plan
from cutsheets.records import once
from tests.cutsheets.plan_days import any_instance, blank, block, instance, remnant

DAY = instance(
    blank("A", [10, 20, 30], 2, rot=["LWH", "WLH"]), blank("B", [5, 5, 5], 1),
    stock=[block([100, 50, 40], skin=[[1, 2], [3, 4], [0, 0]], limit=3)], remnants=[remnant("R1", [50, 50, 40], 9_000)],
)  # fmt: skip
PRICES = {"cut": 20, "keep": 0, "credit": [(1.5, 0.1), (6.0, 0.3), (None, 0.4)]}
FULL = DAY | {
    "blanks": [DAY["blanks"][0] | {"from": ["R1", "BLK"]}, DAY["blanks"][1]],
    "saw": {"height": 45, "length": None}, "prices": PRICES,
}  # fmt: skip
LEAF = {"blank": "A", "rot": "LWH"}
PLAN = {
    "format": "blockyard-plan-1", "instance": "day",
    "pieces": [{"source": "stock:BLK#1", "tree": {"axis": "x", "at": 10, "lo": LEAF, "hi": {"remnant": "N1"}}}],
}  # fmt: skip


def refusal(read, text):
    with pytest.raises(CutsheetError) as caught:
        read(text if isinstance(text, str) else json.dumps(text))
    return caught.value.code, caught.value.where


def changed(raw, path, value):
    """A copy with another value at a path like blanks.0.qty; `...` takes the key away."""
    copy = json.loads(json.dumps(raw))
    *way, last = (int(key) if key.isdigit() else key for key in path.split("."))
    place = copy
    for key in way:
        place = place[key]
    if value is ...:
        del place[last]
    else:
        place[last] = value
    return copy


def test_an_instance_is_read_as_it_is_written():
    assert read_instance(json.dumps(DAY)) == DAY


def test_a_saw_its_prices_and_blanks_kept_for_some_foam_are_read_as_written():
    assert read_instance(json.dumps(FULL)) == FULL


def test_names_are_read_as_they_are_written_with_the_blanks_round_them():
    spaced = {
        key: [{**each, "id": f" {each['id']}", "grade": " 1.0 "} for each in DAY[key]]
        for key in ("stock", "remnants", "blanks")
    }
    day = DAY | spaced | {"name": " day  "}
    day["blanks"][0]["from"] = [" R1"]
    assert read_instance(json.dumps(day)) == day
    leaf = {"axis": "x", "at": 10, "lo": {"blank": " A", "rot": "LWH"}, "hi": {"remnant": "N1 "}}
    answer = PLAN | {"instance": " day  ", "pieces": [{"source": "stock: BLK#1 ", "tree": leaf}]}
    assert read_plan(json.dumps(answer)) == answer


def test_ids_that_differ_by_a_blank_are_two_ids():
    day = instance(blank("A", [5, 5, 5], 1), blank("A ", [5, 5, 5], 1))
    assert [each["id"] for each in read_instance(json.dumps(day))["blanks"]] == ["A", "A "]


def test_a_block_and_a_remnant_may_have_one_id():
    day = instance(stock=[block([9, 9, 9], "X")], remnants=[remnant("X", [9, 9, 9], 1)])
    assert read_instance(json.dumps(day)) == day


def test_a_note_may_stand_in_an_instance_and_is_not_kept():
    assert read_instance(json.dumps(DAY | {"note": "for Monday"})) == DAY


def test_the_smallest_remnant_is_read_with_its_sides_in_order():
    raw = changed(DAY, "min_remnant.dims", [9, 3, 5])
    assert read_instance(json.dumps(raw))["min_remnant"]["dims"] == [3, 5, 9]


@settings(max_examples=40, deadline=None)
@given(any_instance())
def test_any_instance_survives_being_written_and_read(day):
    assert read_instance(json.dumps(day)) == day


# what stands where → the code, and the place that is named
INSTANCE_FAULTS = [
    ("format", "blockyard-stock-2", "format", "format"),
    ("format", 7, "format", "format"),
    ("unit", "in", "unit", "unit"),
    ("name", "", "text", "name"),
    ("kerf", 1.5, "whole", "kerf"),
    ("kerf", 3.0, "whole", "kerf"),
    ("kerf", True, "whole", "kerf"),
    ("kerf", "3", "whole", "kerf"),
    ("kerf", None, "whole", "kerf"),
    ("kerf", -1, "range", "kerf"),
    ("kerf", LARGEST + 1, "range", "kerf"),
    ("kerf", ..., "missing-key", ""),
    ("colour", "red", "unknown-key", ""),
    ("allow_edge_shave", 1, "yes-no", "allow_edge_shave"),
    ("max_cuts", -1, "range", "max_cuts"),
    ("max_stages", 2.5, "whole", "max_stages"),
    ("min_remnant", [], "not-an-object", "min_remnant"),
    ("min_remnant.dims", [1, 2], "list-size", "min_remnant.dims"),
    ("min_remnant.dims", [0, 1, 2], "range", "min_remnant.dims"),
    ("min_remnant.volume", -1, "range", "min_remnant.volume"),
    ("min_remnant.area", 1, "unknown-key", "min_remnant"),
    ("stock", {}, "not-a-list", "stock"),
    ("stock.0", "BLK", "not-an-object", "stock[0]"),
    ("stock.0.size", [100, 50, 0], "range", "stock[0].size"),
    ("stock.0.size", [100, 50], "list-size", "stock[0].size"),
    ("stock.0.size.1", 50.0, "whole", "stock[0].size"),
    ("stock.0.skin.0", [1, 2, 3], "list-size", "stock[0].skin.x"),
    ("stock.0.skin.1", [25, 25], "skin", "stock[0].skin.y"),
    ("stock.0.skin.2.0", -1, "range", "stock[0].skin.z"),
    ("stock.0.limit", False, "whole", "stock[0].limit"),
    ("stock.0.price", 0.5, "whole", "stock[0].price"),
    ("stock.0.price", ..., "missing-key", "stock[0]"),
    ("stock.0.id", "", "text", "stock[0].id"),
    ("stock.0.id", "a\nb", "text", "stock[0].id"),
    ("remnants.0.skin", [[0, 0]] * 3, "unknown-key", "remnants[0]"),
    ("remnants.0.size", [1, 1, -1], "range", "remnants[0].size"),
    ("blanks.1.id", "A", "repeated-id", "blanks[1].id"),
    ("blanks.0.qty", 0, "range", "blanks[0].qty"),
    ("blanks.0.qty", True, "whole", "blanks[0].qty"),
    ("blanks.0.qty", MOST_BLANKS, "too-many", "blanks"),
    ("blanks.0.rot", [], "list-size", "blanks[0].rot"),
    ("blanks.0.rot", ["LWD"], "lie", "blanks[0].rot"),
    ("blanks.0.rot", [1], "lie", "blanks[0].rot"),
    ("blanks.0.grade", 1, "text", "blanks[0].grade"),
    ("blanks.0.from", [], "list-size", "blanks[0].from"),
    ("blanks.0.from", "R1", "not-a-list", "blanks[0].from"),
    ("blanks.0.from", ["BLK", 7], "text", "blanks[0].from"),
    ("blanks.0.from", ["BLK", "R2"], "source-unknown", "blanks[0].from[1]"),
    ("saw", None, "not-an-object", "saw"),
    ("saw.height", ..., "missing-key", "saw"),
    ("saw.height", 0, "range", "saw.height"),
    ("saw.length", 45.5, "whole", "saw.length"),
    ("saw.speed", 1, "unknown-key", "saw"),
    ("prices", None, "not-an-object", "prices"),
    ("prices.cut", -1, "range", "prices.cut"),
    ("prices.cut", 1.5, "whole", "prices.cut"),
    ("prices.keep", ..., "missing-key", "prices"),
    ("prices.credit", [], "list-size", "prices.credit"),
    ("prices.credit.0", [1.5], "list-size", "prices.credit[0]"),
    ("prices.credit.0", ["2", 0.1], "number", "prices.credit[0]"),
    ("prices.credit.0", [True, 0.1], "number", "prices.credit[0]"),
    ("prices.credit.0", [10**400, 0.1], "range", "prices.credit[0]"),
    ("prices.credit.0", [6, 0.1], "credit", "prices.credit"),
    ("prices.credit.0", [None, 0.1], "credit", "prices.credit"),
    ("prices.credit.0", [1, 0.35], "credit", "prices.credit"),
    ("prices.credit.2", [40, 0.5], "credit", "prices.credit"),
    ("prices.credit.2", [None, 1.01], "range", "prices.credit[2]"),
]


@pytest.mark.parametrize(("path", "value", "code", "where"), INSTANCE_FAULTS)
def test_a_faulty_instance_is_refused_with_code_and_place(path, value, code, where):
    assert refusal(read_instance, changed(FULL, path, value)) == (code, where)


@pytest.mark.parametrize("key", ["stock", "remnants"])
def test_foam_with_one_id_for_two_is_refused(key):
    assert refusal(read_instance, DAY | {key: DAY[key] * 2}) == ("repeated-id", f"{key}[1].id")


def test_many_ids_are_compared_at_once():
    """Five thousand names, each compared with all before it, would take seconds."""
    names = [f"B{number}" for number in range(5000)]
    began = process_time()
    for _ in range(20):
        once(names, "blanks")
    assert process_time() - began < 1
    with pytest.raises(CutsheetError) as caught:
        once([*names, "B7"], "blanks")
    assert (caught.value.code, caught.value.where) == ("repeated-id", "blanks[5000].id")


def priced(day, price, credit, **prices):
    """The day with another price for its remnant and shares of credit."""
    return changed(day, "remnants.0.price", price) | {"prices": {"cut": 20, "keep": 0, "credit": credit} | prices}


# A block of 2 ft³ for 2000 cents, and half of it on the rack.
RACKED = instance(stock=[block([609_600, 304_800, 304_800], price=2000)], remnants=[remnant("R1", [304_800] * 3, 0)])


@pytest.mark.parametrize(
    ("price", "share", "handling"), [(500, 0.5, 20), (480, 0.5, 20), (450, 0.5, 50), (0, 0.02, 20)]
)
def test_a_credit_up_to_what_a_remnant_costs_with_its_handling_is_taken(price, share, handling):
    day = priced(RACKED, price, [(None, share)], cut=handling)
    assert read_instance(json.dumps(day)) == day


@pytest.mark.parametrize(("price", "share", "keep"), [(470, 0.5, 0), (520, 0.55, 0), (440, 0.5, 30), (0, 1, 50)])
def test_a_credit_for_which_the_rack_would_be_cut_up_is_refused(price, share, keep):
    day = priced(RACKED, price, [(1, 0.1), (None, share)], keep=keep)
    assert refusal(read_instance, day) == ("credit", "prices.credit[1]")


def test_foam_that_is_not_sold_new_is_credited_with_nothing_and_may_cost_nothing():
    day = priced(changed(RACKED, "remnants.0.grade", "2.0"), 0, [(None, 1)])
    assert read_instance(json.dumps(day)) == day


@pytest.mark.parametrize("value", ["NaN", "Infinity", "-Infinity", "1e3"])
def test_numbers_that_are_no_whole_numbers_are_refused(value):
    text = json.dumps(DAY).replace('"kerf": 0', f'"kerf": {value}')
    assert refusal(read_instance, text)[0] in {"whole", "json"}


def test_a_key_written_twice_is_refused():
    assert refusal(read_instance, json.dumps(DAY).replace('"kerf": 0', '"kerf": 0, "kerf": 3')) == ("repeated-key", "")


@pytest.mark.parametrize("text", ["", "{", "[1, 2", "nothing", "[" * 100_000, '{"kerf": ' + "9" * 5000 + "}"])
def test_what_is_no_json_is_refused(text):
    assert refusal(read_instance, text)[0] == "json"


@pytest.mark.parametrize("text", ["[]", "7", "null", '"day"'])
def test_json_that_is_no_instance_is_refused(text):
    assert refusal(read_instance, text)[0] in {"not-an-object", "format"}


# Plans ----------------------------------------------------------------------------------------------------------------


def test_a_plan_is_read_as_it_is_written():
    assert read_plan(json.dumps(PLAN)) == PLAN


def test_a_plan_that_leaves_blanks_out_is_read_too():
    assert read_plan(json.dumps(PLAN | {"left_out": [{"blank": "B", "qty": 1, "why": "fits-nothing"}]})) == PLAN


TREE = "pieces.0.tree"
PLAN_FAULTS = [
    ("format", "blockyard-stock-1", "format", "format"),
    ("pieces", {}, "not-a-list", "pieces"),
    ("pieces.0.source", 4, "text", "pieces[0].source"),
    ("pieces.0.note", "x", "unknown-key", "pieces[0]"),
    (TREE, [], "not-an-object", "pieces[0].tree"),
    (TREE, {}, "missing-key", "pieces[0].tree"),
    (f"{TREE}.axis", "w", "axis", "pieces[0].tree.axis"),
    (f"{TREE}.at", 10.0, "whole", "pieces[0].tree.at"),
    (f"{TREE}.at", True, "whole", "pieces[0].tree.at"),
    (f"{TREE}.at", 0, "range", "pieces[0].tree.at"),
    (f"{TREE}.hi", ..., "missing-key", "pieces[0].tree"),
    (f"{TREE}.lo", None, "not-an-object", "pieces[0].tree.lo"),
    (f"{TREE}.lo.rot", "XYZ", "lie", "pieces[0].tree.lo.rot"),
    (f"{TREE}.lo.note", 1, "unknown-key", "pieces[0].tree.lo"),
    (f"{TREE}.hi", {"waste": False}, "waste", "pieces[0].tree.hi"),
    (f"{TREE}.hi", {"waste": 1}, "waste", "pieces[0].tree.hi"),
    (f"{TREE}.hi.remnant", "", "text", "pieces[0].tree.hi"),
]


@pytest.mark.parametrize(("path", "value", "code", "where"), PLAN_FAULTS)
def test_a_faulty_plan_is_refused_with_code_and_place(path, value, code, where):
    assert refusal(read_plan, changed(PLAN, path, value)) == (code, where)


def nested(depth, side):
    text = '{"axis": "x", "at": 1, "lo": %s, "hi": %s}'
    other = '{"waste": true}'
    before, after = text.split("%s, ", maxsplit=1)[0], '"hi": ' + other + "}"
    if side == "hi":
        before, after = before + other + ', "hi": ', "}"
    else:
        after = ", " + after
    return before * depth + other + after * depth


def test_a_row_of_many_cuts_is_read_and_parts_too_deep_in_one_another_are_refused():
    head = '{"format": "blockyard-plan-1", "instance": "day", "pieces": [{"source": "stock:BLK#1", "tree": '
    assert len(read_plan(head + nested(1500, "hi") + "}]}")["pieces"]) == 1
    assert refusal(read_plan, head + nested(DEEPEST + 1, "lo") + "}]}")[0] == "too-deep"
    assert refusal(read_plan, head + nested(200_000, "hi") + "}]}")[0] == "json"
