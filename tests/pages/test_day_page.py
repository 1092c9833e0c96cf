"""The day's foam on its page: the sentence, the columns that must close, closing, the table to take along."""

import csv
import io
from datetime import timedelta
from decimal import Decimal

import pytest
from django.utils import timezone
from floor_shop import plan_for, theatre

from orders import moves, sawing
from orders.models import Blank, Piece, RunRemnant
from shop import account
from shop.acts import Act
from shop.models import DayClose, StockMove


@pytest.fixture
def source(shop, bo):
    """A block opened, four blanks sawn, one of them ruined at the wire, one at the saw."""
    order = theatre(shop, lines=(("TP-22", {"pieces": [{"length": 40, "qty": 6}]}),))
    source = sawing.open_source(plan_for(shop, order).sources.get(), bo)
    blank = Blank.objects.get()
    moves.count_sawn(blank, 4, bo)
    moves.miscut_at_saw(blank, 1, "fence slipped", bo)
    moves.miscut_at_wire(Piece.objects.get(), 1, "wire sagged", Act(shop.people["bo"], shop.stations["cutter-1"]))
    return source


@pytest.fixture
def finished(source, bo):
    """The same block finished, its remnant back on the rack."""
    remnant = RunRemnant.objects.get()
    sawing.put_back(remnant, (remnant.l_um, remnant.w_um, remnant.h_um), bo)
    return sawing.finish_source(source, bo, reason="void in the foam")


@pytest.fixture
def today():
    return timezone.localdate()


def table(manager, day):
    """Return the figures of the exported table in cubic inches, by figure; only the rows of grades."""
    rows = csv.DictReader(io.StringIO(manager.get(f"/day/{day}/foam.csv").content.decode()))
    return {row["figure"]: Decimal(row["cubic inches"]) for row in rows if not row["order"]}


def test_issued_is_good_miscut_back_and_trim_to_the_last_cubic_inch(manager, finished, today):
    inches = table(manager, today)
    # the block is 97 × 49 × 37 in; its remnant 48 × 24 × 12; a blank 41 × 2 7/8 × 5 1/4
    assert inches["issued"] == 97 * 49 * 37
    assert inches["back"] == 48 * 24 * 12
    assert inches["good"] == 3 * Decimal("41") * Decimal("2.875") * Decimal("5.25")
    assert inches["issued"] == sum(inches[name] for name in ("good", "miscut", "back", "waste", "on_saw_end"))
    assert inches["unaccounted"] == 0


def test_the_sentence_says_where_the_foam_went(manager, source, words):
    said = words(manager.get("/day/"))
    assert "1,221.3 bf issued" in said
    assert "still on the saw" in said
    assert "nothing missing." in said


def test_cubic_inches_stand_there_on_demand(manager, finished, words):
    assert "175,861.000 in³" not in words(manager.get("/day/"))
    assert "175,861.000 in³" in words(manager.get("/day/?exact=1"))


def test_what_to_look_at_names_the_order_and_the_reason(manager, source, words):
    said = words(manager.get("/day/"))
    assert "fence slipped" in said
    assert "wire sagged" in said


def test_a_closed_day_stays_as_it_is(manager, finished, today, words):
    said = words(manager.post(f"/day/{today}/close/", follow=True))
    assert "is closed. Its figures stay as they are." in said
    assert "Close the day" not in said
    assert DayClose.objects.get().closed_by.username == "raf"


def test_only_a_day_that_can_be_closed_offers_the_key_for_it(manager, finished, today, words):
    def keys(day):
        return words(manager.get(f"/day/{day}/")).partition("export CSV")[2]

    assert "Ctrl Enter close the day" in keys(today)
    manager.post(f"/day/{today}/close/")
    assert "close the day" not in keys(today)


def test_the_rack_of_a_past_day_is_that_of_its_end(manager, shop, today, words):
    raf, grade = shop.people["raf"], shop.grades["Firm 1.5"]
    yesterday = Act(raf, at=timezone.now() - timedelta(days=1))
    pieces = [account.receive(f"F-9{number}", grade, (304_800,) * 3, yesterday) for number in range(3)]
    account.scrap(pieces[0], Act(raf), reason="wet")
    assert "3 blocks, 0 remnants on the rack at the end of the day" in words(manager.get(f"/day/{yesterday.day}/"))
    said = words(manager.get(f"/day/{today}/"))
    assert "2 blocks, 0 remnants on the rack" in said
    assert "at the end of the day" not in said


def test_how_far_the_orders_of_a_past_day_are_is_said_to_be_of_now(manager, finished, today, words, monkeypatch):
    assert "Sawn Good bf" in words(manager.get(f"/day/{today}/"))
    monkeypatch.setattr(timezone, "localdate", lambda: today + timedelta(days=1))
    assert "Sawn by now Good bf" in words(manager.get(f"/day/{today}/"))


def test_foam_on_the_saw_is_carried_over_and_said_so(manager, source, today, words):
    assert "is carried over" in words(manager.get("/day/"))
    manager.post(f"/day/{today}/close/")
    assert DayClose.objects.exists()


def test_foam_that_is_not_found_is_said_and_the_day_waits(manager, finished, today, words):
    StockMove.objects.filter(kind="waste").delete()  # somebody wrote past the account
    said = words(manager.get("/day/"))
    assert "not found." in said
    assert "Close the day: waits for" in said
    answer = manager.post(f"/day/{today}/close/", follow=True)
    assert "does not add up" in words(answer)
    assert not DayClose.objects.exists()


def test_a_day_to_come_and_a_day_that_is_none_have_no_page(manager, today):
    assert manager.get(f"/day/{today + timedelta(days=1)}/").status_code == 404
    assert manager.get("/day/2026-02-30/").status_code == 404


def test_a_quiet_day_says_so_and_leads_on(manager, shop, today, words):
    yesterday = today - timedelta(days=1)
    answer = manager.get(f"/day/{yesterday}/")
    assert "Nothing was sawn that day." in words(answer)
    assert f'href="/day/{today}/"' in answer.content.decode()
    assert f'href="/day/{yesterday - timedelta(days=1)}/"' in answer.content.decode()


def test_a_grade_that_looks_like_a_formula_is_no_formula_in_the_table(manager, finished, today, shop):
    grade = shop.grades["Firm 1.5"]
    grade.name = "=1+1"
    grade.save()
    assert "'=1+1" in manager.get(f"/day/{today}/foam.csv").content.decode()
