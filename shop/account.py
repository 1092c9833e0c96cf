"""The foam account: the only writer of `StockMove` and of the state and the size of a `StockPiece`.

    book stock   = receipts + corrections - issues + remnants back - scrap      = what stands on the rack, per grade
    issued foam  = good + miscut + remnants back + saw waste + still on the saw  per opened piece, grade and day

Volumes are whole cubic micrometres, so both hold exactly. Every function writes its rows in one transaction or none.
A row belongs to the day of its act, but never to a day before the last row of the same foam: a late entry cannot make
a past day negative. A closed day takes no more rows; only a count correction of today is always possible.
"""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from typing import NotRequired, TypedDict, Unpack

from django.db import connection, transaction
from django.db.models import Max, Q
from django.utils import timezone

from cutsheets.days import say_day
from shop.acts import Act
from shop.models import BlockSize, DayClose, Grade, ShopRules, StockMove, StockPiece
from shop.refusals import Refused

Kind, State = StockMove.Kind, StockPiece.State
Size = tuple[int, int, int]
BOOK = {Kind.RECEIPT: 1, Kind.CORRECTION: 1, Kind.ISSUE: -1, Kind.BACK: 1, Kind.SCRAP: -1}
SAW = {Kind.ISSUE: 1, Kind.GOOD: -1, Kind.MISCUT: -1, Kind.BACK: -1, Kind.WASTE: -1}


class Label(TypedDict):
    """What a delivered block says about itself, and where it is put."""

    nominal: NotRequired[BlockSize | None]
    lot: NotRequired[str]
    mould_date: NotRequired[date | None]
    place: NotRequired[str]


# On the rack ----------------------------------------------------------------------------------------------------------


@transaction.atomic
def receive(tag: str, grade: Grade, size_um: Size, act: Act, **label: Unpack[Label]) -> StockPiece:
    """Return a new block on the rack, booked with its measured size."""
    piece = _new_piece(tag, grade, size_um, received_on=act.day, **label)
    _write(Kind.RECEIPT, piece.volume, act, piece=piece)
    return piece


@transaction.atomic
def reserve(piece: StockPiece, act: Act, *, held_for: str) -> StockPiece:
    """Keep a piece on the rack for a plan."""
    _claim(piece, Q(state=State.ON_RACK), State.RESERVED, held_for)
    _write(Kind.RESERVE, piece.volume, act, piece=piece)
    return piece


@transaction.atomic
def free(piece: StockPiece, act: Act) -> StockPiece:
    """Give a reserved piece back to everybody."""
    _claim(piece, Q(state=State.RESERVED), State.ON_RACK)
    _write(Kind.FREE, piece.volume, act, piece=piece)
    return piece


@transaction.atomic
def scrap(piece: StockPiece, act: Act, *, reason: str) -> StockPiece:
    """Take a piece off the rack for good: broken, wet, too small to keep."""
    _need_reason(reason)
    _claim(piece, Q(state=State.ON_RACK), State.SCRAPPED)
    _write(Kind.SCRAP, piece.volume, act, piece=piece, reason=reason)
    return piece


@transaction.atomic
def correct(piece: StockPiece, act: Act, *, reason: str, found: bool | Size) -> StockPiece:
    """Write what a count found: `False` not there, `True` there again after a count had missed it, or another size."""
    _need_reason(reason)
    if found is False:
        _claim(piece, Q(state=State.ON_RACK), State.SCRAPPED)
        change = -piece.volume
    elif found is True:
        last = piece.moves.filter(kind__in=[Kind.SCRAP, Kind.CORRECTION]).last()
        if last is None or last.kind != Kind.CORRECTION:
            raise Refused("not-lost", f"{piece.tag} was not missed by a count; receive it as a block of its own.")
        _claim(piece, Q(state=State.SCRAPPED), State.ON_RACK)
        change = piece.volume
    else:
        _check_size(found)
        _claim(piece, Q(state=State.ON_RACK), State.ON_RACK)
        before = piece.volume
        piece.l_um, piece.w_um, piece.h_um = found
        piece.save(update_fields=["l_um", "w_um", "h_um"])
        change = piece.volume - before
    _write(Kind.CORRECTION, change, act, piece=piece, reason=reason)
    return piece


def too_fresh(piece: StockPiece, day: date) -> bool:
    """Return whether a block is younger than the shop's rest for new foam; without a mould date nobody knows."""
    if piece.mould_date is None:
        return False
    return (day - piece.mould_date).days < ShopRules.current().minimum_age_days


# On the saw -----------------------------------------------------------------------------------------------------------


@transaction.atomic
def issue(piece: StockPiece, act: Act, *, held_for: str) -> StockPiece:
    """Open a piece on the saw: the whole of it leaves the rack. It must be free or reserved for `held_for`."""
    _claim(piece, Q(state=State.ON_RACK) | Q(state=State.RESERVED, held_for=held_for), State.ON_SAW, held_for)
    _write(Kind.ISSUE, piece.volume, act, piece=piece, opened=piece.tag)
    return piece


@transaction.atomic
def good(piece: StockPiece, volume: int, act: Act, *, order_ref: str, line_ref: str) -> None:
    """Book good blanks out of an opened piece; a negative volume takes some of the same line back."""
    _out_of(Kind.GOOD, piece, volume, act, order_ref=order_ref, line_ref=line_ref)


@transaction.atomic
def miscut(piece: StockPiece, volume: int, act: Act, *, order_ref: str, line_ref: str, reason: str) -> None:
    """Book blanks ruined at the saw; a negative volume takes some of the same line back."""
    _need_reason(reason)
    _out_of(Kind.MISCUT, piece, volume, act, order_ref=order_ref, line_ref=line_ref, reason=reason)


@transaction.atomic
def good_to_miscut(grade: Grade, volume: int, act: Act, *, order_ref: str, line_ref: str, reason: str) -> None:
    """Move good blanks to miscut (ruined at the wire, perhaps days later); a negative volume moves them back.

    The day of the move shows it: its good foam is less by what was ruined, so that no earlier day changes.
    """
    _need_reason(reason)
    refs = {"order_ref": order_ref, "line_ref": line_ref}
    rows = StockMove.objects.filter(grade=grade, **refs)
    # only what was ruined at the wire can become good again; its rows name no opened piece
    rows = rows.filter(kind=Kind.GOOD) if volume > 0 else rows.filter(kind=Kind.MISCUT, piece=None)
    if abs(volume) > _total(rows):
        raise Refused("more-than-booked", f"Order {order_ref} {line_ref} has not that much foam to move.")
    _write(Kind.GOOD, -volume, act, grade=grade, reason=reason, **refs)
    _write(Kind.MISCUT, volume, act, grade=grade, reason=reason, **refs)


@transaction.atomic
def back(piece: StockPiece, tag: str, size_um: Size, act: Act, *, place: str = "") -> StockPiece:
    """Return the remnant put back on the rack under its own tag, as measured; the rest stays on the saw."""
    _lock_on_saw(piece)
    _check_size(size_um)
    if any(small > large for small, large in zip(sorted(size_um), sorted(piece.size_um), strict=True)):
        raise Refused("larger-than-parent", f"{tag} cannot be larger than {piece.tag}, from which it was cut.")
    label = {"lot": piece.lot, "mould_date": piece.mould_date, "place": place, "received_on": act.day}
    remnant = _new_piece(tag, piece.grade, size_um, parent=piece, **label)
    _need_left(piece, remnant.volume, left_on_saw(piece))
    _write(Kind.BACK, remnant.volume, act, piece=remnant, opened=piece.tag)
    return remnant


@transaction.atomic
def waste(piece: StockPiece, volume: int, act: Act, *, reason: str) -> None:
    """Book foam that should have been kept and is not; an opened piece gives no more than it has left."""
    _need_reason(reason)
    _lock_on_saw(piece)
    _write(Kind.WASTE, min(volume, left_on_saw(piece)), act, piece=piece, opened=piece.tag, reason=reason)


@transaction.atomic
def use_up(piece: StockPiece, act: Act, *, reason: str = "") -> None:
    """Close an opened piece: whatever is still unaccounted for is saw waste."""
    _lock_on_saw(piece)
    _write(Kind.WASTE, left_on_saw(piece), act, piece=piece, opened=piece.tag, reason=reason)
    _claim(piece, Q(state=State.ON_SAW), State.USED)


# What the account says ------------------------------------------------------------------------------------------------


def book_stock(grade: Grade) -> int:
    """Return the foam of a grade that the account says stands on the rack, in cubic micrometres."""
    return _sum(StockMove.objects.filter(grade=grade, kind__in=BOOK), BOOK)


def free_at_end(day: date) -> list[StockPiece]:
    """Return the pieces that stood on the rack, neither opened nor kept for a plan, at the end of a day.

    The rows of a piece say so: they add up to foam, and the last one does not reserve it. A piece without a later row
    stands as it stood.
    """
    moved = StockPiece.objects.filter(moves__day__gt=day)
    rows: dict[StockPiece, list[tuple[Kind, int]]] = defaultdict(list)
    on_rack = StockMove.objects.filter(piece__in=moved, day__lte=day, kind__in=[*BOOK, Kind.RESERVE, Kind.FREE])
    for row in on_rack.select_related("piece").order_by("pk"):
        rows[row.piece].append((Kind(row.kind), row.volume))
    there = [
        piece for piece, its in rows.items()
        if its[-1][0] != Kind.RESERVE and sum(BOOK.get(kind, 0) * volume for kind, volume in its) > 0
    ]  # fmt: skip
    return [*StockPiece.objects.filter(state=State.ON_RACK).exclude(pk__in=moved), *there]


def left_on_saw(piece: StockPiece) -> int:
    """Return what is still unaccounted for of an opened piece, in cubic micrometres."""
    return _sum(_rows_of(piece), SAW)


@dataclass(frozen=True, slots=True)
class GradeDay:
    """One grade's foam of one day, in cubic micrometres; `on_saw_*` is what lay on the saws at its two midnights."""

    grade: Grade
    issued: int = 0
    good: int = 0
    miscut: int = 0
    back: int = 0
    waste: int = 0
    on_saw_start: int = 0
    on_saw_end: int = 0
    received: int = 0
    corrected: int = 0
    scrapped: int = 0

    @property
    def unaccounted(self) -> int:
        """Return what the day cannot explain: 0 unless somebody has written past the account."""
        out = self.good + self.miscut + self.back + self.waste + self.on_saw_end
        return self.issued + self.on_saw_start - out


FIGURES = {
    Kind.ISSUE: "issued", Kind.GOOD: "good", Kind.MISCUT: "miscut", Kind.BACK: "back", Kind.WASTE: "waste",
    Kind.RECEIPT: "received", Kind.CORRECTION: "corrected", Kind.SCRAP: "scrapped",
}  # fmt: skip


def day_figures(day: date) -> list[GradeDay]:
    """Return the day's foam of every grade that moved or lay on a saw, in the order of the grades."""
    figures: dict[int, dict[str, int]] = {}

    def add(grade_id: int, name: str, volume: int) -> None:
        row = figures.setdefault(grade_id, {})
        row[name] = row.get(name, 0) + volume

    moved = StockMove.objects.filter(day=day, kind__in=FIGURES)
    for grade_id, kind, volume in moved.values_list("grade_id", "kind", "volume"):
        add(grade_id, FIGURES[Kind(kind)], volume)
    for name, before in (("on_saw_start", Q(day__lt=day)), ("on_saw_end", Q(day__lte=day))):
        for grade_id, volume in _on_saw(day, before):
            add(grade_id, name, volume)
    return [GradeDay(grade, **figures[grade.pk]) for grade in Grade.objects.filter(pk__in=figures)]


@transaction.atomic
def close_day(day: date, act: Act) -> DayClose:
    """Return the closed day with its figures as they stand; foam still on a saw is carried over under that name.

    Closing a day closes every day before it too. Figures are whole cubic micrometres, written as text.
    """
    if day > timezone.localdate():
        raise Refused("day-ahead", f"{say_day(day)} has not begun; close it when it is over.")
    _stop_writers()
    figures = day_figures(day)
    if wrong := [row.grade.name for row in figures if row.unaccounted]:
        raise Refused("not-balanced", f"The foam of {', '.join(wrong)} does not add up; look at it before closing.")
    names = [*FIGURES.values(), "on_saw_start", "on_saw_end"]
    rows = [{"grade": row.grade.name} | {name: str(getattr(row, name)) for name in names} for row in figures]
    facts = {"figures": {"grades": rows}, "closed_by": act.by, "closed_at": act.at}
    closed, new = DayClose.objects.get_or_create(day=day, defaults=facts)
    if not new:
        raise Refused("day-closed", f"{say_day(day)} is already closed.")
    return closed


# One place for each rule ----------------------------------------------------------------------------------------------


def _write(kind: Kind, volume: int, act: Act, *, piece=None, **columns) -> None:
    """Write one line of the account on the day on which it belongs, and refuse it if that day is closed.

    Looking after writing is on purpose: `close_day` waits for rows being written, and rows written later see it.
    """
    day = max(filter(None, (act.day, _last_day(piece))))
    grade = columns.pop("grade", None) or piece.grade
    StockMove.objects.create(
        kind=kind, grade=grade, piece=piece, volume=volume, by=act.by, station=act.station, day=day,
        happened_at=act.at, **columns,
    )  # fmt: skip
    today = timezone.localdate()
    if day > today:
        raise Refused("day-ahead", f"{say_day(day)} lies ahead; check the clock of the station.")
    if DayClose.objects.filter(day__gte=day).exists() and not (kind == Kind.CORRECTION and day == today):
        raise Refused("day-closed", f"The foam of {say_day(day)} is closed; enter it under a later day.", day=day)


def _stop_writers() -> None:
    """Wait for rows being written and let nobody write until the end of the transaction (SQLite does so anyway)."""
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute(f"LOCK TABLE {StockMove._meta.db_table} IN SHARE MODE")


def _last_day(piece: StockPiece | None) -> date | None:
    """Return the day of the newest row of this foam; a remnant begins where its parent stood."""
    if piece is None:
        return None
    own = _rows_of(piece).aggregate(last=Max("day"))["last"]
    return own or (_last_day(piece.parent) if piece.parent_id else None)


def _rows_of(piece: StockPiece):
    """Return the rows of a piece and of the remnants that were put back from it."""
    return StockMove.objects.filter(Q(piece=piece) | Q(piece__parent=piece, kind=Kind.BACK)).exclude(
        # the row that put this piece itself back belongs to what its parent left on the saw
        piece=piece, kind=Kind.BACK,
    )  # fmt: skip


def _sum(rows, signs: dict) -> int:
    return sum(signs.get(kind, 0) * volume for kind, volume in rows.values_list("kind", "volume"))


def _total(rows) -> int:
    return sum(rows.values_list("volume", flat=True))


def _on_saw(day: date, before: Q) -> Iterable[tuple[int, int]]:
    """Yield (grade, volume on the saw) of every piece that was open on that day, counting the rows `before`."""
    open_then = Q(state=State.ON_SAW) | Q(moves__kind=Kind.WASTE, moves__day__gte=day)
    for piece in StockPiece.objects.filter(open_then).distinct():
        yield piece.grade_id, _sum(_rows_of(piece).filter(before), SAW)


def _out_of(kind: Kind, piece: StockPiece, volume: int, act: Act, **columns) -> None:
    """Book a volume out of an opened piece (or back into it): never more than is there, of the line or on the saw."""
    _lock_on_saw(piece)
    rows = _rows_of(piece)
    _need_left(piece, volume, _sum(rows, SAW))
    line = {"kind": kind, "order_ref": columns["order_ref"], "line_ref": columns["line_ref"]}
    if volume < 0:
        # neither more than this piece gave, nor good blanks that the wire has ruined since
        booked = min(_total(rows.filter(**line)), _total(StockMove.objects.filter(grade=piece.grade, **line)))
        if -volume > booked:
            raise Refused("more-than-booked", f"{piece.tag} has not given that much to order {line['order_ref']}.")
    _write(kind, volume, act, piece=piece, opened=piece.tag, **columns)


def _need_left(piece: StockPiece, volume: int, left: int) -> None:
    if volume > left:
        raise Refused("more-than-left", f"There is not that much foam left of {piece.tag}; measure it and count again.")


def _lock_on_saw(piece: StockPiece) -> None:
    """Keep others from counting out of the same piece meanwhile (SQLite has one writer at a time anyway)."""
    if not StockPiece.objects.select_for_update().filter(pk=piece.pk, state=State.ON_SAW).exists():
        raise Refused("not-on-saw", f"{piece.tag} is not on the saw; open it first.", tag=piece.tag)


def _claim(piece: StockPiece, expected: Q, state: State, held_for: str = "") -> None:
    """Change the state of a piece if it is still as expected: of two who try, one is refused."""
    taken = StockPiece.objects.filter(expected, pk=piece.pk).update(state=state, held_for=held_for)
    piece.refresh_from_db()
    if taken != 1:
        held = f" for {piece.held_for}" if piece.held_for else ""
        sentence = f"{piece.tag} is {piece.get_state_display()}{held} now; choose another piece or free it first."
        raise Refused("stock-gone", sentence, tag=piece.tag)


def _new_piece(tag: str, grade: Grade, size_um: Size, **columns) -> StockPiece:
    _check_size(size_um)
    if not tag or StockPiece.objects.filter(tag=tag).exists():
        raise Refused("tag-taken", f"The tag “{tag}” is already on another piece; give this one its own.", tag=tag)
    l_um, w_um, h_um = size_um
    return StockPiece.objects.create(tag=tag, grade=grade, l_um=l_um, w_um=w_um, h_um=h_um, **columns)


def _check_size(size_um: Size) -> None:
    if len(size_um) != 3 or min(size_um) <= 0:
        raise Refused("size", "Long, wide and high must each be more than nothing; measure the piece.")


def _need_reason(reason: str) -> None:
    if not reason.strip():
        raise Refused("no-reason", "Say why: a word is enough, such as “wire sagged”.")
