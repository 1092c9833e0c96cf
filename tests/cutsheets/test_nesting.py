"""The nester as its users see it: right answers, better ones, no time lost, parts named that have no face."""

import time
from itertools import pairwise

import pytest

from cutsheets.engines.children import answers
from cutsheets.nesting import nest
from cutsheets.nesting.check import check_nest
from cutsheets.nesting.settle import settled
from cutsheets.nesting.strips import strip
from tests.cutsheets.nest_faces import CEE, COUNTER, ELL, RINGED, disc, face, instance, item
from tests.cutsheets.nest_faces import nest as one_face


def test_interlocking_mouldings_need_fewer_faces_than_boxes():
    asked = instance(item("L", qty=40, mirror=True), item("C", CEE, qty=20, mirror=True))
    result = nest(asked, seconds=6)
    assert check_nest(asked, result.nest).ok
    assert result.verdict.cost < result.plain_verdict.cost
    assert not result.left_out


def test_a_face_of_one_kind_that_a_general_packer_fills_better_is_laid_as_it_lays_it():
    # packingsolver's irregular solver lays 23 on this face in a third of a second; rows, lattices and trials 22
    bracket = ((0, 0), (2, 0), (2, 2.5), (4.5, 2.5), (4.5, 6), (2.5, 6), (2.5, 4.5), (0, 4.5))
    asked = instance(item("S", bracket, qty=46, mirror=True), stock=(face("F", 18, 30),))
    result = nest(asked, seconds=8)
    assert check_nest(asked, result.nest).ok
    assert [placement.face for placement in result.nest.placements] == [0] * 23 + [1] * 23


def test_the_emptiest_face_comes_last_and_is_shortened():
    asked = instance(item("L", qty=30, mirror=True), item("C", CEE, qty=17, mirror=True))
    faces = nest(asked, seconds=6).verdict.faces
    assert len(faces) > 1
    assert [face.share for face in faces] == sorted((face.share for face in faces), reverse=True)
    assert faces[-1].x_used < 24 * (faces[-1].share / faces[0].share + 0.25)


def test_the_first_answer_is_there_at_once_and_right():
    asked = instance(item("L", qty=40), item("C", CEE, qty=20))
    began = time.monotonic()
    result = nest(asked, seconds=0)
    assert time.monotonic() - began < 1.5
    assert result.nest == result.plain
    assert check_nest(asked, result.nest).ok


def test_it_stops_when_it_is_told():
    asked = instance(item("L", qty=60), item("C", CEE, qty=30))
    began = time.monotonic()
    result = nest(asked, seconds=60, stop=lambda: time.monotonic() - began > 1)
    assert time.monotonic() - began < 3
    assert check_nest(asked, result.nest).ok


def test_better_nests_are_told_once_a_second_at_most():
    told = []
    asked = instance(item("L", qty=40, mirror=True))
    last = nest(asked, seconds=4, tell=lambda result: told.append((time.monotonic(), result.verdict.cost)))
    times, costs = zip(*told, strict=True)
    assert all(later - earlier >= 1 for earlier, later in pairwise(times))
    assert list(costs) == sorted(costs, reverse=True)
    assert last.verdict.cost <= costs[-1]


def test_a_part_larger_than_every_face_is_left_out_by_name():
    asked = instance(item("L", qty=2), item("HUGE", tuple((9 * x, 9 * y) for x, y in ELL), qty=3))
    result = nest(asked, seconds=1)
    assert [(each.item, each.qty, each.why) for each in result.left_out] == [("HUGE", 3, "fits-nothing")]
    assert {placement.item for placement in result.nest.placements} == {"L"}


def test_what_has_no_face_left_is_named():
    asked = instance(item("L", qty=60), stock=(face(qty=1),))
    (left,) = nest(asked, seconds=2).left_out
    assert left.why == "no-face-left"
    assert 0 < left.qty < 60


def test_a_long_part_that_only_fits_aslant_is_laid_so():
    bar = ((0, 0), (30, 0), (30, 1), (0, 1))
    result = nest(instance(item("BAR", bar, turns=None)), seconds=0)
    assert not result.left_out


def test_a_remnant_that_serves_spares_a_face():
    stock = (face("NEW", 48, 48), face("REST", 14, 14, qty=1, cost=10))
    result = nest(instance(item("L", qty=3), stock=stock), seconds=1)
    assert [each.stock for each in result.nest.faces] == ["REST"]


def test_parts_that_touch_by_a_hair_are_moved_apart():
    asked = instance(item("L", qty=2), kerf=0.5)
    close = one_face(asked.stock[0], ("L", 0.0, 1, 1), ("L", 0.0, 7.4999, 1))
    verdict = check_nest(asked, close)
    assert not verdict.ok
    assert check_nest(asked, settled(asked, close, verdict)).ok


def test_parts_in_counters_are_in_the_nest_and_right():
    asked = instance(item("O", RINGED, holes=(COUNTER,), qty=6), item("S", disc(1.5), qty=6))
    result = nest(asked, seconds=3)
    assert check_nest(asked, result.nest).ok
    assert len(result.nest.placements) == 12


def test_a_strip_is_right_and_short():
    items = (item("L", qty=6), item("C", CEE, qty=4))
    found = strip(items, 20.0, seconds=4)
    assert len(found.placements) == 10
    assert 0.5 < found.share <= 1


def test_an_engine_that_takes_too_long_is_ended():
    job = {"height": 40, "items": [{"outer": ELL, "copies": 30, "turns": [0.0]}], "seed": 0}
    began = time.monotonic()
    assert list(answers("strips", job, seconds=1.0, stop=lambda: False))
    assert time.monotonic() - began < 2.5


@pytest.mark.parametrize("job", [{}, {"how": "whole", "bins": [], "items": []}])
def test_an_engine_that_fails_answers_nothing(job):
    assert list(answers("irregular", job, seconds=5.0, stop=lambda: False)) == []


def test_a_face_is_exchanged_for_a_cheaper_one_that_holds_its_parts():
    stock = (face("F", 24, 24, qty=1, cost=500), face("STRIP", 9.5, 24, 0.25, qty=1, cost=100))
    result = nest(instance(item("L", qty=8, turns=(0.0, 180.0)), stock=stock), seconds=5)
    assert [each.stock for each in result.nest.faces] == ["STRIP"]


def test_thousands_of_parts_are_answered_in_the_time_asked():
    asked = instance(item("L", qty=2500), item("C", CEE, qty=2500), stock=(face("F", 96, 48),))
    began = time.monotonic()
    result = nest(asked, seconds=2)
    assert time.monotonic() - began < 6
    assert check_nest(asked, result.nest).ok
