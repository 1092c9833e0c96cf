"""How long the figures of a line of any kind take while it is typed, and the whole order page, through the web stack.

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
TOWERS = {"gap": "1300 mm", "root_offset": "150 mm"}
SPECS = {
    "moulding": {
        "sprung": {"face": "4 1/2", "thick": "3/4", "spring": "38"},
        "runs": [{"name": f"wall {n}", "wall": f"{20 + n}'", **CORNERS} for n in range(8)],
    },
    "column": {
        "regular": {"sides": 12, "across_flats": "24"}, "height": "14'", "shells": 4,
        "void": {"round": "6", "clearance": "1/4"},
    },
    "taper": {"base": {"round": "14"}, "top": {"round": "9"}, "length": "84"},
    "turned": {"half_profile": [[n / 4, 3 + (n * 7 % 5) / 4] for n in range(97)], "stub": {"base": "1 1/2"}},
    "twisted": {"square": "8", "length": "84", "turns": 3.0, "hand": "left"},
    "arch": {"inside_radius": "60", "sweep": "180", "width": "8", "thick": "3", "longest_part": "36"},
    "cutout": {
        "text": "BRAMHALL LIBRARY", "font": "SignSerif-Bold.ttf", "cap_height": "6", "thick": "3",
        "lay": "nest", "gap": "1/2", "margin": "1/2",
    },
    "mould": {
        "cavity": ["24", "14", "12"], "draft": "3", "piece": ["28", "18", "15"], "wall": "4", "floor": "4",
        "halves": 2, "concrete_density": "150",
    },
    "wing": {
        "root": {"naca": "2412", "chord": "300 mm"}, "tip": {"naca": "0012", "chord": "150 mm"}, "span": "900 mm",
        "sweep": "80 mm", "washout": "2", "hands": ["left", "right"], "towers": TOWERS,
        "stations": [n / 20 for n in range(1, 20)],
    },
    "panel": {"size": ["48", "24", "6"]},
}  # fmt: skip


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


def line_of_each_kind(order, shop) -> dict[str, int]:
    """Add a line of every kind, large and with much to draw, and return its key by its kind."""
    act, lines = Act(by=shop.people["mina"]), {}
    for n, (kind, spec) in enumerate(SPECS.items()):
        bare = kind in ("mould", "panel")
        data = {
            "mark": f"K{n}", "kind": kind, "grade": shop.grades["Firm 1.5"], "coat": "0" if bare else "1/8",
            "spec": spec,
        }  # fmt: skip
        line = entry.save_line(order, data, act, version=order.version)
        lines[kind], order = line.pk, line.order
    return lines


def typed(client: Client, number: int, pk: int) -> dict[str, object]:
    """Return what the open line's form would post."""
    setup_test_environment()  # so that the answer tells which form it showed
    form = client.get(f"/orders/{number}/lines/{pk}/").context["form"]
    teardown_test_environment()
    bound = [field for part, _ in form.every_form() for field in part]
    bound += [field for rows in form.part.sets.values() for field in rows.management_form]
    values = {field.html_name: field.field.prepare_value(field.value()) for field in bound}
    return {name: "" if value is None else value for name, value in values.items()}


def timed(times: int, do) -> list[float]:
    found = []
    for _ in range(times):
        began = time.perf_counter()
        answer = do()
        found.append(time.perf_counter() - began)
        assert answer.status_code == 200, answer.status_code
    return found


def figures_of(client: Client, number: int, pk: int, times: int) -> tuple[float, float]:
    """Return median and slowest of a hundred of a line's figures, milliseconds."""
    values = typed(client, number, pk)
    return percentiles(timed(times, lambda: client.post(f"/orders/{number}/figures/", values)))


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
        kinds = {
            kind: figures_of(client, order.number, pk, times) for kind, pk in line_of_each_kind(order, shop).items()
        }
    for kind, found in kinds.items():
        print(f"{kind}: figures while typing p50 {found[0]:.1f} ms, p99 {found[1]:.1f} ms (limit {LIMIT_MS} ms)")
    print(
        f"order page, {vendor}, six lines: figures while typing p50 {figures[0]:.1f} ms, p99 {figures[1]:.1f} ms "
        f"(limit {LIMIT_MS} ms); whole page p50 {page[0]:.1f} ms, p99 {page[1]:.1f} ms"
    )
    return int(max(found[1] for found in (figures, *kinds.values())) > LIMIT_MS)


if __name__ == "__main__":
    sys.exit(main())
