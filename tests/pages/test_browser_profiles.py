"""Profiles in a real browser: a drawing put right and looked at, a stack built by keyboard, live pictures."""

import pytest
from selenium.common.exceptions import NoSuchElementException, StaleElementReferenceException
from selenium.webdriver.common.action_chains import ActionChains
from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys
from selenium.webdriver.support.ui import Select, WebDriverWait

from orders.demo import library
from orders.models import Profile

pytestmark = pytest.mark.django_db(transaction=True)
PATIENCE = 20  # seconds: a drawing is read in a process of its own, and the machine may be busy
BRACKET = (library.DRAWINGS / "bracket.dxf").read_bytes()  # 6 × 8 in
GAP = BRACKET.replace(b"21\n8\n0\nLINE", b"21\n7.9\n0\nLINE", 1)


@pytest.fixture
def new(browser_as, shop):
    """Return a function that opens the form of a new profile as Mina of the office, with its code and name typed."""

    def open_form(way):
        page = browser_as(shop.people["mina"], f"/profiles/new/?way={way}")
        page.find_element(By.NAME, "code").send_keys("BR-1", Keys.TAB, "Eaves bracket")
        return page

    return open_form


@pytest.fixture
def file(tmp_path):
    """Return a function that puts a drawing on the disk and returns its path."""

    def write(name, data):
        path = tmp_path / name
        path.write_bytes(data)
        return str(path)

    return write


def comes(page, true):
    """Wait until something is true of a page whose parts may be redrawn meanwhile."""
    passing = [NoSuchElementException, StaleElementReferenceException]
    WebDriverWait(page, PATIENCE, ignored_exceptions=passing).until(lambda _: true())


def until(page, said, where="picture"):
    comes(page, lambda: said in page.find_element(By.ID, where).text.replace("\n", " "))


def paste(page, text):
    """Put a text into the points at once, as a paste does; keys as fast as these would be a scan."""
    script = "arguments[0].value = arguments[1]; arguments[0].dispatchEvent(new Event('input', {bubbles: true}))"
    page.execute_script(script, page.find_element(By.NAME, "text"), text)


def figures(page):
    """Return the figures of the picture, as they are drawn."""
    return [text.text for text in page.find_elements(By.CSS_SELECTOR, "#picture .outline:last-of-type svg text")]


def shows(page, *wanted):
    comes(page, lambda: set(wanted) <= set(figures(page)))


def press(page, key, *held):
    keys = ActionChains(page)
    for each in held:
        keys.key_down(each)
    keys.send_keys(key)
    for each in held:
        keys.key_up(each)
    keys.perform()


def members(page):
    return [
        Select(row).first_selected_option.text
        for row in page.find_elements(By.CSS_SELECTOR, ".members li select[name$='-member']")
    ]


def focused(page):
    return page.switch_to.active_element.get_attribute("name")


def test_a_drawing_with_a_gap_is_marked_then_mended_looked_at_and_saved(new, file, screenshot):
    page = new("drawing")
    choose = page.find_element(By.NAME, "file")
    choose.send_keys(file("gap.dxf", GAP))
    until(page, "152.400 200.660 A gap of 2.540 mm")
    assert "1" in figures(page)
    screenshot("profile-gap")
    choose.send_keys(file("mended.dxf", BRACKET))
    until(page, "The shape is 6 × 8 inches over all.")
    shows(page, "6", "8")
    page.find_element(By.CSS_SELECTOR, ".act").click()
    until(page, "Nothing is saved yet")
    assert not Profile.objects.filter(code="BR-1").exists()
    page.find_element(By.NAME, "seen").click()
    press(page, "s", Keys.CONTROL)
    until(page, "BR-1 is on the list.", "main")
    assert Profile.objects.get(code="BR-1").current.source["file"] == "mended.dxf"


def test_a_stack_is_built_with_the_keyboard_alone(new, screenshot):
    page = new("family")
    until(page, "Wall at the left")
    assert members(page) == ["fascia (flat band)"] * 3
    press(page, Keys.F8)
    comes(page, lambda: len(members(page)) == 4)
    assert focused(page) == "member-3-member"
    page.switch_to.active_element.send_keys("torus")
    comes(page, lambda: page.find_elements(By.NAME, "member-3-bulge"))
    press(page, Keys.TAB)
    assert focused(page) == "member-3-height"
    page.switch_to.active_element.send_keys(Keys.CONTROL, "a")
    page.switch_to.active_element.send_keys("2")
    shows(page, "11")
    press(page, Keys.ARROW_DOWN, Keys.CONTROL, Keys.SHIFT)
    comes(page, lambda: focused(page) == "member-2-member")
    assert members(page)[1] == "torus (half round)"
    screenshot("profile-stack")
    press(page, "s", Keys.CONTROL)
    until(page, "BR-1 is on the list.", "main")
    kept = Profile.objects.get(code="BR-1").current.source["recipe"]["members"]
    assert [row["member"] for row in kept] == ["fascia", "fascia", "torus", "fascia"]


def test_a_row_asked_for_right_after_a_number_was_typed_is_not_lost_to_the_picture(new):
    page = new("family")
    until(page, "Wall at the left")
    # the picture is asked for 150 ms after the last key, while the row is on its way
    page.execute_script("""
        const field = document.querySelector("[name=member-0-height]");
        field.value = "4";
        field.dispatchEvent(new Event("input", {bubbles: true}));
        setTimeout(() => document.querySelector("[data-key=F8]").click(), 145);
    """)
    comes(page, lambda: len(members(page)) == 4)
    assert page.find_element(By.NAME, "member-0-height").get_attribute("value") == "4"


def test_the_picture_follows_the_points_and_says_what_is_wrong(new):
    page = new("points")
    paste(page, "0, 0\n6, 0, bulge 1\n6, 1 1/2\n0, 1 1/2")
    until(page, "Wall at the left")
    paste(page, "0, 0\n6, 0\n7")
    until(page, "Line 3: “7” is no point")
    assert page.find_element(By.NAME, "name").get_attribute("value") == "Eaves bracket"


def test_what_a_kind_does_not_ask_for_is_out_of_sight(new):
    page = new("points")
    assert page.find_element(By.NAME, "bare").is_displayed()
    Select(page.find_element(By.NAME, "kind")).select_by_value("turned")
    assert not page.find_element(By.NAME, "bare").is_displayed()
    assert "height from the base" in page.find_element(By.ID, "main").text.lower()
    paste(page, "0, 3\n4, 1")
    until(page, "Dashed line: the axis")
