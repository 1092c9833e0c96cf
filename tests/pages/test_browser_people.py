"""A tablet at the saw in a real browser: paired by a code, a person named by large keys, the next one by a badge."""

from pathlib import Path

import pytest
from django.utils import timezone
from floor_network import Place
from floor_shop import plan_for, theatre
from scanner import scan
from selenium.webdriver.common.action_chains import ActionChains
from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys
from selenium.webdriver.support.ui import Select, WebDriverWait

from cutsheets.codes import make_sheet_code
from orders import sawing
from orders.models import Blank, Move, Scan
from shop import badges, devices
from shop.acts import Act
from shop.models import Device, Person

pytestmark = pytest.mark.django_db(transaction=True)
AXE = (Path(__file__).parent / "vendor" / "axe-core" / "axe.min.js").read_text(encoding="utf-8")
PATIENCE = 20  # seconds: the machine may be busy with other tests
TABLETS = ((1280, 800), (1024, 768))
MM = 5.9  # points of a 10.1 in tablet of 1280 × 800
SMALL = """
return [...document.querySelectorAll("#screen button, #screen a, main.st-screen button, main.st-screen a")]
  .filter((one) => one.checkVisibility())
  .map((one) => [one.innerText, one.getBoundingClientRect()])
  .filter(([, box]) => Math.min(box.width, box.height) < arguments[0])
  .map(([words]) => words);
"""
FITS = """
const acts = document.querySelector(".st-acts");
return document.documentElement.scrollHeight <= innerHeight && document.documentElement.scrollWidth <= innerWidth
  && (!acts || acts.getBoundingClientRect().bottom <= innerHeight + 1);
"""


@pytest.fixture
def order(shop):
    order = theatre(shop, lines=(("TP-22", {"pieces": [{"length": 40, "qty": 3}]}),))
    run = plan_for(shop, order)
    sawing.open_source(run.sources.get(), Act(shop.people["bo"], shop.stations["saw-1"]))
    return order


@pytest.fixture
def people(shop):
    badges.set_pin(shop.people["bo"], "4718")
    return shop.people


@pytest.fixture
def code(shop, people):
    return devices.make_code(shop.stations["saw-1"], "Tablet at the saw", Act(people["raf"]))


@pytest.fixture
def tablet(browser, live_server, code):
    return Tablet(browser, live_server.url).pair(code)


class Tablet:
    """A paired device as hands and eyes have it."""

    def __init__(self, browser, origin):
        self.browser, self.origin = browser, origin

    def open(self, path):
        self.browser.get(self.origin + path)
        return self

    def pair(self, code):
        self.open("/station/pair/").browser.find_element(By.NAME, "code").send_keys(code, Keys.ENTER)
        return self.sees("Who is at Saw 1?")

    @property
    def words(self):
        return self.browser.execute_script("return document.body.innerText")

    def sees(self, words):
        WebDriverWait(self.browser, PATIENCE).until(lambda _: words.lower() in self.words.lower(), message=words)
        return self

    def press(self, words):
        self.sees(words)
        self.browser.find_element(By.XPATH, f"//*[self::a or self::button][contains(., '{words}')]").click()
        return self

    def keys(self, digits):
        """Press large keys on the screen."""
        self.sees("Rub out")
        for digit in digits:
            self.browser.find_element(By.CSS_SELECTOR, f"[data-digit='{digit}']").click()
        return self

    def type(self, *keys):
        ActionChains(self.browser).pause(0.45).send_keys(*keys).perform()
        return self

    def named(self, name):
        """Wait until the rail says this name."""
        rail = "return document.querySelector('.st-person').innerText"
        WebDriverWait(self.browser, PATIENCE).until(lambda browser: browser.execute_script(rail) == name, message=name)
        return self

    def status(self):
        return self.browser.execute_script("return document.getElementById('said').textContent.trim()")


def badge(person):
    return badges.new_badge(person, timezone.now())


def test_a_count_is_written_with_whoever_scanned_the_last_badge(tablet, people, order):
    tablet.press("Bo Lindqvist").sees("Your PIN").keys("4718").press("It is me").named("Bo L.")
    scan(tablet.browser, make_sheet_code(order.number, "A"))
    tablet.sees("Blank sawn").type(Keys.ENTER).sees("1 of 3 sawn")
    before = tablet.browser.current_url
    scan(tablet.browser, badge(people["raf"]))
    tablet.named("Raf A.").sees("1 of 3 sawn")
    assert tablet.status() == "Raf A. is at Saw 1."
    assert tablet.browser.current_url.partition("&sound")[0] == before.partition("&sound")[0]
    tablet.type(Keys.ENTER).sees("2 of 3 sawn")
    assert [move.by.username for move in Move.objects.filter(action="saw").order_by("pk")] == ["bo", "raf"]
    assert [row.by.username for row in Scan.objects.all()] == ["bo"]


def test_digits_are_typed_too_and_rubbed_out(tablet, people):
    tablet.press("Bo Lindqvist").sees("Your PIN").type("4719").keys(["back"]).type("8", Keys.ENTER).named("Bo L.")


def test_a_badge_scanned_into_the_pin_field_names_its_person(tablet, people):
    tablet.press("Bo Lindqvist").sees("Your PIN").type("47")
    ActionChains(tablet.browser).pause(0.5).perform()
    scan(tablet.browser, badge(people["raf"]))
    tablet.named("Raf A.").sees("Scan a sheet")


def test_a_wrong_pin_says_so_and_leaves_the_keys_in_sight(tablet, people):
    tablet.press("Bo Lindqvist").keys("9999").press("It is me").sees("This PIN is wrong.")
    tablet.keys("4718").press("It is me").named("Bo L.")


def test_not_you_leads_to_the_names_and_back_to_the_screen(tablet, people, order):
    scan(tablet.browser, badge(people["raf"]))
    tablet.named("Raf A.")
    scan(tablet.browser, make_sheet_code(order.number, "A"))
    tablet.sees("Blank sawn").browser.find_element(By.CSS_SELECTOR, ".st-person a").click()
    tablet.press("Bo Lindqvist").sees("Your PIN").keys("4718").press("It is me").named("Bo L.").sees("Blank sawn")
    assert not Blank.objects.get().sawn


def test_the_name_in_the_rail_is_large_enough_for_a_glove_and_has_a_key(tablet, people):
    scan(tablet.browser, badge(people["raf"]))
    tablet.named("Raf A.").sees("Scan a sheet")
    area = """
      const link = document.querySelector(".st-person a"), box = link.getBoundingClientRect();
      const hit = (x, y) => document.elementFromPoint(x, y) === link;
      return [hit(box.left - 14, 4), hit(box.right + 14, 4), hit(box.left, arguments[0]), box.width + 30];
    """
    *corners, wide = tablet.browser.execute_script(area, 15 * MM)
    assert corners == [True, True, True]
    assert wide >= 15 * MM
    tablet.type("y").sees("Who is at Saw 1?")


def test_a_device_that_is_signed_out_says_so_by_itself(tablet, people):
    scan(tablet.browser, badge(people["raf"]))
    tablet.named("Raf A.").sees("Scan a sheet")
    devices.revoke(Device.objects.get(), Act(people["raf"]))
    tablet.sees("This device was signed out by Raf A.; ask the manager.")


def test_a_device_signed_out_while_it_keeps_something_says_so_too(tablet, people, order):
    scan(tablet.browser, badge(people["raf"]))
    tablet.named("Raf A.")
    place = Place(tablet.browser).scan(make_sheet_code(order.number, "A")).sees("3 left")
    place.offline().press(Keys.ENTER).sees("kept here: 1")
    devices.revoke(Device.objects.get(), Act(people["raf"]))
    place.online().sees("This device was signed out by Raf A.; ask the manager.")
    assert Blank.objects.get().sawn == 0


def test_a_person_who_leaves_is_asked_for_again_on_the_open_screen(tablet, people):
    scan(tablet.browser, badge(people["raf"]))
    tablet.named("Raf A.").sees("Scan a sheet")
    devices.sign_out(Device.objects.get())
    tablet.sees("Who is at Saw 1?")


@pytest.mark.parametrize("size", TABLETS)
def test_every_page_fits_a_tablet_with_large_keys_and_no_fault_that_axe_knows(
    tablet, viewport, people, size, screenshot
):
    viewport(*size)
    tablet.open("/station/pair/")
    look(tablet, screenshot, f"people-pair-{size[0]}")
    tablet.open("/station/saw-1/")
    look(tablet, screenshot, f"people-who-{size[0]}")
    tablet.press("Bo Lindqvist").keys("99").press("It is me").sees("This PIN is wrong.")
    look(tablet, screenshot, f"people-pin-{size[0]}")
    tablet.keys("4718").press("It is me").named("Bo L.").sees("Scan a sheet")
    look(tablet, screenshot, f"people-idle-{size[0]}")
    tablet.browser.find_element(By.CSS_SELECTOR, ".st-person a").click()
    tablet.sees("Still Bo L.")
    look(tablet, screenshot, f"people-not-you-{size[0]}")
    tablet.press("New PIN").sees("The old one")
    look(tablet, screenshot, f"people-own-pin-{size[0]}")
    devices.revoke(Device.objects.get(), Act(people["raf"]))
    tablet.open("/station/saw-1/")
    look(tablet, screenshot, f"people-signed-out-{size[0]}")


@pytest.mark.parametrize("size", TABLETS)
def test_forty_people_with_long_names_are_all_within_reach(tablet, viewport, size, screenshot):
    viewport(*size)
    for number in range(40):
        first = "Bartholomäus-Maximilian-Konstantin" * (number % 3 or 1) if number % 4 == 0 else f"Nils{number}"
        Person.objects.create(username=f"n{number}", first_name=first, last_name="Quist", role="floor", pin="x")
    tablet.open("/station/saw-1/")
    look(tablet, screenshot, f"people-forty-{size[0]}")
    names = tablet.browser.find_elements(By.CSS_SELECTOR, ".st-names a")
    assert all(tablet.browser.execute_script("return arguments[0].scrollHeight <= arguments[0].clientHeight", name)
               for name in names)  # fmt: skip
    names[0].click()
    tablet.sees("Your PIN")
    look(tablet, screenshot, f"people-long-{size[0]}")
    tablet.press("Another name").sees("Who is at Saw 1?")
    tablet.browser.find_elements(By.CSS_SELECTOR, ".st-names a")[-1].click()
    tablet.sees("Your PIN")


@pytest.mark.parametrize("path", ["/shop/devices/", "/shop/badges/", "/shop/badges/{}/pin/"])
def test_the_managers_pages_have_no_fault_that_axe_knows(browser_as, people, tablet, path, viewport, screenshot):
    page = browser_as(people["raf"], path.format(people["bo"].pk))
    for size in TABLETS:
        viewport(*size)
        screenshot(f"people{path.replace('/', '-').replace('{}', 'bo')}{size[0]}")
        assert page.execute_script("return document.documentElement.scrollWidth <= innerWidth")
    page.execute_script(AXE)
    found = page.execute_async_script("axe.run(document).then((answer) => arguments[0](answer.violations))")
    assert [(one["id"], [node["target"] for node in one["nodes"]]) for one in found] == []


def test_the_code_of_the_manager_pairs_a_device(browser_as, people, shop, screenshot):
    desk = Tablet(browser_as(people["raf"], "/shop/devices/"), "")
    Select(desk.browser.find_element(By.NAME, "station")).select_by_visible_text("Saw 1")
    desk.browser.find_element(By.NAME, "name").send_keys("Tablet at the saw")
    desk.press("Make a code").sees("is not shown again")
    screenshot("people-code")
    code = desk.browser.find_element(By.CSS_SELECTOR, ".code").text
    desk.origin = desk.browser.current_url.partition("/shop/")[0]
    desk.pair(code).press("Bo Lindqvist").keys("4718").press("It is me").named("Bo L.")
    desk.open("/orders/").sees("Raf A.")  # who signed in here with a password is himself everywhere else


def look(tablet, screenshot, name):
    """Keep a picture of a screen, and find no fault of it."""
    screenshot(name)
    assert tablet.browser.execute_script(FITS), name
    assert tablet.browser.execute_script(SMALL, 15 * MM) == [], name
    tablet.browser.execute_script(AXE)
    found = tablet.browser.execute_async_script("axe.run(document).then((answer) => arguments[0](answer.violations))")
    assert [each["id"] for each in found if each["impact"] in ("serious", "critical")] == [], name
