"""A count taken back within its shift: the row stays, and the undo is a row of its own that names it."""

from __future__ import annotations

from collections.abc import Callable

from django.db.models import F, Q, Sum
from django.db.models.functions import Greatest
from django.db.models.lookups import GreaterThanOrEqual

from orders.models import SHIFT, Blank, CuttingRun, Move, Piece, RunBlank, RunSource
from orders.planning.wanted import coming
from orders.workflow import COUNTS
from shop import account
from shop.acts import Act
from shop.refusals import Refused

from .rows import claim, leave, once, settle_done
from .saw import owed
from .singles import drop_empty, take_back_singles


@once
def undo(move: Move, act: Act) -> Move:
    """Take a count of the same shift back; the row stays, and the undo is a row of its own that names it."""
    if move.action not in COUNTS:
        raise Refused("not-a-count", "Only a count can be undone; a change of an order is changed back by the office.")
    if not _is_of_this_shift(move, act):
        raise Refused("too-late", "This count is of an earlier shift; have the manager book a correction.")
    order = claim(move.order, "undo")
    if Move.objects.filter(undoes=move).exists():
        raise Refused("undone", "This count was undone before; nothing was changed.")
    if _is_replaced(move):
        raise Refused("replaced", "A newer sheet replaced this blank; its counts stay as they were.")
    before = _planned_beyond_due(move.blank)
    _UNDO[move.action](move, act)
    if _planned_beyond_due(move.blank) > before:
        raise _planned_again(move)
    drop_empty(move.blank)
    settle_done(order, act)
    return leave(
        order, "undo", act, undoes=move, qty=-move.qty,
        line=move.line, blank=move.blank, piece=move.piece, run_blank=move.run_blank,
    )  # fmt: skip


def last_count(act: Act) -> Move | None:
    """Return the newest count of this station in this shift that can still be undone, or None."""
    counts = Move.objects.filter(station=act.station, action__in=COUNTS, undone_by=None)
    newest = counts.select_related("order", "line", "blank", "piece").order_by("-pk").first()
    return newest if newest and _is_of_this_shift(newest, act) else None


def _is_of_this_shift(move: Move, act: Act) -> bool:
    """Return whether a count is no older than a shift is long; a shift may go on past midnight."""
    return act.at - move.happened_at < SHIFT


def _is_replaced(move: Move) -> bool:
    """Return whether a newer sheet has other blanks, or other pieces, than those of a count."""
    if move.blank is None or not move.blank.live:
        return True
    if move.action in ("saw", "saw-miscut", "cut-miscut"):  # the foam is the blank's, whatever became of the pieces
        return False
    return move.piece is None or not move.piece.live


def _undo_sawn(move: Move, act: Act) -> None:
    blank, qty = move.blank, move.qty
    kept, used = (F("sawn") - qty) * F("gives"), F("cut") + F("wire_miscut") + _packed_as_sawn(blank)
    unused = Blank.objects.filter(GreaterThanOrEqual(kept, used), pk=blank.pk)
    if unused.update(sawn=F("sawn") - qty) != 1:
        raise Refused("already-cut", "These blanks were wired or packed since; undo that count first.")
    _give_back(move, sawn=F("sawn") - qty)
    piece, line = move.run_blank.source.piece, blank.line
    account.good(piece, -blank.volume * qty, act, order_ref=str(move.order), line_ref=line.mark)


def _packed_as_sawn(blank: Blank) -> int:
    """Return how many pieces are packed of a blank that is the piece itself."""
    return blank.pieces.filter(live=True, wired=False).aggregate(packed=Sum("packed", default=0))["packed"]


def _undo_saw_miscut(move: Move, act: Act) -> None:
    blank, qty = move.blank, move.qty
    Blank.objects.filter(pk=blank.pk).update(saw_miscut=F("saw_miscut") - qty)
    _give_back(move, miscut=F("miscut") - qty)
    account.miscut(
        move.run_blank.source.piece, -blank.volume * qty, act,
        order_ref=str(move.order), line_ref=blank.line.mark, reason=f"undone: {move.reason}",
    )  # fmt: skip


def _give_back(move: Move, **change) -> None:
    """Put a count back into what an opened piece gives, while that piece is still on the saw."""
    still_open = RunBlank.objects.filter(pk=move.run_blank_id, source__state=RunSource.State.ON_SAW)
    if still_open.update(**change) != 1:
        raise Refused("source-finished", "The block of this count is finished and its foam settled; it stays.")


def _undo_cut(move: Move, act: Act) -> None:
    free = GreaterThanOrEqual(F("cut") - move.qty, Greatest("coated", "packed"))
    if Piece.objects.filter(free, pk=move.piece_id).update(cut=F("cut") - move.qty) != 1:
        raise Refused("already-used", "These pieces were coated, packed or spoiled since; undo that count first.")
    Blank.objects.filter(pk=move.blank_id).update(cut=F("cut") - move.qty)


def _undo_cut_miscut(move: Move, act: Act) -> None:
    blank, qty = move.blank, move.qty
    alone = take_back_singles(move.piece, qty) if move.piece else 0  # the row is gone with an older sheet
    if owed(blank, 0, mended=qty - alone).update(wire_miscut=F("wire_miscut") - qty) != 1:
        raise Refused("sawn-again", "The blanks were sawn again since; the miscut stays on the books.")
    blank.refresh_from_db()
    foam = blank.foam_of(blank.wire_miscut + qty) - blank.foam_of(blank.wire_miscut)
    account.good_to_miscut(
        blank.line.grade, -foam, act,
        order_ref=str(move.order), line_ref=blank.line.mark, reason=f"undone: {move.reason}",
    )  # fmt: skip


def _undo_coat(move: Move, act: Act) -> None:
    unpacked = GreaterThanOrEqual(F("coated") - move.qty, F("packed"))
    if Piece.objects.filter(unpacked, pk=move.piece_id).update(coated=F("coated") - move.qty) != 1:
        raise Refused("already-used", "These pieces were packed or spoiled since; undo that count first.")


def _undo_pack(move: Move, act: Act) -> None:
    Piece.objects.filter(pk=move.piece_id).update(packed=F("packed") - move.qty)


def _undo_ruined(move: Move, act: Act) -> None:
    """Give pieces back that were cut, and coated, before they were ruined."""
    _undo_cut_miscut(move, act)
    piece, qty = move.piece, move.qty
    if not piece.wired:
        return
    coated = qty if piece.wants_coat and move.action == "pack-miscut" else 0
    again = Piece.objects.filter(pk=piece.pk, cut__lte=F("qty") - qty)
    if again.update(cut=F("cut") + qty, coated=F("coated") + coated) != 1:
        raise Refused("sawn-again", "They were cut again since; the miscut stays on the books.")
    Blank.objects.filter(pk=move.blank_id).update(cut=F("cut") + qty)


def _planned_beyond_due(blank: Blank) -> int:
    """Return how many of a blank, and of the single ones for it, accepted plans still give beyond what is due."""
    planned = coming()
    rows = Blank.objects.filter(Q(pk=blank.pk) | Q(replaces=blank.pk), live=True)
    return sum(max(0, planned.get(row.pk, 0) - row.to_saw) for row in rows)


def _planned_again(move: Move) -> Refused:
    """Return the refusal for a miscut that a plan has replaced: it would give one blank too many."""
    of = Q(blank=move.blank_id) | Q(blank__replaces=move.blank_id)
    still = Q(source__state=RunSource.State.ON_SAW) | Q(source__state=RunSource.State.WAITING)
    given = RunBlank.objects.filter(of, still, source__run__state=CuttingRun.State.ACCEPTED)
    run = CuttingRun.objects.filter(pk__in=given.values("source__run")).order_by("-number").first()
    return Refused(
        "planned-again",
        f"Plan {run.number} gives again what this miscut made due; the miscut stays. To undo it, have the manager "
        f"throw plan {run.number} away first.",
        plan=run.number,
    )


_UNDO: dict[str, Callable[[Move, Act], None]] = {
    "saw": _undo_sawn,
    "saw-miscut": _undo_saw_miscut,
    "cut": _undo_cut,
    "cut-miscut": _undo_cut_miscut,
    "coat": _undo_coat,
    "pack": _undo_pack,
    "coat-miscut": _undo_ruined,
    "pack-miscut": _undo_ruined,
}
