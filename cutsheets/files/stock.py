"""Reader of `blockyard-stock-1` and `blockyard-plan-1`: whole micrometres, nothing guessed, nothing rounded."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from typing import Any, Literal

from cutsheets.errors import CutsheetError
from cutsheets.planning.prices import CUBIC_FOOT, Prices
from cutsheets.records import LARGEST, items, once, parse, record, whole, words
from cutsheets.stock import (
    AXES,
    LIES,
    BlankType,
    CutNode,
    Instance,
    Node,
    Plan,
    PlanPiece,
    PriceList,
    Remnant,
    Saw,
    Size,
    Stock,
    volume,
)

MOST_BLANKS = 10_000  # a busy day of a shop has some hundreds
LARGEST_REMNANT = 1_000_000  # cubic feet
DEEPEST = 400  # parts one inside the other; a row of cuts may be as long as it likes
TOP = (
    "format", "name", "unit", "kerf", "allow_edge_shave", "min_remnant", "max_cuts", "max_stages", "stock", "remnants",
    "blanks",
)  # fmt: skip


def read_instance(text: str) -> Instance:
    """Return a cutting instance; raises CutsheetError with the place of the first fault."""
    raw = record(_tagged(parse(text), "blockyard-stock-1"), "", required=TOP, optional=("note", "saw", "prices"))
    if raw["unit"] != "um":
        raise CutsheetError("unit", "Lengths of a cutting instance are whole micrometres; write “um”.", "unit")
    if not isinstance(raw["allow_edge_shave"], bool):
        raise CutsheetError("yes-no", "Write true or false.", "allow_edge_shave")
    least = record(raw["min_remnant"], "min_remnant", required=("dims", "volume"))
    instance: Instance = {
        "format": "blockyard-stock-1",
        "name": _name(raw["name"], "name"),
        "unit": "um",
        "kerf": whole(raw["kerf"], "kerf"),
        "allow_edge_shave": raw["allow_edge_shave"],
        "min_remnant": {
            "dims": sorted(_size(least["dims"], "min_remnant.dims")),
            "volume": whole(least["volume"], "min_remnant.volume", most=LARGEST**3),
        },
        "max_cuts": _limit(raw["max_cuts"], "max_cuts"),
        "max_stages": _limit(raw["max_stages"], "max_stages"),
        "stock": [_stock(each, f"stock[{n}]") for n, each in enumerate(items(raw["stock"], "stock"))],
        "remnants": [_remnant(each, f"remnants[{n}]") for n, each in enumerate(items(raw["remnants"], "remnants"))],
        "blanks": [_blank(each, f"blanks[{n}]") for n, each in enumerate(items(raw["blanks"], "blanks"))],
    }
    if "saw" in raw:
        instance["saw"] = _saw(raw["saw"])
    if "prices" in raw:
        instance["prices"] = _prices(raw["prices"])
    if sum(blank["qty"] for blank in instance["blanks"]) > MOST_BLANKS:
        raise CutsheetError("too-many", f"There are more than {MOST_BLANKS} blanks; plan them in parts.", "blanks")
    once((each["id"] for each in instance["stock"]), "stock")
    once((each["id"] for each in instance["remnants"]), "remnants")
    once((each["id"] for each in instance["blanks"]), "blanks")
    _known(instance)
    if "prices" in instance:
        _earns_nothing(instance)
    return instance


def read_plan(text: str) -> Plan:
    """Return a cutting plan as it stands; whether it is right is for the checker to say."""
    keys = "format", "instance", "pieces"
    raw = record(_tagged(parse(text), "blockyard-plan-1"), "", required=keys, optional=("left_out",))
    pieces: list[PlanPiece] = []
    for n, each in enumerate(items(raw["pieces"], "pieces", most=100_000)):
        piece = record(each, f"pieces[{n}]", required=("source", "tree"))
        source = _name(piece["source"], f"pieces[{n}].source")
        pieces.append({"source": source, "tree": _node(piece["tree"], f"pieces[{n}].tree")})
    return {"format": "blockyard-plan-1", "instance": _name(raw["instance"], "instance"), "pieces": pieces}


def _node(raw: object, where: str, depth: int = 0) -> Node:
    if depth > DEEPEST:
        raise CutsheetError("too-deep", f"More than {DEEPEST} parts lie one inside the other.", where[:80])
    row: list[CutNode] = []
    while isinstance(raw, dict) and "axis" in raw:
        cut = record(raw, where, required=("axis", "at", "lo", "hi"))
        if cut["axis"] not in AXES:
            raise CutsheetError("axis", "A cut stands across x, y or z.", f"{where}.axis")
        low = _node(cut["lo"], f"{where}.lo", depth + 1)
        row.append({"axis": cut["axis"], "at": whole(cut["at"], f"{where}.at", least=1), "lo": low, "hi": None})
        if len(row) > 1:
            row[-2]["hi"] = row[-1]
        if cut["hi"] is None:
            return row[0]
        raw, where = cut["hi"], f"{where}.hi"
    leaf = _leaf(raw, where)
    if not row:
        return leaf
    row[-1]["hi"] = leaf
    return row[0]


def _leaf(raw: object, where: str) -> Node:
    if not isinstance(raw, dict):
        raise CutsheetError("not-an-object", "Write a cut, a blank, a remnant or waste here.", where)
    if "blank" in raw:
        leaf = record(raw, where, required=("blank", "rot"))
        return {"blank": _name(leaf["blank"], f"{where}.blank"), "rot": _lie(leaf["rot"], f"{where}.rot")}
    if "remnant" in raw:
        return {"remnant": _name(record(raw, where, required=("remnant",))["remnant"], where)}
    if record(raw, where, required=("waste",))["waste"] is not True:
        raise CutsheetError("waste", "A leaf of waste is written {“waste”: true}.", where)
    return {"waste": True}


def _stock(raw: object, where: str) -> Stock:
    each = record(raw, where, required=("id", "grade", "size", "skin", "limit", "price"))
    size = _size(each["size"], f"{where}.size")
    skin = []
    for axis, pair in zip(AXES, items(each["skin"], f"{where}.skin", least=3, most=3), strict=True):
        place = f"{where}.skin.{axis}"
        skin.append([whole(side, place) for side in items(pair, place, least=2, most=2)])
        if sum(skin[-1]) >= size[len(skin) - 1]:
            raise CutsheetError("skin", "The skin leaves nothing of this block; write a thinner one.", place)
    limit = _limit(each["limit"], f"{where}.limit")
    name, grade = _named(each, where)
    price = _price(each["price"], where)
    return {"id": name, "grade": grade, "size": size, "skin": skin, "limit": limit, "price": price}


def _remnant(raw: object, where: str) -> Remnant:
    each = record(raw, where, required=("id", "grade", "size", "price"))
    size = _size(each["size"], f"{where}.size")
    name, grade = _named(each, where)
    return {"id": name, "grade": grade, "size": size, "price": _price(each["price"], where)}


def _blank(raw: object, where: str) -> BlankType:
    each = record(raw, where, required=("id", "size", "qty", "grade", "rot"), optional=("note", "from"))
    lies = [_lie(lie, f"{where}.rot") for lie in items(each["rot"], f"{where}.rot", least=1, most=6)]
    size = _size(each["size"], f"{where}.size")
    name, grade = _named(each, where)
    qty = whole(each["qty"], f"{where}.qty", least=1)
    blank: BlankType = {"id": name, "grade": grade, "size": size, "qty": qty, "rot": lies}
    if "from" in each:
        place = f"{where}.from"
        blank["from"] = [_name(source, place, most=80) for source in items(each["from"], place, least=1)]
    return blank


def _saw(raw: object) -> Saw:
    saw = record(raw, "saw", required=("height", "length"))
    return {"height": _reach(saw["height"], "saw.height"), "length": _reach(saw["length"], "saw.length")}


def _reach(raw: object, where: str) -> int | None:
    return None if raw is None else whole(raw, where, least=1)


def _prices(raw: object) -> PriceList:
    prices = record(raw, "prices", required=("cut", "keep", "credit"))
    credit: list[tuple[float | None, float]] = []
    for n, each in enumerate(items(prices["credit"], "prices.credit", least=1, most=20)):
        where = f"prices.credit[{n}]"
        below, share = items(each, where, least=2, most=2)
        size = None if below is None else _number(below, where, LARGEST_REMNANT)
        credit.append((size, _number(share, where, 1)))
    sizes, shares = zip(*credit, strict=True)
    if None in sizes[:-1] or sizes[-1] is not None or list(sizes[:-1]) != sorted(set(sizes[:-1])):
        raise CutsheetError("credit", "Write the sizes of remnants upward, each once, and null last.", "prices.credit")
    if list(shares) != sorted(shares):
        raise CutsheetError("credit", "A larger remnant has no smaller share; write them upward.", "prices.credit")
    return {"cut": whole(prices["cut"], "prices.cut"), "keep": whole(prices["keep"], "prices.keep"), "credit": credit}


def _known(instance: Instance) -> None:
    """Refuse a blank that is to come out of foam which is not in the file."""
    known = {each["id"] for each in instance["stock"]} | {each["id"] for each in instance["remnants"]}
    for n, blank in enumerate(instance["blanks"]):
        for m, name in enumerate(blank.get("from", ())):
            if name not in known:
                message = f"No block or remnant is called “{name}”; write the id of one in stock or remnants."
                raise CutsheetError("source-unknown", message, f"blanks[{n}].from[{m}]")


def _earns_nothing(instance: Instance) -> None:
    """Refuse credits above what a remnant costs to open: a planner would cut up the rack for them.

    What is kept of a remnant never earns more than all of it would, and takes one cut at least.
    """
    prices = Prices.of(instance)
    new_foam = {stock["grade"]: prices.cheapest(instance, stock["grade"]) for stock in instance["stock"]}
    for n, remnant in enumerate(instance["remnants"]):
        size = volume(remnant["size"])
        earned = -prices.kept(size, new_foam.get(remnant["grade"], 0.0)) - prices.cut
        if earned >= remnant["price"] + 1:  # prices are whole cents
            share = next(k for k, (below, _) in enumerate(prices.shares) if size < below * CUBIC_FOOT)
            message = (
                f"What is kept of remnants[{n}], “{remnant['id']}”, is worth up to {earned:.0f}, and opening it costs "
                f"{remnant['price']}: cutting it up would pay. Write a smaller share here, or a higher price there."
            )
            raise CutsheetError("credit", message, f"prices.credit[{share}]")


def _named(each: Mapping[str, Any], where: str) -> tuple[str, str]:
    name, grade = (_name(each[key], f"{where}.{key}", most=80) for key in ("id", "grade"))
    return name, grade


def _name(raw: object, where: str, most: int = 200) -> str:
    """Return a name as it is written: a plan must say the same one, with the blanks before and after it."""
    words(raw, where, least=1, most=most)
    return str(raw)


def _lie(raw: object, where: str) -> str:
    if not isinstance(raw, str) or raw not in LIES:
        raise CutsheetError("lie", f"A blank lies one of {', '.join(LIES)}.", where)
    return raw


def _size(raw: object, where: str) -> Size:
    return [whole(side, where, least=1) for side in items(raw, where, least=3, most=3)]


def _price(raw: object, where: str) -> int:
    return whole(raw, f"{where}.price")


def _limit(raw: object, where: str) -> int | None:
    return None if raw is None else whole(raw, where)


def _number(raw: object, where: str, most: int) -> float:
    if not isinstance(raw, int | Decimal) or isinstance(raw, bool):
        raise CutsheetError("number", "Write a number here.", where)
    if not 0 <= raw <= most:
        raise CutsheetError("range", f"This number is out of range; write 0 to {most}.", where)
    return float(raw)


def _tagged(raw: object, wanted: Literal["blockyard-stock-1", "blockyard-plan-1"]) -> object:
    """Return `raw` when it says that it is the wanted format: the first thing to tell about a wrong file."""
    if isinstance(raw, Mapping) and raw.get("format") != wanted:
        raise CutsheetError("format", f"This is not a “{wanted}” file; choose the right file.", "format")
    return raw
