"""How long the answer to a scan takes in the server: 16 stations, 20,000 orders, 500,000 events on the books.

    PYTHONPATH=. .venv/bin/python tests/bench/bench_scan.py [scans a station]

Two figures: the answer itself (`orders.scanning.scan`), and the whole page as a station gets it (the scan, then the
screen it leads to), while sixteen stations scan, each every four seconds or so. Runs on the configured database
(SQLite, or whatever DATABASE_URL names), in one of its own that is removed.
"""

import logging
import random
import sys
import time
from concurrent.futures import ThreadPoolExecutor
from contextlib import closing

from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.utils import timezone
from scratch import percentiles, scratch_database  # sets Django up

from cutsheets.codes import make_sheet_code, revision_letter
from orders.demo import small_shop
from orders.models import Blank, Line, Move, Order, Piece, Revision, Scan
from orders.scanning import scan
from shop.acts import Act
from shop.models import Station

ORDERS, EVENTS, STATIONS = 20_000, 500_000, 16
LIMIT_MS = {"sqlite": 100, "postgresql": 60}
MOST_QUERIES = 8
SIZE = {"l_um": 2_235_200, "w_um": 241_300, "h_um": 285_750}
MANY = 5_000  # rows at once
KINDS = ("saw", "cutter", "coat", "pack")


def fill(shop) -> list[Order]:
    """Return released orders of two lines, each a third sawn; one in twenty on hold, one in four at sheet B."""
    grade, section = shop.grades["Firm 1.5"], shop.profiles["TP-22"]
    orders = Order.objects.bulk_create(
        (Order(number=4000 + n, customer=shop.customer, job=f"Job {n}", state="released",
               revision=2 if n % 4 == 0 else 1, held=n % 20 == 0, hold_reason="deposit not in." if n % 20 == 0 else "")
         for n in range(ORDERS)), batch_size=MANY,
    )  # fmt: skip
    lines = Line.objects.bulk_create(
        (Line(order=order, position=place, mark=mark, grade=grade, profile=section, coat="1/8",
              spec={"pieces": [{"length": 40, "qty": 12}]})
         for order in orders for place, mark in enumerate("AB")), batch_size=MANY,
    )  # fmt: skip
    blanks = Blank.objects.bulk_create(
        (Blank(line=line, qty=12, sawn=4, cut=2, **SIZE) for line in lines), batch_size=MANY
    )
    Piece.objects.bulk_create(
        (Piece(line=blank.line, blank=blank, position=place, marks=[f"A{place}"], qty=3, cut=int(place < 2), front=2200,
               wall=2200, wants_coat=True, wants_pack=True)
         for blank in blanks for place in range(4)), batch_size=MANY,
    )  # fmt: skip
    change = [{"what": "A blank 1", "old": "8 @ 88", "new": "12 @ 88"}]
    Revision.objects.bulk_create(
        (Revision(order=order, number=n, changes=change if n > 1 else []) for order in orders
         for n in range(1, order.revision + 1)), batch_size=MANY,
    )  # fmt: skip
    return orders


def remember(orders: list[Order], act: Act) -> None:
    """Write the events of earlier days: as many scans as moves."""
    at, half = timezone.now(), EVENTS // 2
    Scan.objects.bulk_create(
        (Scan(scan_id=f"old-{n}", raw="BY", station=act.station, by=act.by, order=orders[n % ORDERS], answer="ok",
              happened_at=at) for n in range(half)), batch_size=MANY,
    )  # fmt: skip
    Move.objects.bulk_create(
        (Move(scan_id=f"old-{n}", action="saw", qty=1, station=act.station, by=act.by, order=orders[n % ORDERS],
              happened_at=at) for n in range(half)), batch_size=MANY,
    )  # fmt: skip
    with connection.cursor() as cursor:
        cursor.execute("ANALYZE")  # as the database does by itself in the course of a day


def codes(orders: list[Order], count: int, seed: int) -> list[str]:
    """Return what is scanned: seven of ten sheets in force, the others old, unknown or damaged."""
    chance = random.Random(seed)
    made = []
    for _ in range(count):
        order, kind = chance.choice(orders), chance.random()
        letter = revision_letter(order.revision) if kind < 0.7 else "A"
        code = make_sheet_code(order.number if kind < 0.9 else 99_000, letter)
        made.append(code if kind < 0.95 else code[:-1])
    return made


def answers(texts: list[str], act: Act) -> tuple[list[float], int]:
    """Return the seconds of each answer, and the most queries that one took."""
    times, most = [], 0
    for text in texts:
        with CaptureQueriesContext(connection) as queries:
            start = time.perf_counter()
            scan(text, act)
            times.append(time.perf_counter() - start)
        most = max(most, sum("SAVEPOINT" not in query["sql"] for query in queries))
    return times, most


def warm(station: Station, person, texts: list[str]) -> None:
    """Show a few pages of a station, so that nothing is read from disk for the first time while the clock runs."""
    client = Client()
    client.force_login(person, backend="django.contrib.auth.backends.ModelBackend")
    for number, text in enumerate(texts):
        sent = {"raw": text, "scan_id": f"warm-{station.code}-{number}"}
        client.post(f"/station/{station.code}/scan/", sent, follow=True)


def pages(station: Station, person, texts: list[str]) -> list[float]:
    """Return the seconds of each scan of one station with the screen it leads to, a scan every few seconds."""
    client, chance, times = Client(), random.Random(station.code), []
    with closing(connection):
        client.force_login(person, backend="django.contrib.auth.backends.ModelBackend")
        for number, text in enumerate(texts):
            time.sleep(chance.uniform(2, 6))
            start = time.perf_counter()
            sent = {"raw": text, "scan_id": f"{station.code}-{number}"}
            client.post(f"/station/{station.code}/scan/", sent, follow=True)
            times.append(time.perf_counter() - start)
    return times


def main() -> int:
    """Print medians and slowest of a hundred; return 1 where one is over its limit, or a scan asks too often."""
    logging.disable(logging.WARNING)  # a refused scan is no news here
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 30
    with scratch_database() as vendor:
        shop = small_shop()
        kinds = [KINDS[n % len(KINDS)] for n in range(STATIONS)]
        stations = [Station.objects.create(code=f"at-{n}", name=f"At {n}", kind=kind) for n, kind in enumerate(kinds)]
        orders = fill(shop)
        act = Act(by=shop.people["bo"], station=stations[0])
        remember(orders, act)
        alone, most = answers(codes(orders, 1000, 7), act)
        with ThreadPoolExecutor(STATIONS) as pool:
            for station in stations[: len(KINDS)]:
                warm(station, act.by, codes(orders, 10, 99))
            work = [
                pool.submit(pages, station, act.by, codes(orders, count, seed)) for seed, station in enumerate(stations)
            ]
            at_once = [each for done in work for each in done.result()]
    limit = LIMIT_MS[vendor]
    print(f"scan, {vendor}, {ORDERS:,} orders, {EVENTS:,} events, an answer within {limit} ms (p99)")
    print(f"  at most {most} queries (limit {MOST_QUERIES})")
    for what, times in (("answer alone", alone), (f"page, {STATIONS} stations at once", at_once)):
        middle, slow = percentiles(times)
        print(f"  {what}: p50 {middle:.1f} ms, p99 {slow:.1f} ms, slowest {max(times) * 1000:.1f} ms")
    return int(percentiles(alone)[1] > limit or most > MOST_QUERIES)


if __name__ == "__main__":
    sys.exit(main())
