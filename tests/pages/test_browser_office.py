"""The office in a real browser: figures that follow the typing, keys, a scan in between, pages for everybody."""

from pathlib import Path

import pytest
from scanner import scan
from selenium.common.exceptions import NoSuchElementException, StaleElementReferenceException
from selenium.webdriver.common.action_chains import ActionChains
from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys
from selenium.webdriver.support.ui import WebDriverWait

from cutsheets.codes import make_sheet_code
from orders.models import Order

pytestmark = pytest.mark.django_db(transaction=True)
AXE = (Path(__file__).parent / "vendor" / "axe-core" / "axe.min.js").read_text(encoding="utf-8")
DESK, PHONE = (1280, 800), (390, 844)
PAGES = (
    "/", "/orders/new/", "/orders/import/", "/orders/{number}/", "/orders/{number}/?head", "/customers/",
    "/customers/{customer}/", "/customers/new/", "/profiles/", "/profiles/TP-14/", "/profiles/new/",
    "/profiles/TP-14/revise/", "/profiles/new/?way=family", "/profiles/new/?way=drawing", "/profiles/new/?way=text",
    "/profiles/fonts/", "/orders/{number}/lines/{line}/", "/orders/{number}/lines/new/",
)  # fmt: skip
OPEN_LINE, NEW_LINE = PAGES[-2:]
# Key caps out of which their sign stands: its ink against the inside of the cap.
TOO_SMALL = """
const pen = document.createElement("canvas").getContext("2d");
const small = () => [...document.querySelectorAll("kbd.key")].filter((cap) => {
  const look = getComputedStyle(cap);
  pen.font = `${look.fontWeight} ${look.fontSize} "Radio Canada"`;
  const ink = pen.measureText(cap.textContent);
  return ink.actualBoundingBoxAscent + ink.actualBoundingBoxDescent + 2 > cap.clientHeight;
}).map((cap) => cap.textContent);
document.fonts.load('700 12px "Radio Canada"').then(() => arguments[0](small()));
"""


@pytest.fixture
def mina_at(browser_as, shop):
    """Return a function that opens a path as Mina of the office."""
    return lambda path: browser_as(shop.people["mina"], path)


@pytest.fixture
def path(draft):
    """Return a function that fills an address of PAGES."""
    line = draft.lines.get().pk
    return lambda page: page.format(number=draft.number, line=line, customer=draft.customer_id)


def field(page, name):
    return page.find_element(By.NAME, name)


def retype(page, name, text):
    field(page, name).send_keys(Keys.CONTROL, "a")
    field(page, name).send_keys(text)


def until(page, text, where="figures"):
    """Wait until a part of the page says this."""
    wait = WebDriverWait(page, 5, ignored_exceptions=[NoSuchElementException, StaleElementReferenceException])
    wait.until(lambda _: text in page.find_element(By.ID, where).text.replace("\n", " "), text)


def test_figures_follow_the_typing_and_save_nothing(mina_at, path, draft):
    page = mina_at(path(OPEN_LINE))
    until(page, "front")
    retype(page, "runs-0-wall", "30'")
    until(page, "= 30′ 0″ wall")
    until(page, "= 360 in", "id_runs-0-wall_echo")
    assert draft.lines.get().spec["runs"][0]["wall"] == "42'-0\""


def test_a_length_that_means_two_things_takes_the_place_of_the_figures(mina_at, path):
    page = mina_at(path(OPEN_LINE))
    retype(page, "runs-0-wall", "14.2'")
    until(page, "Run 1, wall length: “14.2'” means two lengths")
    retype(page, "runs-0-wall", "14' 2")
    until(page, "= 14′ 2″ wall")


def test_one_more_run_is_added_in_its_place_and_counts_at_once(mina_at, path, draft):
    page = mina_at(path(OPEN_LINE))
    retype(page, "note", "kept while a run is added")
    page.find_element(By.CSS_SELECTOR, "[data-add-row='runs']").click()
    field(page, "runs-1-wall").send_keys("3' 6")
    until(page, "= 3′ 6″ wall")
    assert field(page, "note").get_attribute("value") == "kept while a run is added"
    page.find_element(By.CSS_SELECTOR, ".act").click()
    until(page, "is saved", "main")
    assert [run["wall"] for run in draft.lines.get().spec["runs"]] == ["42'-0\"", "3' 6"]


def test_escape_leaves_a_field_as_it_was(mina_at, path):
    page = mina_at(path(OPEN_LINE))
    retype(page, "runs-0-wall", "30'")
    until(page, "= 30′ 0″ wall")
    field(page, "runs-0-wall").send_keys(Keys.ESCAPE)
    until(page, "= 42′ 0″ wall")
    assert field(page, "runs-0-wall").get_attribute("value") == "42'-0\""


def test_a_panel_asks_for_its_sides_only(mina_at, path, draft):
    page = mina_at(path(NEW_LINE))
    field(page, "kind").send_keys("Panel")
    WebDriverWait(page, 5).until(lambda _: page.find_elements(By.NAME, "l"))
    assert not page.find_elements(By.NAME, "runs-0-wall")
    field(page, "grade").send_keys("Firm")
    for side, text in (("l", "48"), ("w", "24"), ("h", "6")):
        field(page, side).send_keys(text)
    until(page, "48 × 24 × 6")
    field(page, "h").send_keys(Keys.CONTROL, "s")
    until(page, "Line B is saved", "main")
    assert draft.lines.get(mark="B").spec == {"size": ["48", "24", "6"]}


def test_a_slash_goes_to_the_find_field_and_enter_finds(mina_at, path):
    page = mina_at("/customers/")
    ActionChains(page).send_keys("/").perform()
    assert page.switch_to.active_element.get_attribute("name") == "q"
    page.switch_to.active_element.send_keys("bramhall", Keys.ENTER)
    until(page, "found by “bramhall”: 1", "main")


def test_a_scan_while_somebody_types_opens_the_order_and_leaves_no_mark_in_the_field(mina_at, draft, mina):
    from orders import moves

    moves.release(draft, mina)
    page = mina_at("/orders/new/")
    field(page, "job").send_keys("Gable")
    code = make_sheet_code(draft.number, "A")
    kept = "addEventListener('pagehide', () => { sessionStorage.kept = document.querySelector('#id_job').value })"
    page.execute_script(kept)
    ActionChains(page).pause(0.2).perform()  # nobody scans within 40 ms of typing
    scan(page, code)
    WebDriverWait(page, 5).until(lambda _: page.current_url.endswith(f"/orders/{draft.number}/"))
    assert page.execute_script("return sessionStorage.kept") == "Gable"
    assert Order.objects.count() == 1


def test_a_letter_key_acts_only_outside_of_fields(mina_at, path):
    page = mina_at("/orders/")
    ActionChains(page).send_keys("j").send_keys(Keys.ENTER).perform()
    until(page, "Bramhall Street Theatre", "main")
    ActionChains(page).send_keys("g").send_keys("f").perform()
    WebDriverWait(page, 5).until(lambda _: page.current_url.endswith("/stock/"))


def test_the_first_wrong_field_has_the_focus(mina_at, path):
    page = mina_at("/orders/new/")
    field(page, "customer").send_keys("Osgod")
    field(page, "job").send_keys("Gable")
    page.find_element(By.CSS_SELECTOR, ".act").click()
    WebDriverWait(page, 5).until(lambda _: page.find_elements(By.CSS_SELECTOR, ".fault"))
    assert page.switch_to.active_element.get_attribute("name") == "customer"


def test_no_page_scrolls_sideways_on_a_desk_or_a_phone(mina_at, path, viewport):
    wide = []
    for address in map(path, PAGES):
        page = mina_at(address)
        for size in (DESK, PHONE):
            viewport(*size)
            over = page.execute_script("return document.documentElement.scrollWidth") - size[0]
            wide += [(address, size, over)] if over > 0 else []
    assert wide == []


def test_no_page_shuts_anybody_out(mina_at, path):
    faults = []
    run = "const done = arguments[0]; axe.run().then((result) => done(result.violations))"
    for address in map(path, PAGES):
        page = mina_at(address)
        page.execute_script(AXE)
        for fault in page.execute_async_script(run):
            if fault["impact"] in ("serious", "critical"):
                faults.append((address, fault["id"], fault["nodes"][0]["html"][:200]))
    assert faults == []


def test_no_page_breaks_its_own_security_policy(browser, mina_at, path):
    browser.get_log("browser")  # what pages of other tests complained of
    for address in map(path, PAGES):
        mina_at(address)
    assert [entry["message"] for entry in browser.get_log("browser") if "favicon" not in entry["message"]] == []


def test_every_sign_stands_within_its_key_cap(browser_as, shop):
    page = browser_as(shop.people["raf"], "/day/")
    assert {"[", "J"} <= {cap.text for cap in page.find_elements(By.CSS_SELECTOR, "kbd.key")}
    assert page.execute_async_script(TOO_SMALL) == []
