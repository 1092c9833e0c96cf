"""Who has an order in hand: taken by the first act, shown to the next station, let go by a pause or at the end."""

from dataclasses import replace
from datetime import timedelta

import pytest

from cutsheets.codes import make_sheet_code
from orders import moves
from orders.models import InHand, Move
from orders.scanning import scan
from shop.acts import Act
from shop.models import Station


@pytest.fixture
def second(shop):
    """Somebody else at a second saw."""
    saw = Station.objects.create(code="saw-2", name="Saw 2", kind=Station.Kind.SAW)
    return Act(by=shop.people["raf"], station=saw)


@pytest.fixture
def sheet(order):
    return make_sheet_code(order.number, "A")


def held(order):
    """Return the stations that have the order in hand."""
    return [hand.station.code for hand in InHand.now(order.moves.last().happened_at).filter(order=order)]


def test_the_first_count_takes_an_order_in_hand(order, opened, blank, bo):
    assert held(order) == []
    moves.count_sawn(blank, 1, bo)
    assert held(order) == ["saw-1"]


def test_start_takes_it_in_hand_and_counts_nothing(order, blank, bo):
    assert moves.start(order, bo).qty == 0
    blank.refresh_from_db()
    assert (held(order), blank.sawn) == (["saw-1"], 0)


def test_the_same_start_sent_twice_is_one(order, bo):
    again = replace(bo, scan_id="start-1")
    assert moves.start(order, again) == moves.start(order, again)
    assert InHand.objects.count() == Move.objects.filter(action="start").count() == 1


def test_a_second_station_is_told_who_has_it_and_how_far(order, opened, blank, bo, second, sheet):
    moves.count_sawn(blank, 3, bo)
    answer = scan(sheet, second)
    assert answer.code == "in-hand"
    assert "Saw 1, Bo L., since" in answer.sentence
    assert answer.details["sawn"] == 3


def test_the_station_that_has_it_goes_on(order, opened, blank, bo, sheet):
    moves.count_sawn(blank, 3, bo)
    assert scan(sheet, bo).code == "ok"


def test_who_joins_is_in_hand_too_and_not_asked_again(order, opened, blank, bo, second, sheet):
    moves.count_sawn(blank, 3, bo)
    moves.start(order, second)
    assert held(order) == ["saw-1", "saw-2"]
    assert scan(sheet, second).code == "ok"


def test_another_operation_is_not_in_anybodys_way(order, opened, blank, bo, cutter, sheet):
    moves.count_sawn(blank, 3, bo)
    assert scan(sheet, cutter).code == "ok"


def test_a_pause_needs_a_reason_and_frees_the_order(order, bo, second, sheet, refused):
    moves.start(order, bo)
    refused("no-reason", moves.pause, order, " ", bo)
    moves.pause(order, "End of shift", bo)
    assert (held(order), InHand.objects.get().reason) == ([], "End of shift")
    assert scan(sheet, second).code == "ok"
    refused("not-in-hand", moves.pause, order, "Break", bo)


def test_the_last_blank_lets_it_go_and_its_undo_takes_it_again(order, opened, blank, bo):
    last = moves.count_sawn(blank, 8, bo)
    assert (held(order), InHand.objects.get().how) == ([], "done")
    moves.undo(last, bo)
    assert held(order) == ["saw-1"]


def test_what_nobody_touched_for_a_shift_is_not_in_hand(order, bo, second, sheet):
    moves.start(order, replace(bo, at=bo.at - timedelta(hours=13)))
    assert scan(sheet, second).code == "ok"


def test_an_order_on_hold_cannot_be_started_but_can_be_left(order, bo, mina, refused):
    moves.start(order, bo)
    moves.hold(order, "deposit not in.", mina)
    refused("held", moves.start, order, bo)
    moves.pause(order, "The office must look at it", bo)
    assert held(order) == []


def test_a_miscut_keeps_at_whose_cost_it_was(order, opened, blank, bo):
    assert moves.miscut_at_saw(blank, 1, "void in the block", bo, cost="supplier").cost == "supplier"
