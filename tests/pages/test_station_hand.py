"""Start, pause, join, at whose cost, and a machine that is down, on the pages of a station."""

import re

import pytest
from floor_shop import CORNICE, plan_for, theatre

from cutsheets.codes import make_sheet_code
from orders import moves, sawing
from orders.models import Blank, InHand, Move, Piece
from shop.models import Outage, Station


@pytest.fixture
def opened(shop, order, bo):
    return sawing.open_source(plan_for(shop, order).sources.get(), bo)


@pytest.fixture
def press(floor, order):
    """Return a function that presses something: press("start"), press("down", reason="Power")."""

    def do(what, station="saw-1", **fields):
        return floor.post(f"/station/{station}/{what}/", {"order": order.number} | fields, follow=True)

    return do


def see(floor, order, **query):
    return floor.get("/station/saw-1/", {"order": order.number} | query).content.decode()


def test_start_becomes_pause_and_pause_asks_why(floor, order, opened, press):
    assert "Start" in see(floor, order)
    page = press("start").content.decode()
    assert "ask=pause" in page
    assert "End of shift" in see(floor, order, ask="pause")
    press("pause", reason="End of shift")
    assert InHand.objects.get().reason == "End of shift"


def test_another_saw_is_told_and_may_join(floor, order, opened, bo, press):
    moves.count_sawn(Blank.objects.get(), 1, bo)
    Station.objects.create(code="saw-2", name="Saw 2", kind=Station.Kind.SAW)
    page = floor.post("/station/saw-2/scan/", {"raw": make_sheet_code(order.number, "A")})
    said = page.content.decode()
    assert page.status_code == 409
    assert "In hand" in said
    assert "Saw 1: Bo L." in said
    assert "1 of 3 sawn" in said
    joined = press("start", "saw-2").content.decode()
    assert "Also in hand: Saw 1, Bo L." in joined


def test_at_whose_cost_is_asked_and_booked(floor, order, opened, press):
    key = Blank.objects.get().pk
    assert "the foam plant’s" in see(floor, order, pick=key, ask="why", why=1).replace("&#x27;", "’")
    press("miscut", blank=key, qty=1, reason="void", cost="supplier", pick=key)
    assert Move.objects.get(action="saw-miscut").cost == "supplier"


def test_nonsense_for_a_cost_is_ours(order, opened, press):
    press("miscut", blank=Blank.objects.get().pk, qty=1, reason="void", cost="nobody")
    assert Move.objects.get(action="saw-miscut").cost == "ours"


def test_a_blank_that_is_not_there_is_booked_and_due_again(floor, order, opened, bo, press):
    moves.count_sawn(Blank.objects.get(), 3, bo)
    piece = order.lines.get().pieces.get()
    asked = floor.get("/station/cutter-1/", {"order": order.number, "pick": piece.pk, "ask": "why", "why": 7})
    assert "Missing: on the books, not to be found" in asked.content.decode()
    press("miscut", "cutter-1", piece=piece.pk, qty=1, reason="Missing: on the books, not to be found")
    assert Blank.objects.get().to_saw == 1


def test_a_machine_that_is_down_has_one_act_and_the_manager_sees_it(floor, manager, order, opened, press):
    page = press("down", reason="Wire broke").content.decode()
    assert "Saw 1 is down" in page
    assert "Blank sawn" not in page
    assert "Saw 1 is down since" in manager.get("/day/").content.decode()
    page = press("up").content.decode()
    assert "Blank sawn" in page
    assert Outage.objects.get().until is not None


def test_office_and_queue_say_who_has_it(floor, office, order, opened, bo):
    moves.count_sawn(Blank.objects.get(), 1, bo)
    said = "Saw 1, Bo L., since"
    assert said in office.get(f"/orders/{order.number}/").content.decode()
    assert said in floor.get("/station/saw-1/", {"ask": "next"}).content.decode()


def test_the_first_piece_is_measured_before_the_run(floor, order, opened, bo, press):
    moves.count_sawn(Blank.objects.get(), 3, bo)
    piece = order.lines.get().pieces.get()
    at = {"order": order.number, "pick": piece.pk}
    assert "measure it" in floor.get("/station/cutter-1/", at).content.decode()
    assert "Measured, it is right" in floor.get("/station/cutter-1/", at | {"ask": "first"}).content.decode()
    page = press("first", "cutter-1", piece=piece.pk, heat="4.2 A", feed="45", pick=piece.pk).content.decode()
    assert "right, Bo L." in page
    assert "last used: heat 4.2 A, feed 45 in a minute, Cutter 1, Bo L." in page
    assert "kerf 1/16 in" in re.sub(r"<[^>]*>", "", page.replace("</span><span>", "/"))
    assert "Feed a minute: " in press("first", "cutter-1", piece=piece.pk, feed="fast").content.decode()


def test_the_screen_of_the_first_piece_shows_what_is_measured(floor, order, opened, bo, words):
    moves.count_sawn(Blank.objects.get(), 3, bo)
    page = floor.get("/station/cutter-1/", {"order": order.number, "pick": Piece.objects.get().pk, "ask": "first"})
    said = words(page)
    for size in ("length of A1 40 39 7/8 to 40 1/8", "height of the section 4 3/4 4 11/16 to 4 13/16"):
        assert size in said
    assert "on the cut sheet" not in said


def test_a_mitred_first_piece_is_measured_at_both_points(floor, shop, bo, words):
    order = theatre(shop, lines=(("TP-14", CORNICE),))
    sawing.open_source(plan_for(shop, order).sources.get(), bo)
    moves.count_sawn(Blank.objects.first(), 3, bo)
    page = floor.get("/station/cutter-1/", {"order": order.number, "pick": Piece.objects.first().pk, "ask": "first"})
    said = words(page)
    assert "long point of A1 95" in said
    assert "short side of A1 86 1/8" in said
