"""Stations, office and manager see what others do within two seconds, without loading the page again."""

import time
from dataclasses import replace

import pytest
from django.utils import timezone
from floor_network import Place
from floor_shop import plan_for, theatre
from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys

from orders import kept, moves, sawing
from orders.models import Blank, Clash
from shop import account

pytestmark = pytest.mark.django_db(transaction=True)
SOON = 2.0  # seconds


@pytest.fixture
def opened(shop, order, bo):
    return sawing.open_source(plan_for(shop, order).sources.get(), bo)


@pytest.fixture
def blank(opened):
    return Blank.objects.get()


@pytest.fixture
def desk(browser_as, shop):
    """Return a function that opens a page as the manager, and waits until it follows."""

    def open_page(path, who="raf"):
        place = Place(browser_as(shop.people[who], path))
        time.sleep(1)
        return place

    return open_page


def within(place, words):
    """Return after how many seconds a page says these words."""
    began = time.monotonic()
    place.sees(words)
    return time.monotonic() - began


@pytest.mark.parametrize(
    ("path", "before", "after"),
    [
        ("/orders/", "0 of 3", "1 of 3"),
        ("/orders/{order}/", "0 of 3 sawn", "1 of 3 sawn"),
        ("/day/", "0 of 3", "1 of 3"),
        ("/station/cutter-1/?order={order}", "none here", "1 here"),
        ("/station/saw-1/?order={order}", "3 left", "2 left"),
    ],
)
def test_a_page_shows_a_count_of_a_station_within_two_seconds(desk, order, blank, bo, path, before, after):
    moves.miscut_at_saw(blank, 1, "wire broke", bo)  # so that the day knows the order
    page = desk(path.format(order=order.number)).sees(before)
    page.browser.execute_script("window.isTheSame = true")
    moves.count_sawn(blank, 1, bo)
    assert within(page, after) < SOON
    assert page.browser.execute_script("return window.isTheSame")


def test_the_rack_shows_a_block_that_was_received_within_two_seconds(desk, opened, raf):
    page = desk("/stock/").sees("K-0001")
    account.receive("K-0098", opened.piece.grade, (1_000_000,) * 3, raf)
    assert within(page, "K-0098") < SOON


def test_an_act_that_was_not_taken_shows_on_the_orders_and_on_the_day(desk, order, blank, bo, screenshot):
    page = desk("/orders/").sees("0 of 3")
    count = kept.Kept("count-of-nine", "count", timezone.now(), {"blank": str(blank.pk), "qty": "9"})
    kept.take([count], bo.station, there=timezone.now(), by=bo.by)
    assert within(page, "1 act kept at a station without network was not taken") < SOON
    page.click("a[href='/not-taken/']").sees("3 blanks", "count of 9", "Bo L.", "Saw 1")
    screenshot("not-taken")
    page.browser.find_element(By.NAME, "how").send_keys("counted again by hand", Keys.ENTER)
    page.sees("Nothing waits", "counted again by hand, Raf")
    assert Clash.objects.get().settled_by.username == "raf"


def test_the_order_page_follows_its_own_order_only(desk, shop, order, blank, bo):
    other = theatre(shop, job="Another")
    page = desk(f"/orders/{other.number}/").sees("Another")
    page.browser.execute_script("performance.clearResourceTimings()")
    moves.count_sawn(blank, 1, bo)
    time.sleep(3)
    names = page.browser.execute_script("return performance.getEntriesByType('resource').map((one) => one.name)")
    assert [name for name in names if "/live/" not in name] == []
    assert names


def test_what_a_person_is_typing_stays(desk, order, blank, bo):
    count = kept.Kept("count-of-nine", "count", timezone.now(), {"blank": str(blank.pk), "qty": "9"})
    kept.take([count], bo.station, there=timezone.now(), by=bo.by)
    page = desk("/not-taken/").sees("count of 9")
    page.browser.find_element(By.NAME, "how").send_keys("half a sen")
    kept.take([replace(count, id="count-of-more")], bo.station, there=timezone.now(), by=bo.by)
    time.sleep(3)
    field = page.browser.find_element(By.NAME, "how")
    assert field.get_attribute("value") == "half a sen"
    assert page.browser.switch_to.active_element == field
    field.clear()
    page.browser.execute_script("document.activeElement.blur()")
    page.until(lambda: page.words().count("count of 9") == 2, "both")


def test_scroll_and_focus_stay(desk, viewport, order, blank, bo):
    viewport(1280, 160)
    page = desk("/orders/").sees("0 of 3")
    link = f"document.querySelector('[href=\"/orders/{order.number}/\"]')"
    where = f"return [document.activeElement === {link}, window.scrollY]"
    page.browser.execute_script(f"{link}.focus(); window.scrollTo(0, 40)")
    before = page.browser.execute_script(where)
    assert before == [True, 40]
    moves.count_sawn(blank, 1, bo)
    page.sees("1 of 3")
    assert page.browser.execute_script(where) == before
