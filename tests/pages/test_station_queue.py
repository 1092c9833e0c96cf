"""The queue of a station: every order that waits for it, soonest needed first."""

import re
from datetime import date, timedelta

from django.utils import timezone
from floor_shop import plan_for, theatre

from cutsheets.days import say_day
from orders import moves, sawing
from orders.models import Blank, Order
from orders.views import station_queue

BAND = {"pieces": [{"length": 40, "qty": 3}]}


def test_whats_next_names_the_order_needed_first(shop, floor, order, words):
    late = theatre(shop, job="Wickett Library, porch", lines=(("TP-22", BAND),))
    late.due = "2026-01-05"
    late.save()
    said = words(floor.get("/station/saw-1/?ask=next"))
    assert said.index("Wickett Library") < said.index("Bramhall Street")


def test_a_late_order_has_a_mark_a_word_and_a_colour(shop, floor, order, words):
    today = timezone.localdate()
    late = theatre(shop, job="Wickett Library, porch", lines=(("TP-22", BAND),))
    for one, due in ((late, today - timedelta(days=1)), (order, today)):
        Order.objects.filter(pk=one.pk).update(due=due)
    page = floor.get("/station/saw-1/?ask=next")
    [said] = re.findall(r'<span class="st-late">(.+?)</span>', page.content.decode())
    assert "marks.svg#late" in said
    assert said.endswith("late")
    assert re.search(rf"{say_day(today - timedelta(days=1))} late {late.number}", words(page))


def test_nothing_that_waits_vanishes_from_the_queue(floor, shop, order, monkeypatch, words, bo):
    monkeypatch.setattr(station_queue, "MOST", 1)
    monkeypatch.setattr(station_queue, "MANY", 2)
    Order.objects.update(due=date(2026, 1, 2))
    sawing.open_source(plan_for(shop, order).sources.get(), bo)
    moves.count_sawn(Blank.objects.get(), 3, bo)  # needed soonest, and nothing of it is left for the saw
    made = [theatre(shop, job=f"Job {number}") for number in range(4)]
    plan_for(shop, made[3], tags=("K-0002",), remnant="R-0002")
    pages = [words(floor.get(f"/station/saw-1/?ask=next&from={start}")) for start in range(5)]
    assert [re.findall(r"Job \d", page) for page in pages] == [["Job 0"], ["Job 1"], ["Job 3"], ["Job 2"], ["Job 0"]]
    assert "1 to 1 of 4 orders" in pages[0]
    assert ["More" in page for page in pages[:4]] == [True, True, True, False]
