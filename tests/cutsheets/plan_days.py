"""Cutting instances for the tests of planning: by hand, and any small one for hypothesis."""

from collections import Counter

from hypothesis import strategies as st

from cutsheets.stock import LIES

IN = 25_400
ANY = list(LIES)
NO_SKIN = [[0, 0]] * 3
USEFUL = {"dims": [4 * IN, 12 * IN, 24 * IN], "volume": 18_877_897_728_000_000}  # 4 × 12 × 24 in


def inches(*sides):
    return [round(side * IN) for side in sides]


def block(size, name="BLK", *, grade="1.0", skin=NO_SKIN, limit=None, price=33_280):
    return {"id": name, "grade": grade, "size": size, "skin": skin, "limit": limit, "price": price}


def remnant(name, size, price, *, grade="1.0"):
    return {"id": name, "grade": grade, "size": size, "price": price}


def blank(name, size, qty, *, grade="1.0", rot=("LWH",), **changes):
    """A blank; `changes`: the optional key `from`."""
    return {"id": name, "grade": grade, "size": size, "qty": qty, "rot": list(rot)} | changes


def instance(*blanks, stock=(), remnants=(), kerf=0, **changes):
    """An instance in which kerfs may hang in the air; `changes` are any other keys of the format."""
    return {
        "format": "blockyard-stock-1", "name": "day", "unit": "um", "kerf": kerf, "allow_edge_shave": True,
        "min_remnant": USEFUL, "max_cuts": None, "max_stages": None, "stock": list(stock), "remnants": list(remnants),
        "blanks": list(blanks),
    } | changes  # fmt: skip


def shelf_of(length, *pieces, kerf=0):
    """Bars of one length, and (length, qty) pieces to cross-cut: planning in one dimension."""
    blanks = [blank(f"P{n}", [side, 1, 1], qty) for n, (side, qty) in enumerate(pieces)]
    useful = {"dims": [1, 1, length], "volume": length}
    return instance(*blanks, stock=[block([length, 1, 1], price=length)], kerf=kerf, min_remnant=useful)


def without(day, left_out):
    """The day less what a plan leaves out; a blank may be left out for two reasons."""
    missing = Counter()
    for each in left_out:
        missing[each.blank] += each.qty
    blanks = [{**each, "qty": each["qty"] - missing[each["id"]]} for each in day["blanks"]]
    return day | {"blanks": blanks}


def opened_price(day, plan):
    prices = {f"stock:{each['id']}": each["price"] for each in day["stock"]}
    prices |= {f"remnant:{each['id']}": each["price"] for each in day["remnants"]}
    return sum(prices[piece["source"].split("#")[0]] for piece in plan["pieces"])


def _numbered(letter, fields):
    return st.lists(fields, max_size=3).map(
        lambda found: [{**each, "id": f"{letter}{n}"} for n, each in enumerate(found)]
    )


def any_instance(**fixed):
    """Any small instance: kerfs up to larger than a blank, skins thinner than the kerf, limits, one or two grades."""
    grade = st.sampled_from(["G", "H"])
    sides = st.lists(st.integers(20, 100), min_size=3, max_size=3)
    skin = st.lists(st.lists(st.sampled_from([0, 0, 1, 2, 5]), min_size=2, max_size=2), min_size=3, max_size=3)
    limit = st.sampled_from([None, None, 0, 1, 3])
    price = st.sampled_from([0, 100, 1000, 33_000])
    stock = {"grade": grade, "size": sides, "skin": skin, "limit": limit, "price": price}
    remnants = {"grade": grade, "size": st.lists(st.integers(5, 60), min_size=3, max_size=3), "price": price}
    blanks = {
        "grade": grade, "size": st.lists(st.integers(3, 60), min_size=3, max_size=3), "qty": st.integers(1, 7),
        "rot": st.lists(st.sampled_from(ANY), min_size=1, max_size=6, unique=True),
    }  # fmt: skip
    least = st.lists(st.integers(1, 30), min_size=3, max_size=3).map(sorted)
    keys = {
        "stock": _numbered("S", st.fixed_dictionaries(stock)),
        "remnants": _numbered("N", st.fixed_dictionaries(remnants)),
        "blanks": _numbered("b", st.fixed_dictionaries(blanks)),
        "kerf": st.sampled_from([0, 1, 3, 20]),
        "allow_edge_shave": st.booleans(),
        "min_remnant": st.fixed_dictionaries({"dims": least, "volume": st.sampled_from([0, 5000])}),
    }
    return st.fixed_dictionaries(keys | fixed).map(lambda found: instance() | found)
