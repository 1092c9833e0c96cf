"""Tags of blocks, and numbers typed by hand, at a station: what is shown before anything is opened or worked on."""

import re
from datetime import timedelta

import pytest
from django.utils import timezone
from floor_shop import BLOCK

from cutsheets.codes import make_plan_code, make_sheet_code, make_stock_code
from orders.models import Blank, Scan
from shop import account
from shop.acts import Act
from shop.models import ShopRules, StockPiece


@pytest.fixture
def seen(order, run):
    """The screen in front: the blanks of the order."""
    return {"order": order.number, "pick": Blank.objects.get().pk}


@pytest.fixture
def scanned(floor, words):
    """Return a function that scans at a station: scanned(code, station="saw-1") → words of the screen."""
    return lambda code, station="saw-1", **more: words(
        floor.post(f"/station/{station}/scan/", {"raw": code} | more, follow=True)
    )


def tag(number):
    return make_stock_code("block", number)


def test_a_tag_shows_the_piece_and_the_one_act_that_opens_it(floor, scanned, order, run, seen):
    page = scanned(tag(1), **seen)
    for words in ("K-0001", "Block, bay 2", "Firm 1.5", f"Plan {run.number}", f"3 of {order.number} A", "Open K-0001"):
        assert words in page
    assert StockPiece.objects.get(tag="K-0001").state == "reserved"


def test_the_act_opens_it_and_goes_on_with_its_blanks(floor, words, order, run):
    page = floor.get("/station/saw-1/?ask=tag&tag=K-0001").content.decode()
    act = page[page.index('id="screen"') :]
    fields = dict(re.findall(r'name="(source|order|pick)" value="(\d+)"', act))
    answer = words(floor.post("/station/saw-1/open/", fields, follow=True))
    assert "Blank sawn" in answer
    assert StockPiece.objects.get(tag="K-0001").state == "saw"


def test_fresh_foam_is_opened_after_a_press_that_says_so(scanned, floor, words, run):
    made = timezone.localdate() - timedelta(days=3)
    StockPiece.objects.filter(tag="K-0001").update(mould_date=made)
    page = scanned(tag(1))
    assert "Fresh foam: 3 of 7 days rested." in page
    assert "3 days old: open it all the same" in page
    assert "Open K-0001" not in page
    assert "Open K-0001" in words(floor.get("/station/saw-1/?ask=tag&tag=K-0001&sure=1"))
    ShopRules.objects.update(minimum_age_days=3)
    assert "Fresh foam" not in scanned(tag(1), scan_id="s2")


def test_the_page_of_an_order_opens_no_fresh_foam_either(floor, words, order, run):
    at = f"/station/saw-1/?order={order.number}"
    assert "Take K-0001, open it" in words(floor.get(at))
    StockPiece.objects.filter(tag="K-0001").update(mould_date=timezone.localdate())
    page = floor.get(at)
    assert "Take K-0001, open it" not in words(page)
    assert "K-0001 is fresh foam" in words(page)
    assert "/station/saw-1/?ask=tag&amp;tag=K-0001" in page.content.decode()


def test_wrong_foam_names_both_grades_and_leads_back(shop, scanned, floor, seen):
    account.receive("K-0009", shop.grades["Dense 2.0"], BLOCK, Act(shop.people["raf"]), place="bay 3")
    page = scanned(tag(9), **seen)
    for words in (
        "Wrong foam",
        "In your hand: K-0009",
        "Dense 2.0",
        "Wanted: K-0001, bay 2",
        "Firm 1.5",
        "Scan K-0001",
    ):
        assert words in page
    assert "Put K-0009 back at bay 3. Nothing was opened." in page
    assert Scan.objects.get().answer == "wrong-foam"


def test_away_from_the_saw_a_tag_is_read_only(scanned, run):
    page = scanned(tag(1), station="cutter-1")
    assert "Reserved for plan 118" in page
    assert "Look only." in page
    assert "Open K-0001" not in page


@pytest.mark.parametrize("by_hand", [True, False])
def test_a_number_typed_by_hand_is_asked_about_before_its_work_is_shown(scanned, order, run, by_hand):
    page = scanned(make_sheet_code(order.number, "A"), **({"typed": "1"} if by_hand else {}))
    assert ("This one?" in page) == by_hand
    assert ("3 left" in page) != by_hand
    if by_hand:
        assert str(order.customer) in page
        assert order.job in page
        assert f"Yes, {order.number}: show its work" in page


def test_a_saw_sheet_typed_by_hand_is_asked_about_too(scanned, run):
    assert "This one?" in scanned(make_plan_code(run.number, 1), typed="1")


def test_a_wrong_check_character_typed_by_hand_is_refused(scanned, order, run):
    code = make_sheet_code(order.number, "A")
    wrong = code[:-1] + ("0" if code[-1] != "0" else "1")
    page = scanned(wrong, typed="1")
    assert "Misread" in page
    assert str(order.job) not in page


def test_without_an_order_nothing_is_asked(floor, words):
    assert "Scan a sheet" in words(floor.get("/station/saw-1/?ask=this"))


def test_a_tag_that_is_not_there_is_not_found(floor):
    assert floor.get("/station/saw-1/?ask=tag&tag=K-9999").status_code == 404
