from dataclasses import replace
from datetime import timedelta

import pytest

from orders import moves, sawing, usage
from orders.models import RunRemnant
from shop import account
from shop.models import StockPiece

FT = 304_800


def seen(of, code):
    return [look.sentence for look in usage.day(of).look_at if look.code == code]


@pytest.fixture
def finished(sawn, opened, bo):
    """Eight blanks sawn, the block finished."""
    return sawing.finish_source(opened, bo)


def test_the_day_of_a_sawn_block_adds_up_by_grade_and_by_order(finished, blank, order, bo):
    foam = usage.day(bo.day)
    [grade], [row] = foam.grades, foam.orders
    assert grade.day.issued == finished.piece.volume == 97 * 49 * 37 * 25_400**3
    assert grade.day.good == row.good == 8 * blank.volume
    assert (row.order, row.miscut, row.standing.counts.saw.done) == (order, 0, 8)
    assert foam.total("issued") == foam.total("good") + foam.total("waste")
    assert foam.total("unaccounted") == 0


def test_board_feet_are_a_twelfth_of_a_cubic_foot():
    assert usage.board_feet(FT**3) == pytest.approx(12)


def test_foam_on_the_saw_is_told_apart(opened, bo):
    [grade] = usage.day(bo.day).grades
    assert (grade.day.on_saw_end, grade.blocks) == (opened.piece.volume, 0)


def test_a_miscut_is_shown_with_its_reason_until_it_is_undone(sawn, piece, order, cutter):
    move = moves.miscut_at_wire(piece, 2, "wire sagged", cutter)
    [sentence] = seen(cutter.day, "miscut")
    assert sentence.startswith(f"{order} A: ")
    assert sentence.endswith(" bf miscut, wire sagged.")
    assert usage.day(cutter.day).orders[0].miscut == 2 * piece.blank.volume
    moves.undo(move, cutter)
    assert seen(cutter.day, "miscut") == []


def test_an_order_on_hold_with_foam_on_the_saw_is_to_look_at(opened, order, mina):
    moves.hold(order, "deposit not in.", mina)
    [sentence] = seen(mina.day, "held")
    assert sentence.startswith(f"{order} is on hold since ")
    assert sentence.endswith("K-0001 is on the saw.")


def test_a_planned_remnant_is_to_look_at_until_it_is_back_or_given_up(opened, bo):
    remnant = RunRemnant.objects.create(source=opened, tag="R-0001", l_um=FT, w_um=FT, h_um=FT)
    assert seen(bo.day, "remnant") == ["R-0001 of K-0001, plan 1 is not back on the rack."]
    sawing.give_up(remnant, "corner broke off", bo)
    assert seen(bo.day, "remnant") == []
    assert seen(bo.day, "waste") == ["K-0001: 12.0 bf waste, R-0001 not kept: corner broke off."]


def test_a_grade_below_its_mark_asks_for_blocks_and_remnants_do_not_help(shop, mina):
    grade = shop.grades["Dense 2.0"]
    grade.order_at = 2
    grade.save()
    block = account.receive("K-0007", grade, (FT, FT, FT), mina)
    StockPiece.objects.create(tag="R-0009", grade=grade, l_um=1, w_um=1, h_um=1, parent=block)
    assert "Dense 2.0: 1 block left, below 2. Order more." in seen(mina.day, "low")
    account.receive("K-0008", grade, (FT, FT, FT), mina)
    assert not any("Dense" in sentence for sentence in seen(mina.day, "low"))


def test_a_past_day_shows_what_stood_on_the_rack_at_its_end(opened, shop, bo):
    yesterday = replace(bo, at=bo.at - timedelta(days=1))
    for tag in ("K-0007", "K-0008", "K-0009"):
        account.receive(tag, shop.grades["Firm 1.5"], (FT, FT, FT), yesterday)
    account.issue(account.receive("K-0010", shop.grades["Firm 1.5"], (FT, FT, FT), yesterday), yesterday, held_for="")
    for piece in StockPiece.objects.filter(tag__in=["K-0007", "K-0008"]):
        account.scrap(piece, bo, reason="wet")
    assert [[row.blocks for row in usage.day(act.day).grades] for act in (yesterday, bo)] == [[3], [1]]


def test_a_past_day_asks_for_no_blocks_that_were_there(shop, mina):
    grade = shop.grades["Dense 2.0"]
    grade.order_at = 1
    grade.save()
    yesterday = replace(mina, at=mina.at - timedelta(days=1))
    account.scrap(account.receive("K-0007", grade, (FT, FT, FT), yesterday), mina, reason="wet")
    assert not any("Dense" in sentence for sentence in seen(yesterday.day, "low"))
    assert any("Dense 2.0: 0 blocks left" in sentence for sentence in seen(mina.day, "low"))


def test_a_closed_day_keeps_its_figures_and_shows_later_corrections_as_lines_of_their_own(finished, shop, bo):
    block = account.receive("K-0007", shop.grades["Firm 1.5"], (FT, FT, FT), bo)
    account.close_day(bo.day, bo)
    before = usage.day(bo.day)
    account.correct(block, bo, found=False, reason="not on rack 2")
    after = usage.day(bo.day)
    assert after.grades[0].day == before.grades[0].day
    assert (before.later, [line.reason for line in after.later]) == ((), ["not on rack 2"])
    assert after.closed.closed_by == bo.by


def test_a_day_without_foam_is_empty(shop, mina):
    foam = usage.day(mina.day - timedelta(days=30))
    assert (foam.grades, foam.orders, foam.later, foam.total("issued")) == ((), (), (), 0)


def test_the_day_is_read_with_the_same_few_queries_however_much_was_sawn(finished, bo, django_assert_max_num_queries):
    with django_assert_max_num_queries(20):
        usage.day(bo.day)
