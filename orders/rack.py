"""Wanted blanks and the rack as the planner reads them: `blockyard-stock-1`, and the way back to rows.

Blocks that are alike are one size of stock with a limit, the oldest opened first; every remnant stands for itself.
Blanks and kerf are rounded up to whole micrometres, foam on the rack down. Prices only rank plans: foam counts by its
volume, a remnant half, so that the rack is used before a block is opened.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass

from django.db.models.functions import Coalesce

from cutsheets.drawings.runs import name_marks
from cutsheets.stock import LIES, BlankType, Instance, Remnant, Stock, Useful, volume
from cutsheets.units import um_up
from orders.models import Blank
from shop.models import Grade, ShopRules, StockPiece

UM3_PER_FT3 = 304_800**3
CENTS_PER_FT3 = 260  # nominal; no money is shown anywhere
LONGEST_MARKS = 12  # characters that a blank on a drawing has room for
Wanted = list[tuple[Blank, int]]


@dataclass(frozen=True, slots=True)
class Rack:
    """An instance, and which rows its names stand for.

    `tags`: the tags behind each size of stock, in the order of opening. `blanks`: the key of the blank behind each id.
    """

    instance: Instance
    tags: dict[str, list[str]]
    blanks: dict[str, int]


def rack_of(grade: Grade, wanted: Wanted, name: str) -> Rack:
    """Return what of a grade stands free on the rack, and the blanks wanted out of it."""
    rules = ShopRules.current()
    pieces = StockPiece.objects.filter(grade=grade, state=StockPiece.State.ON_RACK)
    blocks = pieces.filter(parent=None).order_by(Coalesce("mould_date", "received_on"), "pk")
    stock, tags = _stock(grade, blocks, um_up(rules.block_skin))
    ids = {blank.pk: blank_id(blank) for blank, _ in wanted}
    instance: Instance = {
        "format": "blockyard-stock-1", "name": name, "unit": "um", "kerf": um_up(rules.kerf),
        "allow_edge_shave": True, "min_remnant": _useful(rules), "max_cuts": None, "max_stages": None,
        "stock": stock,
        "remnants": [_remnant(grade, piece) for piece in pieces.exclude(parent=None).order_by("pk")],
        "blanks": [_blank_type(grade, ids[blank.pk], blank, qty) for blank, qty in wanted],
    }  # fmt: skip
    return Rack(instance, tags, {text: key for key, text in ids.items()})


def _stock(grade: Grade, blocks: Iterable[StockPiece], skin: int) -> tuple[list[Stock], dict[str, list[str]]]:
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
             "price": _price(size, CENTS_PER_FT3)}
        )  # fmt: skip
    return stock, tags


def _remnant(grade: Grade, piece: StockPiece) -> Remnant:
    size = list(piece.size_um)
    return {"id": piece.tag, "grade": grade.name, "size": size, "price": _price(size, CENTS_PER_FT3 // 2)}


def _price(size: Iterable[int], per_ft3: int) -> int:
    return max(1, volume(tuple(size)) * per_ft3 // UM3_PER_FT3)


def _blank_type(grade: Grade, name: str, blank: Blank, qty: int) -> BlankType:
    # foam has no grain that a moulding cares for: every lie is allowed
    return {"id": name, "grade": grade.name, "size": list(blank.size_um), "qty": qty, "rot": list(LIES)}


def blank_id(blank: Blank) -> str:
    """Return “4182 A1–A5”, as pictures and sheets call these blanks: the order, and the pieces cut from them."""
    marks = name_marks(blank.marks)
    return f"{blank.line.order.number} {marks if len(marks) <= LONGEST_MARKS else f'{blank.marks[0]} …'}"


def _useful(rules: ShopRules) -> Useful:
    dims = sorted(um_up(side) for side in (rules.remnant_l, rules.remnant_w, rules.remnant_h))
    return {"dims": dims, "volume": volume(dims)}
