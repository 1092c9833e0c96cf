"""Everything said at once, on both tablets: size, count and main act stay in sight."""

from dataclasses import replace
from datetime import timedelta
from itertools import product

import pytest
from django.utils import timezone
from floor_network import Place
from floor_shop import CORNICE, THREE, plan_for, theatre
from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys

from orders import moves, sawing
from orders.demo import add_finishing
from orders.models import Blank, InHand, Move, Piece
from orders.views import station_saw, station_wire
from shop import outages
from shop.acts import Act
from shop.models import CoatSystem, Station

pytestmark = pytest.mark.django_db(transaction=True)
TABLETS = ((1280, 800), (1024, 768))
NEWER = "Profile TP-22 was changed since: revision 3 is in the library; the office decides."
CLASH = """
const done = arguments[0];
indexedDB.open("blockyard-station").onsuccess = (event) => {
  const clash = {id: "act-0001", kind: "count", at: Date.now(), sentence: "Order 4107 is on hold: it waits."};
  const put = event.target.result.transaction("clashes", "readwrite").objectStore("clashes").put(clash);
  put.transaction.oncomplete = () => { event.target.result.close(); done(); };
};
"""
# What of these is not wholly in sight: cut off by the edge of the page, or of a part that scrolls.
HIDDEN = """
const cut = (box, by) => box.top < by.top - 1 || box.bottom > by.bottom + 1 || box.right > by.right + 1;
return arguments[0].filter((where) => {
  const one = document.querySelector(where), box = one.getBoundingClientRect();
  if (!box.height || cut(box, {top: 0, bottom: innerHeight, right: innerWidth})) return true;
  for (let part = one.parentElement; part; part = part.parentElement) {
    if (getComputedStyle(part).overflowY !== "visible" && cut(box, part.getBoundingClientRect())) return true;
  }
  return false;
});
"""

FIGURES = """
const one = document.querySelector(".st-readout text");
return parseFloat(getComputedStyle(one).fontSize) * one.getCTM().a;
"""
LEAST = 150  # pixels of the figures of a blank: capitals of 17 mm and more


@pytest.fixture
def shop(shop):
    add_finishing(shop)
    return shop


@pytest.fixture
def order(shop, request):
    """Three equal pieces, or what a test asks for."""
    return theatre(shop, lines=(getattr(request, "param", ("TP-22", THREE)),))


@pytest.fixture
def everything(shop, order, monkeypatch):
    """Whatever a screen can say beside its work: newer profile, changed plan, too large, others at it, machine down."""
    monkeypatch.setattr(station_saw, "newer_sentence", lambda _: NEWER)
    monkeypatch.setattr(station_wire, "newer_sentence", lambda _: NEWER)
    monkeypatch.setattr(station_wire, "_beyond", lambda *_: ["41 in long, it takes 40", "12 in high, it takes 10"])
    misfit = ["Order 4110 was released: 6 blanks more of Firm 1.5.", "And 2 more.", "Tell the manager."]
    monkeypatch.setattr(station_saw, "plan_misfit", lambda _: misfit)
    for kind in ("saw", "cutter", "coat", "pack"):
        beside = Station.objects.create(code=f"{kind}-9", name=f"Second {kind}", kind=kind)
        now = timezone.now()
        InHand.objects.create(order=order, station=beside, by=shop.people["raf"], started_at=now, last_at=now)


@pytest.fixture
def says_all(browser_as, shop, order, everything, viewport, screenshot):
    """Return a function that opens a station which says everything at once, and looks what is out of sight."""

    def look(code, size, wanted, *, down):
        viewport(*size)
        station = shop.stations[code]
        if down:
            outages.go_down(station, "Heat control, the fuse blows every time", Act(shop.people["bo"], station))
        place = Place(browser_as(shop.people["bo"], f"/station/{code}/?order={order.number}")).sees("Bramhall Street")
        place.browser.execute_async_script(CLASH)
        place.offline()
        if not down:
            place.press(Keys.ENTER).sees("Pause")
        place.sees("No network since", "was not taken", "is down" if down else "Second")
        screenshot(f"banners-{code}-{order.lines.get().profile.profile.code}-{size[0]}{'-down' if down else ''}")
        return place.browser.execute_script(HIDDEN, [*wanted, ACT, "#network b", "#clashes button"])

    return look


ACT = ".is-main .st-act:not([hidden], [hidden] *)"
BOTH = list(product(TABLETS, [False, True]))
SAW = (".st-readout", ".st-left-count", ".st-stripe")
WIRE = (".st-mark", ".st-points", "[data-figure=left]")
COAT = (".st-mark", "[data-figure=left]", ".st-faces")
PACK = (".st-which", ".st-marks", ".st-counts strong")


@pytest.mark.parametrize(("size", "down"), BOTH)
def test_at_the_saw(says_all, shop, order, browser, size, down):
    sawing.open_source(plan_for(shop, order).sources.get(), Act(shop.people["bo"], shop.stations["saw-1"]))
    assert says_all("saw-1", size, SAW, down=down) == []
    assert browser.execute_script(FIGURES) >= LEAST


@pytest.mark.parametrize("order", [("TP-22", THREE), ("TP-14", CORNICE)], ids=["square", "mitred"], indirect=True)
@pytest.mark.parametrize(("size", "down"), BOTH)
def test_at_the_wire(says_all, shop, order, size, down):
    act = Act(shop.people["bo"], shop.stations["saw-1"])
    sawing.open_source(plan_for(shop, order).sources.get(), act)
    moves.count_sawn(Blank.objects.first(), 3, act)
    assert Piece.objects.first().blank.ready == 3
    first = (".st-first",) if size == TABLETS[0] else ()
    assert says_all("cutter-1", size, WIRE + first, down=down) == []


@pytest.fixture
def cut(shop, order):
    """All three pieces cut under base coat and mesh, one of them coated two days ago."""
    order.lines.update(
        coat_system=CoatSystem.objects.get(name__startswith="Base"), note="Mesh wraps 2 in round the ends"
    )
    act = Act(shop.people["bo"], shop.stations["saw-1"])
    sawing.open_source(plan_for(shop, order).sources.get(), act)
    moves.count_sawn(Blank.objects.get(), 3, act)
    moves.count_cut(Piece.objects.get(), 3, replace(act, station=shop.stations["cutter-1"]))
    moves.count_coated(Piece.objects.get(), 1, replace(act, station=shop.stations["coat-1"]))
    Move.objects.filter(action="coat").update(happened_at=timezone.now() - timedelta(hours=49))


@pytest.mark.parametrize(("size", "down"), BOTH)
def test_at_the_coating(says_all, cut, size, down):
    assert says_all("coat-1", size, COAT, down=down) == []


@pytest.mark.parametrize(("size", "down"), BOTH)
def test_at_the_packing(says_all, cut, browser, size, down):
    assert says_all("pack-1", size, PACK, down=down) == []
    words = browser.find_element(By.ID, "screen").text
    assert f"{0 if down else 1} of 3 in this bundle" in words  # with what is kept here
