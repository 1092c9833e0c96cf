"""What a station looks like without network, on both tablets: all in sight, and no fault that axe knows."""

from pathlib import Path

import pytest
from django.utils import timezone
from floor_network import Place
from floor_shop import plan_for
from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys

from cutsheets.codes import make_sheet_code
from orders import moves, sawing
from shop.acts import Act

pytestmark = pytest.mark.django_db(transaction=True)
AXE = (Path(__file__).parent / "vendor" / "axe-core" / "axe.min.js").read_text(encoding="utf-8")
TABLETS = ((1280, 800), (1024, 768))
LEAST = 89  # px: 15 mm on a tablet of 10.1 inches and 1280 points
FITS = """
const page = document.documentElement;
const acts = [...document.querySelectorAll(".st-acts .st-act")];
return page.scrollWidth <= innerWidth && page.scrollHeight <= innerHeight
  && acts.every((one) => one.scrollWidth <= one.clientWidth + 1);
"""
SMALL = """
return [...document.querySelectorAll("#clashes button, #screen .st-act, #screen .st-choice")]
  .filter((one) => one.checkVisibility() && !one.matches(".st-waits"))
  .filter((one) => one.getBoundingClientRect().height < arguments[0])
  .map((one) => one.innerText)
"""


@pytest.fixture
def place(browser_as, shop, order, request):
    """Saw 1 with three blanks left out of an open block."""
    sawing.open_source(plan_for(shop, order).sources.get(), Act(shop.people["bo"], shop.stations["saw-1"]))
    return Place(browser_as(shop.people["bo"], f"/station/saw-1/?order={order.number}"))


@pytest.fixture
def looks_well(browser, screenshot):
    """Return a function that keeps a picture of a screen and looks for what is wrong with it."""

    def look(name, size):
        browser.execute_script("document.activeElement.blur()")
        screenshot(f"away-{name}-{size[0]}")
        assert browser.execute_script(FITS), name
        assert browser.execute_script(SMALL, LEAST) == [], name
        browser.execute_script(AXE)
        found = browser.execute_async_script("axe.run(document).then((answer) => arguments[0](answer.violations))")
        serious = [
            (each["id"], each["nodes"][0]["html"]) for each in found if each["impact"] in ("serious", "critical")
        ]
        assert serious == [], name

    return look


@pytest.mark.parametrize("size", TABLETS)
def test_counts_without_network_and_what_was_not_taken(place, shop, order, viewport, looks_well, size):
    viewport(*size)
    place.sees("3 left").offline().press(Keys.ENTER).sees("kept here: 1").press(Keys.ENTER).sees("kept here: 2")
    looks_well("counts", size)
    moves.hold(order, "Waiting for the town.", Act(shop.people["mina"]))
    place.online().sees("2 counts were not taken.", "Do not cut.")
    looks_well("clash", size)


@pytest.mark.parametrize("size", TABLETS)
def test_what_cannot_be_done_without_network(place, order, viewport, looks_well, size):
    viewport(*size)
    place.sees("3 left").fetched_ahead().offline().scan(make_sheet_code(9999, "A")).sees("Cannot check")
    looks_well("cannot-check", size)
    place.press(Keys.ENTER).sees_no("Cannot check").scan(make_sheet_code(order.number, "A")).sees("3 left")
    place.press("+").sees("How many sawn?").browser.find_element("name", "qty").send_keys("7", Keys.ENTER)
    place.sees("Not kept: 3 left here")
    looks_well("too-many", size)


@pytest.fixture
def elsewhere(browser):
    """The browser stands in another time zone, a quarter of an hour off every full one."""
    browser.execute_cdp_cmd("Emulation.setTimezoneOverride", {"timezoneId": "Asia/Kathmandu"})
    yield browser
    browser.execute_cdp_cmd("Emulation.setTimezoneOverride", {"timezoneId": ""})


def test_a_tablet_of_another_time_zone_goes_by_the_shops_clock(elsewhere, place):
    before = timezone.localtime()
    words = place.offline().sees("No network since").words()
    hours = {f"{time:%H:%M}" for time in (before, timezone.localtime())}
    assert any(f"No network since {hour}." in words for hour in hours)
    assert elsewhere.find_element(By.ID, "clock").text in hours
