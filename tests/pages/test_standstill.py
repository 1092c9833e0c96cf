"""The office is told of a station that is down where orders wait for it and no other of its kind runs."""

import pytest
from floor_shop import theatre

from orders import moves, sawing
from orders.models import Blank
from shop import outages
from shop.acts import Act
from shop.models import Station


@pytest.fixture
def says(office, order, words):
    """Return a function that says what the orders list and the page of the order tell of stations that are down."""

    def both(of=order):
        return [words(office.get(path)) for path in ("/orders/", f"/orders/{of.number}/")]

    return both


def down(shop, code, reason="Wire broke"):
    outages.go_down(shop.stations[code], reason, Act(shop.people["bo"], shop.stations[code]))


def test_the_only_saw_is_down_and_orders_wait_for_it(says, shop, order):
    theatre(shop, job="Another")
    down(shop, "saw-1")
    everything, one = says()
    assert "Saw 1 is down" in everything
    assert "Wire broke. 2 orders wait for it; no other station of its kind runs." in everything
    assert "This order waits for it" in one


def test_an_order_that_has_nothing_left_there_is_not_held_up(says, order, run, shop, bo):
    sawing.open_source(run.sources.get(), bo)
    moves.count_sawn(Blank.objects.get(), 3, bo)
    down(shop, "saw-1")
    assert ["Saw 1 is down" in page for page in says()] == [False, False]


def test_with_another_of_its_kind_running_nothing_stands_still(says, order, shop):
    down(shop, "cutter-1")
    assert ["is down" in page for page in says()] == [False, False]
    down(shop, "cutter-2", "Power")
    assert [("Cutter 1 is down" in page, "Cutter 2 is down" in page) for page in says()] == [(True, True)] * 2
    Station.objects.filter(code="cutter-2").update(active=False)
    assert [("Cutter 1 is down" in page, "Cutter 2 is down" in page) for page in says()] == [(True, False)] * 2
    outages.come_back(shop.stations["cutter-1"], Act(shop.people["bo"], shop.stations["cutter-1"]))
    assert ["is down" in page for page in says()] == [False, False]
