"""Scanners that type like a keyboard, in a real browser: every way in which one is set wrong, stumbles or is misused.

Layouts of keyboards: as operating systems ship them (memory). Gaps between keys: common practice, no source.
"""

import time

import pytest
from floor_shop import plan_for, theatre
from scanner import GAP, strike, stroke, type_keys
from selenium.webdriver.common.action_chains import ActionChains
from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys
from selenium.webdriver.support.ui import WebDriverWait

from cutsheets.codes import make_sheet_code
from orders import sawing
from orders.models import Blank, RunSource, Scan
from shop.acts import Act
from shop.models import Station

pytestmark = pytest.mark.django_db(transaction=True)
PATIENCE = 20  # seconds: the machine may be busy with other tests
BAND = {"pieces": [{"length": 40, "qty": 3}]}


@pytest.fixture
def order(shop):
    order = theatre(shop, lines=(("TP-22", BAND),))
    plan_for(shop, order)
    return order


@pytest.fixture
def code(order):
    return make_sheet_code(order.number, "A")


@pytest.fixture
def at(browser_as, shop):
    """Return a function that opens a station's page: at("saw-1", "?ask=number")."""
    return lambda station, query="": Page(browser_as(shop.people["bo"], f"/station/{station}/{query}"))


@pytest.fixture
def opened(order, shop):
    """The block of the order, open on the saw: Enter counts a blank."""
    return sawing.open_source(RunSource.objects.get(), Act(shop.people["bo"], shop.stations["saw-1"]))


class Page:
    def __init__(self, browser):
        self.browser = browser

    def types(self, text, gap=GAP, **layouts):
        type_keys(self.browser, text, gap, **layouts)
        return self

    def strikes(self, strokes, gap=GAP):
        strike(self.browser, strokes, gap)
        return self

    def sees(self, words):
        said = "return document.getElementById('screen').innerText.toLowerCase()"
        WebDriverWait(self.browser, PATIENCE).until(lambda page: words.lower() in page.execute_script(said), words)
        return self

    def waits(self, seconds):
        time.sleep(seconds)
        return self

    @property
    def field(self):
        return self.browser.execute_script("return document.querySelector('#screen .st-field')")


def kept():
    """Return the one scan that was kept; it may still be on its way."""
    until = time.monotonic() + PATIENCE
    while not Scan.objects.exists() and time.monotonic() < until:
        time.sleep(0.1)
    return Scan.objects.get()


def is_read(code):
    """Return whether exactly one scan was kept, of this code, and accepted."""
    return (kept().raw, kept().answer) == (code, "ok")


# How a scanner is set -------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("suffix", ["\r", "\t", "", "\r\r"], ids=["enter", "tab", "none", "twice"])
@pytest.mark.parametrize("gap", [0.002, 0.005, 0.045])
def test_a_code_is_heard_whatever_ends_it_and_however_slow(at, code, suffix, gap):
    at("saw-1").types(code + suffix, gap).sees("3 left")
    assert is_read(code)


@pytest.mark.parametrize(
    ("prefix", "set_up"),
    [
        ("", {}), ("]C0", {}), ("]C1", {}), ("", {"caps": True}), ("", {"shift": False}),
        ("", {"computer": "azerty"}), ("", {"computer": "azerty", "shift": True}), ("]C0", {"computer": "azerty"}),
        ("", {"scanner": "azerty", "computer": "azerty", "shift": True}), ("", {"scanner": "azerty", "shift": True}),
        ("", {"computer": "azerty", "caps": True}), ("", {"scanner": "azerty"}),
        ("", {"computer": "qwertz"}), ("]C1", {"computer": "qwertz"}), ("", {"scanner": "qwertz"}),
        ("", {"scanner": "qwertz", "computer": "azerty"}),
    ],
    ids=str,
)  # fmt: skip
def test_prefixes_caps_lock_and_wrong_keyboard_layouts_do_no_harm(at, code, prefix, set_up):
    at("saw-1").types(f"{prefix}{code}\r", **set_up).sees("3 left")
    assert kept().answer == "ok"


def test_small_letters_and_hyphens_do_no_harm(at, code):
    at("saw-1").types(f"{code[:2]}-{code[2:]}\r".lower(), computer="qwertz").sees("3 left")


def test_dead_keys_and_a_keypad_without_numbers_are_keys_of_the_scanner(at, code):
    """A bracket that is a dead key (Swedish), figures of a keypad without Num Lock: no text, but a place of the key."""
    keys = [stroke(sign) for sign in f"]C0{code}\r"]
    keys[0] |= {"key": "Dead", "text": ""}
    for key in keys:
        if key["code"].startswith("Digit"):
            key.update(key="Home", code=key["code"].replace("Digit", "Numpad"), text="")
    at("saw-1").strikes(keys).sees("3 left")


def test_a_line_feed_behind_the_code_belongs_to_the_scan(at, code, opened):
    feed = {"key": "j", "code": "KeyJ", "text": "", "modifiers": 2, "windowsVirtualKeyCode": 74}
    at("saw-1", "").strikes([*map(stroke, code), feed, stroke("\r")]).sees("Blank sawn").waits(0.6)
    assert Blank.objects.get().sawn == 0


# What goes wrong ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("half", [slice(0, 4), slice(0, -1), slice(0, -2)])
def test_half_a_code_is_called_misread_and_shown_as_it_was_read(at, code, half):
    at("saw-1").types(f"{code[half]}\r").sees("Misread").sees(code[half]).sees("Nothing was counted.")
    assert kept().answer == "code-damaged"


def test_half_a_code_on_a_wrong_layout_is_called_misread_too(at, code):
    at("saw-1").types(f"{code[:5]}\r", computer="azerty").sees("Misread").sees(code[:5])


def test_a_scanner_that_stumbles_in_the_middle_is_heard_whole(at, code):
    keys = [stroke(sign) for sign in f"{code}\r"]
    keys[5]["gap"] = 0.1
    at("saw-1").strikes(keys).sees("3 left")
    assert is_read(code)


@pytest.mark.parametrize("between", ["", "]C0"])
def test_of_two_codes_in_one_burst_neither_is_taken(at, code, order, between):
    other = make_sheet_code(order.number + 1, "A")
    page = at("saw-1").types(f"{code}{between}{other}\r").sees("Two codes at once")
    page.sees("scan one again").sees("Nothing was counted.")
    assert kept().answer == "code-together"


def test_two_codes_without_a_suffix_close_together_are_said_to_be_two(at, code, order):
    second = [stroke(sign) for sign in make_sheet_code(order.number + 1, "A")]
    second[0]["gap"] = 0.12
    at("saw-1").strikes([*map(stroke, code), *second]).sees("Two codes at once")


def test_one_code_twice_in_one_burst_is_that_code(at, code):
    at("saw-1").types(f"{code}{code}\r").sees("3 left")
    assert kept().answer == "ok"


def test_the_same_scan_twice_is_harmless(at, code):
    at("saw-1").types(f"{code}\r").sees("3 left").types(f"{code}\r").waits(0.6).sees("3 left")
    assert is_read(code)


def test_a_key_that_sticks_adds_nothing_to_a_code_and_presses_nothing_again(at, code, opened):
    keys = [stroke(sign) for sign in f"{code}\r"]
    stuck = [keys[3] | {"autoRepeat": True}] * 4
    page = at("saw-1").strikes([*keys[:4], *stuck, *keys[4:]]).sees("Blank sawn")
    assert is_read(code)
    page.waits(0.6)
    page.browser.execute_script(
        "window.presses = 0; document.addEventListener('click', () => { window.presses += 1; }, true);"
        "document.querySelector('#screen button').focus();"
    )
    enter = stroke("\r")
    strike(page.browser, [enter, *[enter | {"autoRepeat": True}] * 5], 0.03)
    assert page.browser.execute_script("return window.presses") == 1


# Where a scan falls ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("suffix", ["\r", "\t", ""], ids=["enter", "tab", "none"])
def test_a_scan_while_a_field_has_the_focus_and_a_question_is_open(at, code, order, opened, suffix):
    pick = Blank.objects.get().pk
    page = at("saw-1", f"?order={order.number}&pick={pick}&ask=count").sees("How many sawn?")
    page.field.send_keys("2")
    page.waits(0.4).types(code + suffix).sees("Blank sawn")
    assert (Blank.objects.get().sawn, is_read(code)) == (0, True)


def test_no_scan_that_falls_into_a_field_sends_the_form(at, order, opened):
    """Bought goods scanned while the reason of a miscut is typed: the scanner's Enter must not book it."""
    pick = Blank.objects.get().pk
    page = at("saw-1", f"?order={order.number}&pick={pick}&ask=why&why=2").sees("How many are spoiled?")
    page.browser.execute_script("document.querySelector('[name=reason]').focus()")
    page.types("0733661185428\r").sees("Unknown code").sees("0733661185428")
    assert Blank.objects.get().saw_miscut == 0


def test_what_a_fast_hand_types_into_a_field_stays_there(at, code):
    page = at("saw-1", "?ask=number").waits(0.3)
    for sign in "the":  # three keys that roll
        page.types(sign, 0.03)
    page.waits(0.4)
    assert page.field.get_attribute("value") == "the"
    assert not Scan.objects.exists()


@pytest.mark.parametrize("last", [Keys.ENTER, ""])
def test_a_code_typed_slowly_into_nothing_counts_nothing(at, code, order, opened, last):
    browser = at("saw-1", f"?order={order.number}").browser
    for key in [*code[:-1], "T", last]:
        ActionChains(browser).pause(0.4).send_keys(key).perform()
    time.sleep(1)
    words = browser.find_element(By.ID, "screen").text
    assert Blank.objects.get().sawn == 0
    assert "What went wrong?" not in words
    assert "press N first" in words
    ActionChains(browser).send_keys("n").perform()
    WebDriverWait(browser, PATIENCE).until(
        lambda _: "Type what is printed" in browser.find_element(By.ID, "screen").text
    )


def test_a_code_typed_by_hand_is_looked_up_with_enter(at, code):
    page = at("saw-1", "?ask=number")
    strike(page.browser, [stroke(sign) for sign in f"{code}\r"], 0.2)
    page.sees("This one?")


def test_a_scan_while_the_page_is_busy_has_its_turn(at, order, opened):
    page = at("saw-1", f"?order={order.number}").sees("Blank sawn").waits(0.5)
    slow = {"offline": False, "latency": 700, "downloadThroughput": -1, "uploadThroughput": -1}
    page.browser.execute_cdp_cmd("Network.emulateNetworkConditions", slow)
    page.browser.find_element(By.TAG_NAME, "body").send_keys(Keys.ENTER)
    page.types("0733661185428\r").sees("Unknown code")
    assert Blank.objects.get().sawn == 1


@pytest.mark.parametrize("ms", [30, 120])
def test_how_slow_a_scanner_may_be_is_set_at_its_station(at, shop, code, ms):
    saw = shop.stations["saw-1"]
    saw.scan_gap = ms
    saw.save(update_fields=["scan_gap"])
    page = at("saw-1").waits(1.5)  # no key may be older than the page: its time would be cut to the page's beginning
    page.strikes([stroke(sign) for sign in f"{code}\r"], 0.1).waits(0.8)
    assert Scan.objects.exists() == (ms == 120)
    page.sees("3 left" if ms == 120 else "Scan a sheet")


@pytest.mark.parametrize("suffix", ["\r", "\t", ""], ids=["enter", "tab", "none"])
@pytest.mark.parametrize("gap", [0.1, 0.35])
def test_a_code_that_comes_too_slowly_for_a_scanner_says_so_and_what_to_set(at, order, code, opened, gap, suffix):
    page = at("saw-1", f"?order={order.number}").sees("Blank sawn").waits(3)
    page.strikes([stroke(sign) for sign in code + suffix], gap).sees("too slowly").sees("now 60. Typed? Press N first.")
    page.sees(Station._meta.get_field("scan_gap").verbose_name)
    assert (Scan.objects.count(), Blank.objects.get().sawn) == (0, 0)


def test_keys_that_are_no_code_are_not_called_a_slow_scanner(at, order, opened):
    page = at("saw-1", f"?order={order.number}").sees("Blank sawn").waits(2)
    page.strikes([stroke(sign) for sign in "order 4101"], 0.15).waits(1)
    assert "too slowly" not in page.browser.find_element(By.ID, "screen").text
