"""Addresses and forms filled with what no page offers: never more than “not here”, “not so”, or an empty list."""

import pytest
from django.test import Client

ODD = ["", "0", "-1", "9" * 30, "9" * 5000, "\x00", "²", "٣", "%", "'\"<b>", "x" * 3000]
# address, the name of what is odd, and what goes with it
GETS = [
    ("/orders/", "q", {}), ("/orders/", "page", {}), ("/orders/", "stands", {}), ("/stock/", "find", {}),
    ("/stock/", "grade", {}), ("/stock/", "state", {}), ("/plans/", "state", {}), ("/plans/new/", "grade", {}),
    ("/customers/", "find", {}), ("/profiles/", "find", {}), ("/day/", "exact", {}), ("/prints/", "page", {}),
    ("/station/saw-1/", "order", {}), ("/station/saw-1/", "pick", {"order": "4101"}),
    ("/station/saw-1/", "why", {"order": "4101", "ask": "why"}), ("/station/saw-1/", "remnant", {"ask": "back"}),
]  # fmt: skip
POSTS = [
    ("/station/saw-1/count/", "blank", {"qty": "1"}), ("/station/saw-1/count/", "qty", {"piece": "1"}),
    ("/station/saw-1/miscut/", "blank", {}), ("/station/saw-1/undo/", "move", {}),
    ("/station/saw-1/open/", "source", {}), ("/station/saw-1/put-back/", "remnant", {}),
    ("/station/saw-1/scan/", "raw", {"scan_id": "odd"}), ("/plans/new/", "order", {"seconds": "2"}),
    ("/station/saw-1/scan/", "scan_id", {"raw": "odd"}), ("/orders/4101/hold/", "reason", {}),
    ("/orders/4101/", "version", {}), ("/orders/4101/release/", "version", {}), ("/orders/new/", "customer", {}),
]  # fmt: skip


@pytest.fixture
def admin(shop):
    """Ada, who may open everything, signed in."""
    client = Client()
    client.force_login(shop.people["ada"], backend="django.contrib.auth.backends.ModelBackend")
    return client


@pytest.mark.parametrize(("address", "name", "rest"), GETS)
def test_an_odd_address_is_answered(admin, released, address, name, rest):
    assert {admin.get(address, {name: odd} | rest).status_code for odd in ODD} <= {200, 404}


@pytest.mark.parametrize(("address", "name", "rest"), POSTS)
def test_an_odd_form_is_answered(admin, released, address, name, rest):
    assert {admin.post(address, {name: odd} | rest).status_code for odd in ODD} <= {200, 302, 404, 409, 422}


@pytest.mark.parametrize(
    "address",
    [
        "/day/0001-01-01/",
        "/day/9999-12-31/",
        "/day/2026-13-45/",
        "/orders/9999999999/",
        "/stock/%00/",
        "/profiles/a%00b/revise/",
    ],
)
def test_no_such_day_or_order_is_not_here(admin, address):
    assert admin.get(address).status_code == 404
