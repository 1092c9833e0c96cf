"""Every screen of every station on both tablets: whole, large to press, clear to read, and no fault that axe knows.

What must be read from two steps away (2 m) on a tablet of 10.1 in and 1280 × 800, 0.170 mm a point. Radio Canada's
capitals are 0.69 em high; an arc minute at 2 m is 0.58 mm. The limit of 20/20 sight is 5 arc minutes, comfortable are
16 to 22 (ISO 9241-303, memory): FAR holds the least, 6 mm or 10 arc minutes. What is read with the hands at the screen
(0.6 m) is 2.3 mm high at least, 13 arc minutes there.

what                          points   capital, mm   arc minutes at 2 m
figures of a blank             150…215      17…25            30…43
piece mark                          92         10.8              19
count left at the saw              104         12.2              21
count left at the wire, packed      52          6.1              10
word of a refusal             113…150      13…18            23…30
order number                        64          7.5              13
lengths of a piece                  60          7.0              12
main act                        52…56      6.1…6.6          10…11
facts, notes (at 0.6 m)             24          2.8               5

On 1024 × 768 (9.7 in, 0.192 mm a point) the act with four others beside it is 44 points, 5.8 mm. A sentence that stands
in the place of an act, such as “All sawn.”, is 42 points, 4.9 mm: it asks for nothing.
"""

from datetime import timedelta
from pathlib import Path

import pytest
from django.utils import timezone
from floor_shop import BAND, CORNICE, plan_for, theatre
from scanner import scan
from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys
from selenium.webdriver.support.ui import WebDriverWait

from cutsheets.codes import make_sheet_code
from orders import entry, moves, sawing
from orders.demo import add_finishing
from orders.models import Blank, Move, Order, Piece, RunRemnant, RunSource
from shop import outages
from shop.acts import Act
from shop.models import CoatSystem

pytestmark = pytest.mark.django_db(transaction=True)
AXE = (Path(__file__).parent / "vendor" / "axe-core" / "axe.min.js").read_text(encoding="utf-8")
TABLETS = ((1280, 800), (1024, 768))
LEAST = 89  # points: 15 mm of a tablet of 10.1 in
MM, CAP = 0.170, 0.69
PATIENCE = 20
FAR = 6.0  # mm of a capital: what is read from 2 m
# What is wrong with a screen: the page is larger than the tablet, an act is not all in sight, words are wider than
# their act, a target is lower than a gloved finger needs: by what answers to a finger, not by what is painted.
FAULTS = """
const [least] = arguments, page = document.documentElement, faults = [];
if (page.scrollWidth > innerWidth) faults.push(`page ${page.scrollWidth} wide`);
if (page.scrollHeight > innerHeight) faults.push(`page ${page.scrollHeight} high`);
for (const part of document.querySelectorAll(".st-no, .st-body")) {
  if (part.scrollHeight > part.clientHeight + 1) faults.push(`${part.scrollHeight - part.clientHeight} below the edge`);
}
const seen = (one) => one.checkVisibility();
for (const act of [...document.querySelectorAll(".st-acts .st-act")].filter(seen)) {
  const box = act.getBoundingClientRect();
  if (box.bottom > innerHeight + 1 || box.right > innerWidth + 1) faults.push(`cut off: ${act.innerText}`);
  if (act.scrollWidth > act.clientWidth + 1) faults.push(`too wide: ${act.innerText}`);
  if (act.scrollHeight > act.clientHeight + 1) faults.push(`too high: ${act.innerText}`);
}
const answers = (one, x, y) => document.elementFromPoint(x, y)?.closest("a, button, label, input") === one;
const reach = (one, x, y, step) => { let at = y; while (answers(one, x, at)) at += step; return at; };
for (const one of [...document.querySelectorAll("a[href], button, label.st-choice, .st-field")].filter(seen)) {
  one.scrollIntoView({ block: "nearest" });
  const box = one.getBoundingClientRect(), x = box.left + box.width / 2, y = box.top + box.height / 2;
  const high = answers(one, x, y) ? reach(one, x, y, 1) - reach(one, x, y, -1) - 1 : 0;
  if (high < least - 0.5) faults.push(`${Math.round(high)} high: ${one.innerText || one.name}`);
}
return faults;
"""
SIZES = """
const of = (one) => parseFloat(getComputedStyle(one).fontSize);
const found = {};
for (const [name, where] of Object.entries(arguments[0])) {
  const one = document.querySelector(where);
  if (one) found[name] = one.ownerSVGElement ? of(one) * one.getCTM().a : of(one);
}
return found;
"""
READ_FAR = {
    "blank": ".st-readout text", "left": ".st-left-count, .st-lines [data-figure=left]",
    "packed": ".st-pack .st-counts strong", "mark": ".st-mark > b", "number": ".st-number",
    "length": ".st-points dd", "act": ".is-main .st-act:not(.st-waits)", "refusal": ".st-no h1", "hand": ".st-mark h2",
}  # fmt: skip
BALUSTER = {"half_profile": [[0, 3], [1, 3], [4, "1 1/2"], [9, 0.5]], "stub": {"base": "1 1/2"}}


@pytest.fixture
def shop(shop):
    add_finishing(shop)
    return shop


@pytest.fixture
def bo(shop):
    return Act(shop.people["bo"], shop.stations["saw-1"])


@pytest.fixture
def order(shop):
    """A cornice in mitred sticks and eight equal pieces, all under base coat and mesh."""
    order = theatre(shop, lines=(("TP-14", CORNICE), ("TP-22", BAND)))
    order.lines.update(
        coat_system=CoatSystem.objects.get(name__startswith="Base"), note="Mesh wraps 2 in round the ends"
    )
    return order


@pytest.fixture
def source(shop, order, bo):
    return sawing.open_source(plan_for(shop, order, tags=("K-0001", "K-0002")).sources.first(), bo)


@pytest.fixture
def cut(shop, source, bo):
    """Everything is sawn, all but one of the eight pieces are cut, the block is still on the saw."""
    for blank in Blank.objects.filter(live=True):
        moves.count_sawn(blank, blank.qty, bo)
    for piece in Piece.objects.filter(live=True):
        moves.count_cut(piece, piece.qty - (piece.qty == 8), Act(bo.by, shop.stations["cutter-1"]))


@pytest.fixture
def faults(browser_as, browser, viewport, screenshot, shop):
    """Return a function that opens a screen and looks at it on both tablets: faults("saw-1", "work", "?order=4101")."""

    def look(station, name, query="", sees=""):
        if sees:
            said = "return document.getElementById('screen').innerText"
            WebDriverWait(browser, PATIENCE).until(lambda _: sees.lower() in browser.execute_script(said).lower(), sees)
        else:
            browser_as(shop.people["bo"], f"/station/{station}/{query}")
        found = []
        for size in TABLETS:
            viewport(*size)
            screenshot(f"screen-{station}-{name}-{size[0]}")
            faults = [*browser.execute_script(FAULTS, LEAST), *axe(browser)]
            found += [f"{size[0]}: {fault}" for fault in faults]
        viewport(*TABLETS[0])
        far = browser.execute_script(SIZES, READ_FAR).items()
        return found + [f"{what} {px:.0f} px" for what, px in far if px * CAP * MM < FAR]

    return look


def axe(browser):
    browser.execute_script(AXE)
    found = browser.execute_async_script("axe.run(document).then((answer) => arguments[0](answer.violations))")
    return [f"{one['id']} {one['nodes'][0]['html'][:90]}" for one in found if one["impact"] in ("serious", "critical")]


def clean(found):
    """Fail with every fault of every screen, a line each."""
    faults = [f"{name}, {fault}" for name, faults in found.items() for fault in faults]
    assert not faults, "\n".join(faults)


def test_the_saw_before_a_block_is_opened(faults, shop, order):
    source = plan_for(shop, order).sources.get()
    at = f"?order={order.number}"
    rows = (
        ("idle", ""), ("number", "?ask=number"), ("next", "?ask=next"), ("open", at), ("this", f"{at}&ask=this"),
        ("tag", "?ask=tag&tag=K-0001"), ("measure", f"{at}&ask=measure&source={source.pk}"),
    )  # fmt: skip
    clean({name: faults("saw-1", name, query) for name, query in rows})


def test_the_saw_at_work(faults, shop, order, source, bo):
    blank = Blank.objects.filter(live=True).last()
    moves.count_sawn(blank, 3, bo)
    moves.miscut_at_saw(blank, 1, "broke", bo)
    remnant, at = RunRemnant.objects.get(), f"?order={order.number}&pick={blank.pk}"
    rows = (
        ("work", at), ("count", f"{at}&ask=count"), ("why", f"{at}&ask=why"), ("miscut", f"{at}&ask=why&why=2"),
        ("pause", f"{at}&ask=pause"), ("down-why", f"{at}&ask=down"), ("block", f"{at}&ask=block&source={source.pk}"),
        ("rest", f"{at}&ask=rest&source={source.pk}"), ("back", f"{at}&ask=back&remnant={remnant.pk}"),
    )  # fmt: skip
    found = {name: faults("saw-1", name, query) for name, query in rows}
    outages.go_down(shop.stations["saw-1"], "Blade or wire", bo)
    rows = (("down", at), ("idle-down", ""))
    clean(found | {name: faults("saw-1", name, query) for name, query in rows})


def test_the_saw_with_a_block_to_settle(faults, order, cut):
    blank = Blank.objects.filter(live=True).last()
    found = {"settle": faults("saw-1", "settle", f"?order={order.number}&pick={blank.pk}")}
    RunRemnant.objects.update(settled=True)
    found["finish"] = faults("saw-1", "finish", f"?order={order.number}&pick={blank.pk}")
    RunSource.objects.filter(state="saw").update(state="done")
    clean(found | {"sawn": faults("saw-1", "sawn", f"?order={order.number}&pick={blank.pk}")})


def test_the_wire_cutter(faults, shop, order, cut):
    stick, piece = (Piece.objects.filter(live=True, qty=qty).first() for qty in (1, 8))
    stick = stick or Piece.objects.filter(live=True).first()
    at = f"?order={order.number}&pick={piece.pk}"
    rows = (
        ("idle", ""), ("next", "?ask=next"), ("work", at), ("mitred", f"?order={order.number}&pick={stick.pk}"),
        ("first", f"{at}&ask=first"), ("count", f"{at}&ask=count"), ("why", f"{at}&ask=why"),
        ("miscut", f"{at}&ask=why&why=1"), ("missing", f"{at}&ask=why&why=7"), ("pause", f"{at}&ask=pause"),
        ("down-why", f"{at}&ask=down"),
    )  # fmt: skip
    found = {name: faults("cutter-1", name, query) for name, query in rows}
    outages.go_down(shop.stations["cutter-1"], "Wire broke", Act(shop.people["bo"], shop.stations["cutter-1"]))
    clean(found | {"down": faults("cutter-1", "down", at)})


def test_turning(faults, shop, mina, bo):
    made = entry.create_order({"customer": shop.customer, "job": "Rose garden, gateposts and balusters"}, mina)
    line = {"kind": "turned", "grade": shop.grades["Firm 1.5"], "qty": 4, "spec": BALUSTER, "note": "sand lightly"}
    entry.save_line(made, line, mina, version=made.version)
    moves.release(Order.objects.get(pk=made.pk), mina)
    order = Order.objects.get(pk=made.pk)
    sawing.open_source(plan_for(shop, order).sources.get(), bo)
    moves.count_sawn(Blank.objects.get(), 3, bo)
    at = f"?order={order.number}&pick={Piece.objects.get().pk}"
    rows = (("idle", ""), ("work", at), ("count", f"{at}&ask=count"), ("why", f"{at}&ask=why"))
    found = {name: faults("turning-1", name, query) for name, query in rows}
    type(shop.stations["turning-1"]).objects.filter(code="turning-1").update(centres=200)
    clean(found | {"too-large": faults("turning-1", "too-large", at)})


def test_coating_and_packing(faults, shop, order, cut, bo):
    piece = Piece.objects.get(live=True, qty=8)
    coat = Act(bo.by, shop.stations["coat-1"])
    moves.count_coated(piece, 3, coat)
    Move.objects.filter(action="coat").update(happened_at=timezone.now() - timedelta(hours=49))
    moves.count_coated(piece, 2, coat)
    at = f"?order={order.number}&pick={piece.pk}"
    asks = ("", "&ask=count", "&ask=why", "&ask=why&why=1", "&ask=pause", "&ask=down")
    rows = [
        ("idle", ""),
        ("next", "?ask=next"),
        *((ask.strip("&").replace("=", "-") or "work", at + ask) for ask in asks),
    ]
    found = {f"{code} {name}": faults(code, name, query) for code in ("coat-1", "pack-1") for name, query in rows}
    moves.count_packed(piece, 3, Act(bo.by, shop.stations["pack-1"]))
    clean(found | {"cures": faults("pack-1", "cures", at)})


def test_an_order_in_hand_elsewhere_and_a_count_that_is_refused(faults, shop, order, cut, browser):
    piece = Piece.objects.get(live=True, qty=8)
    moves.pause(order, "Another order first", Act(shop.people["bo"], shop.stations["cutter-1"]))
    moves.start(order, Act(shop.people["raf"], shop.stations["cutter-2"]))
    found = {"idle": faults("cutter-1", "idle")}
    scan(browser, make_sheet_code(order.number, "A"))
    found["in hand"] = faults("cutter-1", "in-hand", sees="Join them")
    found["beside"] = faults("cutter-1", "beside", f"?order={order.number}&pick={piece.pk}")
    found["pad"] = faults("cutter-1", "pad", f"?order={order.number}&pick={piece.pk}&ask=count")
    browser.find_element(By.NAME, "qty").send_keys("7", Keys.ENTER)
    found["refused"] = faults("cutter-1", "refused", sees="not 7")
    clean(found)
