"""The manager's part of the day: blocks received, plans made and accepted, the day's foam added up and closed."""

import re
from fractions import Fraction

from planning_queue import work_the_queue
from selenium.webdriver.common.by import By

from orders.models import CuttingRun

UM3_PER_IN3 = 25_400**3  # U1: an inch is 25.4 mm (International Yard and Pound Agreement, 1959)
SHOWN = Fraction(1, 1000)  # cubic inches: the last figure on the page
COLUMNS = {
    "issued": "issued", "good": "good", "back": "back", "trim": "waste", "miscut": "miscut", "on saw": "on_saw_end",
    "not found": "unaccounted",
}  # fmt: skip


def receive(hands, count, lot):
    """Put blocks that came off the truck on the rack, by the page."""
    hands.open("/stock/")
    hands.press("Receive blocks")
    hands.fill(grade="Firm 1.5", count=str(count), nominal="8 ft, full", lot=lot, place="bay 2")
    hands.press("Put on the rack")
    hands.sees("K-0001", where="table:last-of-type")


def plan(hands, *, without=()):
    """Make the plan that waits, without these orders, and return it; the page shows a checked draft."""
    hands.open("/plans/")
    hands.press("New plan")
    hands.sees("wanted", where="#main")
    for order in without:
        hands.browser.find_element(By.CSS_SELECTOR, f"input[name=order][value='{order.number}']").click()
    hands.fill(seconds="1")
    hands.press("Make the plan")
    hands.sees("being planned", "Stop and keep this")
    work_the_queue()
    hands.sees("no overlap, every cut edge to edge", "Accept, reserve the foam")
    return CuttingRun.objects.first()


def check_plan_page(hands, run):
    """Check what the page says of a draft: its pictures, its yield, and the bound, as the plan itself has them."""
    said, stats = hands.words("#main"), run.figures["stats"]
    assert hands.browser.find_elements(By.CSS_SELECTOR, ".opened svg polygon, .opened svg path")
    assert f"{100 * run.figures['yield_gross']:.1f} % of the opened foam becomes blanks" in said
    assert f"{stats['new_blocks']}: this plan" in said
    fewest = stats["new_blocks"] == run.figures["bound"]["blocks"]
    assert fewest == ("the fewest possible" in said)


def accept(hands, run):
    hands.press("Accept, reserve the foam")
    hands.sees(f"The foam of plan {run.number} is reserved", "Print saw sheets")


def states(hands):
    """Return the state of every block and remnant that the page of the stock shows, by tag."""
    hands.open("/stock/")
    rows = re.findall(
        r"([KR]-\d{4})(?: from \S+)? Firm 1\.5 .*?(on the rack|reserved for plan \d+|on the saw)", hands.words()
    )
    return dict(rows)


def figures(hands):
    """Return the figures of Firm 1.5 on the day's page, in cubic inches, by the name that the account has for them."""
    row = ".day-foam tbody tr"
    cells = {one.get_attribute("data-name") for one in hands.browser.find_elements(By.CSS_SELECTOR, f"{row} td.n")}
    assert cells == set(COLUMNS), cells
    return {name: _cubic_inches(hands.words(f"{row} td[data-name='{word}']")) for word, name in COLUMNS.items()}


def _cubic_inches(text):
    return Fraction(re.search(r"(-?[\d,]+\.\d{3}) in³", text)[1].replace(",", ""))


def exact(day):
    """Return the figures of the account as exact fractions of a cubic inch."""
    return {name: Fraction(getattr(day, name), UM3_PER_IN3) for name in COLUMNS.values()}


def close(hands):
    hands.press("Close the day")
    hands.sees("is closed. Its figures stay as they are.", "closed ")


def volume(blank):
    """Return one blank of a cut list in cubic inches."""
    return blank["l"] * blank["w"] * blank["h"]
