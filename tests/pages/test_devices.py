"""Devices of the floor: paired once by the manager's code, signed out by the manager, and known by nothing else."""

import re
from concurrent.futures import ThreadPoolExecutor
from datetime import timedelta

import pytest
from django.db import connection
from django.test import Client
from django.utils import timezone
from floor_people import CODE, code_for, name_by_pin, paired

from shop import badges, devices
from shop.models import Device, PairingCode


@pytest.fixture
def tablet(shop, manager):
    return paired(code_for(manager, shop.stations["saw-1"]))


def type_code(client, code):
    return client.post("/station/pair/", {"code": code})


# Pairing --------------------------------------------------------------------------------------------------------------


def test_a_device_types_the_managers_code_and_lands_at_its_station(shop, manager, words):
    tablet = Client()
    answer = type_code(tablet, code_for(manager, shop.stations["saw-1"]))
    assert answer.headers["Location"] == "/station/saw-1/"
    assert "Who is at Saw 1?" in words(tablet.get("/station/saw-1/"))


def test_the_code_is_shown_once_and_only_its_hash_is_kept(shop, manager):
    code = code_for(manager, shop.stations["saw-1"]).replace("-", "")
    assert CODE.fullmatch(code)
    assert code not in manager.get("/shop/devices/").content.decode()
    assert code not in str(PairingCode.objects.values().get())


def test_the_cookie_is_out_of_reach_of_scripts_and_of_other_sites_and_of_the_office(tablet):
    cookie = tablet.cookies["blockyard-device"]
    assert (cookie["httponly"], cookie["samesite"], cookie["path"]) == (True, "Strict", "/station/")
    assert cookie["max-age"] >= 365 * 24 * 3600
    token = cookie.value.partition(":")[0]
    assert len(token) > 40
    assert token not in str(Device.objects.values().get())


@pytest.mark.parametrize("written", [str, str.lower, lambda code: code.replace("-", " "), lambda code: f" {code} "])
def test_the_code_may_be_typed_with_small_letters_and_blanks(shop, manager, written):
    assert type_code(Client(), written(code_for(manager, shop.stations["saw-1"]))).status_code == 302


def test_a_code_pairs_one_device(shop, manager, words):
    code = code_for(manager, shop.stations["saw-1"])
    assert type_code(Client(), code).status_code == 302
    second = type_code(Client(), code)
    assert second.status_code == 409
    assert "This code was used before. Ask the manager for a new one." in words(second)
    assert Device.objects.count() == 1


def test_a_code_is_too_old_after_ten_minutes(shop, manager, words):
    code = code_for(manager, shop.stations["saw-1"])
    PairingCode.objects.update(made_at=timezone.now() - timedelta(minutes=10, seconds=1))
    assert "This code is too old." in words(type_code(Client(), code))
    PairingCode.objects.update(made_at=timezone.now() - timedelta(minutes=9, seconds=50))
    assert type_code(Client(), code).status_code == 302


def test_after_five_wrong_codes_nothing_is_tried_from_this_address(shop, manager, words):
    code = code_for(manager, shop.stations["saw-1"])
    stranger = Client()
    for number in range(5):
        assert "No device has this code." in words(type_code(stranger, f"AAAA-BBB{number}"))
    for client in (stranger, Client()):
        answer = type_code(client, code)
        assert answer.status_code == 409
        assert "Too many wrong tries. Wait 15 minutes" in words(answer)
    assert Device.objects.count() == 0
    assert type_code(Client(REMOTE_ADDR="10.0.0.9"), code).status_code == 302


@pytest.mark.django_db(transaction=True)
def test_of_devices_that_type_one_code_at_once_one_is_paired(shop, manager):
    code = code_for(manager, shop.stations["saw-1"])

    def one(number):
        try:
            return type_code(Client(REMOTE_ADDR=f"10.0.0.{number}"), code).status_code
        finally:
            connection.close()

    with ThreadPoolExecutor(6) as pool:
        assert sorted(pool.map(one, range(6))) == [302, *[409] * 5]
    assert Device.objects.count() == 1


@pytest.mark.parametrize("code", ["", "\x00", "💥" * 8, "' OR 1=1 --", "A" * 5000, "<script>alert(1)</script>"])
def test_a_hostile_code_is_refused_with_a_sentence(shop, words, code):
    answer = type_code(Client(), code)
    assert answer.status_code == 409
    assert "No device has this code." in words(answer)


def test_a_device_needs_a_station_and_a_name(shop, manager):
    assert manager.post("/shop/devices/", {"station": "", "name": ""}).status_code == 422
    assert manager.post("/shop/devices/", {"station": "9999", "name": "x" * 41}).status_code == 422
    assert PairingCode.objects.count() == 0


# Signing out ----------------------------------------------------------------------------------------------------------


def test_a_device_that_was_signed_out_notices_at_its_next_request(shop, manager, tablet, words):
    bo = shop.people["bo"]
    badges.set_pin(bo, "4711")
    name_by_pin(tablet, bo, "4711")
    assert tablet.get("/station/saw-1/").status_code == 200
    manager.post(f"/shop/devices/{Device.objects.get().pk}/revoke/")
    for answer in (tablet.get("/station/saw-1/"), tablet.post("/station/saw-1/count/"), tablet.get("/station/")):
        assert answer.status_code == 403
        assert "This device was signed out by Raf A.; ask the manager." in words(answer)
    assert "signed out" in words(manager.get("/shop/devices/"))


def test_a_device_that_was_signed_out_can_be_paired_again_and_used_with_a_password(shop, manager, tablet):
    devices.revoke(Device.objects.get(), devices.Act(shop.people["raf"]))
    assert tablet.get("/station/pair/").status_code == 200
    assert type_code(tablet, code_for(manager, shop.stations["saw-1"])).status_code == 302
    assert tablet.get("/station/saw-1/").status_code == 401  # paired, and nobody is named yet
    devices.revoke(Device.objects.get(revoked_at=None), devices.Act(shop.people["raf"]))
    tablet.force_login(shop.people["bo"], backend="django.contrib.auth.backends.ModelBackend")
    assert tablet.get("/station/saw-1/").status_code == 200


def test_the_first_who_signs_a_device_out_stays_on_the_books(shop, tablet):
    device = Device.objects.get()
    devices.revoke(device, devices.Act(shop.people["raf"]))
    devices.revoke(device, devices.Act(shop.people["ada"]))
    assert Device.objects.get().revoked_by == shop.people["raf"]


@pytest.mark.parametrize("change", ["", "x", ":", "a:b:c"])
def test_a_forged_cookie_makes_no_device(shop, tablet, change):
    value = tablet.cookies["blockyard-device"].value
    forged = Client()
    forged.cookies["blockyard-device"] = re.sub("^.", "_", value) + change
    assert forged.get("/station/saw-1/").headers["Location"].startswith("/sign-in/")


def test_last_seen_is_kept_once_a_minute(shop, tablet, django_assert_max_num_queries):
    long_ago = timezone.now() - timedelta(minutes=5)
    Device.objects.update(seen_at=long_ago)
    assert "blockyard-device" in tablet.get("/station/saw-1/").cookies
    assert Device.objects.get().seen_at > long_ago
    seen = Device.objects.get().seen_at
    assert "blockyard-device" not in tablet.get("/station/saw-1/").cookies
    assert Device.objects.get().seen_at == seen


def test_a_stranger_without_a_device_signs_in_as_before(shop):
    assert Client().get("/station/saw-1/").headers["Location"] == "/sign-in/?next=/station/saw-1/"


@pytest.mark.parametrize("code", ["pair", "live"])
def test_no_station_takes_an_address_of_the_devices(manager, words, code):
    answer = manager.post("/shop/stations/add/", {"code": code, "name": "Odd", "kind": "saw", "active": "on"})
    assert answer.status_code == 422
    assert "is an address of its own" in words(answer)
