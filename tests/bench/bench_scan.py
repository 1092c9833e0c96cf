"""How long the answer to a scan takes in the server, with 10,000 orders and 50,000 earlier scans on the books.

    PYTHONPATH=. .venv/bin/python tests/bench/bench_scan.py [scans]

Runs on the configured database (SQLite, or whatever DATABASE_URL names), in a test database of its own that it removes.
"""

import os
import random
import sys
import time
from statistics import quantiles

import django

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "shop.settings")
django.setup()

from django.db import connection  # noqa: E402 - Django must be set up first

from cutsheets.codes import make_sheet_code, revision_letter  # noqa: E402
from orders.demo import small_shop  # noqa: E402
from orders.models import Blank, Line, Order, Piece, Revision, Scan  # noqa: E402
from orders.scanning import scan  # noqa: E402
from shop.acts import Act  # noqa: E402

ORDERS, EARLIER = 10_000, 50_000
LIMIT_MS = 50
SIZE = {"l_um": 2_235_200, "w_um": 241_300, "h_um": 285_750}


def fill(shop) -> list[Order]:
    """Return released orders of two lines, each a third sawn; one in twenty on hold, one in four at sheet B."""
    grade = next(iter(shop.grades.values()))
    orders = Order.objects.bulk_create(
        Order(number=4000 + n, customer=shop.customer, job=f"Job {n}", state="released",
              revision=2 if n % 4 == 0 else 1, held=n % 20 == 0, hold_reason="deposit not in." if n % 20 == 0 else "")
        for n in range(ORDERS)
    )  # fmt: skip
    lines = Line.objects.bulk_create(
        Line(order=order, position=place, mark=mark, grade=grade)
        for order in orders for place, mark in enumerate("AB")
    )  # fmt: skip
    blanks = Blank.objects.bulk_create(Blank(line=line, qty=12, sawn=4, cut=2, **SIZE) for line in lines)
    Piece.objects.bulk_create(
        Piece(line=blank.line, blank=blank, position=place, marks=[f"A{place}"], qty=3, cut=int(place < 2), front=2200,
              wall=2200)
        for blank in blanks for place in range(4)
    )  # fmt: skip
    change = [{"what": "A blank 1", "old": "8 @ 88", "new": "12 @ 88"}]
    Revision.objects.bulk_create(
        Revision(order=order, number=n, changes=change if n > 1 else []) for order in orders
        for n in range(1, order.revision + 1)
    )  # fmt: skip
    return orders


def codes(orders: list[Order], count: int) -> list[str]:
    """Return what is scanned: seven of ten sheets in force, the others old, unknown or damaged."""
    chance = random.Random(7)
    made = []
    for _ in range(count):
        order, kind = chance.choice(orders), chance.random()
        letter = revision_letter(order.revision) if kind < 0.7 else "A"
        code = make_sheet_code(order.number if kind < 0.9 else 99_000, letter)
        made.append(code if kind < 0.95 else code[:-1])
    return made


def main() -> int:
    """Print the median and the slowest of a hundred answers; return 1 where that is over the limit."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 2000
    own = connection.settings_dict["NAME"]
    connection.creation.create_test_db(verbosity=0, autoclobber=True)
    try:
        shop = small_shop()
        orders = fill(shop)
        act = Act(by=shop.people["bo"], station=shop.stations["saw-1"])
        Scan.objects.bulk_create(
            Scan(scan_id=f"old-{n}", raw="BY", station=act.station, by=act.by, order=orders[n % ORDERS], answer="ok",
                 happened_at=act.at)
            for n in range(EARLIER)
        )  # fmt: skip
        with connection.cursor() as cursor:
            cursor.execute("ANALYZE")  # as the database does by itself in the course of a day
        times = []
        for code in codes(orders, count):
            start = time.perf_counter()
            scan(code, act)
            times.append((time.perf_counter() - start) * 1000)
    finally:
        connection.creation.destroy_test_db(own, verbosity=0)
    steps = quantiles(times, n=100)
    print(
        f"scan to answer, {connection.vendor}, {ORDERS} orders, {EARLIER + count} scans: "
        f"p50 {steps[49]:.1f} ms, p99 {steps[98]:.1f} ms, slowest {max(times):.1f} ms (limit p99 {LIMIT_MS} ms)"
    )
    return int(steps[98] > LIMIT_MS)


if __name__ == "__main__":
    sys.exit(main())
