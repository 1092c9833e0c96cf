"""A station that loses its network: what it keeps, what it says, and what the server has when it is back."""

import time
from datetime import timedelta

import pytest
from django.db import OperationalError
from django.utils import timezone
from floor_network import Place
from selenium.common.exceptions import WebDriverException
from selenium.webdriver.common.keys import Keys

from cutsheets.codes import make_sheet_code
from orders import kept, moves, sawing
from orders.models import Blank, Clash, InHand, Move, Scan
from shop.acts import Act

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def opened(run, bo):
    """The block of the order's plan, open on the saw."""
    return sawing.open_source(run.sources.get(), bo)


@pytest.fixture
def saw(browser_as, shop):
    """Return a function that opens Saw 1 as the saw hand: saw("?order=4101")."""
    places = []

    def open_saw(query=""):
        places.append(Place(browser_as(shop.people["bo"], f"/station/saw-1/{query}")))
        return places[-1]

    yield open_saw
    for place in places:
        place.leave()


@pytest.fixture
def at_work(saw, order, opened):
    """Saw 1 with the order before it, three blanks left."""
    return saw(f"?order={order.number}").sees("3 left").fetched_ahead()


def sawn():
    return Blank.objects.get().sawn


def count_moves():
    return Move.objects.filter(action="saw").count()


# Counts ---------------------------------------------------------------------------------------------------------------


def test_counts_without_network_are_kept_and_counted_once_when_it_is_back(at_work, screenshot):
    at_work.offline().press(Keys.ENTER).sees(
        "2 left", "1 of 3 sawn", "kept here: 1", "No network since", "1 count kept"
    )
    at_work.press(Keys.ENTER).sees("1 left", "2 of 3 sawn", "kept here: 2", "2 counts kept here; they are sent when")
    screenshot("away-counts")
    assert sawn() == 0
    at_work.online().sees_no("kept here").sees("2 of 3 sawn")
    assert (sawn(), count_moves()) == (2, 2)


def test_a_kept_count_has_the_time_at_which_it_happened(at_work):
    pressed = timezone.now()
    at_work.offline().press(Keys.ENTER).sees("kept here: 1")
    time.sleep(4)
    at_work.online().sees_no("kept here").sees("1 of 3 sawn")
    move = Move.objects.get(action="saw")
    assert abs(move.happened_at - pressed) < timedelta(seconds=3)
    assert move.recorded_at - move.happened_at > timedelta(seconds=3)


def test_a_number_is_kept_too_but_never_more_than_is_left(at_work):
    at_work.offline().press("+").sees("How many sawn?").click("button[value='2']")
    at_work.sees("kept here: 2", "1 left").press("+").sees("How many sawn?", "1 left")
    at_work.click("button[value='2']").sees("Not kept: 1 left here by the last figures, not 2.")
    at_work.online().sees_no("kept here").press(Keys.ESCAPE).sees("2 of 3 sawn")
    assert (sawn(), Clash.objects.count()) == (2, 0)


def test_a_count_whose_reply_was_lost_is_counted_once(at_work):
    at_work.lose_reply("/count/").press(Keys.ENTER).sees("1 of 3 sawn").sees_no("kept here")
    time.sleep(2)
    assert (sawn(), count_moves()) == (1, 1)


def test_a_batch_whose_reply_was_lost_is_sent_again_and_counted_once(at_work):
    at_work.offline().press(Keys.ENTER).sees("kept here: 1").press(Keys.ENTER).sees("kept here: 2")
    at_work.lose_reply("/kept/").online().sees_no("kept here").sees("2 of 3 sawn")
    assert (sawn(), count_moves()) == (2, 2)


def test_a_server_with_a_fault_gets_the_acts_again(at_work, monkeypatch, screenshot):
    def fail(*_, **__):
        raise OperationalError("the disk is full")

    monkeypatch.setattr(kept, "take", fail)
    at_work.offline().press(Keys.ENTER).sees("kept here: 1").online()
    at_work.sees("The server has a fault. 1 count kept here; it is sent when it works again.")
    screenshot("away-fault")
    monkeypatch.undo()
    at_work.sees_no("kept here").sees("1 of 3 sawn")
    assert sawn() == 1


def test_a_kept_count_is_taken_back_before_and_after_it_is_sent(at_work):
    at_work.offline().press(Keys.ENTER).sees("kept here: 1", "1 kept").press(Keys.BACKSPACE).sees("3 left")
    at_work.sees_no("1 kept").sees("2 counts kept here").online().sees_no("kept here").sees("3 left")
    assert [move.action for move in Move.objects.filter(action__in=("saw", "undo"))] == ["saw", "undo"]
    assert sawn() == 0


def test_a_spoiled_blank_is_kept_with_its_reason(at_work):
    at_work.offline().press("t").sees("What went wrong?").press("2").sees("How many are spoiled?")
    at_work.click("[form='miscut']").sees("1 count kept here", "3 left").online().sees_no("kept here")
    move = Move.objects.get(action="saw-miscut")
    assert (move.qty, move.reason.startswith("Broken")) == (1, True)


def test_what_follows_the_next_count_is_true_without_network_too(at_work):
    after = "return document.querySelector('.st-after').textContent"  # hidden where the acts leave it no room
    at_work.offline()
    for words in ("2 left after", "1 left after", "finishes 3 of 3", "none left here"):
        at_work.until(lambda words=words: at_work.browser.execute_script(after) == words, words).press(Keys.ENTER)


def test_nothing_is_offered_where_all_is_counted_and_kept(at_work, screenshot):
    at_work.offline()
    for words in ("kept here: 1", "kept here: 2", "All sawn. Nothing is left to count."):
        at_work.press(Keys.ENTER).sees(words)
    at_work.sees_no("Blank sawn")
    screenshot("away-none-left")
    at_work.press(Keys.ENTER).press(Keys.BACKSPACE).sees("kept here: 2", "Blank sawn").sees_no("Nothing is left")
    at_work.online().sees_no("kept here").sees("2 of 3 sawn")


def test_blanks_that_wait_at_the_wire_go_down_with_what_is_kept(browser_as, shop, order, opened, bo, screenshot):
    moves.count_sawn(Blank.objects.get(), 2, bo)
    wire = Place(browser_as(shop.people["bo"], f"/station/cutter-1/?order={order.number}")).sees("2 here").offline()
    wire.press(Keys.ENTER).sees("1 here").press(Keys.ENTER).sees("none here", "1 left", "No blank is left here.")
    screenshot("away-no-blank")
    assert "#todo" in wire.browser.execute_script("return document.querySelector('.st-here use').getAttribute('href')")
    wire.leave()


def test_start_and_pause_are_kept_and_taken_in_their_order(at_work, screenshot):
    at_work.sees("Start").sees_no("Pause").offline().press("s").sees("1 start kept here", "Pause").sees_no("Start\nS")
    screenshot("away-started")
    at_work.press("p").sees("Why does it wait?").press("1").sees("Scan a sheet", "1 start and 1 pause kept here")
    assert not InHand.objects.exists()
    at_work.online().sees_no("pause kept")
    took = InHand.objects.get()
    assert (took.how, took.reason, took.ended_at > took.started_at) == ("paused", "Break", True)


def test_a_kept_count_takes_in_hand_what_can_then_be_paused(at_work, order):
    at_work.offline().press(Keys.ENTER).sees("kept here: 1", "Pause").press("p").sees("Why does it wait?").press("2")
    at_work.sees("1 count and 1 pause kept here").scan(make_sheet_code(order.number, "A")).sees("2 left", "Start")
    at_work.online().sees_no("kept here").sees("1 of 3 sawn")
    assert (sawn(), InHand.objects.get().reason) == (1, "End of shift")


def test_what_needs_the_network_says_so_and_does_nothing(saw, order, run, screenshot):
    place = saw(f"?order={order.number}").sees("Take K-0001, open it").offline().press(Keys.ENTER)
    place.sees("Opening a block needs the network").sees("No network since")
    screenshot("away-needs-network")
    place.press(Keys.ESCAPE).online().sees_no("No network since")
    assert run.sources.get().state == "waiting"


def test_a_page_that_was_never_seen_here_says_so(saw):
    saw().sees("Scan a sheet").offline().press("w").sees("was not seen on this device before")


# Scans ----------------------------------------------------------------------------------------------------------------


def test_a_question_that_was_missed_is_fetched_behind_one_that_is_kept(at_work, order):
    broken = f"/station/saw-1/?order={order.number}&pick={Blank.objects.get().pk}&ask=why&why=2"
    assert at_work.browser.execute_script("return Kept.page(arguments[0])", broken)
    at_work.browser.execute_script("return Kept.dropPage(arguments[0])", broken)
    at_work.press(Keys.ENTER).sees("2 left").fetched_ahead().offline()
    at_work.press("t").sees("What went wrong?").press("2").sees("How many are spoiled?")


def test_the_name_of_the_station_leads_nowhere_without_network(at_work):
    at_work.offline().click(".st-name").sees("this was not seen on this device before", "3 left")


def test_a_sheet_that_was_seen_here_is_shown_without_network(saw, order, opened):
    place = saw().scan(make_sheet_code(order.number, "A")).sees("3 left").press(Keys.ENTER).sees("1 of 3 sawn")
    time.sleep(2)  # sooner, and the same sheet is the same scan
    place.press("n").sees("Type what is printed").offline().scan(make_sheet_code(order.number, "A"))
    place.sees("2 left", "1 scan kept here", "This screen is of").press(Keys.ENTER).sees("1 left", "1 count and 1 scan")
    place.online().sees_no("kept here").sees("2 of 3 sawn")
    assert (sawn(), Scan.objects.count()) == (2, 2)


def test_a_sheet_that_nobody_can_check_is_kept_and_answered_when_the_network_is_back(saw, order, opened, screenshot):
    place = saw().offline().scan(make_sheet_code(order.number, "A")).sees("Cannot check", "No network.", "1 scan kept")
    place.sees("Paper is right if its letter is the newest.")
    screenshot("away-cannot-check")
    scanned = timezone.now()
    time.sleep(3)
    place.online().sees("3 left").sees_no("kept here")
    assert abs(Scan.objects.get().happened_at - scanned) < timedelta(seconds=2)


def test_another_letter_than_was_seen_here_is_never_taken_for_it(at_work, order):
    code = make_sheet_code(order.number, "B")
    at_work.offline().scan(code).sees("Cannot check", code, "Sheet A was in force here at").sees_no("Blank sawn")


def test_a_sheet_of_one_line_is_the_same_sheet(at_work, order):
    at_work.press("n").sees("Type what is printed").offline().scan(make_sheet_code(order.number, "A", 1))
    at_work.sees("3 left", "Blank sawn", "1 scan kept here")


def test_an_old_sheet_scanned_without_network_is_refused_when_it_is_back(saw, shop, order, opened):
    change = {"what": "A blank high", "old": "10-3/4", "new": "11-1/4"}
    place = saw().offline().scan(make_sheet_code(order.number, "A")).sees("Cannot check")
    moves.raise_revision(order, [change], Act(shop.people["mina"]))
    place.online().sees("Tear it up. Sheet B is in force.")
    assert Scan.objects.get().answer == "old-sheet"


# Clashes --------------------------------------------------------------------------------------------------------------


def test_a_count_that_is_not_taken_is_said_here_and_to_the_manager(at_work, order, mina, screenshot):
    at_work.offline().press(Keys.ENTER).sees("kept here: 1")
    moves.hold(order, "Waiting for the town.", mina)
    at_work.online().sees("1 count was not taken.", "is on hold: Waiting for the town.", "Tell the manager.", "On hold")
    screenshot("away-clash")
    at_work.browser.refresh()
    at_work.sees("1 count was not taken.").click("#clashes button").sees_no("was not taken")
    assert (Clash.objects.get().code, sawn()) == ("held", 0)


def test_two_tabs_share_what_is_kept_and_send_it_once(at_work):
    browser, address, first = at_work.browser, at_work.browser.current_url, at_work.browser.current_window_handle
    at_work.offline().press(Keys.ENTER).sees("kept here: 1")
    browser.switch_to.new_window("tab")
    browser.get(address)  # this one has a network
    at_work.sees("1 of 3 sawn").sees_no("kept here")
    browser.close()
    browser.switch_to.window(first)
    at_work.online().sees_no("kept here").sees("1 of 3 sawn")
    assert (sawn(), count_moves()) == (1, 1)


# Storage, reload, sign-out --------------------------------------------------------------------------------------------


def test_a_full_storage_acknowledges_nothing(browser, live_server, saw, order, opened, screenshot):
    browser.execute_cdp_cmd("Storage.overrideQuotaForOrigin", {"origin": live_server.url, "quotaSize": 1})
    place = saw(f"?order={order.number}").sees("3 left").offline().press(Keys.ENTER)
    place.sees("Not kept", "Nothing was counted", "3 left", "0 of 3 sawn")
    screenshot("away-storage-full")
    browser.execute_cdp_cmd("Storage.overrideQuotaForOrigin", {"origin": live_server.url})
    place.online().sees_no("No network since").press(Keys.ENTER).sees("1 of 3 sawn")
    assert count_moves() == 1


def test_a_browser_that_stores_nothing_acknowledges_nothing(at_work):
    forbid = {"source": "Object.defineProperty(window, 'indexedDB', {value: undefined})"}
    script = at_work.browser.execute_cdp_cmd("Page.addScriptToEvaluateOnNewDocument", forbid)
    at_work.browser.refresh()
    at_work.sees("3 left").offline().press(Keys.ENTER).sees("Not kept", "3 left")
    at_work.browser.execute_cdp_cmd("Page.removeScriptToEvaluateOnNewDocument", script)
    at_work.online().sees_no("No network since").press(Keys.ENTER).sees("1 of 3 sawn")


def test_a_reload_without_network_loses_nothing_and_goes_on(at_work, screenshot):
    at_work.with_worker().offline().press(Keys.ENTER).sees("kept here: 1")
    at_work.browser.refresh()
    at_work.sees("2 left", "kept here: 1", "No network since", "1 count kept here", "Blank sawn")
    screenshot("away-reload")
    at_work.press(Keys.ENTER).sees("1 left", "kept here: 2").online().sees_no("kept here").sees("2 of 3 sawn")
    assert (sawn(), count_moves()) == (2, 2)


def test_the_worker_answers_for_nothing_but_stations_and_static_files(at_work):
    station = at_work.browser.current_url
    at_work.with_worker().offline()
    with pytest.raises(WebDriverException, match="ERR_INTERNET_DISCONNECTED"):
        at_work.browser.get(station.partition("/station/")[0] + "/orders/")
    kept_there = """return (async () => {
      const all = [];
      for (const name of await caches.keys()) for (const one of await (await caches.open(name)).keys()) all.push(one);
      return all.map((one) => one.method + " " + new URL(one.url).pathname);
    })()"""
    at_work.online().browser.get(station)
    stored = at_work.sees("3 left").browser.execute_script(kept_there)
    assert [one for one in stored if not one.startswith(("GET /static/", "GET /station/saw-1/"))] == []


def test_what_is_kept_survives_a_sign_out_and_says_what_to_do(at_work, browser_as, shop, screenshot):
    at_work.offline().press(Keys.ENTER).sees("kept here: 1")
    session = at_work.browser.get_cookie("sessionid")
    at_work.browser.delete_cookie("sessionid")
    at_work.online().sees(
        "Signed out. 1 count kept here; it is sent once somebody has signed in or paired this device."
    )
    screenshot("away-signed-out")
    at_work.browser.add_cookie(session)
    at_work.sees_no("kept here").sees("1 of 3 sawn")


def test_what_is_kept_is_sent_when_the_station_is_opened_again(at_work):
    address = at_work.browser.current_url
    at_work.offline().press(Keys.ENTER).sees("kept here: 1")
    at_work.browser.get("about:blank")  # closed, as if the battery were empty
    at_work.online().browser.get(address)
    at_work.sees("1 of 3 sawn").sees_no("kept here")
    assert count_moves() == 1
