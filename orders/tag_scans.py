"""What the tag of a block or remnant answers at a station. A scan opens nothing: only the act on its screen does.

At a saw the first that holds: not on the books, used up, scrapped, on a saw, of another grade than the screen waits
for, in no accepted plan, its orders stopped, another piece first; else the piece may be opened.
"""

from __future__ import annotations

from django.utils import timezone

from cutsheets.codes import StockCode
from orders.answers import Answer, is_idle, stopped
from orders.models import Blank, CuttingRun, RunBlank, RunSource
from orders.sawing import next_source
from shop.models import Station, StockMove, StockPiece
from shop.tags import tag_of

State = StockPiece.State
Kind = StockMove.Kind
OPEN, WAITING = RunSource.State.ON_SAW, RunSource.State.WAITING


def tag_answer(code: StockCode, station: Station, wanted: RunSource | None) -> Answer:
    """Return what a tag answers; `wanted` is the piece that the screen in front waits for."""
    tag = tag_of(code)
    piece = StockPiece.objects.select_related("grade").filter(tag=tag).first()
    if piece is None:
        return Answer("unknown", f"There is no {tag} on the books; ask the manager.")
    if station.kind != Station.Kind.SAW:
        return Answer("tag", f"{tag} is a {code.kind} of {piece.grade}.", piece=piece, details={"tag": tag})
    if piece.state in (State.USED, State.SCRAPPED):
        return _gone(piece)
    if piece.state == State.ON_SAW:
        return _on_a_saw(piece, station)
    if wanted and wanted.piece.grade_id != piece.grade_id:
        sentence = f"{piece} is {piece.grade}. {wanted.piece} is wanted: {wanted.piece.grade}."
        return Answer("wrong-foam", sentence, run=wanted.run, piece=piece, details={"wanted": wanted.piece})
    source = planned(piece)
    return _in_no_plan(piece, wanted) if source is None else _to_open(source, wanted)


def waited_for(order_number: int, blank_key: int) -> RunSource | None:
    """Return the piece that the screen of these blanks waits for; None where one lies open, or none is planned."""
    blank = Blank.objects.filter(pk=blank_key, line__order__number=order_number).first()
    source = next_source(blank) if blank and blank.to_saw else None
    return source if source and source.state == WAITING else None


def planned(piece: StockPiece) -> RunSource | None:
    """Return the place of a piece in the accepted plan that waits for it."""
    sources = RunSource.objects.select_related("run", "piece__grade")
    return sources.filter(piece=piece, state=WAITING, run__state=CuttingRun.State.ACCEPTED).first()


def first_blank(source: RunSource) -> Blank | None:
    """Return which blanks of a planned piece come first: such as may be sawn now, and are not all sawn."""
    related = "blank__line__order__customer", "blank__line__order__held_by"
    # blanks that nobody may saw now wait; those of another order out of the same block need not
    rows = sorted(source.blanks.select_related(*related), key=_rank)
    return rows[0].blank if rows else None


def out_of(source: RunSource) -> Answer:
    """Answer with what is sawn out of a planned piece; where nothing is, it only waits to be put back or finished."""
    blank = first_blank(source)
    settle = source.state == OPEN and (blank is None or is_idle(blank))
    details = {"source": source.pk, "blank": blank and blank.pk, "settle": settle}
    return Answer("ok", f"{source.piece} is next.", blank and blank.line.order, source.run, details=details)


def _rank(row: RunBlank) -> tuple[bool, bool, int]:
    return is_idle(row.blank), row.qty == row.sawn + row.miscut, row.pk


def _gone(piece: StockPiece) -> Answer:
    if piece.state == State.USED:
        sentence = f"{piece} is used up: {_told(piece, Kind.ISSUE, 'opened')}. Take the tag off; ask the manager."
        return Answer("tag-used", sentence, piece=piece)
    told = _told(piece, Kind.SCRAP, "scrapped")
    return Answer("tag-scrapped", f"{piece} is off the books: {told}. Do not saw it; ask the manager.", piece=piece)


def _on_a_saw(piece: StockPiece, station: Station) -> Answer:
    opened = StockMove.objects.filter(piece=piece, kind=Kind.ISSUE).last()
    source = RunSource.objects.select_related("run", "piece").filter(piece=piece, state=OPEN).first()
    if source and opened and opened.station_id == station.pk:
        return out_of(source)
    sentence = f"{piece} lies open: {_told(piece, Kind.ISSUE, 'opened')}. Help there, or take the next one."
    return Answer("tag-on-saw", sentence, piece=piece)


def _in_no_plan(piece: StockPiece, wanted: RunSource | None) -> Answer:
    first = f" Take {_take(wanted.piece)}." if wanted else ""
    if piece.state == State.RESERVED:
        sentence = f"{piece} is kept for {piece.held_for}. {_put_back(piece)}; ask the manager.{first}"
        return Answer("tag-reserved", sentence, piece=piece)
    return Answer("tag-free", f"{piece} is in no plan. {_put_back(piece)}; the manager plans it.{first}", piece=piece)


def _to_open(source: RunSource, wanted: RunSource | None) -> Answer:
    blank = first_blank(source)
    if blank and (stop := stopped(blank.line.order)):
        return stop
    if blank is None or is_idle(blank):
        sentence = f"What {source.run} makes of {source.piece} has changed since. Leave it; ask the manager."
        return Answer("tag-idle", sentence, run=source.run, piece=source.piece)
    order, details = blank.line.order, {"tag": source.piece.tag}
    if wanted and wanted.pk != source.pk:
        sentence = f"Take {_take(wanted.piece)} first. {source.piece} is for {source.run}, order {order}."
        return Answer("tag-not-next", sentence, order, source.run, piece=source.piece, details=details)
    return Answer("ok", f"{source.piece} may be opened.", order, source.run, piece=source.piece, details=details)


def _told(piece: StockPiece, kind: str, done: str) -> str:
    """Return who did it, where and when: “opened by Bo L. at Saw 1, Fri 27 Nov 14:10”."""
    move = StockMove.objects.select_related("by", "station").filter(piece=piece, kind=kind).last()
    if move is None:
        return done
    by = f" by {move.by.short_name}" if move.by else ""
    at = f" at {move.station}" if move.station else ""
    why = f" ({move.reason})" if move.reason else ""
    when = timezone.localtime(move.happened_at)
    return f"{done}{by}{at}, {when:%a} {when.day} {when:%b %H:%M}{why}"


def _take(piece: StockPiece) -> str:
    return f"{piece} from {piece.place}" if piece.place else str(piece)


def _put_back(piece: StockPiece) -> str:
    return f"Put {piece} back at {piece.place}" if piece.place else f"Put {piece} back"
