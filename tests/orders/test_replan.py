"""Part of a plan is sawn, then something changes: the rest is planned again out of what is really left."""

import pytest

from orders import entry, moves, planning, sawing
from orders.models import Order, RunSource
from orders.planning.working import work
from shop import account
from shop.acts import Act
from shop.models import StockMove, StockPiece

HALF = (1_300_000, 600_000, 260_000)  # gives a half of the eight blanks
SHORT = (1_000_000, 600_000, 260_000)  # no blank is as short as that


@pytest.fixture
def firm(shop):
    return shop.grades["Firm 1.5"]


@pytest.fixture
def raf(shop):
    return Act(shop.people["raf"])


@pytest.fixture
def run(order, firm, raf):
    """An accepted plan: half of the eight blanks out of each of two blocks."""
    for tag in ("K-0001", "K-0002"):
        account.receive(tag, firm, HALF, raf)
    return planning.accept(planning.make_plan(firm, raf, iterations=3), raf)


@pytest.fixture
def first(run, bo):
    """The first block of the plan, open on the saw."""
    return sawing.open_source(run.sources.first(), bo)


@pytest.fixture
def second(run):
    return run.sources.last()


@pytest.fixture
def spare(firm, raf):
    """A third block, free on the rack."""
    return account.receive("K-0003", firm, HALF, raf)


@pytest.fixture
def later(shop, mina, line_data):
    """Return a function that releases one more order of this many pieces."""

    def release(qty=2):
        order = entry.create_order({"customer": shop.customer, "job": "Wickett Library, porch"}, mina)
        spec = line_data["spec"] | {"pieces": [{"length": 40, "qty": qty}]}
        entry.save_line(order, line_data | {"spec": spec}, mina, version=order.version)
        moves.release(Order.objects.get(pk=order.pk), mina)
        return Order.objects.get(pk=order.pk)

    return release


def again(run, act):
    """Plan the rest of a plan again, as a worker does, and return the draft."""
    new = planning.replan(run, act)
    work(new.pk, iterations=3)
    new.refresh_from_db()
    return new


def given(run):
    return sum(blank["qty"] for blank in run.instance["blanks"])


def states():
    return dict(StockPiece.objects.order_by("tag").values_list("tag", "state"))


def said(run):
    return [(change.code, change.sentence) for change in planning.changes_since(run)]


# What changed ---------------------------------------------------------------------------------------------------------


def test_a_plan_fits_until_something_changes(run, first, blank, bo):
    moves.count_sawn(blank, 4, bo)
    assert planning.changes_since(run) == []


def test_ruined_blanks_and_a_block_that_is_no_good_are_named(order, run, first, second, blank, bo):
    moves.miscut_at_saw(blank, 1, "fence slipped", bo)
    sawing.leave_out(second, None, "soaked", bo)
    size = "41 × 5-1/2 × 7-1/2"
    assert said(run) == [
        ("foam", "K-0002 is not as planned: soaked."),
        ("wanted", f"5 more of {order} A1, {size}, wait in no plan (1 ruined at the saw)."),
    ]


def test_one_blank_that_is_due_again_waits(order, run, first, blank, bo):
    moves.miscut_at_saw(blank, 1, "fence slipped", bo)
    assert said(run) == [
        ("wanted", f"1 more of {order} A1, 41 × 5-1/2 × 7-1/2, waits in no plan (1 ruined at the saw).")
    ]


def test_an_order_on_hold_or_cancelled_makes_its_planned_blanks_unwanted(order, run, mina):
    moves.hold(order, "deposit not in.", mina)
    assert said(run) == [("unwanted", f"Order {order} is on hold: 8 of {order} A1, 41 × 5-1/2 × 7-1/2, are planned.")]
    moves.cancel(order, "job given up", mina)
    assert said(run) == [("unwanted", f"Order {order} is cancelled: 8 of {order} A1, 41 × 5-1/2 × 7-1/2, are planned.")]


def test_another_quantity_or_size_makes_planned_blanks_unwanted(order, run, line_data, mina):
    for length, qty, what in ((40, 5, "waits for 5"), (50, 5, "has a newer sheet, without this size")):
        order.refresh_from_db()
        spec = line_data["spec"] | {"pieces": [{"length": length, "qty": qty}]}
        entry.save_line(order, line_data | {"spec": spec}, mina, version=order.version, line=order.lines.get())
        assert f"Order {order} {what}: 8 of {order} A1, 41 × 5-1/2 × 7-1/2, are planned." in dict(said(run)).values()


def test_an_order_that_came_later_is_named_one_that_was_left_out_is_not(order, firm, raf, later):
    account.receive("K-0001", firm, (2_463_800, 1_244_600, 939_800), raf)
    later()
    run = planning.accept(planning.make_plan(firm, raf, iterations=0, order_numbers=[order.number]), Act(raf.by))
    assert planning.changes_since(run) == []
    new = later(3)
    assert said(run) == [("later", f"3 blanks of order {new} in no plan yet.")]


def test_what_a_sawn_plan_did_not_give_is_named_until_another_plan_gives_it(order, run, first, second, blank, bo, raf):
    sawing.leave_out(second, (1_200_000, 600_000, 260_000), "end broken off", bo)
    moves.count_sawn(blank, 4, bo)
    for remnant in first.remnants.all():
        sawing.give_up(remnant, "too small", bo)
    sawing.finish_source(first, bo)
    run.refresh_from_db()
    assert run.state == "done"
    assert [code for code, _ in said(run)] == ["foam", "wanted"]
    planning.accept(again(run, raf), raf)
    assert said(run) == []


def test_a_plan_that_is_thrown_away_is_not_compared(run, raf, order, mina):
    planning.throw_away(run, raf)
    moves.hold(order, "deposit not in.", mina)
    assert planning.changes_since(run) == []


# Planned again --------------------------------------------------------------------------------------------------------


def test_the_rest_is_planned_without_what_is_sawn_and_without_what_lies_open(run, first, spare, blank, bo, raf, later):
    moves.count_sawn(blank, 2, bo)
    moves.miscut_at_saw(blank, 1, "fence slipped", bo)
    later(2)
    new = again(run, raf)
    # 8 − 2 sawn − 1 that the open block still gives, and 2 of the order that came later
    assert (new.state, new.follows, given(new)) == ("draft", run, 7)


def test_the_old_plan_stays_in_force_until_the_new_one_is_accepted(run, first, second, spare, bo, raf, later):
    later()
    new = again(run, raf)
    planning.throw_away(new, raf)
    run.refresh_from_db()
    assert (run.state, sawing.replaced_by(run)) == ("accepted", None)
    assert states() == {"K-0001": "saw", "K-0002": "reserved", "K-0003": "rack"}
    sawing.open_source(second, bo)


def test_accepting_ends_the_old_plan_and_reserves_for_the_new_one(run, first, second, spare, blank, raf, bo, refused):
    moves.miscut_at_saw(blank, 1, "fence slipped", bo)
    new = planning.accept(again(run, raf), raf)
    run.refresh_from_db()
    assert (run.state, sawing.replaced_by(run), given(new)) == ("done", new, 5)
    assert set(StockPiece.objects.filter(held_for=str(new)).values_list("tag", flat=True)) == {"K-0002", "K-0003"}
    assert planning.demand(run.grade) == []
    refusal = refused("plan-replaced", sawing.open_source, second, bo)
    assert refusal.sentence == f"Plan {new.number} has replaced plan {run.number}; take its saw sheet."
    assert moves.count_sawn(blank, 3, bo).qty == 3, "what lies open goes on as planned"


@pytest.mark.usefixtures("first", "spare")
def test_a_block_opened_meanwhile_stops_the_new_plan_and_nothing_is_freed(run, second, bo, raf, later, refused):
    later(1)
    new = again(run, raf)
    sawing.open_source(second, bo)
    refused("plan-old", planning.accept, new, raf)
    run.refresh_from_db()
    assert (run.state, states()) == ("accepted", {"K-0001": "saw", "K-0002": "saw", "K-0003": "rack"})
    assert not StockMove.objects.filter(kind="free").exists()


def test_a_plan_of_which_nothing_was_opened_is_thrown_away_by_its_successor(run, spare, raf, later):
    later(1)
    new = planning.accept(again(run, raf), raf)
    run.refresh_from_db()
    assert (run.state, given(new), sawing.replaced_by(run)) == ("void", 9, new)


def test_a_plan_that_was_stopped_meanwhile_gives_nothing_and_the_new_one_is_accepted(run, first, raf):
    new = again(run, raf)
    planning.stop(run, raf)
    assert planning.accept(new, raf).state == "accepted"


def test_where_the_rack_does_not_hold_the_rest_the_old_plan_is_not_lost(run, second, bo, raf):
    sawing.leave_out(second, SHORT, "end broken off", bo)
    new = again(run, raf)
    run.refresh_from_db()
    assert (new.state, run.state, states()["K-0001"]) == ("failed", "accepted", "reserved")
    assert "Receive blocks of Firm 1.5" in new.refusal


def test_blocks_that_were_to_stay_shut_still_do(run, spare, raf):
    run.asked = planning.Asked(1, out=("K-0003", "K-0009")).as_json()
    run.save()
    assert planning.replan(run, raf).asked["out"] == ["K-0003"]


def test_there_is_nothing_to_plan_again_where_nothing_is_wanted(run, order, firm, raf, mina, refused):
    moves.hold(order, "deposit not in.", mina)
    refused("nothing-wanted", planning.replan, run, raf)
    planning.throw_away(run, raf)
    refused("plan-over", planning.replan, run, raf)


def test_of_two_plans_for_one_rest_the_second_is_out_of_date(run, raf, refused):
    one, two = again(run, raf), again(run, raf)
    planning.accept(one, raf)
    refused("plan-old", planning.accept, two, raf)
    assert RunSource.objects.filter(run=two).count() == 0
