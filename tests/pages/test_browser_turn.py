"""From the last of one size to the first of the next, in a real browser: nothing of the next is counted unseen."""

import time

import pytest
from floor_network import Place
from floor_shop import plan_for, theatre
from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys

from orders import moves, sawing
from orders.models import Blank, Piece

pytestmark = pytest.mark.django_db(transaction=True)
TWO_SIZES = {"pieces": [{"length": 40, "qty": 2}, {"length": 30, "qty": 2}]}
TABLETS = ((1280, 800), (1024, 768))
SEEN_FIRST = """
const of = (where) => getComputedStyle(document.querySelector(where));
return [of(arguments[0]).backgroundColor, of(".st-turn").color, of(".st-turn").display];
"""
WHOLE = """
const page = document.documentElement;
return page.scrollHeight <= innerHeight && [...arguments].every((where) => {
  const one = document.querySelector(where), box = one.getBoundingClientRect();
  return one.scrollWidth <= one.clientWidth + 1 && box.bottom <= innerHeight;
});
"""
INK, FIELD = "rgb(19, 32, 27)", "rgb(244, 247, 242)"


@pytest.fixture
def order(shop):
    """Two pieces of each of two lengths."""
    return theatre(shop, lines=(("TP-22", TWO_SIZES),))


@pytest.fixture
def source(shop, order):
    """The block out of which a plan takes them all."""
    return plan_for(shop, order, remnant="").sources.get()


@pytest.fixture
def opened(source, bo):
    return sawing.open_source(source, bo)


@pytest.fixture
def at(browser_as, shop, order):
    """Return a function that opens the order at a station."""
    return lambda code: Place(browser_as(shop.people["bo"], f"/station/{code}/?order={order.number}"))


def key(place):
    return place.browser.find_element(By.CSS_SELECTOR, ".is-main .st-key").text


def sawn():
    return sorted(blank.sawn for blank in Blank.objects.all())


@pytest.mark.parametrize("size", TABLETS)
def test_enter_stops_where_the_saw_comes_to_another_size(at, opened, viewport, screenshot, size):
    viewport(*size)
    saw = at("saw-1").sees("2 left").press(Keys.ENTER).sees("1 of 2 sawn").press(Keys.ENTER).sees("Next size")
    screenshot(f"turn-saw-{size[0]}")
    assert saw.browser.execute_script(SEEN_FIRST, ".st-size") == [INK, FIELD, "flex"]
    assert saw.browser.execute_script(WHOLE, ".st-turn", ".st-readout")
    assert (sawn(), key(saw)) == ([0, 2], "G")
    saw.press(Keys.ENTER).press(Keys.ENTER).sees("The key is G")
    assert sawn() == [0, 2]
    saw.press("g").sees("1 of 2 sawn").sees_no("Next size").press(Keys.ENTER).sees("K-0001 is finished")
    assert sawn() == [2, 2]


@pytest.mark.parametrize("size", TABLETS)
def test_enter_stops_where_the_wire_comes_to_another_piece(at, opened, bo, viewport, screenshot, size):
    viewport(*size)
    for blank in Blank.objects.all():
        moves.count_sawn(blank, 2, bo)
    wire = at("cutter-1").sees("2 left").press(Keys.ENTER).sees("1 of 2 cut").press(Keys.ENTER).sees("Next piece")
    screenshot(f"turn-cutter-{size[0]}")
    assert wire.browser.execute_script(SEEN_FIRST, ".st-mark") == [INK, FIELD, "flex"]
    assert wire.browser.execute_script(WHOLE, ".st-turn", ".st-mark", ".st-points")
    wire.press(Keys.ENTER).sees("The key is G")
    assert sorted(piece.cut for piece in Piece.objects.all()) == [0, 2]
    wire.press("g").sees("1 of 2 cut").sees_no("Next piece")


def test_a_number_that_ends_a_size_leads_to_no_count_of_the_next(at, opened):
    saw = at("saw-1").sees("2 left").press("+").sees("How many sawn?")
    saw.browser.find_element(By.NAME, "qty").send_keys("2", Keys.ENTER)
    saw.sees("Next size").press(Keys.ENTER).sees("The key is G")
    assert sawn() == [0, 2]


def test_a_touch_goes_on_with_the_next_size_when_it_has_been_read(at, opened):
    saw = at("saw-1").sees("2 left")
    for words in ("1 of 2 sawn", "Next size", "1 of 2 sawn"):
        time.sleep(1.1)  # a second touch on the same place is dead for a second
        saw.click(".is-main button").sees(words)
    assert sawn() == [1, 2]


def test_blanks_of_the_same_size_go_on_with_enter(shop, browser_as, bo):
    same = {"pieces": [{"length": 40, "qty": 1}]}
    order = theatre(shop, lines=(("TP-22", same), ("TP-22", same)))
    sawing.open_source(plan_for(shop, order).sources.get(), bo)
    saw = Place(browser_as(shop.people["bo"], f"/station/saw-1/?order={order.number}")).sees("1 left")
    saw.press(Keys.ENTER).sees("Piece B1").sees_no("Next size").press(Keys.ENTER)
    saw.until(lambda: sawn() == [1, 1], "both are sawn")


def test_without_network_the_next_size_says_so_until_one_is_counted(at, opened):
    saw = at("saw-1").sees("2 left").press(Keys.ENTER).sees("1 of 2 sawn").press(Keys.ENTER).sees("Next size").offline()
    saw.press("g").sees("kept here: 1").sees_no("Next size")
    assert key(saw) == "Enter"


@pytest.mark.parametrize("size", TABLETS)
def test_a_refusal_between_two_enters_is_not_left_by_the_second(at, order, opened, mina, viewport, screenshot, size):
    viewport(*size)
    saw = at("saw-1").sees("2 left").press(Keys.ENTER).sees("1 of 2 sawn")
    moves.hold(order, "Waiting for the town.", mina)
    saw.sees("Do not cut.").press(Keys.ENTER).sees("Do not cut.", "The key is G")
    screenshot(f"turn-held-{size[0]}")
    assert saw.browser.execute_script(WHOLE, "[data-act=main]")
    saw.press("g").sees("Scan a sheet")


def test_enter_on_an_act_that_stands_under_another_key_says_which(at, source):
    saw = at("saw-1").sees("Take K-0001, open it").press(Keys.ENTER).sees("Blank sawn").press(Keys.ENTER)
    saw.sees("Enter does nothing here now", "The key is G")
    assert sawn() == [0, 0]
