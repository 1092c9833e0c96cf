"""Wanted blanks and the rack as the planner reads them: `blockyard-stock-1`, and the way back to rows.

Blocks that are alike are one size of stock with a limit, the oldest opened first, those before that are to be used
first; every remnant stands for itself. Blanks and kerf are rounded up to whole micrometres, foam on the rack and the
reach of the saw down. Prices only rank plans.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from django.db.models import Q, QuerySet
from django.db.models.functions import Coalesce

from cutsheets.drawings.runs import name_marks
from cutsheets.stock import LIES, BlankType, Instance, PriceList, Remnant, Saw, Stock, Useful, volume
from cutsheets.units import um_down, um_up
from orders.models import Blank, CuttingRun, Line
from shop.models import Grade, ShopRules, Station, StockPiece

from .asked import Asked
from .wanted import Wanted

UM3_PER_FT3 = 304_800**3
LONGEST_MARKS = 12  # characters that a blank on a drawing has room for
LIES_OF = {
    Line.Lie.ANY: list(LIES), Line.Lie.ALONG: ["LWH", "LHW"], Line.Lie.UPRIGHT: ["LWH", "WLH"], Line.Lie.AS_IS: ["LWH"],
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Rack:
    """An instance, and which rows its names stand for.

    `tags`: the tags behind each size of stock, in the order of opening. `blanks`: the key of the blank behind each id.
    """

    instance: Instance
    tags: dict[str, list[str]]
    blanks: dict[str, int]


def rack_of(run: CuttingRun, wanted: Wanted) -> Rack:
    """Return what of a grade stands free on the rack and may be opened, and the blanks wanted out of it."""
    rules, grade, asked = ShopRules.current(), run.grade, Asked.of(run)
    pieces = free_pieces(grade, asked.instead_of).exclude(tag__in=asked.out)
    blocks = pieces.filter(parent=None).order_by(Coalesce("mould_date", "received_on"), "pk")
    foam = foam_price(grade, rules)
    in_turn = sorted(blocks, key=lambda block: block.tag not in asked.first)
    stock, tags = _stock(grade, in_turn, um_up(rules.block_skin), foam)
    ids = {blank.pk: blank_id(blank) for blank, _ in wanted}
    instance: Instance = {
        "format": "blockyard-stock-1", "name": f"{grade}, {run.made_at:%Y-%m-%d}", "unit": "um",
        "kerf": kerf_um(run.saw, rules), "allow_edge_shave": True, "min_remnant": useful(rules),
        "max_cuts": None, "max_stages": None, "stock": stock,
        "remnants": [_remnant(grade, piece, rules) for piece in pieces.exclude(parent=None).order_by("pk")],
        "blanks": [_blank_type(grade, ids[blank.pk], blank, qty) for blank, qty in wanted],
        "prices": prices_of(rules),
    }  # fmt: skip
    if run.saw and (run.saw.height or run.saw.travel):
        instance["saw"] = reach(run.saw)
    return Rack(instance, tags, {text: key for key, text in ids.items()})


def free_pieces(grade: Grade, instead_of: int = 0) -> QuerySet[StockPiece]:
    """Return what of a grade stands free on the rack; what is reserved for the plan `instead_of` counts as free."""
    theirs = Q(state=StockPiece.State.RESERVED, held_for=str(CuttingRun(number=instead_of)))
    return StockPiece.objects.filter(Q(state=StockPiece.State.ON_RACK) | theirs, grade=grade)


def foam_price(grade: Grade, rules: ShopRules) -> Decimal:
    """Return what a cubic foot of new foam costs, cents."""
    return 100 * (rules.price_foam if grade.price is None else grade.price)


def kerf_um(saw: Station | None, rules: ShopRules) -> int:
    """Return the kerf of a saw, the shop's where it has none of its own or no saw was named."""
    return um_up(rules.kerf if saw is None or saw.kerf is None else saw.kerf)


def _stock(
    grade: Grade, blocks: Iterable[StockPiece], skin: int, foam: Decimal
) -> tuple[list[Stock], dict[str, list[str]]]:
    """Return the sizes of the blocks, and the tags of each."""
    alike: dict[tuple[int, int, int], list[str]] = defaultdict(list)
    for block in blocks:
        if min(block.size_um) > 2 * skin:
            alike[block.size_um].append(block.tag)
    stock: list[Stock] = []
    tags = {}
    for number, (size, of_size) in enumerate(alike.items(), 1):
        name = f"block {number}"
        tags[name] = of_size
        stock.append(
            {"id": name, "grade": grade.name, "size": list(size), "skin": [[skin, skin]] * 3, "limit": len(of_size),
             "price": _price(size, foam)}
        )  # fmt: skip
    return stock, tags


def _remnant(grade: Grade, piece: StockPiece, rules: ShopRules) -> Remnant:
    return {"id": piece.tag, "grade": grade.name, "size": list(piece.size_um), "price": rack_price(piece, rules)}


def rack_price(piece: StockPiece, rules: ShopRules) -> int:
    """Return what opening a remnant costs, cents: the shop's share of new foam."""
    return _price(piece.size_um, foam_price(piece.grade, rules) * rules.rack_share / 100)


def _price(size: Iterable[int], per_ft3: Decimal) -> int:
    return max(1, int(volume(tuple(size)) * per_ft3 / UM3_PER_FT3))


def _blank_type(grade: Grade, name: str, blank: Blank, qty: int) -> BlankType:
    lies = LIES_OF[Line.Lie(blank.line.lie)]
    return {"id": name, "grade": grade.name, "size": list(blank.size_um), "qty": qty, "rot": lies}


def blank_id(blank: Blank) -> str:
    """Return “4182 A1–A5”, as pictures and sheets call these blanks: the order, and the pieces cut from them.

    One that gives many pieces says how many: the last face of a mark gives fewer, and is another blank. A single one
    for a piece ruined out of many says that it is cut again.
    """
    marks = name_marks(blank.marks)
    short = marks if len(marks) <= LONGEST_MARKS else f"{blank.marks[0]} …"
    more = f" ×{blank.gives}" if blank.gives > 1 else " again" if blank.replaces_id else ""
    return f"{blank.line.order.number} {short}{more}"


def useful(rules: ShopRules) -> Useful:
    """Return the smallest remnant worth keeping."""
    dims = sorted(um_up(side) for side in (rules.remnant_l, rules.remnant_w, rules.remnant_h))
    return {"dims": dims, "volume": volume(dims)}


def prices_of(rules: ShopRules) -> PriceList:
    """Return what ranks plans, in the shop's own figures."""
    small, medium, large, whole = rules.credit_small, rules.credit_medium, rules.credit_large, rules.credit_whole
    return {
        "cut": int(100 * rules.price_cut), "keep": int(100 * rules.price_keep),
        "credit": [(4, small / 100), (12, medium / 100), (32, large / 100), (None, whole / 100)],
    }  # fmt: skip


def reach(saw: Station) -> Saw:
    """Return how high and how long a saw cuts; a limit that is not known is none."""
    return {
        "height": um_down(saw.height) if saw.height else None, "length": um_down(saw.travel) if saw.travel else None,
    }  # fmt: skip
