"""Coating and packing in a real browser, by scans from printed paper: cut, coated, cured, packed."""

from datetime import timedelta
from pathlib import Path

import pytest
from django.utils import timezone
from floor_shop import BLOCK, theatre
from scanner import scan
from selenium.webdriver.common.action_chains import ActionChains
from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys
from selenium.webdriver.support.ui import WebDriverWait

from orders import batches, moves, packing, travellers
from orders.models import Blank, CuttingRun, Move, Order, Piece, RunBlank, RunSource
from orders.operations import own_pieces
from orders.papers import Paper
from orders.standing import standing
from shop import account
from shop.acts import Act
from shop.models import CoatSystem, Station
from tests.cutsheets.paper_reader import codes, document

pytestmark = pytest.mark.django_db(transaction=True)
AXE = (Path(__file__).parent / "vendor" / "axe-core" / "axe.min.js").read_text(encoding="utf-8")
TABLETS = ((1280, 800), (1024, 768))
TARGET = 89  # px: 15 mm of a tablet of 10.1 in and 1280 × 800
PATIENCE = 20
OVERFLOWS = "const at = document.documentElement; return at.scrollWidth > innerWidth || at.scrollHeight > innerHeight"


@pytest.fixture
def shop(shop):
    for kind in ("coat", "pack"):
        shop.stations[f"{kind}-1"] = Station.objects.create(code=f"{kind}-1", name=Station.Kind(kind).label, kind=kind)
    return shop


@pytest.fixture
def order(shop, bo, mina):
    """Two lines under base coat and mesh: eight pieces and a cornice in sticks; everything is sawn and cut."""
    made = theatre(shop)
    mesh = CoatSystem.objects.get(name__startswith="Base")
    made.lines.update(coat_system=mesh, note="Mesh wraps 2 in round the ends")
    block = account.receive("K-0009", shop.grades["Firm 1.5"], BLOCK, bo)
    run = CuttingRun.objects.create(number=7, grade=block.grade, state="accepted", instance={}, plan={}, figures={})
    source = RunSource.objects.create(run=run, position=1, piece=block, state=RunSource.State.ON_SAW)
    account.issue(block, bo, held_for="")
    for blank in Blank.objects.filter(live=True):
        RunBlank.objects.create(source=source, blank=blank, qty=blank.qty)
        moves.count_sawn(blank, blank.qty, bo)
    for piece in Piece.objects.filter(live=True):
        moves.count_cut(piece, piece.qty, Act(bo.by, shop.stations["cutter-1"]))
    return Order.objects.get(pk=made.pk)


class Bench:
    """A station's screen as its hands see it."""

    def __init__(self, browser):
        self.browser = browser

    @property
    def words(self):
        return self.browser.execute_script("return document.getElementById('screen').innerText")

    def sees(self, *words):
        for each in words:
            WebDriverWait(self.browser, PATIENCE).until(
                lambda _, each=each: each.lower() in self.words.lower(), message=f"{each} in {self.words}"
            )
        return self

    def scan(self, code):
        scan(self.browser, code)
        return self

    def press(self, key):
        ActionChains(self.browser).pause(0.45).send_keys(key).perform()
        return self


@pytest.fixture
def at(browser_as, shop):
    return lambda code, query="": Bench(browser_as(shop.people["bo"], f"/station/{code}/{query}"))


def read_from(pdf, page=0):
    """Return the code that a scanner reads from a printed page."""
    return codes(document(pdf)[page], 300)[0].text


def cured():
    """Let the hours of every coat pass."""
    for move in Move.objects.filter(action="coat"):
        Move.objects.filter(pk=move.pk).update(happened_at=move.happened_at - timedelta(hours=49))


def first_of(order):
    return own_pieces(order, "coat").first()


def until(bench, check):
    WebDriverWait(bench.browser, PATIENCE).until(lambda _: check())


def serious(browser):
    """Return the serious findings of axe-core on a screen."""
    browser.execute_script(AXE)
    run = "const done = arguments[0]; axe.run().then((result) => done(result.violations))"
    found = browser.execute_async_script(run)
    return [(one["id"], one["nodes"][0]["html"]) for one in found if one["impact"] in ("serious", "critical")]


def small_targets(browser):
    """Return what may be pressed on the screen, is in sight and lower than a gloved finger needs."""
    pressed = "#screen a[href], #screen button"
    rows = browser.find_elements(By.CSS_SELECTOR, pressed)
    return [row.text for row in rows if row.is_displayed() and row.rect["height"] < TARGET]


def test_a_piece_is_coated_cured_and_packed_by_scans_of_its_paper(at, order, mina):
    coat_sheet = batches.draw("Sheet", [Paper("coat-sheet", order.number)], mina).pdf
    piece = first_of(order)
    bench = at("coat-1").scan(read_from(coat_sheet)).sees("Wall face bare", "Girth", f"{piece.qty} left")
    for count in range(1, piece.qty + 1):
        bench.press(Keys.ENTER)
        until(bench, lambda count=count: Piece.objects.get(pk=piece.pk).coated == count)
    bench.sees("ready")
    bench = at("pack-1").scan(read_from(travellers.print_traveller(order, mina))).sees("curing", "not coated")
    assert f"{piece.label} still cures" in at("pack-1", f"?order={order.number}&pick={piece.pk}").words
    cured()
    bench = at("pack-1").scan(read_from(packing.print_bundle_labels(order, mina, "tag-4x3"))).sees("Bundle 1 of")
    bench.press(Keys.ENTER)
    until(bench, lambda: Piece.objects.get(pk=piece.pk).packed > 0)
    assert standing(order).word == "in work"


def test_a_count_of_pieces_that_still_cure_is_refused_on_the_screen(at, shop, order, bo, screenshot):
    piece = first_of(order)
    moves.count_coated(piece, piece.qty, Act(bo.by, shop.stations["coat-1"]))
    cured()
    bench = at("pack-1", f"?order={order.number}&pick={piece.pk}").sees("into bundle 1")
    Move.objects.filter(action="coat").update(happened_at=timezone.now())  # the office corrected the hour meanwhile
    bench.press(Keys.ENTER).sees("still cure; ready")
    screenshot("finish-pack-1-curing-1280")
    assert Piece.objects.get(pk=piece.pk).packed == 0


def test_the_whole_order_is_packed_bundle_after_bundle(at, shop, order, bo):
    for piece in Piece.objects.filter(line__order=order):
        moves.count_coated(piece, piece.qty, Act(bo.by, shop.stations["coat-1"]))
    cured()
    bench = at("pack-1", f"?order={order.number}").sees("0 of")
    packed = 0
    while packed < standing(order).counts.pack.due:
        bench.sees("into bundle").press(Keys.ENTER)
        until(bench, lambda packed=packed: standing(order).counts.pack.done > packed)
        packed = standing(order).counts.pack.done
        bench.sees(f"{packed} of")
    assert standing(order).word == "done"


@pytest.mark.parametrize("size", TABLETS)
def test_the_screens_are_whole_on_tablets_large_to_press_and_clear_to_read(
    at, shop, order, bo, viewport, screenshot, size
):
    viewport(*size)
    piece = own_pieces(order, "coat").last()  # eight of them
    moves.count_coated(piece, 2, Act(bo.by, shop.stations["coat-1"]))
    cured()
    moves.count_coated(piece, 1, Act(bo.by, shop.stations["coat-1"]))
    found = {}
    for code in ("coat-1", "pack-1"):
        for name, query in (("work", f"?order={order.number}&pick={piece.pk}"), ("idle", ""), ("next", "?ask=next")):
            bench = at(code, query)
            screenshot(f"finish-{code}-{name}-{size[0]}")
            assert not bench.browser.execute_script(OVERFLOWS), (code, name)
            found[code, name] = serious(bench.browser), small_targets(bench.browser)
    assert found == dict.fromkeys(found, ([], []))
