"""The queue of a station: every order that waits for it, soonest needed first."""

import re
from datetime import date

from floor_shop import plan_for, theatre

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
