"""Who may open what: role × address × method → status. An address that is missing here fails the test.

One row a method: name of the address, method, then the answer to a stranger, the office, the floor, the manager, the
administrator. 302 of a stranger is the way to the sign-in page; 403 is “not your page”; 405 a method that the address
does not have. Posts are empty, so 422 and 409 are refusals of a form or a service to somebody who may.
Every address also stands once with each of GET and POST.
"""

import pytest
from django.db import transaction
from django.test import Client
from django.urls import URLPattern, get_resolver, reverse
from django.utils import timezone

from shop import account, devices
from shop.acts import Act
from shop.badges import badge_secret, new_badge
from shop.models import Device

WHO = ("stranger", "mina", "bo", "raf", "ada")
OPEN = ("healthz", "sign-in", "station-pair")

TABLE = """
# in and out
healthz             GET  200 200 200 200 200
healthz             POST 405 405 405 405 405
sign-in             GET  200 302 302 302 302
sign-in             POST 200 302 302 302 302
sign-out            GET  302 405 405 405 405
sign-out            POST 302 302 302 302 302
# orders
home                GET  302 200 200 200 200
home                POST 302 405 405 405 405
orders              GET  302 200 200 200 200
orders              POST 302 405 405 405 405
order-new           GET  302 200 403 200 200
order-new           POST 302 422 403 422 422
order-import        GET  302 200 403 200 200
order-import        POST 302 422 403 422 422
order               GET  302 200 200 200 200
order               POST 302 422 403 422 422
order-export        GET  302 200 403 200 200
order-export        POST 302 405 405 405 405
order-release       GET  302 405 405 405 405
order-release       POST 302 409 403 409 409
order-hold          GET  302 405 405 405 405
order-hold          POST 302 409 403 409 409
order-resume        GET  302 405 405 405 405
order-resume        POST 302 409 403 409 409
order-cancel        GET  302 405 405 405 405
order-cancel        POST 302 409 403 409 409
order-figures       GET  302 405 405 405 405
order-figures       POST 302 200 403 200 200
order-line-new      GET  302 200 403 200 200
order-line-new      POST 302 422 403 422 422
order-line          GET  302 200 200 200 200
order-line          POST 302 422 403 422 422
order-line-copy     GET  302 405 405 405 405
order-line-copy     POST 302 409 403 409 409
order-line-delete   GET  302 405 405 405 405
order-line-delete   POST 302 409 403 409 409
order-line-newest   GET  302 405 405 405 405
order-line-newest   POST 302 409 403 409 409
order-line-ways     GET  302 200 403 200 200
order-line-ways     POST 302 409 403 409 409
order-line-ways-compare GET  302 405 405 405 405
order-line-ways-compare POST 302 302 403 302 302
# customers and profiles
customers           GET  302 200 403 200 200
customers           POST 302 405 405 405 405
customer-new        GET  302 200 403 200 200
customer-new        POST 302 422 403 422 422
customer            GET  302 200 403 200 200
customer            POST 302 422 403 422 422
profiles            GET  302 200 200 200 200
profiles            POST 302 405 405 405 405
profile-new         GET  302 200 403 200 200
profile-new         POST 302 422 403 422 422
profile             GET  302 200 200 200 200
profile             POST 302 405 405 405 405
profile-offer       GET  302 405 405 405 405
profile-offer       POST 302 302 403 302 302
profile-repeat-sheet GET  302 405 405 405 405
profile-repeat-sheet POST 302 200 403 200 200
profile-order-again GET  302 200 403 200 200
profile-order-again POST 302 405 405 405 405
profile-file        GET  302 200 200 200 200
profile-file        POST 302 405 405 405 405
profile-fonts       GET  302 200 403 200 200
profile-fonts       POST 302 403 403 422 422
profile-revise      GET  302 200 403 200 200
profile-revise      POST 302 422 403 422 422
# stations
stations            GET  302 200 200 200 200
stations            POST 302 405 405 405 405
station             GET  302 403 200 200 200
station             POST 302 405 405 405 405
station-scan        GET  302 405 405 405 405
station-scan        POST 302 403 409 409 409
station-count       GET  302 405 405 405 405
station-count       POST 302 403 409 409 409
station-miscut      GET  302 405 405 405 405
station-miscut      POST 302 403 409 409 409
station-start       GET  302 405 405 405 405
station-start       POST 302 403 409 409 409
station-pause       GET  302 405 405 405 405
station-pause       POST 302 403 409 409 409
station-first       GET  302 405 405 405 405
station-first       POST 302 403 409 409 409
station-down        GET  302 405 405 405 405
station-down        POST 302 403 409 409 409
station-up          GET  302 405 405 405 405
station-up          POST 302 403 302 302 302
station-undo        GET  302 405 405 405 405
station-undo        POST 302 403 409 409 409
station-open        GET  302 405 405 405 405
station-open        POST 302 403 404 404 404
station-put-back    GET  302 405 405 405 405
station-put-back    POST 302 403 404 404 404
station-give-up     GET  302 405 405 405 405
station-give-up     POST 302 403 404 404 404
station-finish      GET  302 405 405 405 405
station-finish      POST 302 403 404 404 404
station-measured    GET  302 405 405 405 405
station-measured    POST 302 403 404 404 404
station-no-good     GET  302 405 405 405 405
station-no-good     POST 302 403 404 404 404
station-keep-rest   GET  302 405 405 405 405
station-keep-rest   POST 302 403 404 404 404
station-tags        GET  302 403 200 200 200
station-tags        POST 302 403 422 422 422
station-kept        GET  302 405 405 405 405
station-kept        POST 302 403 400 400 400
station-worker      GET  302 200 200 200 200
station-worker      POST 302 405 405 405 405
live                GET  302 200 200 200 200
live                POST 302 405 405 405 405
clashes             GET  302 200 200 200 200
clashes             POST 302 405 405 405 405
clash-settled       GET  302 405 405 405 405
clash-settled       POST 302 403 403 404 404
clash-taken         GET  302 405 405 405 405
clash-taken         POST 302 403 403 404 404
# plans, paper and the day; there is no plan of this number
day                 GET  302 403 403 200 200
day                 POST 302 405 405 405 405
day-on              GET  302 403 403 200 200
day-on              POST 302 405 405 405 405
day-close           GET  302 405 405 405 405
day-close           POST 302 403 403 302 302
day-csv             GET  302 403 403 200 200
day-csv             POST 302 405 405 405 405
plans               GET  302 200 403 200 200
plans               POST 302 405 405 405 405
plan-new            GET  302 403 403 200 200
plan-new            POST 302 403 403 200 200
plan-compare        GET  302 200 403 200 200
plan-compare        POST 302 405 405 405 405
plan                GET  302 404 403 404 404
plan                POST 302 405 405 405 405
plan-progress       GET  302 404 403 404 404
plan-progress       POST 302 405 405 405 405
plan-keep           GET  302 405 405 405 405
plan-keep           POST 302 403 403 404 404
plan-cancel         GET  302 405 405 405 405
plan-cancel         POST 302 403 403 404 404
plan-accept         GET  302 405 405 405 405
plan-accept         POST 302 403 403 404 404
plan-again          GET  302 405 405 405 405
plan-again          POST 302 403 403 404 404
plan-rest           GET  302 405 405 405 405
plan-rest           POST 302 403 403 404 404
plan-throw-away     GET  302 405 405 405 405
plan-throw-away     POST 302 403 403 404 404
plan-stop           GET  302 405 405 405 405
plan-stop           POST 302 403 403 404 404
plan-saw-sheets     GET  302 405 405 405 405
plan-saw-sheets     POST 302 404 403 404 404
stock-tags          GET  302 200 200 200 200
stock-tags          POST 302 422 422 422 422
order-traveller     GET  302 405 405 405 405
order-traveller     POST 302 302 403 302 302
order-cut-sheets    GET  302 405 405 405 405
order-cut-sheets    POST 302 302 403 302 302
order-coat-sheet    GET  302 405 405 405 405
order-coat-sheet    POST 302 302 403 302 302
order-pack-list     GET  302 405 405 405 405
order-pack-list     POST 302 302 403 302 302
order-bundle-labels GET  302 405 405 405 405
order-bundle-labels POST 302 302 302 302 302
order-packing-slip  GET  302 405 405 405 405
order-packing-slip  POST 302 302 302 302 302
plan-papers         GET  302 405 405 405 405
plan-papers         POST 302 404 403 404 404
order-quote         GET  302 405 405 405 405
order-quote         POST 302 302 403 302 302
order-confirmation  GET  302 405 405 405 405
order-confirmation  POST 302 302 403 302 302
day-report          GET  302 405 405 405 405
day-report          POST 302 403 403 200 200
batch-new           GET  302 200 403 200 200
batch-new           POST 302 302 403 302 302
batch               GET  302 404 404 404 404
batch               POST 302 405 405 405 405
batch-file          GET  302 404 404 404 404
batch-file          POST 302 405 405 405 405
prints              GET  302 200 403 200 200
prints              POST 302 405 405 405 405
# devices of the floor and who stands at them; nobody here sits at one
station-pair        GET  200 200 200 200 200
station-pair        POST 409 409 409 409 409
station-live        GET  302 200 200 200 200
station-live        POST 302 405 405 405 405
station-who         GET  302 302 302 302 302
station-who         POST 302 302 302 302 302
station-leave       GET  302 302 302 302 302
station-leave       POST 302 302 302 302 302
station-own-pin     GET  302 302 302 302 302
station-own-pin     POST 302 302 302 302 302
devices             GET  302 403 403 200 200
devices             POST 302 403 403 422 422
device-revoke       GET  302 405 405 405 405
device-revoke       POST 302 403 403 404 404
badges              GET  302 403 403 200 200
badges              POST 302 403 403 422 422
badge-pin           GET  302 403 403 200 200
badge-pin           POST 302 403 403 422 422
# stock and settings
stock               GET  302 200 200 200 200
stock               POST 302 405 405 405 405
stock-receive       GET  302 200 403 200 200
stock-receive       POST 302 422 403 422 422
stock-piece         GET  302 200 200 200 200
stock-piece         POST 302 405 405 405 405
stock-measured      GET  302 405 405 405 405
stock-measured      POST 302 403 403 422 422
stock-missing       GET  302 405 405 405 405
stock-missing       POST 302 403 403 422 422
stock-found         GET  302 405 405 405 405
stock-found         POST 302 403 403 422 422
stock-scrap         GET  302 405 405 405 405
stock-scrap         POST 302 403 403 422 422
shop                GET  302 200 403 200 200
shop                POST 302 403 403 422 422
shop-list           GET  302 403 403 200 200
shop-list           POST 302 405 405 405 405
shop-add            GET  302 403 403 200 200
shop-add            POST 302 403 403 422 422
shop-edit           GET  302 403 403 200 200
shop-edit           POST 302 403 403 422 422
"""

ROWS = [line.split() for line in TABLE.strip().splitlines() if line and not line.startswith("#")]


@pytest.fixture
def places(draft, shop):
    """Return what stands in the addresses: an order and its line, a customer, a profile, a tag, a station …"""
    size = (97 * 25_400, 49 * 25_400, 37 * 25_400)
    block = account.receive("K-0007", shop.grades["Firm 1.5"], size, Act(shop.people["raf"]))
    everywhere = {
        "number": draft.number,
        "pk": draft.lines.get().pk,
        "code": "TP-14",
        "tag": block.tag,
        "name": "grades",
        "of": timezone.localdate(),
    }
    own = {
        "customer": {"pk": shop.customer.pk}, "shop-edit": {"pk": shop.grades["Firm 1.5"].pk},
        "profile-file": {"number": 1, "form": "dxf"}, "profile-repeat-sheet": {"number": 1},
        "profile-order-again": {"number": 1}, "batch": {"pk": 0}, "batch-file": {"pk": 0},
        "device-revoke": {"pk": 0}, "badge-pin": {"pk": shop.people["bo"].pk},
        **{name: {"code": "saw-1"} for name in asked() if name.startswith("station")},
    }  # fmt: skip

    return lambda name: reverse(name, kwargs={key: (everywhere | own.get(name, {}))[key] for key in asked()[name]})


def asked(patterns=None, above=()) -> dict[str, tuple[str, ...]]:
    """Return the names of all addresses, with the names of what stands in each."""
    found = {}
    for pattern in get_resolver().url_patterns if patterns is None else patterns:
        inside = (*above, *pattern.pattern.converters)
        if isinstance(pattern, URLPattern):
            found[pattern.name] = inside
        else:
            found |= asked(pattern.url_patterns, inside)
    return found


@pytest.fixture
def people(shop):
    """Return a signed-in client for everybody of the table."""
    clients = {name: Client() for name in WHO}
    for name in WHO[1:]:
        clients[name].force_login(shop.people[name], backend="django.contrib.auth.backends.ModelBackend")
    return clients


def answer(client, method: str, address: str) -> str:
    """Return the status of one request, whatever it changed undone."""
    with transaction.atomic():
        status = client.generic(method, address, content_type="application/x-www-form-urlencoded").status_code
        transaction.set_rollback(True)
    return str(status)


@pytest.mark.parametrize("row", ROWS, ids=lambda row: f"{row[1]} {row[0]}")
def test_each_role_gets_the_answer_of_the_table(row, people, places):
    name, method, *wanted = row
    assert [answer(people[who], method, places(name)) for who in WHO] == wanted


@pytest.mark.parametrize("method", ["GET", "POST"])
def test_every_address_stands_in_the_table(method):
    assert sorted(asked()) == sorted(name for name, its_method, *_ in ROWS if its_method == method)


def test_strangers_read_nothing_but_the_sign_in_page():
    strangers = {(name, answer) for name, _, answer, *_ in ROWS if answer != "302"}
    assert {name for name, _ in strangers} == set(OPEN)


# What a paired device answers otherwise than a password: its own pages.
AT_DEVICE = {
    "station-who GET": "200", "station-who POST": "200", "station-leave GET": "405", "station-own-pin GET": "200",
    "station-own-pin POST": "409",
}  # fmt: skip


@pytest.mark.parametrize("who", ["bo", "raf", "ada"])
def test_a_person_named_at_a_device_gets_stations_and_is_a_stranger_elsewhere(who, shop, places):
    code = devices.make_code(shop.stations["saw-1"], "Tablet", Act(shop.people["raf"]))
    tablet = Client()
    tablet.post("/station/pair/", {"code": code})
    devices.name_by_badge(
        Device.objects.get(), badge_secret(new_badge(shop.people[who], timezone.now())), timezone.now()
    )
    for name, method, *wanted in ROWS:
        own = wanted[WHO.index(who)] if places(name).startswith("/station/") else wanted[0]
        expected = AT_DEVICE.get(f"{name} {method}", own)
        assert answer(tablet, method, places(name)) == expected, f"{method} {name}"
