"""How long the figures of a line take while it is typed, and the whole order page, through the web stack.

    PYTHONPATH=. .venv/bin/python tests/bench/bench_order_page.py [times]

The page recomputes 150 ms after the last key; the server may take no longer than that.
"""

import sys
import time

from tests.bench.scratch import percentiles, scratch_database

from django.test import Client  # isort: skip - after Django is set up
from django.test.utils import setup_test_environment, teardown_test_environment  # isort: skip
from orders import entry  # isort: skip
from orders.demo import small_shop  # isort: skip
from shop.acts import Act  # isort: skip

LIMIT_MS = 150
CORNERS = {"left": {"outside": 90}, "right": {"outside": 90}}


def order_of_six(shop):
    """Return an order of six coated cornices, each along one wall between two corners."""
    act = Act(by=shop.people["mina"])
    order = entry.create_order({"customer": shop.customer, "job": "Bramhall Street Theatre, front"}, act)
    for n in range(6):
        data = {
            "title": f"Cornice {n}", "grade": shop.grades["Firm 1.5"], "profile": shop.profiles["TP-14"],
            "coat": "1/8", "spec": {"runs": [{"name": "front", "wall": f"{30 + n}'-0\"", **CORNERS}]},
        }  # fmt: skip
        order = entry.save_line(order, data, act, version=order.version).order
    return order


def typed(client: Client, number: int, pk: int) -> dict[str, str]:
    """Return what the open line's form would post."""
    setup_test_environment()  # so that the answer tells which form it showed
    form = client.get(f"/orders/{number}/lines/{pk}/").context["form"]
    teardown_test_environment()
    values = {field.html_name: field.value() for field in form}
    for rows in form.sets.values():
        for part in (rows.management_form, *rows.forms):
            values |= {field.html_name: field.value() for field in part}
    return {name: "" if value is None else str(value) for name, value in values.items()}


def timed(times: int, do) -> list[float]:
    found = []
    for _ in range(times):
        began = time.perf_counter()
        answer = do()
        found.append(time.perf_counter() - began)
        assert answer.status_code == 200, answer.status_code
    return found


def main() -> int:
    """Print median and slowest of a hundred; return 1 where the figures take longer than the limit."""
    times = int(sys.argv[1]) if len(sys.argv) > 1 else 200
    with scratch_database() as vendor:
        shop = small_shop()
        order = order_of_six(shop)
        line = order.lines.first()
        client = Client()
        client.force_login(shop.people["mina"])
        values = typed(client, order.number, line.pk)
        figures = percentiles(timed(times, lambda: client.post(f"/orders/{order.number}/figures/", values)))
        page = percentiles(timed(times, lambda: client.get(f"/orders/{order.number}/")))
    print(
        f"order page, {vendor}, six lines: figures while typing p50 {figures[0]:.1f} ms, p99 {figures[1]:.1f} ms "
        f"(limit {LIMIT_MS} ms); whole page p50 {page[0]:.1f} ms, p99 {page[1]:.1f} ms"
    )
    return int(figures[1] > LIMIT_MS)


if __name__ == "__main__":
    sys.exit(main())
