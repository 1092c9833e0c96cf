"""A station that loses its network: what it keeps, what it says, and what the server has when it is back."""

import pytest
from floor_shop import plan_for, theatre
from scanner import scan
from selenium.webdriver.common.action_chains import ActionChains
from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys
from selenium.webdriver.support.ui import WebDriverWait

from cutsheets.codes import make_sheet_code
from orders import moves, sawing
from orders.models import Blank, Clash, Move, Scan
from shop.acts import Act

pytestmark = pytest.mark.django_db(transaction=True)
BAND = {"pieces": [{"length": 40, "qty": 3}]}
PATIENCE = 20  # seconds: the machine may be busy with other tests
ONLINE = {"offline": False, "latency": 0, "downloadThroughput": -1, "uploadThroughput": -1}


@pytest.fixture
def order(shop):
    """Three equal pieces, so three equal blanks."""
    return theatre(shop, lines=(("TP-22", BAND),))


@pytest.fixture
def bo(shop):
    return Act(shop.people["bo"], shop.stations["saw-1"])


@pytest.fixture
def opened(shop, order, bo):
    """The block of the order's plan, open on the saw."""
    return sawing.open_source(plan_for(shop, order).sources.get(), bo)


@pytest.fixture
def blank(opened):
    return Blank.objects.get()


@pytest.fixture
def saw(browser_as, shop):
    """Return a function that opens Saw 1 as the saw hand."""
    return lambda query="": Saw(browser_as(shop.people["bo"], f"/station/saw-1/{query}"))


class Saw:
    """The screen of Saw 1 as its hands see it."""

    def __init__(self, browser):
        self.browser = browser

    def words(self, where="body"):
        return self.browser.execute_script("return document.querySelector(arguments[0]).innerText", where)

    def network(self, gone):
        """Take the network away, from the page and from its service worker; or give it back."""
        self.browser.execute_cdp_cmd("Network.emulateNetworkConditions", ONLINE | {"offline": gone})
        return self

    def scan(self, code):
        scan(self.browser, code)
        return self

    def press(self, key):
        """Press one key as a person does: long after the last one, and after the screen has been read."""
        ActionChains(self.browser).pause(0.45).send_keys(key).perform()
        return self

    def until(self, true, what):
        WebDriverWait(self.browser, PATIENCE, poll_frequency=0.1).until(lambda _: true(), message=what)
        return self

    def sees(self, *sentences, where="body"):
        for words in sentences:
            try:
                self.until(lambda words=words: words.lower() in self.words(where).lower(), words)
            except Exception as error:
                raise AssertionError(f"waits for “{words}”, sees: {self.words()}") from error
        return self

    def sees_no(self, words):
        return self.until(lambda: words.lower() not in self.words().lower(), f"not {words}")


def sawn():
    return Blank.objects.get().sawn


def test_counts_without_network_are_kept_and_counted_once_when_it_is_back(saw, order, blank):
    floor = saw(f"?order={order.number}").sees("3 left").network(True)
    floor.press(Keys.ENTER).sees("2 left", "1 of 3 sawn", "kept here: 1", "No network since", "1 count kept here; it is sent")
    floor.press(Keys.ENTER).sees("1 left", "2 of 3 sawn", "kept here: 2", "2 counts kept here; they are sent")
    assert sawn() == 0
    floor.network(False).sees_no("kept here").sees("2 of 3 sawn")
    assert (sawn(), Move.objects.filter(action="saw").count()) == (2, 2)
