"""A line of every kind entered in a real browser with the keyboard alone: fields come, figures follow, it is saved."""

from pathlib import Path

import pytest
from selenium.common.exceptions import NoSuchElementException, StaleElementReferenceException
from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys
from selenium.webdriver.support.ui import WebDriverWait

from cutsheets.kinds import KINDS
from orders.forms.kinds import FORMS
from orders.lines import KIND_WORDS
from orders.models import Profile, ProfileRevision

pytestmark = pytest.mark.django_db(transaction=True)
AXE = (Path(__file__).parent / "vendor" / "axe-core" / "axe.min.js").read_text(encoding="utf-8")
DESK, PHONE = (1280, 800), (390, 844)
MOST_TABS = 40
# What is typed, field by field in the order of the page, and one figure that must be seen. Choices are typed by their
# first letters. Sizes are invented; the figures follow from the rules of the demo (skim 1/4, end trim 1/2, no coat).
TYPED = {
    "moulding": ([("way", "sprung"), ("face", "4 1/2"), ("thick", "3/4"), ("spring", "45"), ("runs-0-wall", "10'")],
                 "Drop"),
    "column": ([("round", "14"), ("height", "7'-6\""), ("post_side", "4"), ("clearance", "1/4")],
               "91 × 7 1 2 × 14 1 2"),
    "taper": ([("base_round", "10"), ("top_round", "7"), ("length", "6'")], "73 × 10 1 2 × 10 1 2"),
    "turned": ([("way", "typed"), ("stub_base", "1 1/2"), ("half_profile", '[[0,3],[1,3],[4,"1 1/2"],[9,0.5]]')],
               "11 1 2 × 6 1 2 × 6 1 2"),
    "twisted": ([("square", "6"), ("length", "60"), ("hand", "left")], "Turning circle"),
    "arch": ([("way", "span"), ("span", "54"), ("rise", "9"), ("width", "4"), ("thick", "2"), ("longest_part", "36")],
             "Radius of the opening 45 in"),
    "cutout": ([("text", "LIBRARY"), ("cap_height", "12"), ("thick", "3"), ("gap", "1"), ("margin", "1/2")],
               "Closed counters"),
    "mould": ([("cavity_l", "24"), ("cavity_w", "14"), ("cavity_h", "12"), ("piece_l", "28"), ("piece_w", "18"),
               ("piece_h", "15"), ("wall", "4"), ("floor", "4")], "36 × 13 × 19"),
    "wing": ([("root_naca", "0012"), ("root_chord", "220 mm"), ("tip_naca", "0012"), ("tip_chord", "150 mm"),
              ("span", "700 mm"), ("sweep", "40 mm"), ("gap", "1300 mm"), ("root_offset", "150 mm")], "left tower"),
    "panel": ([("l", "48"), ("w", "24"), ("h", "6")], "48 × 24 × 6"),
}  # fmt: skip
KIND_NAMES = [name for name in FORMS if name in KINDS]


@pytest.fixture
def page(browser_as, shop, draft):
    """A new line, opened by Mina of the office."""
    return browser_as(shop.people["mina"], f"/orders/{draft.number}/lines/new/")


def press(page, *keys):
    page.switch_to.active_element.send_keys(*keys)


def at(page):
    return page.switch_to.active_element.get_attribute("name")


def tab_to(page, name):
    """Go on from field to field until this one has the focus, as nobody's mouse would."""
    for _ in range(MOST_TABS):
        if at(page) == name:
            return
        press(page, Keys.TAB)
    raise AssertionError(f"{name} cannot be reached by Tab")


def fill(page, name, text):
    tab_to(page, name)
    if page.switch_to.active_element.tag_name != "select":
        press(page, Keys.CONTROL, "a")
    press(page, text)


def patiently(page):
    return WebDriverWait(page, 5, ignored_exceptions=[NoSuchElementException, StaleElementReferenceException])


def until(page, text, where="figures"):
    patiently(page).until(
        lambda _: text.lower() in page.find_element(By.ID, where).text.replace("\n", " ").lower(), text
    )


def choose(page, kind):
    """Choose a kind and wait until its fields are there."""
    page.find_element(By.NAME, "mark").click()
    fill(page, "kind", KIND_WORDS[kind])
    patiently(page).until(lambda _: page.find_element(By.NAME, FORMS[kind].layout[-1][0]))


@pytest.mark.parametrize("kind", KIND_NAMES)
def test_a_line_is_entered_with_the_keyboard_alone(page, draft, kind):
    choose(page, kind)
    fill(page, "grade", "Firm")
    typed, figure = TYPED[kind]
    for name, text in typed:
        fill(page, name, text)
    until(page, figure)
    assert page.find_elements(By.CSS_SELECTOR, "#figures figure svg title")
    press(page, Keys.CONTROL, "s")
    until(page, "Line B is saved", "main")
    assert draft.lines.get(mark="B").kind == kind


def test_what_was_typed_for_every_line_stays_when_another_kind_is_chosen(page):
    page.find_element(By.NAME, "title").send_keys("Porch")
    choose(page, "taper")
    assert page.find_element(By.NAME, "title").get_attribute("value") == "Porch"
    assert at(page) == "kind"


def test_fields_that_a_choice_does_not_ask_for_are_neither_seen_nor_reached(page):
    choose(page, "column")
    shown = {name: page.find_element(By.NAME, name).is_displayed() for name in ("round", "sides", "post_side", "stave")}
    assert shown == {"round": True, "sides": False, "post_side": True, "stave": False}
    fill(page, "plan", "regular")
    fill(page, "build", "staves")
    shown = {name: page.find_element(By.NAME, name).is_displayed() for name in shown}
    assert shown == {"round": False, "sides": True, "post_side": False, "stave": True}


def test_a_profile_brings_its_usual_foam_along_and_changes_none_that_is_chosen(page, shop):
    profile = Profile.objects.create(code="BAL-1", name="Baluster foot", kind="turned")
    ProfileRevision.objects.create(
        profile=profile, number=1, unit="in", shape={"half_profile": [[0, 3], [4, 1]]}, grade=shop.grades["Dense 2.0"]
    )
    choose(page, "turned")
    fill(page, "profile", "BAL-1")
    assert page.find_element(By.NAME, "grade").get_attribute("value") == str(shop.grades["Dense 2.0"].pk)
    until(page, "Half profile")


def test_a_complaint_of_the_core_has_the_focus(page):
    choose(page, "arch")
    fill(page, "grade", "Firm")
    for name, text in (("way", "span"), ("span", "54"), ("rise", "30"), ("width", "4"), ("thick", "2")):
        fill(page, name, text)
    press(page, Keys.CONTROL, "s")
    patiently(page).until(lambda _: page.find_elements(By.CSS_SELECTOR, ".field .fault"))
    assert at(page) == "rise"


def test_no_form_scrolls_sideways_or_shuts_anybody_out(page, viewport):
    wide, faults = [], []
    page.execute_script(AXE)
    for kind in KIND_NAMES:
        choose(page, kind)
        for size in (PHONE, DESK):
            viewport(*size)
            over = page.execute_script("return document.documentElement.scrollWidth") - size[0]
            wide += [(kind, size, over)] if over > 0 else []
        run = "const done = arguments[0]; axe.run('#line').then((result) => done(result.violations))"
        for fault in page.execute_async_script(run):
            faults.append((kind, fault["id"], fault["nodes"][0]["html"][:200]))
    assert (wide, faults) == ([], [])
