"""The reader of `blockyard-nest-1`: what it takes, and where it says that something is wrong."""

import json

import pytest
from shapely import LinearRing

from cutsheets.errors import CutsheetError
from cutsheets.files.nest import instance_as_dict, nest_as_dict, read_nest, read_nest_instance
from tests.cutsheets.nest_faces import COUNTER, ELL, RINGED, as_file, face, instance, item, nest


def refusal(content, reader=read_nest_instance):
    with pytest.raises(CutsheetError) as refused:
        reader(content if isinstance(content, str) else json.dumps(content))
    return refused.value.code, refused.value.where


def with_polygon(polygon):
    return as_file(items=[{"id": "A", "polygon": polygon, "qty": 1}])


def with_item(**changed):
    return as_file(items=[{**as_file()["items"][0], **changed}])


def with_stock(**changed):
    return as_file(stock=[{**as_file()["stock"][0], **changed}])


def test_what_is_written_is_read_back_the_same():
    asked = instance(item("L", qty=3, mirror=True), item("O", RINGED, holes=(COUNTER,), turns=None))
    assert read_nest_instance(json.dumps(instance_as_dict(asked))) == asked


def test_a_result_is_read_with_its_instance_and_alone():
    answer = nest(face(), ("L", 90.0, 8.5, 1.0, True))
    assert read_nest(json.dumps(nest_as_dict(answer))) == answer
    both = {**instance_as_dict(instance(item())), **nest_as_dict(answer), "entries": []}
    assert read_nest(json.dumps(both)) == answer


@pytest.mark.parametrize("next_to_nothing", [1e-300, 1e-9])
def test_a_kerf_next_to_nothing_is_none(next_to_nothing):
    assert read_nest_instance(json.dumps(as_file(kerf=next_to_nothing))).kerf == 0


def test_what_may_be_left_out_has_its_usual_meaning():
    bare = {"kerf": 0, "stock": [{"id": "F", "w": 10, "h": 5}], "items": [{"id": "A", "polygon": ELL}]}
    asked = read_nest_instance(json.dumps(bare))
    assert (asked.stock[0].margin, asked.stock[0].qty, asked.stock[0].cost) == (0, None, 50)
    assert (asked.items[0].qty, asked.items[0].turns, asked.items[0].mirror) == (1, (0.0,), False)


def test_lengths_are_read_as_people_write_them():
    asked = read_nest_instance(json.dumps(as_file(kerf="1/16", stock=[{"id": "F", "w": "4'", "h": "610 mm"}])))
    assert (asked.kerf, asked.stock[0].w) == (0.0625, 48)
    assert asked.stock[0].h == pytest.approx(610 / 25.4)


def test_repeated_points_are_dropped_and_rings_turned():
    clockwise = [[0, 0], [0, 2], [0, 2], [3, 2], [3, 0], [0, 0]]
    outline = read_nest_instance(json.dumps(with_polygon(clockwise))).items[0].outline
    assert set(outline.outer) == {(0, 0), (0, 2), (3, 2), (3, 0)}
    assert len(outline.outer) == 4
    assert LinearRing(outline.outer).is_ccw


@pytest.mark.parametrize(("content", "code", "where"), [
    ("{", "json", ""),
    ('{"kerf": 0, "kerf": 1}', "repeated-key", ""),
    (as_file(extra=1), "unknown-key", ""),
    (as_file(format="blockyard-stock-1"), "format", "format"),
    (as_file(unit="cm"), "unit", "unit"),
    (as_file(units="mm"), "unit", "unit"),
    (as_file(kerf=-1), "length-negative", "kerf"),
    (as_file(kerf=float("nan")), "number", "kerf"),
    (as_file(kerf=1e400), "number", "kerf"),
    (as_file(kerf=True), "number", "kerf"),
    (as_file(stock=[]), "list-size", "stock"),
    (as_file(items=[]), "list-size", "items"),
    (with_stock(w=0), "length-zero", "stock[0].w"),
    (with_stock(margin=12), "margin", "stock[0].margin"),
    (with_stock(qty=-1), "count", "stock[0].qty"),
    (with_stock(cost=-5), "number", "stock[0].cost"),
    (with_item(qty=0), "count", "items[0].qty"),
    (with_item(qty=2.5), "count", "items[0].qty"),
    (with_item(qty=6000), "too-many", "items"),
    (with_item(rotations=["x"]), "number", "items[0].rotations"),
    (with_item(mirror=1), "yes-no", "items[0].mirror"),
    (as_file(items=as_file()["items"] * 2), "repeated-id", "items[1].id"),
    (with_polygon([[0, 0], [1, 0]]), "outline-open", "items[0].polygon"),
    (with_polygon({"outer": [[0, 0], [1, 0], [2, 0]]}), "outline-flat", "items[0].polygon.outer"),
    (with_polygon({"outer": [[0, 0], [4, 0], [4, 4], [0, "4x"]]}), "length", "items[0].polygon.outer[3]"),
    (with_polygon({"outer": [[0, 0], [4, 0], [4, 4], [9999, 4]]}), "length-range", "items[0].polygon.outer[3]"),
    (with_polygon({"outer": [[0, 0], [4, 4], [4, 0], [0, 3]]}), "outline-crossing", "items[0].polygon.outer[0]"),
    (with_polygon({"outer": RINGED, "holes": [[[7, 1], [9, 1], [9, 2]]]}), "hole-outside", "items[0].polygon.holes[0]"),
    (with_polygon({"outer": RINGED, "holes": [COUNTER, COUNTER]}), "hole-crossing", "items[0].polygon.holes[1]"),
    (with_polygon({"outer": RINGED, "holes": [[[0, 4], [1, 3], [1, 5]]]}), "hole-crossing",
     "items[0].polygon.holes[0]"),
    (with_polygon({"outer": RINGED, "holes": [COUNTER, [[6, 4], [7, 3], [7, 5]]]}), "hole-crossing",
     "items[0].polygon.holes[1]"),
    (with_polygon({"outer": RINGED, "holes": 0}), "not-a-list", "items[0].polygon.holes"),
    (with_polygon({"outer": RINGED, "holes": ""}), "not-a-list", "items[0].polygon.holes"),
])  # fmt: skip
def test_a_bad_file_is_refused_with_its_place(content, code, where):
    assert refusal(content) == (code, where)


@pytest.mark.parametrize(("changed", "where"), [
    ({"x": "a"}, "placements[0].x"), ({"face": 0.5}, "placements[0].face"), ({"mirrored": 0}, "placements[0].mirrored"),
])  # fmt: skip
def test_a_bad_placement_is_refused_with_its_place(changed, where):
    answer = nest_as_dict(nest(face(), ("L", 0.0, 1, 1)))
    answer["placements"][0].update(changed)
    assert refusal(answer, read_nest)[1] == where
