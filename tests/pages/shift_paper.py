"""The paper of the shift: an order taken down, changed and printed, tags printed; each is read off its picture."""

from types import SimpleNamespace

from orders.models import Order
from shop.models import StockPiece
from tests.cutsheets.paper_reader import codes, document
from tests.pages import day_office as office

DOTS = 300  # an inch: an office printer
MESH = "Base coat and mesh 1/8"
BALUSTER = [[0, 3], [1, 3], [4, "1 1/2"], [9, 0.5]]  # inches: along the axis, radius
JOB = office.JOB | {
    "job": "Wickett Library, reading room",
    "lines": [
        {"mark": "A", "kind": "moulding", "grade": "Firm 1.5", "coat": "1/8", "profile": "TP-22",
         "pieces": [{"length": 40, "qty": 6}]},
        {"mark": "B", "kind": "turned", "grade": "Firm 1.5", "coat": "1/8", "qty": 2, "half_profile": BALUSTER,
         "stub": {"base": "1 1/2"}},
        {"mark": "C", "kind": "panel", "grade": "Firm 1.5", "qty": 1, "size": [24, 12, 4]},
    ],
}  # fmt: skip


def read_from(pdf):
    """Return what the codes of a print say, each text once, in the order of its pages."""
    return list(dict.fromkeys(code.text for page in document(pdf) for code in codes(page, DOTS)))


def take_down(hands):
    """Read the order from a job file, name its coats, release it, and return it."""
    order = office.read_job_file(hands, JOB)
    for line in order.lines.filter(mark__in="AB"):
        hands.open(f"/orders/{order.number}/lines/{line.pk}/")
        hands.fill(coat_system=MESH)
        hands.press(f"Save line {line.mark}")
        hands.sees(f"Line {line.mark} is saved")
    office.release(hands, order)
    return order


def traveller(hands, order):
    """Print the traveller and return its code: all its pages say the same."""
    [code] = read_from(office.print_traveller(hands, order))
    return code


def one_panel_more(hands, order):
    """Change a quantity of an order that is printed already."""
    hands.open(f"/orders/{order.number}/lines/{order.lines.get(mark='C').pk}/")
    hands.fill(qty="2")
    hands.press("Save line C")
    hands.sees("sheet B")


def of_order(hands, order):
    """Print the sheets of an order as it is now, and return their codes by sheet."""
    coat = read_from(hands.fetch(f"/orders/{order.number}/coat-sheet/", "POST"))
    return SimpleNamespace(traveller=traveller(hands, order), coat=coat[0])


def tag(hands, tag):
    """Print the tag of a block or remnant, and return its code."""
    assert StockPiece.objects.get(tag=tag).state in ("rack", "reserved")
    hands.open(f"/stock/tags/?tag={tag}")
    [code] = read_from(hands.fetch("/stock/tags/", "POST", tag=tag, grid="tag-4x2", start="1"))
    return code


def bundle_labels(hands, order):
    """Print the labels of all bundles from the packing station's screen, and return their codes."""
    return read_from(hands.fetch(f"/orders/{order.number}/bundle-labels/", "POST", grid="tag-4x3", start="1"))


def stands(hands, order):
    """Return how far the order's page says each line is: {"A": "6 sawn 6 cut …"}."""
    hands.open(f"/orders/{order.number}/")
    rows = range(1, Order.objects.get(pk=order.pk).lines.count() + 1)
    return {
        hands.words(f".ledger tbody tr:nth-child({row}) th"): hands.words(
            f".ledger tbody tr:nth-child({row}) td[data-name='How far']"
        )
        for row in rows
    }
