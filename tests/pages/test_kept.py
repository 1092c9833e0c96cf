"""Where stations send what they kept, and where the manager settles what was not taken."""

import json

import pytest
from django.utils import timezone
from floor_shop import plan_for, theatre

from orders import moves, sawing
from orders.layout import size_words
from orders.models import Blank, Clash, Move
from shop.acts import Act
from shop.models import Station

KEPT = "/station/saw-1/kept/"


@pytest.fixture
def order(shop):
    return theatre(shop, lines=(("TP-22", {"pieces": [{"length": 40, "qty": 3}]}),))


@pytest.fixture
def blank(shop, order):
    sawing.open_source(plan_for(shop, order).sources.get(), Act(shop.people["bo"], shop.stations["saw-1"]))
    return Blank.objects.get()


@pytest.fixture
def act(blank, order):
    """Return a function that makes an act as a page sends it: act(qty=2)."""

    def make(name="0001", kind="count", **fields):
        of = {"blank": str(blank.pk), "qty": "1", "order": str(order.number)} | fields
        return {"id": f"act-{name}", "kind": kind, "at": timezone.now().timestamp() * 1000, "fields": of, "seq": 1}

    return make


def send(client, *acts, **more):
    sent = {"now": timezone.now().timestamp() * 1000, "acts": list(acts)} | more
    return client.post(KEPT, json.dumps(sent), content_type="application/json")


def test_each_act_is_answered_by_its_id(floor, act):
    answer = send(floor, act("0001"), act("0002", qty="9")).json()["replies"]
    assert [(reply["id"], reply["state"]) for reply in answer] == [("act-0001", "done"), ("act-0002", "clash")]
    assert answer[1]["sentence"].startswith("2 blanks")


@pytest.mark.parametrize(
    "body",
    ["", "[]", "{", "null", '{"now": 1}', '{"now": "x", "acts": []}', '{"now": 1, "acts": [{}]}',
     '{"now": 1, "acts": "abc"}', '{"now": NaN, "acts": []}', '{"now": 1, "acts": [{"id": 5}]}', "[" * 100_000,
     b"\xff\xfe"],
)  # fmt: skip
def test_what_is_no_list_of_acts_is_refused_whole(floor, order, body):
    assert floor.post(KEPT, body, content_type="application/json").status_code == 400


@pytest.mark.parametrize(
    "wrong",
    [
        {"qty": "9" * 300},
        {"blank": "nine"},
        {"blank": "9" * 50},
        {"order": "\x00"},
        {"qty": "²"},
        {"undoes": "x" * 400},
    ],
)
def test_wild_fields_make_a_clash_and_no_fault(floor, act, wrong):
    first, second = send(floor, act(**wrong), act("0002")).json()["replies"]
    assert (first["state"] in ("clash", "done"), second["state"]) == (True, "done")
    assert Move.objects.filter(action="saw").exists()


@pytest.mark.parametrize("now", [0, -1e30, 1e30])
def test_a_clock_that_shows_anything_never_leads_to_the_future(floor, act, now):
    assert send(floor, act(), now=now).status_code == 200
    assert Move.objects.get(action="saw").happened_at <= timezone.now()


def test_more_than_a_batch_holds_is_not_answered_and_so_stays_in_the_queue(floor, act):
    answer = send(floor, *(act(f"{number:04}", kind="dance") for number in range(130))).json()["replies"]
    assert len(answer) == 100


def test_who_is_signed_out_is_sent_to_sign_in_and_the_office_may_not(client, office, act):
    assert send(client, act()).status_code == 302
    assert send(office, act()).status_code == 403
    assert not Clash.objects.exists()


def test_what_was_not_taken_says_of_which_blanks_and_pieces(
    floor, manager, act, blank, words, django_assert_max_num_queries
):
    send(floor, act("0001", qty="9"), act("0002", blank="987654"))
    Clash.objects.create(
        scan_id="act-0003", kind="count", fields={"piece": str(blank.pieces.get().pk), "qty": "2"}, code="over-count",
        sentence="None is left.", station=Station.objects.get(code="cutter-1"), happened_at=timezone.now(),
    )  # fmt: skip
    with django_assert_max_num_queries(10):
        page = words(manager.get("/not-taken/"))
    assert f"count of 9 blanks A, {size_words(blank)}" in page
    assert "count of 2 A1 " in page


def test_the_manager_settles_and_others_read(floor, office, manager, act, words):
    send(floor, act(qty="9"))
    clash = Clash.objects.get()
    assert "the manager settles it" in words(office.get("/not-taken/"))
    manager.post(f"/not-taken/{clash.pk}/settled/", {"how": ""})
    assert "count of 9" in words(manager.get("/not-taken/"))
    manager.post(f"/not-taken/{clash.pk}/settled/", {"how": "<b>counted</b> again"})
    page = manager.get("/not-taken/")
    assert "Nothing waits" in words(page)
    assert "&lt;b&gt;counted" in page.content.decode()


def test_the_manager_has_it_done_after_all_or_reads_why_not(floor, manager, mina, act, order, blank, words):
    moves.hold(order, "the town says no", mina)
    send(floor, act(qty="2"))
    address = f"/not-taken/{Clash.objects.get().pk}/taken/"
    assert "is on hold: the town says no" in words(manager.post(address, follow=True))
    moves.resume(order, mina)
    page = words(manager.post(address, follow=True))
    assert "Nothing waits" in page
    assert "done after all, Raf" in page
    assert "Somebody else has settled this meanwhile." in words(manager.post(address, follow=True))
    blank.refresh_from_db()
    assert blank.sawn == 2


def test_the_day_says_what_is_to_be_settled(floor, manager, act, order, words):
    send(floor, act(qty="9"))
    assert f"{order.number}: 1 act kept at Saw 1 without network not taken." in words(manager.get("/day/"))


def test_the_worker_has_a_version_and_answers_for_static_files(floor):
    text = floor.get("/station/worker.js")
    assert text["Content-Type"].startswith("text/javascript")
    assert text.content.decode().startswith("const VERSION = '")
    assert "worker-src 'self'" in text["Content-Security-Policy"]
