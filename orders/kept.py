"""What a station kept while it had no network, taken up in the order in which it was done there.

Each act carries an id of its own and the time by the station's clock. Whatever is sent ends as exactly one row: a move
or a scan with that id, or a clash. The rules, in the order in which they are asked:

1. An id that is on the books changes nothing: “already”, or the same clash again, so a lost reply does no harm.
2. A time is corrected by what the station's clock shows when it sends; it is never ahead of the server's, never before
   the release of the order, and an undo is never before its count.
3. A scan is always taken: its row says what the answer would have been.
4. A count, a start and a pause are taken where the same would be taken now. What is refused (too many, order on hold
   or cancelled, sheet replaced, nothing open, undone before, not in hand …) is a clash, which the station shows and the
   manager settles, or has done after all: once, by who did it, at its own time, where it is possible by then.
5. Foam of a day that is closed meanwhile is booked today; the move keeps its own time. With today closed it clashes.
6. Taking back a count that clashed settles the clash, or undoes it where it was done after all; taking back a count
   that nobody knows is a clash.
7. What cannot be understood, and what fails in a way that nobody foresaw, is a clash too: nothing blocks what comes
   behind it. Only where the database does not answer nothing is taken, and all stays in the station's queue.

Another kind of act is an entry in `DOES`, and follows the same rules.
"""

from __future__ import annotations

import logging
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field, replace
from datetime import datetime

from django.core.signing import BadSignature, Signer
from django.db import InterfaceError, OperationalError, transaction
from django.utils import timezone

from cutsheets.codes import OrderCode, read_code
from cutsheets.errors import CutsheetError
from orders import moves, scanning
from orders.layout import size_words
from orders.models import Blank, Clash, Move, Order, Piece, Revision, Scan
from shop.acts import Act
from shop.badges import badge_secret
from shop.devices import name_by_badge
from shop.models import Device, Person, Station
from shop.refusals import Refused

Fields = dict[str, str]
What = Blank | Piece | Move | Clash | Order
log = logging.getLogger(__name__)
_signer = Signer(salt="kept acts")


@dataclass(frozen=True, slots=True)
class Kept:
    """One act as a station kept it: its form, its time by the station's clock, and who it was (`sign`)."""

    id: str
    kind: str
    at: datetime
    fields: Fields = field(default_factory=dict)
    who: str = ""


@dataclass(frozen=True, slots=True)
class Reply:
    """What became of an act: "done", "already" or "clash"; a clash, and a scan that was refused, say why."""

    id: str
    state: str
    code: str = ""
    sentence: str = ""


def sign(person: Person) -> str:
    """Return a word that names a person, which no page can make up."""
    return _signer.sign(str(person.pk))


def take(
    acts: Iterable[Kept], station: Station, *, there: datetime, by: Person | None, device: Device | None = None
) -> list[Reply]:
    """Return what became of each act; `there` is what the station's clock shows, `by` who sends them.

    At a paired device an act is of whoever was named there when it happened; a kept badge names its person first.
    """
    now = timezone.now()
    late = now - there
    replies = []
    for kept in acts:
        at = min(now, kept.at + late)
        who = (device and device.person_at(at)) or _person(kept.who) or by
        act = Act(who, station, at, kept.id)
        named = device and _badge(kept, device, act)
        replies.append(named or _take(kept, act))
    return replies


@transaction.atomic
def _badge(kept: Kept, device: Device, act: Act) -> Reply | None:
    """Name the person whose badge was scanned, once: its scan is a row like any other. None for any other act."""
    raw = kept.fields.get("raw", "")
    secret = badge_secret(raw) if kept.kind == "scan" else ""
    if not secret:
        return None
    Device.objects.select_for_update().get(pk=device.pk)  # the same act, sent twice at once, is before us or after us
    if known := _known(kept):
        return known
    reply = Reply(kept.id, "done")
    try:
        act = replace(act, by=name_by_badge(device, secret, act.at))
    except Refused as refusal:
        reply = Reply(kept.id, "done", refusal.code, refusal.sentence)
    scanning.scan(raw, act)
    return reply


def settle(clash: Clash, how: str, act: Act) -> None:
    """Write how a clash was settled, once."""
    if not how.strip():
        raise Refused("no-reason", "Say how it was settled, such as “counted again by hand”.")
    _settle_once(clash, how.strip()[:200], act)


@transaction.atomic
def take_after_all(clash: Clash, act: Act) -> None:
    """Do what clashed, once, as whoever did it, where and when it was done; `act` is of who decides so.

    Refused, and nothing is changed, where it is not possible now either.
    """
    what = _what(clash.fields)
    order = _locked(what)
    _settle_once(clash, "done after all", act)
    kept = Kept(_id_after_all(clash), clash.kind, clash.happened_at, clash.fields)
    at = _not_before(clash.happened_at, order, what)
    _do(kept, what, Act(clash.by, clash.station, at, kept.id))


def _id_after_all(clash: Clash) -> str:
    """Return the id of the act that does what clashed: its own stands for the refusal."""
    return f"clash-{clash.pk}"


def _settle_once(clash: Clash, how: str, act: Act) -> None:
    if not _settle(clash, how, act):
        raise Refused("settled", "Somebody else has settled this meanwhile.")


def _settle(clash: Clash, how: str, act: Act) -> bool:
    open_still = Clash.objects.filter(pk=clash.pk, settled_at=None)
    return open_still.update(settled_at=act.at, settled_by=act.by, settled_how=how) == 1


def about(clashes: Iterable[Clash]) -> dict[int, str]:
    """Return which blanks or pieces were counted, by the key of the clash: “blanks A, 96 × 9-3/8 × 11-1/4”, “A1–A4”.

    What a newer sheet took off the books has no words.
    """
    clashes = list(clashes)
    related = {"blank": Blank.objects.select_related("line__order"), "piece": Piece.objects.all()}
    named = {
        name: rows.in_bulk({_whole(clash.fields.get(name, "")) for clash in clashes}) for name, rows in related.items()
    }
    words = {}
    for clash in clashes:
        if blank := named["blank"].get(_whole(clash.fields.get("blank", ""))):
            words[clash.pk] = f"blanks {blank.line.mark}, {size_words(blank)}"
        elif piece := named["piece"].get(_whole(clash.fields.get("piece", ""))):
            words[clash.pk] = piece.label
    return words


# One act --------------------------------------------------------------------------------------------------------------


def _take(kept: Kept, act: Act) -> Reply:
    try:
        with transaction.atomic():
            return _answer(kept, act)
    except (OperationalError, InterfaceError):
        raise  # the database is busy or away: the station keeps everything and tries again
    except Exception:
        log.exception("A kept act could not be done: %s", kept)
        fault = Refused("fault", "The server could not do it.")
        return _known(kept) or _clash(kept, act, _order_named(kept.fields), fault)


def _answer(kept: Kept, act: Act) -> Reply:
    if known := _known(kept):
        return known
    if kept.kind == "scan":
        return _scan(kept, act)
    order = _order_named(kept.fields)
    try:
        what = _what(kept.fields)
        order = _locked(what)
        if known := _known(kept):
            return known
        _do(kept, what, replace(act, at=_not_before(act.at, order, what)))
    except Refused as refusal:
        return _clash(kept, act, order, refusal)
    return Reply(kept.id, "done")


def _do(kept: Kept, what: What | None, act: Act) -> None:
    """Do an act, its foam booked today where its own day is closed."""
    do = DOES.get(kept.kind)
    if do is None:
        raise Refused("unknown-act", f"Nobody knows what “{kept.kind[:20]}” is.")
    try:
        with transaction.atomic():
            do(what, kept.fields, act)
    except Refused as refusal:
        if refusal.code != "day-closed":
            raise
        with transaction.atomic():
            do(what, kept.fields, replace(act, books=timezone.localdate()))


def _known(kept: Kept) -> Reply | None:
    """Return the answer to an id that is on the books."""
    if clash := Clash.objects.filter(scan_id=kept.id).first():
        return Reply(kept.id, "already") if clash.settled_at else _reply(clash)
    ids = Clash.objects.filter(taken_back_by=kept.id).values("pk")
    rows = [model.objects.filter(scan_id=kept.id).order_by().values("pk") for model in (Move, Scan)]
    return Reply(kept.id, "already") if ids.order_by().union(*rows).exists() else None


def _clash(kept: Kept, act: Act, order: Order | None, refusal: Refused) -> Reply:
    clash = Clash.objects.create(
        scan_id=kept.id, kind=kept.kind[:20], fields=kept.fields, order=order, station=act.station, by=act.by,
        code=refusal.code, sentence=refusal.sentence[:400], happened_at=act.at,
    )  # fmt: skip
    return _reply(clash)


def _reply(clash: Clash) -> Reply:
    return Reply(clash.scan_id, "clash", clash.code, clash.sentence)


def _scan(kept: Kept, act: Act) -> Reply:
    raw = kept.fields.get("raw", "").replace("\x00", "")
    order = _order_scanned(raw)
    answer = scanning.scan(raw, replace(act, at=_not_before(act.at, order)))
    return Reply(kept.id, "done") if answer.accepted else Reply(kept.id, "done", answer.code, answer.sentence)


# What an act is about -------------------------------------------------------------------------------------------------


def _what(fields: Fields) -> What | None:
    """Return the blanks, the pieces or the count that an act names, else its order; None where it names nothing."""
    for name, model in (("blank", Blank), ("piece", Piece)):
        if name in fields:
            found = model.objects.select_related("line__order").filter(pk=_whole(fields[name]))
            return _there(found.first(), "replaced", "A newer sheet replaced this size; tear this one up.")
    if count := fields.get("undoes"):
        return _there(_counted(count), "unknown-count", "The count that was taken back is not on the books.")
    return _order_named(fields)


def _counted(count: str) -> Move | Clash | None:
    """Return the count of this id, also where it was done after all; its clash where it was not."""
    clash = Clash.objects.select_related("order").filter(scan_id=count).first()
    ids = [count, _id_after_all(clash)] if clash else [count]
    move = Move.objects.select_related("order", "line", "blank", "piece").filter(scan_id__in=ids).first()
    return move or clash


def _there(found: What | None, code: str, sentence: str) -> What:
    if found is None:
        raise Refused(code, sentence)
    return found


def _locked(what: What | None) -> Order | None:
    """Return the order of an act, locked: the same act, sent by the page itself and late, is before us or after us."""
    order = what.line.order if isinstance(what, Blank | Piece) else getattr(what, "order", what)
    return Order.objects.select_for_update().get(pk=order.pk) if order else None


def _order_named(fields: Fields) -> Order | None:
    return Order.objects.filter(number=_whole(fields.get("order", ""))).first()


def _order_scanned(raw: str) -> Order | None:
    try:
        code = read_code(raw)
    except CutsheetError:
        return None
    return Order.objects.filter(number=code.number).first() if isinstance(code, OrderCode) else None


def _not_before(at: datetime, order: Order | None, what: What | None = None) -> datetime:
    """Return a time, moved to the release of its order or to the count that is taken back, if it was before."""
    first = Revision.objects.filter(order=order, number=1).values_list("at", flat=True) if order else ()
    counted = [what.happened_at] if isinstance(what, Move) else []
    return max([at, *first, *counted])


def _person(signed: str) -> Person | None:
    try:
        return Person.objects.filter(pk=_signer.unsign(signed)).first()
    except BadSignature:
        return None


def _whole(text: str) -> int:
    return int(text) if text.isdecimal() and len(text) <= 9 else 0


# The acts -------------------------------------------------------------------------------------------------------------


def _count(what: What | None, fields: Fields, act: Act) -> None:
    moves.COUNT[_operation(what, act)](what, _qty(fields), act)


def _miscut(what: What | None, fields: Fields, act: Act) -> None:
    ruin = moves.RUIN[_operation(what, act)]
    ruin(what, _qty(fields), fields.get("reason", ""), act, cost=cost_of(fields))


def cost_of(fields: Fields) -> str:
    """Return at whose cost something was ruined; the shop's own where the form says nothing else."""
    said = fields.get("cost", "")
    return said if said in Move.Cost.values else Move.Cost.OURS


def _operation(what: What | None, act: Act) -> str:
    """Return what is counted at this station, if that is what the act counts: blanks at the saw, else pieces."""
    operation = act.station.operation
    if not isinstance(what, Blank if operation == "saw" else Piece):
        raise Refused("not-here", f"This is not counted at {act.station}.")
    return operation


def _qty(fields: Fields) -> int:
    qty = _whole(fields.get("qty", "").strip())
    if not 0 < qty < 100_000:
        raise Refused("count", f"“{fields.get('qty', '')[:20]}” is not a count.")
    return qty


def _undo(what: What | None, fields: Fields, act: Act) -> None:
    if isinstance(what, Clash):
        if Clash.objects.filter(pk=what.pk, taken_back_by="").update(taken_back_by=act.scan_id) != 1:
            raise Refused("undone", "This count was undone before; nothing was changed.")
        _settle(what, "taken back at the station", act)
    elif isinstance(what, Move):
        moves.undo(what, act)
    else:
        raise Refused("unknown-count", "Nothing says which count is taken back.")


def _start(what: What | None, fields: Fields, act: Act) -> None:
    moves.start(_order(what), act)


def _pause(what: What | None, fields: Fields, act: Act) -> None:
    moves.pause(_order(what), fields.get("reason", ""), act)


def _order(what: What | None) -> Order:
    if not isinstance(what, Order):
        raise Refused("order", "Nothing says which order; scan the sheet again.")
    return what


# By the word in `data-keeps` of its form; each gets what the act names, the fields of the form, who and when.
DOES: dict[str, Callable[[What | None, Fields, Act], None]] = {
    "count": _count, "miscut": _miscut, "undo": _undo, "start": _start, "pause": _pause,
}  # fmt: skip
