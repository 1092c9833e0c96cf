"""A plan's page in a real browser: its keys, what is asked of the next plan, a scan in between, narrow windows."""

import time
from pathlib import Path

import pytest
from floor_shop import BLOCK
from scanner import scan
from selenium.webdriver.common.action_chains import ActionChains
from selenium.webdriver.common.by import By
from selenium.webdriver.support.ui import WebDriverWait

from orders import planning
from orders.models import CuttingRun
from shop import account
from shop.acts import Act

pytestmark = pytest.mark.django_db(transaction=True)
AXE = (Path(__file__).parent / "vendor" / "axe-core" / "axe.min.js").read_text(encoding="utf-8")


@pytest.fixture
def draft_plan(released, shop):
    """A draft that opens two blocks of half the height; a whole one stays on the rack."""
    raf, firm = Act(shop.people["raf"]), shop.grades["Firm 1.5"]
    long, wide, high = BLOCK
    for number in (1, 2):
        account.receive(f"K-000{number}", firm, (long, wide, high // 2), raf)
    run = planning.make_plan(firm, raf, iterations=3)
    account.receive("K-0003", firm, BLOCK, raf)
    return run


@pytest.fixture
def page(browser_as, shop, draft_plan):
    return browser_as(shop.people["raf"], f"/plans/{draft_plan.number}/")


def press(page, *keys):
    """Press keys one after the other, as slowly as a person."""
    for key in keys:
        ActionChains(page).send_keys(key).pause(0.2).perform()


def click(page, what):
    """Click something after it was scrolled clear of the key strip, as a person does."""
    page.execute_script("arguments[0].scrollIntoView({block: 'center'})", what)
    what.click()


def focused(page):
    return page.switch_to.active_element


def ticked(page):
    return {(box.get_attribute("name"), box.get_attribute("value"))
            for box in page.find_elements(By.CSS_SELECTOR, "[form=again]:checked")}  # fmt: skip


def test_blocks_are_walked_through_and_kept_with_keys(page, released):
    press(page, "j")
    assert focused(page).get_attribute("id") == "piece-K-0001"
    press(page, " ")
    press(page, "j", "j")
    assert focused(page).get_attribute("id") == "piece-K-0002"
    press(page, "k", "k")
    assert focused(page).get_attribute("id") == "piece-K-0001"
    assert ticked(page) == {("keep", "K-0001"), ("order", str(released.number))}
    press(page, " ")
    assert ("keep", "K-0001") not in ticked(page)


def test_foam_of_the_rack_and_orders_are_chosen_with_keys_and_planned_again(page, draft_plan, released):
    press(page, "j", " ", "u", "u")
    assert ticked(page) == {("keep", "K-0001"), ("first", "K-0003"), ("order", str(released.number))}
    assert page.find_element(By.CSS_SELECTOR, "[data-asked]").text == "K-0001 kept · K-0003 first"
    press(page, "r")
    WebDriverWait(page, 10).until(lambda _: not page.current_url.endswith(f"/{draft_plan.number}/"))
    run = CuttingRun.objects.get(follows=draft_plan)
    assert (planning.Asked.of(run).keep, planning.Asked.of(run).first) == (("K-0001",), ("K-0003",))


def test_an_order_is_left_out_with_a_key_and_nothing_is_planned_without_one(page):
    press(page, "x", "x")
    assert "left out" in page.find_element(By.CSS_SELECTOR, "[data-asked]").text
    press(page, "r")
    assert "Every order is left out" in page.find_element(By.CSS_SELECTOR, "[role=alert]").text


def test_what_is_opened_first_cannot_stay_shut(page):
    for name in ("out", "first"):
        click(page, page.find_element(By.CSS_SELECTOR, f"[name={name}][value=K-0003]"))
    assert ("out", "K-0003") not in ticked(page)
    assert ("first", "K-0003") in ticked(page)


def test_a_key_leads_to_why_the_plan_is_not_better(page):
    press(page, "b")
    assert "Why not better?" in focused(page).text


def test_letters_of_a_scan_and_of_a_field_ask_for_nothing(page, draft_plan, released):
    press(page, "j")
    block = focused(page)
    scan(page, "brju0231x", suffix="")
    time.sleep(0.3)  # its last letter is a key of the page, and nothing follows it
    assert focused(page) == block
    field = page.find_element(By.ID, "seconds")
    click(page, field)
    press(page, "r", "u", "j")
    assert focused(page) == field
    assert ticked(page) == {("order", str(released.number))}
    assert not CuttingRun.objects.filter(follows=draft_plan).exists()


@pytest.mark.parametrize("size", [(1440, 900), (1280, 800), (640, 450)])  # the last is 1280 × 900 at 200 %
def test_nothing_runs_out_of_the_window(page, viewport, screenshot, size):
    viewport(*size)
    assert page.execute_script("return document.documentElement.scrollWidth <= innerWidth")
    wide = page.execute_script("""return [...document.querySelectorAll('.opened .drawing, .slabs figcaption')]
        .filter((each) => each.getBoundingClientRect().right > each.closest('.opened').getBoundingClientRect().right)
        .length""")
    assert wide == 0
    screenshot(f"plan_{size[0]}")


@pytest.mark.parametrize("path", ["/plans/{0}/", "/plans/", "/plans/compare/?plan={0}"])
def test_the_pages_of_plans_have_no_fault_that_axe_knows(browser_as, shop, draft_plan, path):
    page = browser_as(shop.people["raf"], path.format(draft_plan.number))
    page.execute_script(AXE)
    found = page.execute_async_script("axe.run(document).then((answer) => arguments[0](answer.violations))")
    assert [(one["id"], [node["target"] for node in one["nodes"]]) for one in found] == []
