"""The pages of plans and of both ways in small windows, at 200 % zoom and without JavaScript, in a real browser."""

from pathlib import Path

import pytest
from floor_shop import BLOCK
from selenium.common.exceptions import StaleElementReferenceException
from selenium.webdriver.common.by import By
from selenium.webdriver.support.ui import WebDriverWait

from orders import entry, moves, planning, ways
from orders.models import CuttingRun
from shop import account
from shop.acts import Act

pytestmark = pytest.mark.django_db(transaction=True)
AXE = (Path(__file__).parent / "vendor" / "axe-core" / "axe.min.js").read_text(encoding="utf-8")
WINDOWS = {"desk": (1280, 800), "small": (1024, 768), "zoomed": (640, 400)}  # the last is 1280 × 800 at 200 %


@pytest.fixture
def ganged(draft, shop, monkeypatch):
    """An order cut out of big blanks, its plan, one more plan, and one that is being made."""
    mina, raf, firm = Act(shop.people["mina"]), Act(shop.people["raf"]), shop.grades["Firm 1.5"]
    monkeypatch.setattr(ways, "compare", lambda *given: compare(*given, rounds=2))
    line = draft.lines.get()
    ways.compare_in_worker.func(line.pk)
    line.refresh_from_db()
    order = entry.save_line(draft, {"way": "gang", "gang": chosen(line)}, mina, version=draft.version, line=line).order
    moves.release(order, mina)
    for number in (1, 2):
        account.receive(f"K-000{number}", firm, BLOCK, raf)
    one, two = (planning.make_plan(firm, raf, iterations=2, seed=seed) for seed in (0, 1))
    making = CuttingRun.objects.create(
        number=9, grade=firm, state="planning", instance=one.instance, plan=one.plan, figures=one.figures,
        asked=one.asked, made_by=raf.by, alive_at="2030-01-01T00:00:00Z",
    )  # fmt: skip
    return {"plan": f"/plans/{one.number}/", "compare": f"/plans/compare/?plan={one.number}&plan={two.number}",
            "ways": f"/orders/{order.number}/lines/{line.pk}/ways/", "making": f"/plans/{making.number}/",
            "new": "/plans/new/", "list": "/plans/"}  # fmt: skip


IN_SIGHT = """const [strip, act] = ['.keys', 'aside > .block'].map((each) =>
    document.querySelector(each).getBoundingClientRect());
return strip.bottom <= innerHeight && act.bottom <= strip.top + 1"""


def compare(*given, rounds):
    from cutsheets.planning.ways import compare as both

    return both(*given, rounds=rounds)


def chosen(line):
    return {**line.gang, "chosen": ways.compared(line).nest.as_json()}


def test_no_page_runs_out_of_its_window_or_has_a_fault_that_axe_knows(browser_as, shop, ganged, viewport, screenshot):
    for name, path in ganged.items():
        page = browser_as(shop.people["raf"], path)
        for window, size in WINDOWS.items():
            viewport(*size)
            screenshot(f"plans_{name}_{window}")
            wide = "return document.documentElement.scrollWidth <= innerWidth"
            assert page.execute_script(wide), (name, window)
        viewport(*WINDOWS["small"])
        page.execute_script(AXE)
        found = page.execute_async_script("axe.run(document).then((answer) => arguments[0](answer.violations))")
        assert [(name, one["id"], [node["target"] for node in one["nodes"]]) for one in found] == []


def test_the_keys_and_the_act_of_a_plan_stay_in_sight(browser_as, shop, ganged, viewport):
    viewport(*WINDOWS["desk"])
    page = browser_as(shop.people["raf"], ganged["plan"])
    assert page.execute_script(IN_SIGHT)
    page.execute_script("scrollTo(0, 200)")
    assert page.execute_script(IN_SIGHT)


def says(page, words):
    """Wait for words: the page that is found first may be the one before, or give way to itself."""
    wait = WebDriverWait(page, 10, ignored_exceptions=[StaleElementReferenceException])
    wait.until(lambda page: words in page.find_element(By.TAG_NAME, "body").text, words)


def test_without_scripts_a_plan_is_chosen_asked_again_and_accepted(browser_as, shop, ganged, driver):
    driver.execute_cdp_cmd("Emulation.setScriptExecutionDisabled", {"value": True})
    try:
        page = browser_as(shop.people["raf"], ganged["plan"])
        page.find_element(By.CSS_SELECTOR, "button[data-again]").click()
        says(page, "being planned")
        browser_as(shop.people["raf"], ganged["plan"])
        page.find_element(By.CSS_SELECTOR, "form[action$='/accept/'] button").click()
        says(page, "The foam of plan")
    finally:
        driver.execute_cdp_cmd("Emulation.setScriptExecutionDisabled", {"value": False})
