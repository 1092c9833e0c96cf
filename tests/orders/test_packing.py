"""Paper for what comes after the wire, filled from the rows, each print kept."""

import pytest

from cutsheets.codes import make_bundle_code, make_sheet_code
from orders import batches, entry, moves, packing
from orders.models import Order, Print
from orders.papers import Paper
from shop.models import CoatSystem, ShopRules
from tests.orders.test_travellers import codes, words

MADE = {
    "coat-sheet": packing.coat_sheet_of,
    "pack-list": packing.pack_list_of,
    "packing-slip": packing.packing_slip_of,
    "label": lambda order, act: packing.print_bundle_labels(order, act, "tag-4x3"),
}

CODES = {"label": {make_bundle_code(4101, "A", number) for number in (1, 2)}}


def printed(sheet, order, act, **asked):
    """Return a sheet as the page of the order prints it."""
    return batches.draw("Sheet", [Paper(sheet, order.number, asked)], act).pdf


@pytest.fixture
def coated(draft, line_data, mina):
    """The released order, its line under base coat and mesh."""
    mesh = CoatSystem.objects.get(name__startswith="Base")
    data = line_data | {"coat_system": mesh, "coat": "1/8"}
    entry.save_line(draft, data, mina, version=draft.version, line=draft.lines.get())
    moves.release(Order.objects.get(), mina)
    return Order.objects.get()


@pytest.mark.parametrize("sheet", MADE)
def test_each_sheet_carries_the_order_and_its_print_is_kept(coated, mina, sheet):
    for number in (1, 2):
        pdf = printed(sheet, coated, mina, **({"grid": "tag-4x3"} if sheet == "label" else {}))
        assert set.union(*codes(pdf)) == CODES.get(sheet, {make_sheet_code(coated.number, "A")})
        kept = Print.objects.last()
        assert (kept.sheet, kept.order, kept.revision, kept.number) == (sheet, coated, 1, number)
    if sheet != "label":
        assert "reprint 2" in words(pdf)


@pytest.mark.parametrize("sheet", MADE)
def test_a_draft_and_a_held_order_print_nothing_and_keep_nothing(draft, mina, refused, sheet):
    refused("not-released", MADE[sheet], draft, mina)
    moves.release(draft, mina)
    moves.hold(draft, "deposit not in.", mina)
    refused("held", MADE[sheet], Order.objects.get(), mina)
    assert not Print.objects.exists()


def test_the_coat_sheet_has_the_shops_lap_hours_and_faces(coated, mina):
    said = words(printed("coat-sheet", coated, mina))
    for text in ("Base coat and mesh 1/8", "Wall face bare", "2 laps of 2 1 2 in", "+ 48 h ="):
        assert text in said


def test_the_coat_sheet_says_when_what_was_coated_is_ready(coated, mina):
    assert "Ready Wed 25 Nov 2026 14:12" in words(
        printed("coat-sheet", coated, mina, coated="2026-11-23T14:12:00-05:00")
    )


def test_an_order_without_coat_has_no_coat_sheet_and_no_print_of_it(order, mina, refused):
    refused("no-coat", packing.coat_sheet_of, order, mina)
    assert not Print.objects.exists()


def test_bundles_are_as_large_as_the_shop_wants_them(order, mina):
    assert "Bundles: 2 bundles, 8 pieces" in words(printed("pack-list", order, mina))
    rules = ShopRules.current()
    rules.bundle_pieces = 3
    rules.save()
    assert "Bundles: 3 bundles, 8 pieces" in words(printed("pack-list", order, mina))
    assert len(codes(packing.print_bundle_labels(order, mina, "tag-4x3"))) == 3


def test_labels_begin_at_the_first_one_left_and_no_unknown_grid_is_taken(order, mina, refused):
    labels = packing.print_bundle_labels(order, mina, "letter-2x3", 6)
    assert len(codes(labels)) == 2
    refused("grid-unknown", packing.print_bundle_labels, order, mina, "letter-9x9")
    refused("label-start", packing.print_bundle_labels, order, mina, "letter-2x3", 7)
    assert Print.objects.count() == 1


def test_the_weight_holds_the_coat_of_the_shop(coated, mina):
    heavy = words(printed("pack-list", coated, mina))
    CoatSystem.objects.update(density=1)
    light = words(printed("pack-list", coated, mina))
    assert heavy.partition("Bundles:")[2] != light.partition("Bundles:")[2]


def test_an_order_of_too_many_bundles_keeps_no_print_and_spoils_no_file_of_others(order, mina, monkeypatch, refused):
    monkeypatch.setattr("cutsheets.sheets.packing.MOST_BUNDLES", 0)
    refused("too-many-bundles", packing.pack_list_of, order, mina)
    drawn = batches.draw("Both", [Paper("pack-list", order.number), Paper("traveller", order.number)], mina)
    assert [row.sheet for row in Print.objects.all()] == ["traveller"]
    assert len(drawn.left_out) == 1
