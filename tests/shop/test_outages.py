"""A station that is down: one reason at a time, said twice without harm, ended by whoever says that it runs."""

import pytest

from orders.demo import small_shop
from shop import outages
from shop.acts import Act
from shop.models import Outage
from shop.refusals import Refused


@pytest.fixture
def bo(db):
    shop = small_shop()
    return Act(shop.people["bo"], shop.stations["saw-1"])


def test_a_station_is_down_from_the_first_word_to_the_last(bo):
    assert outages.outage(bo.station) is None
    outages.go_down(bo.station, "Wire broke", bo)
    assert outages.outage(bo.station).reason == "Wire broke"
    outages.come_back(bo.station, bo)
    assert outages.outage(bo.station) is None
    assert Outage.objects.get().ended_by == bo.by


def test_said_twice_it_is_one_outage_with_its_first_reason(bo):
    first = outages.go_down(bo.station, "Wire broke", bo)
    assert outages.go_down(bo.station, "Power", bo) == first
    assert Outage.objects.get().reason == "Wire broke"


def test_it_needs_a_reason(bo):
    with pytest.raises(Refused) as caught:
        outages.go_down(bo.station, "  ", bo)
    assert (caught.value.code, Outage.objects.count()) == ("no-reason", 0)
