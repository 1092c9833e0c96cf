"""A morning on the floor, for the tests of pages: an order released, and an accepted plan for its blanks."""

from orders import entry, moves
from orders.models import Blank, CuttingRun, RunBlank, RunRemnant, RunSource
from shop import account
from shop.acts import Act

BLOCK = (2_463_800, 1_244_600, 939_800)  # 97 × 49 × 37 in
REST = (1_219_200, 609_600, 304_800)  # 48 × 24 × 12 in
CORNICE = {
    "runs": [{"name": "front", "wall": "42' 0\"", "left": {"outside": 90}, "right": {"outside": 90}}],
}
BAND = {"pieces": [{"length": 40, "qty": 8}]}
THREE = {"pieces": [{"length": 40, "qty": 3}]}


def theatre(shop, *, job="Bramhall Street Theatre, front", lines=(("TP-14", CORNICE), ("TP-22", BAND))):
    """Return a released order of Firm 1.5 with a line for each (profile, spec)."""
    mina = Act(shop.people["mina"])
    order = entry.create_order({"customer": shop.customer, "job": job}, mina)
    for code, spec in lines:
        line = {"grade": shop.grades["Firm 1.5"], "profile": shop.profiles[code], "coat": "1/8", "spec": spec}
        entry.save_line(order, line, mina, version=order.version)
        order.refresh_from_db()
    moves.release(order, mina)
    order.refresh_from_db()
    return order


def plan_for(shop, order, *, tags=("K-0001",), remnant="R-0001"):
    """Return an accepted plan that takes every blank of the order out of the first block; it leaves one remnant."""
    raf = Act(shop.people["raf"])
    grade = shop.grades["Firm 1.5"]
    number = 118 + CuttingRun.objects.count()
    run = CuttingRun.objects.create(number=number, grade=grade, state="accepted", instance={}, plan={}, figures={})
    for position, tag in enumerate(tags, 1):
        piece = account.reserve(account.receive(tag, grade, BLOCK, raf, place="bay 2"), raf, held_for=str(run))
        RunSource.objects.create(run=run, position=position, piece=piece)
    first = run.sources.first()
    for blank in Blank.objects.filter(line__order=order, live=True):
        RunBlank.objects.create(source=first, blank=blank, qty=blank.to_saw)
    if remnant:
        RunRemnant.objects.create(source=first, tag=remnant, l_um=REST[0], w_um=REST[1], h_um=REST[2])
    return run
