"""A miscut that a plan has replaced is not undone behind its back: no more is planned than is due."""

import pytest

from orders import moves, planning, sawing
from orders.planning.wanted import coming
from orders.planning.working import work
from shop import account
from shop.acts import Act

HALF = (1_300_000, 600_000, 260_000)  # gives a half of the eight blanks


@pytest.fixture
def raf(shop):
    return Act(shop.people["raf"])


@pytest.fixture
def first(order, shop, raf, bo):
    """The first of the two blocks of an accepted plan, open on the saw; a third stands free on the rack."""
    for tag in ("K-0001", "K-0002", "K-0003"):
        account.receive(tag, shop.grades["Firm 1.5"], HALF, raf)
    run = planning.accept(planning.make_plan(shop.grades["Firm 1.5"], raf, iterations=3), raf)
    return sawing.open_source(run.sources.first(), bo)


def planned_again(source, raf):
    new = planning.replan(source.run, raf)
    work(new.pk, iterations=2)
    return planning.accept(type(new).objects.get(pk=new.pk), raf)


def too_many(blank):
    blank.refresh_from_db()
    return coming().get(blank.pk, 0) - blank.to_saw


def test_a_miscut_at_the_saw_that_a_new_plan_replaced_stays(first, blank, bo, raf, refused):
    miscut = moves.miscut_at_saw(blank, 1, "fence slipped", bo)
    new = planned_again(first, raf)
    refusal = refused("planned-again", moves.undo, miscut, bo)
    assert f"throw plan {new.number} away" in refusal.sentence
    assert too_many(blank) == 0


def test_a_miscut_at_the_wire_that_a_new_plan_replaced_stays(first, blank, piece, bo, cutter, raf, refused):
    moves.count_sawn(blank, 4, bo)
    miscut = moves.miscut_at_wire(piece, 1, "wire broke", cutter)
    planned_again(first, raf)
    refused("planned-again", moves.undo, miscut, cutter)
    assert too_many(blank) == 0


def test_with_the_new_plan_thrown_away_the_miscut_is_undone(first, blank, bo, raf):
    miscut = moves.miscut_at_saw(blank, 1, "fence slipped", bo)
    planning.throw_away(planned_again(first, raf), raf)
    moves.undo(miscut, bo)
    blank.refresh_from_db()
    assert (blank.saw_miscut, too_many(blank) <= 0) == (0, True)


def test_a_miscut_that_no_plan_replaced_is_undone(first, blank, bo):
    moves.undo(moves.miscut_at_saw(blank, 1, "fence slipped", bo), bo)
    assert too_many(blank) == 0


def test_a_draft_made_for_a_miscut_is_refused_once_that_is_undone(first, blank, bo, raf, refused):
    miscut = moves.miscut_at_saw(blank, 1, "fence slipped", bo)
    new = planning.replan(first.run, raf)
    work(new.pk, iterations=2)
    moves.undo(miscut, bo)
    refused("plan-old", planning.accept, type(new).objects.get(pk=new.pk), raf)
