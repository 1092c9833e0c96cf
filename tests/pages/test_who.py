"""Who stands at a station: named at a paired device by badge or PIN, for a shift, and not let into the office by it."""

import json
from datetime import timedelta

import pytest
from axes.models import AccessAttempt
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.utils import timezone
from floor_people import code_for, name_by_pin, paired
from floor_shop import plan_for, theatre

from cutsheets.codes import make_sheet_code
from orders import sawing
from orders.models import Blank, Move, Revision, Scan
from shop import badges
from shop.acts import Act
from shop.models import Device, Naming, Person
from shop.roles import Role

SCAN = "/station/saw-1/scan/"


@pytest.fixture
def bo(shop):
    badges.set_pin(shop.people["bo"], "4711")
    return shop.people["bo"]


@pytest.fixture
def raf(shop):
    badges.set_pin(shop.people["raf"], "90210")
    return shop.people["raf"]


@pytest.fixture
def tablet(shop, manager, bo, raf):
    return paired(code_for(manager, shop.stations["saw-1"]))


@pytest.fixture
def order(shop):
    order = theatre(shop)
    run = plan_for(shop, order)
    sawing.open_source(run.sources.get(), Act(shop.people["bo"], shop.stations["saw-1"]))
    return order


def badge(person) -> str:
    return badges.new_badge(person, timezone.now())


def scan(tablet, raw, screen="/station/saw-1/"):
    return tablet.post(SCAN, {"raw": raw}, headers={"referer": f"http://testserver{screen}"})


def count(tablet, order):
    blank = Blank.objects.filter(line__order=order).first()
    return tablet.post("/station/saw-1/count/", {"blank": blank.pk, "qty": "1", "order": order.number})


# Without a person -----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("address", ["/station/", "/station/saw-1/", "/station/cutter-1/?ask=number"])
def test_a_device_at_which_nobody_is_named_asks_who_is_there(tablet, words, address):
    answer = tablet.get(address)
    assert answer.status_code == 401
    assert "Scan your badge, or choose your name." in words(answer)
    assert "Bo Lindqvist" in words(answer)


def test_nothing_is_counted_while_nobody_is_named(tablet, order, words):
    answer = count(tablet, order)
    assert (answer.status_code, "Nothing was done: nobody is named here." in words(answer)) == (401, True)
    assert scan(tablet, "BY4182CU").status_code == 401
    assert not Move.objects.filter(action="saw").exists()
    assert not Scan.objects.exists()


def test_only_people_of_the_floor_with_a_pin_are_offered(shop, tablet, words):
    badges.set_pin(shop.people["mina"], "5093")
    said = words(tablet.get("/station/saw-1/"))
    assert "Mina" not in said  # of the office
    assert "Ada" not in said  # has no PIN
    assert "Raf Almeida" in said


# By PIN ---------------------------------------------------------------------------------------------------------------


def test_a_name_and_its_pin_open_the_screen_that_was_asked_for(tablet, bo, order, words):
    screen = f"order={order.number}"
    page = tablet.get(f"/station/saw-1/?{screen}&sound=accepted").content.decode()
    assert f"screen=order%3D{order.number}" in page
    answer = name_by_pin(tablet, bo, "4711", screen=screen)
    assert answer.headers["Location"] == f"/station/saw-1/?{screen}&sound=accepted"
    shown = words(tablet.get(answer.headers["Location"]))
    assert "Bo L." in shown
    assert "Bo L. is at Saw 1." in shown  # the status line


@pytest.mark.parametrize("pin", ["", "0000", "471", "47110", "47 11", "４７１１", "\x00", "x" * 5000])
def test_a_wrong_pin_names_nobody(tablet, bo, words, pin):
    answer = name_by_pin(tablet, bo, pin)
    assert answer.status_code == 409
    assert "This PIN is wrong." in words(answer)
    assert tablet.get("/station/saw-1/").status_code == 401


def test_five_wrong_pins_lock_this_person_at_this_device_for_a_quarter_hour(shop, manager, tablet, bo, raf, words):
    for _ in range(5):
        name_by_pin(tablet, bo, "1212")
    assert "Too many wrong tries. Wait 15 minutes" in words(name_by_pin(tablet, bo, "4711"))
    assert name_by_pin(tablet, raf, "90210").status_code == 302  # another person
    other = paired(code_for(manager, shop.stations["cutter-1"]))
    assert name_by_pin(other, bo, "4711", "cutter-1").status_code == 302  # another device
    AccessAttempt.objects.update(attempt_time=timezone.now() - timedelta(minutes=16))
    assert name_by_pin(tablet, bo, "4711").status_code == 302


def test_a_right_pin_forgets_the_wrong_ones(tablet, bo):
    for pin in ("1212", "1212", "1212", "1212", "4711", "1212", "1212", "1212", "1212", "4711"):
        answer = name_by_pin(tablet, bo, pin)
    assert answer.status_code == 302


def test_a_badge_opens_what_wrong_pins_have_locked(tablet, bo):
    for _ in range(6):
        name_by_pin(tablet, bo, "1212")
    scan(tablet, badge(bo))
    assert tablet.get("/station/saw-1/").status_code == 200


def test_wrong_pins_are_not_kept_in_words(tablet, bo):
    name_by_pin(tablet, bo, "471199")
    kept = AccessAttempt.objects.values().get()
    assert "471199" not in str(kept)


@pytest.mark.parametrize("person", ["", "0", "9999999999", "-1", "abc", "💥"])
def test_a_name_that_is_none_asks_again(tablet, words, person):
    answer = tablet.post("/station/saw-1/who/", {"person": person, "pin": "4711"})
    assert answer.status_code == 200
    assert "Who is at Saw 1?" in words(answer)


# By badge -------------------------------------------------------------------------------------------------------------


def test_a_badge_names_its_person_and_stays_on_the_screen(tablet, raf, bo, order, words):
    name_by_pin(tablet, bo, "4711")
    screen = f"/station/saw-1/?order={order.number}&pick=1"
    answer = scan(tablet, badge(raf), screen)
    assert answer.headers["Location"] == f"{screen}&sound=accepted"
    assert "Raf A. is at Saw 1." in words(tablet.get(answer.headers["Location"]))


@pytest.mark.parametrize(
    "referer", ["http://elsewhere.example/station/saw-1/?order=1", "", "http://testserver/orders/"]
)
def test_a_badge_from_another_page_leads_to_the_station(tablet, bo, referer):
    answer = tablet.post(SCAN, {"raw": badge(bo)}, headers={"referer": referer})
    assert answer.headers["Location"] == "/station/saw-1/?sound=accepted"


def test_a_badge_is_read_as_a_scanner_or_a_person_types_it(tablet, bo):
    code = badge(bo)
    for written in (f"]C0{code}", code.lower(), f"{code[:2]} {code[2:6]}-{code[6:]}"):
        assert scan(tablet, written).status_code == 302
    assert Naming.objects.filter(person=bo, way="badge").count() == 3


def test_what_is_counted_after_a_badge_is_written_with_its_person(tablet, bo, raf, order):
    name_by_pin(tablet, bo, "4711")
    count(tablet, order)
    scan(tablet, badge(raf))
    count(tablet, order)
    moves = Move.objects.filter(action="saw").order_by("pk")
    assert [move.by for move in moves] == [bo, raf]
    last = moves.last()
    tablet.post("/station/saw-1/undo/", {"move": last.pk, "order": order.number})
    assert Move.objects.get(undoes=last).by == raf


def test_undo_takes_back_what_the_one_before_counted_here(tablet, bo, raf, order):
    name_by_pin(tablet, bo, "4711")
    count(tablet, order)
    scan(tablet, badge(raf))
    counted = Move.objects.get(action="saw")
    tablet.post("/station/saw-1/undo/", {"move": counted.pk, "order": order.number})
    assert Move.objects.get(undoes=counted).by == raf


def test_a_new_badge_voids_the_old_one(tablet, bo, words):
    old, new = badge(bo), badge(bo)
    answer = scan(tablet, old)
    assert answer.status_code == 409
    assert "This badge is no longer good." in words(answer)
    assert scan(tablet, new).status_code == 302


def test_a_refused_badge_leaves_the_person_who_was_named(tablet, bo, raf, words):
    name_by_pin(tablet, bo, "4711")
    old, _ = badge(raf), badge(raf)
    assert "Still Bo L." in words(scan(tablet, old))
    assert "Bo L." in words(tablet.get("/station/saw-1/"))


def test_only_a_hash_of_a_badge_is_kept_whole_or_damaged(tablet, bo):
    name_by_pin(tablet, bo, "4711")
    code = badge(bo)
    scan(tablet, code[:-1] + ("A" if code[-1] != "A" else "B"))  # damaged: kept as a scan
    scan(tablet, code)
    assert [row.raw for row in Scan.objects.all()] == ["BN…"]
    rows = [*Person.objects.values(), *Naming.objects.values(), *Device.objects.values()]
    assert code[2:10] not in str(rows)


def test_a_badge_at_a_browser_signed_in_by_password_changes_nobody(floor, bo, raf, words):
    answer = floor.post(SCAN, {"raw": badge(raf)})
    assert answer.status_code == 409
    assert "A badge names its person at a paired device" in words(answer)
    assert [(row.raw, row.by) for row in Scan.objects.all()] == [("BN…", bo)]


# Those who may not ----------------------------------------------------------------------------------------------------


def test_somebody_who_left_is_refused_by_badge_and_by_pin(tablet, bo, words):
    code = badge(bo)
    name_by_pin(tablet, bo, "4711")
    Person.objects.filter(pk=bo.pk).update(is_active=False)
    assert tablet.get("/station/saw-1/").status_code == 401  # also in the middle of his shift
    assert "Bo L. no longer works here." in words(scan(tablet, code))
    name_by_pin(tablet, bo, "4711")
    assert tablet.get("/station/saw-1/").status_code == 401


def test_somebody_who_moved_to_the_office_is_refused(tablet, bo, words):
    code = badge(bo)
    name_by_pin(tablet, bo, "4711")
    Person.objects.filter(pk=bo.pk).update(role=Role.OFFICE)
    assert tablet.get("/station/saw-1/").status_code == 401
    assert "Bo L. has no work at the stations" in words(scan(tablet, code))
    name_by_pin(tablet, bo, "4711")
    assert tablet.get("/station/saw-1/").status_code == 401


@pytest.mark.parametrize("address", ["/", "/orders/", "/stock/", "/day/", "/shop/", "/shop/badges/", "/live/"])
@pytest.mark.parametrize("who", ["bo", "raf"])
def test_nobody_reaches_a_page_of_the_office_by_badge_or_pin(shop, tablet, who, address):
    scan(tablet, badge(shop.people[who]))
    assert tablet.get("/station/saw-1/").status_code == 200
    assert tablet.get(address).headers["Location"].startswith("/sign-in/")


def test_an_act_of_the_office_is_not_done_by_badge(shop, tablet, draft):
    scan(tablet, badge(shop.people["raf"]))
    assert tablet.post(f"/orders/{draft.number}/cancel/", {"reason": "x"}).headers["Location"].startswith("/sign-in/")
    assert tablet.post("/shop/devices/", {"station": "1", "name": "x"}).headers["Location"].startswith("/sign-in/")


# The shift ------------------------------------------------------------------------------------------------------------


def test_a_person_is_kept_for_a_shift(tablet, bo):
    name_by_pin(tablet, bo, "4711")
    Naming.objects.update(at=timezone.now() - timedelta(hours=11, minutes=59))
    assert tablet.get("/station/saw-1/").status_code == 200
    Naming.objects.update(at=timezone.now() - timedelta(hours=12, seconds=1))
    assert tablet.get("/station/saw-1/").status_code == 401


def test_whoever_signs_out_is_no_longer_named(tablet, bo, words):
    name_by_pin(tablet, bo, "4711")
    assert "Bo L. leaves" in words(tablet.get("/station/saw-1/who/"))
    tablet.post("/station/saw-1/who/leave/")
    assert tablet.get("/station/saw-1/").status_code == 401


def test_two_devices_have_a_person_each(shop, manager, tablet, bo, raf, words):
    other = paired(code_for(manager, shop.stations["cutter-1"]))
    scan(tablet, badge(bo))
    other.post("/station/cutter-1/scan/", {"raw": badge(raf)})
    assert "Bo L." in words(tablet.get("/station/saw-1/"))
    assert "Raf A." in words(other.get("/station/cutter-1/"))


def test_who_was_named_at_a_time_is_still_known_later(tablet, bo, raf):
    scan(tablet, badge(bo))
    before = timezone.now()
    scan(tablet, badge(raf))
    device = Device.objects.get()
    assert (device.person_at(before), device.person_at(timezone.now())) == (bo, raf)
    assert device.person_at(before - timedelta(hours=1)) is None


# Without network ------------------------------------------------------------------------------------------------------


def send_kept(tablet, *acts):
    sent = {"now": ms(timezone.now()), "acts": list(acts)}
    answer = tablet.post("/station/saw-1/kept/", json.dumps(sent), content_type="application/json")
    return [reply["code"] or reply["state"] for reply in answer.json()["replies"]]


def ms(moment):
    return moment.timestamp() * 1000


def act(name, kind, minutes_ago, **fields):
    return {"id": f"act-{name}-0000", "kind": kind, "at": ms(timezone.now() - timedelta(minutes=minutes_ago)),
            "fields": fields}  # fmt: skip


def test_what_was_kept_goes_to_whoever_stood_there_then(tablet, bo, raf, order):
    scan(tablet, badge(bo))
    Naming.objects.update(at=timezone.now() - timedelta(minutes=30))
    Revision.objects.update(at=timezone.now() - timedelta(hours=1))
    fields = {"blank": str(Blank.objects.filter(line__order=order).first().pk), "qty": "1", "order": str(order.number)}
    code = badge(raf)
    acts = [act("1", "count", 20, **fields), act("2", "scan", 15, raw=code), act("3", "count", 10, **fields)]
    assert send_kept(tablet, *acts) == ["done", "done", "done"]
    assert send_kept(tablet, *acts) == ["already"] * 3  # the reply was lost
    assert [move.by for move in Move.objects.filter(action="saw").order_by("happened_at")] == [bo, raf]
    assert Device.objects.get().person_at(timezone.now()) == raf
    assert Naming.objects.filter(person=raf).count() == 1
    assert code[2:-1] not in Scan.objects.get().raw  # its secret


def test_a_kept_badge_that_is_void_names_nobody(tablet, bo, raf):
    scan(tablet, badge(bo))
    old, _ = badge(raf), badge(raf)
    assert send_kept(tablet, act("1", "scan", 1, raw=old)) == ["badge-void"]
    assert Device.objects.get().person_at(timezone.now()) == bo


def test_a_device_costs_a_scan_no_more_queries_than_a_password(tablet, floor, bo, order):
    sheet = make_sheet_code(order.number, "A")
    scan(tablet, badge(bo))
    spent = {}
    for name, client in (("device", tablet), ("password", floor)):
        with CaptureQueriesContext(connection) as queries:
            assert client.post(SCAN, {"raw": sheet}).status_code == 302
        spent[name] = len(queries)
    assert spent["device"] <= spent["password"], spent


# A PIN of one's own ---------------------------------------------------------------------------------------------------


def test_a_person_changes_his_pin_who_knows_the_old_one(tablet, bo, words):
    name_by_pin(tablet, bo, "4711")
    own = "/station/saw-1/who/pin/"
    assert "This PIN is wrong." in words(tablet.post(own, {"pin": "4712", "new_pin": "8246"}))
    assert "too easy to guess" in words(tablet.post(own, {"pin": "4711", "new_pin": "1234"}))
    assert tablet.post(own, {"pin": "4711", "new_pin": "8246"}).status_code == 302
    assert name_by_pin(tablet, bo, "4711").status_code == 409
    assert name_by_pin(tablet, bo, "8246").status_code == 302


def test_nobody_changes_a_pin_where_nobody_is_named(tablet, floor):
    for client in (tablet, floor, Client()):
        assert client.post("/station/saw-1/who/pin/", {"pin": "4711", "new_pin": "8246"}).status_code == 302
    assert badges.has_pin(Person.objects.get(username="bo"), "4711")
