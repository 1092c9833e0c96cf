"""Small cutting instances for the tests of planning, with the right answers of those that trap a planner.

Lengths are whole micrometres in the file's terms, but most cases here are a few units large: the engine knows no inch.
"""

from cutsheets.planning import plan
from cutsheets.planning.check import check

IN = 25_400
FT = 12 * IN
NOTHING_KEPT = {"dims": [10**8] * 3, "volume": 0}
ANY_LIE = ("LWH", "LHW", "WLH", "WHL", "HLW", "HWL")


def block(size, *, name="BLK", grade="1.0", skin=0, limit=None, price=33_280):
    """A kind of block; `skin` is one thickness all round, or [[low, high], …] for each axis."""
    skins = [[skin, skin] for _ in range(3)] if isinstance(skin, int) else skin
    return {"id": name, "grade": grade, "size": list(size), "skin": skins, "limit": limit, "price": price}


def remnant(name, size, *, grade="1.0", price=1_000):
    return {"id": name, "grade": grade, "size": list(size), "price": price}


def blank(name, size, qty, *, lies=("LWH",), grade="1.0"):
    return {"id": name, "grade": grade, "size": list(size), "qty": qty, "rot": list(lies)}


def instance(blanks, stock, *, kerf=0, **other):
    """An instance without limits; `other` replaces any key of it."""
    return {
        "format": "blockyard-stock-1", "name": "case", "unit": "um", "kerf": kerf, "allow_edge_shave": True,
        "min_remnant": NOTHING_KEPT, "max_cuts": None, "max_stages": None, "stock": stock, "remnants": [],
        "blanks": blanks, **other,
    }  # fmt: skip


def bars(length, pieces, *, kerf=0):
    """A one-dimensional instance: bars of one length and unit cross-section; a piece is (length, quantity)."""
    blanks = [blank(f"P{n}", (side, 1, 1), qty) for n, (side, qty) in enumerate(pieces)]
    return instance(blanks, [block((length, 1, 1), price=1_000)], kerf=kerf)


def without(case, left_out):
    """The instance less what a plan says that it leaves out."""
    missing = {each.blank: each.qty for each in left_out}
    return {**case, "blanks": [{**b, "qty": b["qty"] - missing.get(b["id"], 0)} for b in case["blanks"]]}


def planned(case, iterations=20, **options):
    """Plan, and see that the checker finds nothing wrong with the plan of what is not left out."""
    result = plan(case, iterations=iterations, **options)
    assert check(without(case, result.left_out), result.plan).faults == []
    return result


def opened_price(case, written):
    """The price of everything that a plan opens."""
    prices = {f"remnant:{r['id']}": r["price"] for r in case["remnants"]}
    prices |= {f"stock:{s['id']}": s["price"] for s in case["stock"]}
    return sum(prices[piece["source"].split("#")[0]] for piece in written["pieces"])
