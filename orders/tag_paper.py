"""Tags of blocks and remnants, filled from the rows and kept as prints. A tag of foam that is gone is not printed."""

from __future__ import annotations

from collections.abc import Sequence

from django.db import transaction

from cutsheets.errors import CutsheetError
from cutsheets.sheets.labelgrids import grid_named
from cutsheets.sheets.tags import StockTag, tags_pdf
from cutsheets.solids import Box
from orders.models import Print
from orders.prints import keep
from shop.acts import Act
from shop.models import ShopRules, StockPiece
from shop.refusals import Refused
from shop.tags import code_of

GONE = (StockPiece.State.USED, StockPiece.State.SCRAPPED)


@transaction.atomic
def print_tags(pieces: Sequence[StockPiece], act: Act, *, grid: str, start: int = 1) -> bytes:
    """Return tags as a PDF on a grid of labels, the first at label `start`, and keep a print of each.

    Refused where a piece is gone, or has a tag that no code stands for, or the sheet has no such label.
    """
    rules = ShopRules.current()
    try:
        tags = [_tag(piece, act, rules) for piece in pieces]
        return tags_pdf(tags, grid_named(grid), start=start, shop=rules.name, dpi=rules.label_dpi)
    except CutsheetError as error:
        raise Refused(error.code, error.message) from error


def _tag(piece: StockPiece, act: Act, rules: ShopRules) -> StockTag:
    code = code_of(piece.tag)
    if piece.state in GONE:
        raise Refused("foam-gone", f"{piece} is {piece.get_state_display()}; it needs no tag.")
    if code is None:
        raise Refused("tag-without-code", f"“{piece}” is no tag of the shop's own numbers; write it by hand.")
    return StockTag(
        kind=code.kind, number=code.number, name=piece.tag, grade=piece.grade.name,
        pattern=piece.grade.pattern, size=Box(*(side / 1000 for side in piece.size_um)), unit=rules.unit,
        day=piece.received_on, parent=piece.parent.tag if piece.parent else "", lot=piece.lot,
        mould_date=None if piece.parent else piece.mould_date, place=piece.place,
        print_number=keep(Print.Sheet.TAG, act, of=piece.tag).number,
    )  # fmt: skip
