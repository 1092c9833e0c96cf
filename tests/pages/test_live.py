"""What pages ask every second or two: cheap, and different only where something has happened that they show."""

import pytest
from floor_shop import plan_for, theatre

from orders import kept, moves, sawing
from orders.models import Blank, Clash
from shop import account, outages


@pytest.fixture
def order(shop):
    return theatre(shop)


@pytest.fixture
def blank(shop, order, bo):
    sawing.open_source(plan_for(shop, order).sources.get(), bo)
    return Blank.objects.filter(line__order=order).first()


@pytest.fixture
def other(shop):
    return theatre(shop, job="Another")


def asked(client, address="/live/"):
    """Return what is newest, and the address that asks whether it still is."""
    newest = client.get(address).content.decode()
    return newest, f"{address}{'&' if '?' in address else '?'}seen={newest}"


def test_what_was_seen_is_not_answered_again(office, blank, bo):
    _, again = asked(office)
    assert office.get(again).status_code == 204
    moves.count_sawn(blank, 1, bo)
    assert office.get(again).status_code == 200


def test_one_query_says_what_is_newest(office, blank, django_assert_num_queries):
    _, again = asked(office)
    with django_assert_num_queries(3):  # the session, the person, what is newest
        office.get(again)


@pytest.mark.parametrize(("asks", "status"), [("", 200), ("&foam=1", 200), ("", 204)])
def test_a_page_of_one_order_is_not_woken_by_another(office, blank, other, bo, firm, raf, asks, status):
    of = other if status == 204 else blank.line.order
    _, again = asked(office, f"/live/?order={of.number}{asks}")
    moves.count_sawn(blank, 1, bo)
    assert office.get(again).status_code == status


def test_the_saw_is_woken_by_foam_too(office, blank, other, firm, raf):
    _, with_foam = asked(office, f"/live/?order={other.number}&foam=1")
    _, without = asked(office, f"/live/?order={other.number}")
    account.receive("K-0099", firm, (1_000_000,) * 3, raf)
    assert (office.get(with_foam).status_code, office.get(without).status_code) == (200, 204)


def test_a_station_that_is_down_or_runs_again_wakes_those_who_look_after_all_orders(office, order, bo):
    (_, all_orders), (_, one) = asked(office), asked(office, f"/live/?order={order.number}")
    outages.go_down(bo.station, "Wire broke", bo)
    _, while_down = asked(office)
    outages.come_back(bo.station, bo)
    assert [office.get(seen).status_code for seen in (all_orders, while_down, one)] == [200, 200, 204]


def test_a_clash_that_is_settled_wakes_those_who_look_after_all_orders(office, order, raf, bo):
    where = {"order": order, "station": bo.station, "happened_at": bo.at}
    clash = Clash.objects.create(scan_id="act-0001", fields={}, **where)
    _, waiting = asked(office)
    kept.settle(clash, "counted again by hand", raf)
    assert office.get(waiting).status_code == 200


@pytest.mark.parametrize("order", ["", "abc", "-1", "99999999999999", "0"])
def test_an_order_that_is_none_is_all_orders(floor, order):
    assert floor.get("/live/", {"order": order}).status_code == 200


def test_an_order_that_nobody_knows_has_nothing_new(floor):
    assert floor.get("/live/?order=999").content == b"0.0.0.0"
