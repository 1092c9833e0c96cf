"""The floor in a real browser: a scanner that types, gloves that press, sheets that are refused."""

from datetime import date

import pytest
from floor_network import main_key
from floor_shop import theatre
from scanner import scan
from selenium.webdriver.common.action_chains import ActionChains
from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys
from selenium.webdriver.support.ui import WebDriverWait

from cutsheets.codes import make_sheet_code
from orders import moves, sawing
from orders.models import Blank, Move, Piece, RunRemnant, Scan
from shop.acts import Act

pytestmark = pytest.mark.django_db(transaction=True)
PHONE = (390, 844)
PATIENCE = 20  # seconds: the machine may be busy with other tests
TABLETS = ((1280, 800), (1024, 768))


@pytest.fixture
def sawn(run, order, bo):
    """All blanks sawn, the block still open."""
    sawing.open_source(run.sources.get(), bo)
    return moves.count_sawn(Blank.objects.get(), 3, bo)


@pytest.fixture
def at(browser_as, shop):
    """Return a function that opens a station as the saw hand: at("saw-1", "?order=4101")."""
    return lambda code, query="": Floor(browser_as(shop.people["bo"], f"/station/{code}/{query}"))


class Floor:
    """A station's screen as its hands see it."""

    def __init__(self, browser):
        self.browser = browser

    @property
    def words(self):
        return self.browser.execute_script("return document.getElementById('screen').innerText")

    def scan(self, code, suffix="\r"):
        scan(self.browser, code, suffix)
        return self

    def press(self, key):
        """Press one key as a person does: long after the last one, and after the screen has been read."""
        ActionChains(self.browser).pause(0.45).send_keys(key).perform()
        return self

    def act(self):
        """Take the main act by the key that it says."""
        return self.press(main_key(self.browser))

    def sees(self, words):
        WebDriverWait(self.browser, PATIENCE).until(lambda _: words.lower() in self.words.lower(), message=words)
        return self

    def overflows(self):
        script = "return document.documentElement.scrollWidth > window.innerWidth"
        return self.browser.execute_script(script)


def sheet(order, letter="A"):
    return make_sheet_code(order.number, letter)


# The scanner ----------------------------------------------------------------------------------------------------------


def test_a_scan_needs_no_field_and_its_enter_opens_nothing(at, order, run):
    at("saw-1").scan(sheet(order)).sees("Take K-0001, open it")
    assert Scan.objects.get().answer == "ok"
    assert run.sources.get().state == "waiting"


def test_a_scanner_without_a_suffix_is_heard(at, order, run):
    floor = at("saw-1")
    # In one breath: a busy machine may type so slowly through the driver that no suffix makes it two scans.
    keys = "for (const key of arguments[0]) window.dispatchEvent(new KeyboardEvent('keydown', {key}))"
    floor.browser.execute_script(keys, sheet(order))
    floor.sees("3 left")


@pytest.mark.parametrize("prefix", ["]C0", ""])
def test_the_mark_of_the_symbology_and_small_letters_do_no_harm(at, order, run, prefix):
    at("saw-1").scan(prefix + sheet(order).lower()).sees("3 left")


def test_a_scan_into_a_field_leaves_what_was_typed(at, order, run):
    floor = at("saw-1", "?ask=number").press("42")
    ActionChains(floor.browser).pause(0.3).perform()
    slow = {"offline": False, "latency": 2000, "downloadThroughput": -1, "uploadThroughput": -1}
    floor.browser.execute_cdp_cmd("Network.emulateNetworkConditions", slow)  # so that the screen stays a while
    floor.scan(sheet(order), suffix="")
    busy = "return document.querySelector('#screen[aria-busy] [name=raw]')?.value"
    WebDriverWait(floor.browser, 8).until(lambda browser: browser.execute_script(busy) == "42")


def test_the_same_sheet_twice_within_two_seconds_is_one_scan(at, order, run):
    floor = at("saw-1").scan(sheet(order)).sees("3 left")
    floor.scan(sheet(order)).press("t")
    assert Scan.objects.count() == 1


@pytest.mark.parametrize("pause", [0, 0.1])
def test_no_key_of_a_scan_presses_a_button_however_slow_the_scanner(at, order, run, bo, pause):
    sawing.open_source(run.sources.get(), bo)
    floor = at("saw-1", f"?order={order.number}").sees("Blank sawn")
    keys = ActionChains(floor.browser, duration=0).pause(0.5)
    for key in ("1", "T", "N", "+", Keys.ENTER):
        keys.send_keys(key).pause(pause)
    keys.pause(0.4).perform()
    floor.sees("Blank sawn" if pause else "Unknown code")
    assert Blank.objects.get().sawn == 0


def test_a_scan_while_an_answer_is_on_its_way_has_its_turn(at, order, run):
    floor = at("saw-1").scan(sheet(order)).sees("Take K-0001, open it")
    slow = {"offline": False, "latency": 800, "downloadThroughput": -1, "uploadThroughput": -1}
    floor.browser.execute_cdp_cmd("Network.emulateNetworkConditions", slow)
    floor.press(Keys.ENTER).scan("073366118542").sees("Unknown code").sees("073366118542")
    assert run.sources.get().state == "saw"


# A day at the saw -----------------------------------------------------------------------------------------------------


def test_a_block_is_opened_sawn_put_back_and_finished(at, order, run):
    floor = at("saw-1").scan(sheet(order)).sees("Take K-0001, open it")
    floor.act().sees("Blank sawn").act().sees("1 of 3 sawn")
    floor.press("+").sees("How many sawn?")
    floor.browser.find_element(By.CSS_SELECTOR, "button[value='2']").click()
    floor.sees("Put back R-0001").act().sees("Measure it")
    long = floor.browser.find_element(By.NAME, "long")
    assert long.get_attribute("value") == "48"
    long.clear()
    long.send_keys("47 1/2")
    floor.browser.find_element(By.CSS_SELECTOR, "[form='put-back']").click()
    floor.sees("K-0001 is finished").act().sees("Blanks to Cutter 1")
    assert RunRemnant.objects.get().piece.l_um == 1_206_500
    assert run.sources.get().state == "done"


def test_enter_again_counts_again_but_finishes_and_opens_nothing(at, shop, order, run, bo):
    RunRemnant.objects.all().delete()
    sawing.open_source(run.sources.get(), bo)
    floor = at("saw-1", f"?order={order.number}").sees("Blank sawn")
    for words in ("1 of 3 sawn", "2 of 3 sawn", "K-0001 is finished"):
        floor.press(Keys.ENTER).sees(words)
    floor.press(Keys.ENTER).press(Keys.ENTER)
    assert (Blank.objects.get().sawn, run.sources.get().state) == (3, "saw")
    assert floor.browser.find_element(By.CSS_SELECTOR, ".is-main .st-key").text == "G"
    floor.press("g").sees("Blanks to Cutter 1")
    assert run.sources.get().state == "done"


def test_a_block_is_opened_by_enter_after_a_scan_but_not_counted_by_the_same_press(at, order, run):
    floor = at("saw-1").scan(sheet(order)).sees("Take K-0001, open it").press(Keys.ENTER).sees("Blank sawn")
    floor.press(Keys.ENTER).press(Keys.ENTER)
    assert (run.sources.get().state, Blank.objects.get().sawn) == ("saw", 0)
    floor.press("g").sees("1 of 3 sawn").press(Keys.ENTER).sees("2 of 3 sawn")


def test_a_second_touch_on_the_same_place_finishes_nothing(at, order, run, bo):
    RunRemnant.objects.all().delete()
    sawing.open_source(run.sources.get(), bo)
    moves.count_sawn(Blank.objects.get(), 2, bo)
    floor = at("saw-1", f"?order={order.number}").sees("1 left")
    touch = ActionChains(floor.browser).pause(0.5).click(floor.browser.find_element(By.CSS_SELECTOR, ".is-main button"))
    for _ in range(8):
        touch.pause(0.1).click()
    touch.perform()
    floor.sees("K-0001 is finished")
    assert (Blank.objects.get().sawn, run.sources.get().state) == (3, "saw")


def test_a_screen_that_has_just_changed_takes_no_count(at, order, run, bo):
    sawing.open_source(run.sources.get(), bo)
    floor = at("saw-1", f"?order={order.number}").sees("3 left")
    press_at_once = "new MutationObserver(() => document.querySelector('[data-act=main] button')?.click())"
    floor.browser.execute_script(press_at_once + ".observe(document.body, {childList: true})")
    floor.press(Keys.ENTER).sees("1 of 3 sawn").press("t").sees("What went wrong?")
    assert Blank.objects.get().sawn == 1


def test_more_than_is_left_is_refused_with_what_is_left(at, order, run, bo):
    sawing.open_source(run.sources.get(), bo)
    floor = at("saw-1", f"?order={order.number}&pick={Blank.objects.get().pk}&ask=count").sees("3 left")
    floor.browser.find_element(By.NAME, "qty").send_keys("4", Keys.ENTER)
    floor.sees("3 blanks").sees("not 4")
    assert Blank.objects.get().sawn == 0


def test_a_refused_count_stays_in_sight(at, order, run, bo):
    sawing.open_source(run.sources.get(), bo)
    floor = at("saw-1", f"?order={order.number}&pick={Blank.objects.get().pk}&ask=count").sees("3 left")
    floor.browser.find_element(By.NAME, "qty").send_keys("4", Keys.ENTER)
    floor.sees("not 4")
    asked = "return performance.getEntriesByType('resource').filter((one) => one.name.includes('seen=')).length"
    WebDriverWait(floor.browser, 12).until(lambda browser: browser.execute_script(asked), "the page looks again")
    ActionChains(floor.browser).pause(0.5).perform()
    floor.sees("not 4")


def test_undo_takes_back_what_it_names(at, order, sawn):
    at("saw-1", f"?order={order.number}").sees("3 sawn").press(Keys.BACKSPACE).sees("3 left")
    assert Blank.objects.get().sawn == 0


# The cutter and trouble -----------------------------------------------------------------------------------------------


def test_the_cutter_counts_pieces(at, order, sawn):
    floor = at("cutter-1").scan(sheet(order)).sees("Piece cut")
    floor.press(Keys.ENTER).sees("2 left").sees("2 here")
    assert Piece.objects.get().cut == 1


def test_a_piece_spoiled_at_the_wire_is_due_again_at_the_saw(at, order, sawn):
    floor = at("cutter-1", f"?order={order.number}").sees("Piece cut")
    floor.press("t").sees("What went wrong?").press("1").sees("How many are spoiled?")
    floor.browser.find_element(By.CSS_SELECTOR, "[form='miscut']").click()
    floor.sees("2 here")
    move = Move.objects.get(action="cut-miscut")
    assert (move.qty, move.reason) == (1, "Wire: sagged, broke or wandered")
    at("saw-1").scan(sheet(order)).sees("1 left").sees("1 cut again")
    assert Piece.objects.get().qty == 3


# Refusals -------------------------------------------------------------------------------------------------------------


def test_an_old_sheet_says_what_changed(at, shop, order, run):
    change = {"what": "A blank high", "old": "10-3/4", "new": "11-1/4"}
    moves.raise_revision(order, [change], Act(shop.people["mina"]))
    floor = at("saw-1").scan(sheet(order)).sees("Tear it up. Sheet B is in force.").sees("A blank high")
    assert ground(floor) == "rgb(163, 20, 27)"


@pytest.mark.parametrize("size", TABLETS)
def test_many_changes_of_an_old_sheet_leave_the_button_in_sight(at, shop, order, viewport, size):
    viewport(*size)
    words = "95 in front, 86-1/8 at the wall, left outside corner, right splice"
    changes = [{"what": f"A{place}", "old": words, "new": words.replace("95", "93")} for place in range(1, 9)]
    moves.raise_revision(order, changes, Act(shop.people["mina"]))
    floor = at("saw-1").scan(sheet(order)).sees("And 4 changes more: see sheet B.")
    # asked in one go: the page may be made anew between two questions
    foot = "return document.querySelector('[data-act=main]').getBoundingClientRect().bottom"
    assert floor.browser.execute_script(foot) <= size[1]
    assert not floor.overflows()


def test_an_order_on_hold_says_why_and_who(at, shop, order, run):
    moves.hold(order, "Waiting for the town.", Act(shop.people["mina"]))
    floor = at("saw-1").scan(sheet(order)).sees("Do not cut.").sees("Waiting for the town.").sees("Mina O.")
    assert ground(floor) == "rgb(245, 184, 0)"


def test_a_sheet_at_the_wrong_station_names_the_right_one(at, order, run):
    floor = at("cutter-1").scan(sheet(order)).sees("Take it to").sees("Saw 1")
    assert ground(floor) == "rgb(42, 47, 168)"
    floor.press(Keys.ENTER).sees("Look only").sees("3 left")
    assert not floor.browser.find_elements(By.CSS_SELECTOR, "#screen form[data-act=main]")


@pytest.mark.parametrize("code", ["073366118542", "BY4182CX"])
def test_an_unknown_or_misread_code_is_shown_as_it_was_read(at, order, run, code):
    floor = at("saw-1").scan(code).sees("Nothing was counted.").sees(code)
    assert str(order.number) not in floor.words


def ground(floor):
    return floor.browser.execute_script("return getComputedStyle(document.querySelector('.st-no')).backgroundColor")


# The queue ------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("size", TABLETS)
def test_the_queue_fits_and_leads_on_to_the_rest(at, shop, order, viewport, screenshot, size):
    viewport(*size)
    long = "in a street with a rather long name, the third house from the corner, left of the old mill"
    made = [theatre(shop, job=f"Job number {number}, {long}") for number in range(6)]
    type(order).objects.update(due=date(2021, 12, 24))  # late, all of them
    moves.start(made[0], Act(shop.people["bo"], shop.stations["saw-1"]))
    floor = at("saw-1").press("w").sees("What is next").sees("1 to 6 of 7 orders")
    screenshot(f"floor-queue-{size[0]}")
    body = "const body = document.querySelector('.st-body'); return body.scrollHeight <= body.clientHeight + 1"
    assert floor.browser.execute_script(body)
    floor.press("m").sees("7 to 7 of 7 orders").sees("Job number 5").press(Keys.ESCAPE).sees("Scan a sheet")


# Sizes ----------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("query", ["", "?order={n}", "?ask=number", "?order={n}&pick={pick}&ask=why"])
@pytest.mark.parametrize("code", ["saw-1", "cutter-1"])
def test_every_screen_fits_a_tablet_and_a_phones_width(at, viewport, order, sawn, code, query):
    pick = (Blank if code == "saw-1" else Piece).objects.get().pk
    floor = at(code, query.format(n=order.number, pick=pick))
    viewport(*PHONE)
    assert not floor.overflows()
    for size in TABLETS:
        viewport(*size)
        script = "return document.documentElement.scrollHeight <= innerHeight"
        assert floor.browser.execute_script(script)
        assert not floor.overflows()


def test_no_page_breaks_the_content_security_policy(at, order, sawn):
    floor = at("cutter-1").scan(sheet(order)).sees("Piece cut")
    broken = [entry["message"] for entry in floor.browser.get_log("browser") if "Content Security" in entry["message"]]
    assert broken == []
