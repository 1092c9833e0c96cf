"""Acts that a station kept without network: each is taken once, at its own time, or becomes one clash."""

from datetime import timedelta

import pytest
from django.utils import timezone

from orders import kept, moves, sawing
from orders.kept import Kept
from orders.models import Blank, Clash, InHand, Move, Revision, Scan
from shop import account
from shop.acts import Act
from shop.models import StockMove
from shop.refusals import Refused

HOUR = timedelta(hours=1)


@pytest.fixture
def start(order):
    """A while after the order was released; not long ago, so that it seldom is another day."""
    Revision.objects.update(at=timezone.now() - HOUR)
    return timezone.now() - HOUR / 6


@pytest.fixture
def send(bo, opened, start):
    """Return a function that sends acts of Saw 1, whose clock is right: send(count("a", 2)) → what became of each."""

    def send_all(*acts, station=bo.station, ahead=timedelta(0)):
        return [reply.state for reply in kept.take(acts, station, there=timezone.now() + ahead, by=bo.by)]

    return send_all


@pytest.fixture
def count(blank, start, order):
    """Return a kept count of blanks: count("a", 2) is two of them, a second after the one before."""
    seconds = iter(range(100))

    def make(name, qty=1, **more):
        fields = {"blank": str(blank.pk), "qty": str(qty), "order": str(order.number)}
        return Kept(f"count-{name}", "count", start + timedelta(seconds=next(seconds)), fields, **more)

    return make


@pytest.fixture
def undo(start):
    return lambda of: Kept(f"undo-of-{of.id}", "undo", of.at + timedelta(seconds=30), {"undoes": of.id})


def sawn():
    return Blank.objects.get().sawn


def clash():
    found = Clash.objects.get()
    return found.code, found.fields.get("qty")


# Taken ----------------------------------------------------------------------------------------------------------------


def test_a_kept_count_is_taken_with_the_time_at_which_it_happened(send, count, start):
    one = count("a", 2)
    assert send(one) == ["done"]
    move = Move.objects.get(scan_id=one.id)
    assert abs(move.happened_at - one.at) < timedelta(seconds=5)
    assert (sawn(), move.station.code, move.recorded_at - move.happened_at > HOUR / 7) == (2, "saw-1", True)


def test_a_repeat_changes_nothing(send, count):
    one, two = count("a", 2), count("b", 1)
    assert send(one) == ["done"]
    assert send(one, two) == ["already", "done"]
    assert send(one, two) == ["already", "already"]
    assert sawn() == 3


def test_a_count_that_the_server_did_before_its_reply_was_lost_is_not_done_again(send, count, blank, bo):
    one = count("a", 2)
    moves.count_sawn(blank, 2, Act(bo.by, bo.station, scan_id=one.id))
    assert send(one) == ["already"]
    assert sawn() == 2


def test_the_page_that_comes_too_late_with_a_count_that_clashed_is_refused(send, count, blank, bo, opened):
    one = count("a", 9)
    assert send(one) == ["clash"]
    with pytest.raises(Refused, match="left to saw"):
        moves.count_sawn(blank, 1, Act(bo.by, bo.station, scan_id=one.id))
    assert sawn() == 0


@pytest.mark.parametrize("ahead", [timedelta(days=400), -timedelta(days=400), 7 * HOUR])
def test_a_clock_that_is_wrong_is_put_right_by_what_it_shows_when_it_sends(send, count, ahead):
    right = count("a")
    wrong = Kept(right.id, "count", right.at + ahead, right.fields)
    assert send(wrong, ahead=ahead) == ["done"]
    assert abs(Move.objects.get(scan_id=right.id).happened_at - right.at) < timedelta(seconds=5)


def test_no_act_is_ahead_of_the_servers_clock(send, count):
    one = count("a")
    assert send(Kept(one.id, "count", timezone.now() + 2 * HOUR, one.fields)) == ["done"]
    assert Move.objects.get(scan_id=one.id).happened_at <= timezone.now()


def test_no_act_is_before_the_release_of_its_order(send, count, order):
    one = count("a")
    assert send(Kept(one.id, "count", one.at - 5 * HOUR, one.fields)) == ["done"]
    assert Move.objects.get(scan_id=one.id).happened_at == Revision.objects.get().at


def test_who_did_it_is_not_who_sends_it(send, count, shop):
    assert send(count("a", who=kept.sign(shop.people["raf"])), count("b", who="2"), count("c")) == ["done"] * 3
    assert [move.by.username for move in Move.objects.filter(action="saw")] == ["raf", "bo", "bo"]


def test_a_spoiled_blank_is_taken_with_its_reason(send, count):
    one = count("a")
    spoiled = Kept("miscut-1", "miscut", one.at, one.fields | {"reason": "wire broke", "cost": "customer"})
    assert send(spoiled) == ["done"]
    move = Move.objects.get(action="saw-miscut")
    assert (move.reason, move.cost) == ("wire broke", "customer")


def test_a_piece_is_counted_at_the_cutter(send, count, piece, cutter):
    one = Kept("cut-piece-1", "count", count("x").at, {"piece": str(piece.pk), "qty": "1"})
    assert send(count("a", 3)) == ["done"]
    assert send(one, station=cutter.station) == ["done"]
    piece.refresh_from_db()
    assert piece.cut == 1


def test_a_kept_scan_leaves_its_row_also_where_it_is_refused(send, order, start):
    scans = [Kept(f"scan-no-{raw}", "scan", start, {"raw": raw}) for raw in ("BY4182CX", "nonsense")]
    assert send(*scans, *scans) == ["done", "done", "already", "already"]
    assert sorted(Scan.objects.values_list("answer", flat=True)) == ["code-damaged", "unknown"]


# In hand --------------------------------------------------------------------------------------------------------------


@pytest.fixture
def hand(start, order):
    """Return a function that makes a kept start or pause of the order: hand("pause", reason="Break")."""
    seconds = iter(range(40, 100))

    def make(kind, name="a", **more):
        at = start + timedelta(seconds=next(seconds))
        return Kept(f"{kind}-of-{name}", kind, at, {"order": str(order.number)} | more)

    return make


def test_a_kept_start_and_its_pause_are_taken_with_their_times(send, hand):
    acts = hand("start"), hand("pause", reason="Break")
    assert send(*acts) == ["done", "done"]
    assert send(*acts) == ["already", "already"]
    took = InHand.objects.get()
    assert (took.how, took.reason, took.ended_at > took.started_at) == ("paused", "Break", True)
    assert abs(took.started_at - acts[0].at) < timedelta(seconds=5)


@pytest.mark.parametrize(
    ("kind", "fields", "code"),
    [
        ("pause", {"reason": "Break"}, "not-in-hand"), ("pause", {"reason": " "}, "no-reason"),
        ("pause", {"reason": "Break", "order": "9"}, "order"), ("start", {"order": ""}, "order"),
    ],
)  # fmt: skip
def test_a_start_or_pause_that_is_not_possible_clashes(send, hand, kind, fields, code):
    assert send(hand(kind, **fields)) == ["clash"]
    assert Clash.objects.get().code == code


def test_a_start_of_an_order_on_hold_clashes(send, hand, order, mina):
    moves.hold(order, "the town says no", mina)
    assert send(hand("start")) == ["clash"]
    assert clash() == ("held", None)


# Undo -----------------------------------------------------------------------------------------------------------------


def test_a_count_and_its_undo_are_both_on_the_books(send, count, undo):
    one = count("a", 2)
    assert send(one, undo(one)) == ["done", "done"]
    assert send(one, undo(one)) == ["already", "already"]
    assert (sawn(), Move.objects.filter(action="undo").count()) == (0, 1)


def test_an_undo_before_its_count_is_a_clash_and_the_count_stands(send, count, undo):
    one = count("a", 2)
    assert send(undo(one), one) == ["clash", "done"]
    assert (sawn(), Clash.objects.get().code) == (2, "unknown-count")


def test_a_count_undone_by_somebody_else_is_not_undone_twice(send, count, undo, bo):
    one = count("a", 2)
    send(one)
    moves.undo(Move.objects.get(scan_id=one.id), Act(bo.by, bo.station))
    assert send(undo(one)) == ["clash"]
    assert (sawn(), Clash.objects.get().code) == (0, "undone")


def test_taking_back_a_count_that_clashed_settles_it(send, count, undo):
    one = count("a", 9)
    assert send(one, undo(one)) == ["clash", "done"]
    assert send(one, undo(one)) == ["already", "already"]
    found = Clash.objects.get()
    assert (found.settled_how, found.settled_by.username) == ("taken back at the station", "bo")


# Clashes, whichever came first ----------------------------------------------------------------------------------------


def test_of_two_stations_with_the_last_blanks_the_second_to_arrive_clashes(send, count):
    assert send(count("a", 5), count("b", 5), count("c", 3)) == ["done", "clash", "done"]
    assert (sawn(), clash()) == (8, ("over-count", "5"))


def test_a_lost_reply_to_a_clash_is_given_again(send, count):
    one = count("a", 9)
    assert (send(one), send(one)) == (["clash"], ["clash"])
    assert Clash.objects.count() == 1


@pytest.mark.parametrize(("stop", "code"), [(moves.hold, "held"), (moves.cancel, "cancelled")])
def test_a_count_of_an_order_stopped_meanwhile_clashes(send, count, order, mina, stop, code):
    assert send(count("a")) == ["done"]
    stop(order, "the town says no", mina)
    assert send(count("b")) == ["clash"]
    assert (sawn(), clash()) == (1, (code, "1"))


def test_a_count_that_arrives_before_the_hold_is_taken(send, count, order, mina):
    assert send(count("a")) == ["done"]
    moves.hold(order, "the town says no", mina)
    assert send(count("a")) == ["already"]


def test_a_count_for_a_sheet_replaced_meanwhile_clashes(send, count, blank):
    Blank.objects.update(live=False)
    assert send(count("a")) == ["clash"]
    assert clash() == ("replaced", "1")
    assert Clash.objects.get().order == blank.line.order


def test_a_count_of_blanks_that_are_gone_clashes_under_the_order_that_it_named(send, count, order):
    one = count("a")
    assert send(Kept(one.id, "count", one.at, one.fields | {"blank": "999999"})) == ["clash"]
    assert (Clash.objects.get().code, Clash.objects.get().order) == ("replaced", order)


def test_a_count_without_an_open_block_clashes(send, count, opened, bo):
    one = count("a")
    sawing.finish_source(opened, bo, reason="void in the foam")
    assert send(one) == ["clash"]
    assert clash() == ("nothing-open", "1")


def test_what_is_not_counted_at_a_station_clashes(send, count, cutter):
    assert send(count("a"), station=cutter.station) == ["clash"]
    assert clash() == ("not-here", "1")


@pytest.mark.parametrize("qty", ["", "-1", "1.5", "nine", "100000"])
def test_a_count_that_is_no_number_clashes(send, count, qty):
    assert send(count("a", qty), count("b")) == ["clash", "done"]
    assert sawn() == 1


def test_an_act_that_nobody_knows_and_one_that_fails_do_not_stop_what_comes_behind(send, count, monkeypatch):
    def broken(*_):
        raise ZeroDivisionError

    monkeypatch.setitem(kept.DOES, "broken", broken)
    strange = [Kept(f"strange-{kind}", kind, count("x").at) for kind in ("dance", "broken")]
    assert send(*strange, count("a")) == ["clash", "clash", "done"]
    assert set(Clash.objects.values_list("code", flat=True)) == {"unknown-act", "fault"}


# Closed days ----------------------------------------------------------------------------------------------------------


def test_foam_of_a_day_closed_meanwhile_is_booked_today_and_the_count_keeps_its_time(
    send, count, bo, raf_act, yesterday
):
    one = Kept("count-of-yesterday", "count", yesterday, count("x").fields)
    account.close_day(timezone.localdate(yesterday), raf_act)
    assert send(one) == ["done"]
    move, foam = Move.objects.get(scan_id=one.id), StockMove.objects.filter(kind="good").get()
    assert timezone.localdate(move.happened_at) == timezone.localdate(yesterday)
    assert foam.day == timezone.localdate()


def test_a_count_of_a_closed_day_is_taken_back_with_its_undo(send, count, undo, raf_act, yesterday):
    one = Kept("count-of-yesterday", "count", yesterday, count("x").fields)
    account.close_day(timezone.localdate(yesterday), raf_act)
    assert send(one, undo(one)) == ["done", "done"]
    assert sawn() == 0


def test_with_today_closed_a_count_clashes(send, count, raf_act):
    account.close_day(timezone.localdate(), raf_act)
    assert send(count("a")) == ["clash"]
    assert clash() == ("day-closed", "1")


@pytest.fixture
def raf_act(shop):
    return Act(shop.people["raf"])


@pytest.fixture
def yesterday(opened):
    """A time of yesterday, after the order's release and the block's opening, which are moved there."""
    time = timezone.now() - timedelta(days=1)
    Revision.objects.update(at=time - HOUR)
    StockMove.objects.update(day=timezone.localdate(time), happened_at=time - HOUR)
    return time


# Settling -------------------------------------------------------------------------------------------------------------


def test_a_clash_is_settled_once_and_with_a_word(send, count, raf_act):
    send(count("a", 9))
    with pytest.raises(Refused, match="Say how"):
        kept.settle(Clash.objects.get(), " ", raf_act)
    kept.settle(Clash.objects.get(), "counted again by hand", raf_act)
    with pytest.raises(Refused, match="Somebody else"):
        kept.settle(Clash.objects.get(), "again", raf_act)
    assert Clash.objects.get().settled_how == "counted again by hand"


def test_what_clashed_is_done_after_all_once_where_it_is_possible_now(send, count, order, mina, bo, raf_act):
    one = count("a", 2)
    moves.hold(order, "the town says no", mina)
    assert send(one) == ["clash"]
    moves.resume(order, mina)
    kept.take_after_all(Clash.objects.get(), raf_act)
    with pytest.raises(Refused, match="Somebody else"):
        kept.take_after_all(Clash.objects.get(), raf_act)
    assert send(one) == ["already"]
    move = Move.objects.get(action="saw")
    assert (sawn(), move.by, move.station) == (2, bo.by, bo.station)
    assert abs(move.happened_at - one.at) < timedelta(seconds=5)
    assert (Clash.objects.get().settled_how, Clash.objects.get().settled_by) == ("done after all", raf_act.by)


def test_what_is_still_not_possible_is_refused_with_its_reason_and_stays(send, count, raf_act):
    assert send(count("a", 9)) == ["clash"]
    with pytest.raises(Refused, match="not 9"):
        kept.take_after_all(Clash.objects.get(), raf_act)
    assert (sawn(), Clash.objects.get().settled_at) == (0, None)


def test_an_undo_that_comes_after_its_count_was_done_after_all_takes_it_back(send, count, undo, order, mina, raf_act):
    one = count("a", 2)
    moves.hold(order, "the town says no", mina)
    assert send(one) == ["clash"]
    moves.resume(order, mina)
    kept.take_after_all(Clash.objects.get(), raf_act)
    assert sawn() == 2
    assert send(undo(one)) == ["done"]
    assert sawn() == 0
