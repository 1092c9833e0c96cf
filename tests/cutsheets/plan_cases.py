"""Small cutting instances for the tests of planning, with the right answers of those that trap a planner.

Lengths are whole micrometres in the file's terms, but most cases here are a few units large: the engine knows no inch.
"""

from collections import Counter

from hypothesis import strategies as st

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


def ordered(case):
    return Counter({blank["id"]: blank["qty"] for blank in case["blanks"]})


def nodes(tree):
    """Every node of a tree."""
    todo = [tree]
    while todo:
        node = todo.pop()
        yield node
        todo += [node[part] for part in ("lo", "hi") if node.get(part) is not None]


def cut_blanks(written):
    return Counter(node["blank"] for piece in written["pieces"] for node in nodes(piece["tree"]) if "blank" in node)


def source_of(case, piece):
    """The block or remnant that a piece opens."""
    name = piece["source"].split(":")[1].split("#")[0]
    return next(each for each in case["stock"] + case["remnants"] if each["id"] == name)


grades = st.sampled_from(["1.0", "2.0"])
sides = st.integers(1, 30)
sizes = st.tuples(sides, sides, sides)
long_sides = st.integers(15, 60)
long_sizes = st.tuples(long_sides, long_sides, long_sides)
lies = st.lists(st.sampled_from(ANY_LIE), min_size=1, max_size=6, unique=True)
skins = st.lists(st.lists(st.integers(0, 4), min_size=2, max_size=2), min_size=3, max_size=3)


@st.composite
def days(draw):
    """A small day: kerf from none to wider than most blanks, skins thinner than the kerf, one to four sizes."""
    blanks = draw(st.lists(st.tuples(sizes, st.integers(1, 6), lies, grades), min_size=1, max_size=4))
    blocks = draw(st.lists(st.tuples(long_sizes, skins, st.sampled_from([None, None, 0, 1, 3]), grades), max_size=3))
    rack = draw(st.lists(st.tuples(long_sizes, grades), max_size=3))
    price = st.integers(0, 5_000)
    return instance(
        [blank(f"A{n}", size, qty, lies=lie, grade=g) for n, (size, qty, lie, g) in enumerate(blanks)],
        [
            block(size, name=f"B{n}", skin=skin, limit=limit, grade=g, price=draw(price))
            for n, (size, skin, limit, g) in enumerate(blocks)
        ],
        kerf=draw(st.sampled_from([0, 0, 1, 3, 20])),
        remnants=[remnant(f"R{n}", size, grade=g, price=draw(price)) for n, (size, g) in enumerate(rack)],
        allow_edge_shave=draw(st.booleans()),
        min_remnant=draw(st.sampled_from([NOTHING_KEPT, {"dims": [5, 10, 15], "volume": 1_000}])),
    )
