"""Single blanks for pieces that were ruined out of a face of many, where they take less foam than another whole face.

Such a blank has a row of its own that names the big blank it replaces pieces of (`Blank.replaces`), and its pieces have
left the row they were ordered in. `Blank.single` of the big one counts them.
"""

from __future__ import annotations

from django.db.models import F

from cutsheets.errors import CutsheetError
from cutsheets.units import um_up
from orders.layout import Size, alike, retire_blank, size_um
from orders.lines import work_each
from orders.models import Blank, Piece
from shop.refusals import Refused


def single_size(blank: Blank) -> Size | None:
    """Return the blank that one piece out of a big one would have alone; None where the line says none now."""
    try:
        worked, _ = work_each(blank.line)
    except CutsheetError:
        return None
    return next((size_um(stick.blank) for stick in worked.sticks if um_up(stick.blank.l) == blank.l_um), None)


def order_singles(piece: Piece, qty: int) -> None:
    """Order single blanks for `qty` pieces just ruined, where they are less foam than another of their big blanks."""
    big = piece.blank
    size = single_size(big) if big.gives > 1 else None
    count = _not_on_their_way(big, qty) % big.gives
    if size is None or not count:
        return
    waiting = sum(row.to_saw for row in big.singles.filter(live=True))
    if (waiting + count) * size[0] * size[1] * size[2] >= big.volume:
        return
    if Piece.objects.filter(pk=piece.pk, cut__lte=F("qty") - count).update(qty=F("qty") - count) == 1:
        Blank.objects.filter(pk=big.pk).update(single=F("single") + count)
        _add(piece, size, count)


def take_back_singles(piece: Piece, qty: int) -> int:
    """Take back up to `qty` single blanks of a piece, and return how many; refused where they are sawn."""
    single = _single_of(piece)
    count = min(qty, single.qty) if single else 0
    if not count:
        return 0
    uncut = Piece.objects.filter(pk=single.pk, cut__lte=F("qty") - count)
    if single.blank.to_saw < count or uncut.update(qty=F("qty") - count) != 1:
        raise Refused("sawn-again", "Its single blank was sawn since; the miscut stays on the books.")
    Blank.objects.filter(pk=single.blank_id).update(qty=F("qty") - count)
    Piece.objects.filter(pk=piece.pk).update(qty=F("qty") + count)
    Blank.objects.filter(pk=piece.blank_id).update(single=F("single") - count)
    return count


def _not_on_their_way(big: Blank, qty: int) -> int:
    """Return how many of `qty` pieces just ruined do not come out of big blanks that are due again already."""
    before = big.wire_miscut - big.single - qty
    on_their_way = -before % big.gives
    return max(0, qty - on_their_way)


def _single_of(piece: Piece) -> Piece | None:
    """Return the row of pieces that replace ruined ones of this row."""
    rows = Piece.objects.filter(line=piece.line, live=True, blank__replaces=piece.blank_id).select_related("blank")
    return next((row for row in rows if alike(row) == alike(piece)), None)


def _add(piece: Piece, size: Size, count: int) -> None:
    """Write single blanks, and the pieces that come out of them, beside those that are there."""
    big, single = piece.blank, _single_of(piece)
    row = big.singles.filter(live=True).first()
    if row is None:
        l_um, w_um, h_um = size
        row = Blank(line=big.line, l_um=l_um, w_um=w_um, h_um=h_um, qty=0, marks=piece.marks, replaces=big)
    row.qty += count
    row.save()
    if single is None:
        single = Piece.objects.get(pk=piece.pk)
        single.pk, single._state.adding, single.blank = None, True, row
        single.qty = single.cut = single.coated = single.packed = 0
    single.qty += count
    single.save()


def drop_empty(big: Blank) -> None:
    """Take away the single blanks of a big one that nobody waits for any more."""
    for row in big.singles.filter(live=True, qty=0):
        row.pieces.filter(qty=0).delete()
        retire_blank(row)
