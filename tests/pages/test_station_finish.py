"""The screens of coating, packing and turning: what each shows, and what it does not."""

from datetime import timedelta

import pytest
from django.utils import timezone
from floor_shop import BAND, plan_for, theatre

from cutsheets.codes import make_bundle_code, make_sheet_code
from orders import entry, moves, sawing
from orders.models import Blank, Move, Order, Piece
from shop.acts import Act
from shop.models import CoatSystem, ShopRules, Station


@pytest.fixture
def shop(shop):
    for kind in ("coat", "pack", "turning"):
        shop.stations[f"{kind}-1"] = Station.objects.create(code=f"{kind}-1", name=Station.Kind(kind).label, kind=kind)
    return shop


@pytest.fixture
def order(shop, bo):
    """Eight pieces under base coat and mesh, sawn and cut."""
    made = theatre(shop, lines=(("TP-22", BAND),))
    made.lines.update(coat_system=CoatSystem.objects.get(name__startswith="Base"), note="ends wrapped")
    sawing.open_source(plan_for(shop, made).sources.get(), bo)
    moves.count_sawn(Blank.objects.get(), 8, bo)
    moves.count_cut(Piece.objects.get(), 8, Act(bo.by, shop.stations["cutter-1"]))
    return Order.objects.get(pk=made.pk)


@pytest.fixture
def at(floor, words):
    """Return what a station's page says to a query."""
    return lambda code, **query: words(floor.get(f"/station/{code}/", query))


def coat(shop, qty, *, hours_ago=0):
    act = Act(shop.people["bo"], shop.stations["coat-1"], at=timezone.now() - timedelta(hours=hours_ago))
    return moves.count_coated(Piece.objects.get(), qty, act)


def test_the_coat_screen_says_what_the_coat_sheet_says(at, order):
    said = at("coat-1", order=order.number)
    for text in (
        "8 left",
        "Wall face bare. Both ends bare.",
        "1/8 in, Base coat and mesh 1/8",
        "Cures 48 h",
        "ends wrapped",
    ):
        assert text in said
    # 2-1/2 × 5 in section, wall bare, by hand: the coated edges are 9-1/2 in, each piece is 40 in long
    assert "Girth 9 1/2 in" in said
    assert f"{9.5 * 40 / 144:.1f} ft² each" in said
    assert f"{8 * 9.5 * 40 / 144:.1f} ft² to coat" in said
    assert f"{(9.5 + 2 * 2.5) * 40 / 144:.1f} ft² each, 2 laps of 2 1/2 in" in said


def test_a_capped_end_is_named(at, order):
    Piece.objects.update(left={"kind": "cap", "angle": None})
    assert "Coat the left end." in at("coat-1", order=order.number)


def test_each_batch_has_its_clock(at, shop, order):
    coat(shop, 3, hours_ago=10)
    coat(shop, 2)
    said = at("coat-1", order=order.number)
    ready = [timezone.localtime(move.happened_at + timedelta(hours=48)) for move in Move.objects.filter(action="coat")]
    assert f"3 of A1 ready {ready[0]:%H:%M}" in said
    assert f"2 of A1 ready {ready[1]:%H:%M}" in said
    assert f"{order.number} 3 of A1 ready {ready[0]:%H:%M}" in at("coat-1")


def test_the_packer_sees_bundle_counts_and_what_is_short(at, shop, order):
    ShopRules.objects.update(bundle_pieces=3)
    coat(shop, 4, hours_ago=49)
    coat(shop, 2)
    said = at("pack-1", order=order.number)
    for text in ("Bundle 1 of 3", "3 pieces", "0 of 8", "Short: 2 not coated, 2 curing", "A1 into bundle 1", "+3"):
        assert text in said


def test_a_bundle_is_filled_by_one_act_and_the_next_one_comes(floor, words, shop, order):
    ShopRules.objects.update(bundle_pieces=3)
    coat(shop, 8, hours_ago=49)
    sent = {"piece": Piece.objects.get().pk, "qty": 3, "order": order.number, "scan_id": "p1"}
    said = words(floor.post("/station/pack-1/count/", sent, follow=True))
    assert Piece.objects.get().packed == 3
    assert "Bundle 2 of 3" in said


def test_the_label_of_a_bundle_shows_that_bundle(floor, words, shop, order):
    ShopRules.objects.update(bundle_pieces=3)
    coat(shop, 8, hours_ago=49)
    sent = {"raw": make_bundle_code(order.number, "A", 3), "scan_id": "s1"}
    said = words(floor.post("/station/pack-1/scan/", sent, follow=True))
    assert "Bundle 3 of 3" in said
    assert "2 pieces" in said
    old = {"raw": make_bundle_code(order.number, "B", 3), "scan_id": "s2"}
    assert floor.post("/station/pack-1/scan/", old).status_code == 409


def test_a_refusal_for_curing_names_the_moment(floor, words, shop, order):
    ready = timezone.localtime(coat(shop, 8).happened_at + timedelta(hours=48))
    sent = {"piece": Piece.objects.get().pk, "qty": 1, "order": order.number, "scan_id": "p1"}
    answer = floor.post("/station/pack-1/count/", sent)
    assert answer.status_code == 409
    assert f"8 of A1 still cure; ready {ready:%a} {ready.day} {ready:%b} {ready.year} {ready:%H:%M}." in words(answer)
    assert Piece.objects.get().packed == 0


def test_a_packing_screen_still_counts_after_the_shops_rules_changed(at, shop, order):
    coat(shop, 8, hours_ago=49)
    Order.objects.get().lines.update(spec={"section": "gone"})
    assert "0 of 8 packed" in at("pack-1", order=order.number)
    assert "8 left" not in at("coat-1", order=order.number)


# Turning


FINIAL = {"half_profile": [[0, 3], [2, 4], [10, 1]], "stub": {"base": "1 1/2", "top": 1}}


@pytest.fixture
def finial(shop, mina):
    made = entry.create_order({"customer": shop.customer, "job": "Rose garden"}, mina)
    line = {"kind": "turned", "grade": shop.grades["Dense 2.0"], "qty": 4, "spec": FINIAL, "note": "sand lightly"}
    entry.save_line(made, line, mina, version=made.version)
    made.refresh_from_db()
    moves.release(made, mina)
    return Order.objects.get(pk=made.pk)


def test_turning_shows_stubs_centres_diameter_and_note(at, finial):
    said = at("turning-1", order=finial.number)
    for text in ("largest diameter 8 in", "stub, base 1 1/2 in", "stub, top 1 in", "between centres", "sand lightly"):
        assert text in said


def test_turning_says_where_a_piece_is_beyond_its_machine(at, shop, finial):
    Station.objects.filter(code="turning-1").update(centres=200)
    assert "Too large for Turning: length between centres" in at("turning-1", order=finial.number)


def test_the_cutter_sends_what_spins_to_turning(floor, words, finial):
    sent = {"raw": make_sheet_code(finial.number, "A"), "scan_id": "s1"}
    said = words(floor.post("/station/cutter-1/scan/", sent))
    assert "Turning" in said
    assert "None of its pieces is cut here" in said


# What is next


def test_what_is_next_says_how_many_are_ready(at, shop, order):
    assert "8 ready" in at("coat-1", ask="next")
    assert "ready" not in at("pack-1", ask="next").replace("Scanner ready", "")
    coat(shop, 3, hours_ago=49)
    assert "3 ready" in at("pack-1", ask="next")
    assert "5 ready" in at("coat-1", ask="next")


def test_the_saw_sees_what_it_opens_next_of_its_plan(at, shop, order, finial):
    assert "not planned" in at("saw-1", ask="next")
    theatre(shop, lines=(("TP-22", BAND),))
    plan_for(shop, Order.objects.order_by("number").last(), tags=("K-0007",), remnant="")
    assert "K-0007 of plan" in at("saw-1", ask="next")


# The office


def test_the_office_sees_what_is_coated_and_packed_where_an_order_has_it(office, words, shop, order):
    coat(shop, 4, hours_ago=49)
    moves.count_packed(Piece.objects.get(), 3, Act(shop.people["bo"], shop.stations["pack-1"]))
    page = words(office.get(f"/orders/{order.number}/"))
    for text in ("4 of 8 coated", "3 of 8 packed", "4 pieces of A coated", "3 pieces of A packed"):
        assert text in page
    assert "Sawn Cut Coated Packed" in words(office.get("/orders/"))


def test_pieces_spoiled_after_the_saw_are_said_where_an_order_is_coated(office, words, shop, order):
    moves.ruin_before_coat(Piece.objects.get(), 2, "fell", Act(shop.people["bo"], shop.stations["coat-1"]))
    assert "2 after the saw" in words(office.get(f"/orders/{order.number}/"))


def test_a_shop_that_neither_coats_nor_packs_has_no_columns_for_it(office, words, released):
    Piece.objects.update(wants_coat=False, wants_pack=False)
    assert "Sawn Cut Needed" in words(office.get("/orders/"))


def test_the_day_says_how_far_its_orders_are_packed(manager, words, order):
    assert "Sawn Coated Packed" in words(manager.get("/day/"))


def test_the_code_of_a_bundle_leads_the_office_to_its_order(office, order):
    found = office.get("/orders/", {"q": make_bundle_code(order.number, "A", 2)})
    assert found.url == f"/orders/{order.number}/"


def test_a_number_offers_no_pieces_that_still_cure(at, shop, order):
    coat(shop, 4, hours_ago=49)
    coat(shop, 4)
    said = at("pack-1", order=order.number, pick=Piece.objects.get().pk, ask="count")
    assert "4 left" in said


def test_a_piece_dropped_while_it_cures_is_booked_at_packing(floor, words, at, shop, order):
    coat(shop, 8)
    said = at("pack-1", order=order.number)
    assert "A1 still cures, ready" in said
    assert "Trouble" in said
    sent = {"piece": Piece.objects.get().pk, "qty": 2, "reason": "fell", "order": order.number, "scan_id": "m1"}
    floor.post("/station/pack-1/miscut/", sent, follow=True)
    assert (Piece.objects.get().cut, Blank.objects.get().to_saw) == (6, 2)
