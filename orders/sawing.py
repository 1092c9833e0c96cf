"""What happens to the blocks and remnants of an accepted plan at the saw: opened, settled, finished, left out.

A repeat of the same act (a page posted twice) finds it done and changes nothing. Counts of blanks are `orders.moves`'.
"""

from django.db import transaction
from django.db.models import F, Q

from orders.layout import size_words
from orders.models import Blank, CuttingRun, RunBlank, RunRemnant, RunSource
from shop import account
from shop.acts import Act
from shop.models import StockMove, StockPiece
from shop.refusals import Refused
from shop.tags import REMNANT, free_tags

State = RunSource.State
WAITING, ON_SAW, DONE, OUT = State.WAITING, State.ON_SAW, State.DONE, State.OUT
ACCEPTED = CuttingRun.State.ACCEPTED
# A plan may be stopped while a piece of it lies open: what waits of it is not sawn, what is open is finished.
STILL_TO_SAW = Q(state=ON_SAW) | Q(state=WAITING, run__state=ACCEPTED)


def next_source(of: CuttingRun | Blank) -> RunSource | None:
    """Return the piece to saw next for a plan or for a blank: one that lies open, else the next in the plan's order."""
    sources = RunSource.objects.filter(STILL_TO_SAW).select_related("run", "piece")
    if isinstance(of, CuttingRun):
        sources = sources.filter(run=of)
    else:
        gives = RunBlank.objects.filter(blank=of, qty__gt=F("sawn") + F("miscut"))
        sources = sources.filter(blanks__in=gives)
    # "saw" comes before "waiting"
    return sources.order_by("state", "run__number", "position").first()


def replaced_by(run: CuttingRun) -> CuttingRun | None:
    """Return the accepted plan that took over the rest of a plan."""
    if run.state not in (CuttingRun.State.DONE, CuttingRun.State.VOID):
        return None
    took_over = CuttingRun.objects.filter(asked__instead_of=run.number, accepted_at__isnull=False)
    return took_over.order_by("accepted_at").first()


@transaction.atomic
def open_source(source: RunSource, act: Act) -> RunSource:
    """Open a planned piece on the saw: its foam is issued. The second of two saws is told who has it."""
    _lock_run(source.run)
    source.refresh_from_db()
    if source.state == ON_SAW:
        opened = StockMove.objects.select_related("by", "station").get(piece=source.piece, kind=StockMove.Kind.ISSUE)
        if opened.station == act.station:
            return source
        raise _elsewhere(opened)
    _need_waiting(source)
    account.issue(source.piece, act, held_for=str(source.run))
    source.state = ON_SAW
    source.save(update_fields=["state"])
    return source


@transaction.atomic
def leave_out(source: RunSource, found: account.Size | None, reason: str, act: Act) -> RunSource:
    """Take a waiting piece out of its plan: it has another size than the books say, or (None) is no good at all.

    Measured, it is free on the rack in its real size; no good, it is scrapped. Its blanks are wanted again. A plan of
    which nothing is left to saw is over.
    """
    source.refresh_from_db()
    if source.state == OUT:
        return source
    _lock_run(source.run)
    source.refresh_from_db()
    _need_waiting(source)
    piece = account.free(source.piece, act)
    if found is None:
        account.scrap(piece, act, reason=reason)
    elif tuple(found) == piece.size_um:
        raise Refused("same-size", f"{piece} is on the books with just that size; open it as planned.")
    else:
        account.correct(piece, act, reason=reason, found=found)
    source.state = OUT
    source.save(update_fields=["state"])
    _end_if_over(source.run)
    return source


@transaction.atomic
def put_back(remnant: RunRemnant, size_um: account.Size, act: Act, *, place: str = "") -> StockPiece:
    """Return a planned remnant put back on the rack with its tag, in the size that was measured."""
    _lock_open(remnant.source)
    remnant.refresh_from_db()
    if remnant.piece is not None and remnant.piece.size_um == tuple(size_um):
        return remnant.piece
    if remnant.settled:
        done = "on the rack" if remnant.piece else "given up"
        raise Refused("settled", f"{remnant.tag} is {done} already; correct its size in the stock if it is wrong.")
    remnant.piece = account.back(remnant.source.piece, remnant.tag, size_um, act, place=place)
    remnant.settled = True
    remnant.save(update_fields=["piece", "settled"])
    return remnant.piece


@transaction.atomic
def give_up(remnant: RunRemnant, reason: str, act: Act) -> None:
    """Say that a planned remnant is not kept: its foam is waste, with the reason."""
    _lock_open(remnant.source)
    remnant.refresh_from_db()
    if remnant.piece is not None:
        raise Refused("settled", f"{remnant.tag} is on the rack; scrap it there if it is no good.")
    if remnant.settled:
        return
    why = f"{remnant.tag} not kept: {reason.strip()}" if reason.strip() else ""
    account.waste(remnant.source.piece, remnant.l_um * remnant.w_um * remnant.h_um, act, reason=why)
    RunRemnant.objects.filter(pk=remnant.pk).update(settled=True)


@transaction.atomic
def keep_rest(source: RunSource, tag: str, size_um: account.Size, act: Act, *, place: str = "") -> StockPiece:
    """Return a remnant that no plan knew of: what is left when blanks are not sawn after all.

    `tag` is the next free one, as the page showed it before it was written on the foam.
    """
    _lock_open(source)
    known = RunRemnant.objects.select_related("piece").filter(tag=tag).first()
    if known and known.source_id == source.pk and known.piece and known.piece.size_um == tuple(size_um):
        return known.piece
    [free] = next_remnant_tags(1)
    if tag != free:
        raise Refused("tag-taken", f"“{tag[:20]}” is not the next tag; write {free} on it.", tag=free)
    piece = account.back(source.piece, tag, size_um, act, place=place)
    l_um, w_um, h_um = size_um
    RunRemnant.objects.create(source=source, tag=tag, l_um=l_um, w_um=w_um, h_um=h_um, piece=piece, settled=True)
    return piece


@transaction.atomic
def finish_source(source: RunSource, act: Act, *, reason: str = "") -> RunSource:
    """Finish an opened piece: what is left of it is saw waste. The last one of a plan finishes the plan.

    Refused while a planned remnant is neither back nor given up, and while blanks are short without a reason; blanks
    that are not sawn are then wanted of the next plan.
    """
    _lock_run(source.run)
    source.refresh_from_db()
    if source.state == DONE:
        return source
    _need_open(source)
    _need_settled(source, reason)
    account.use_up(source.piece, act, reason=reason.strip())
    RunSource.objects.filter(pk=source.pk, state=ON_SAW).update(state=DONE)
    source.refresh_from_db()
    _end_if_over(source.run)
    return source


def _end_if_over(run: CuttingRun) -> None:
    """End a plan of which nothing waits and nothing lies open; one of which nothing was sawn is void."""
    if not run.sources.filter(state__in=(WAITING, ON_SAW)).exists():
        ended = CuttingRun.State.DONE if run.sources.filter(state=DONE).exists() else CuttingRun.State.VOID
        CuttingRun.objects.filter(pk=run.pk, state=ACCEPTED).update(state=ended)


def _need_settled(source: RunSource, reason: str) -> None:
    if waiting := list(source.remnants.filter(settled=False).values_list("tag", flat=True)):
        tags = ", ".join(waiting)
        raise Refused("remnants-open", f"Put back or give up {tags}, then finish {source.piece}.", tags=waiting)
    short = list(source.blanks.filter(qty__gt=F("sawn") + F("miscut")).select_related("blank__line__order"))
    if short and not reason.strip():
        missing = "; ".join(_say_short(row) for row in short)
        raise Refused("blanks-short", f"{source.piece} was to give more: {missing}. Count them or say why not.")


def next_remnant_tags(count: int) -> list[str]:
    """Return tags that neither a piece of the stock nor a planned remnant has."""
    return free_tags(REMNANT, count, taken=tuple(RunRemnant.objects.values_list("tag", flat=True)))


def _say_short(row: RunBlank) -> str:
    line = row.blank.line
    return f"{row.qty - row.sawn - row.miscut} of {line.order.number} {line.mark}, {size_words(row.blank)}"


def _lock_run(run: CuttingRun) -> None:
    """Let one act at a time change an accepted plan; the update changes no value, it takes the row."""
    CuttingRun.objects.filter(pk=run.pk).update(state=F("state"))
    run.refresh_from_db()
    if run.state not in (ACCEPTED, CuttingRun.State.DONE):
        raise Refused("not-accepted", f"Plan {run.number} is {run.get_state_display()}; take another sheet.")


def _lock_open(source: RunSource) -> None:
    _lock_run(source.run)
    source.refresh_from_db()
    _need_open(source)


def _need_waiting(source: RunSource) -> None:
    if source.state == ON_SAW:
        raise Refused("opened", f"{source.piece} lies open on a saw already; put back what is worth keeping of it.")
    if source.state == DONE:
        raise Refused("source-done", f"{source.piece} of {source.run} is sawn; go on with the next one.")
    if source.state == OUT:
        raise Refused("left-out", f"{source.piece} was left out of {source.run}; go on with the next one.")
    if new := replaced_by(source.run):
        raise Refused("plan-replaced", f"{new} has replaced {source.run}; take its saw sheet.".capitalize())
    if source.run.state != ACCEPTED:
        raise Refused("plan-stopped", f"Plan {source.run.number} was stopped; {source.piece} stays on the rack.")


def _need_open(source: RunSource) -> None:
    if source.state != ON_SAW:
        raise Refused("not-open", f"{source.piece} is {source.get_state_display()}; open it on the saw first.")


def _elsewhere(opened: StockMove) -> Refused:
    who = opened.by.short_name if opened.by else "somebody"
    where = str(opened.station) if opened.station else "another saw"
    return Refused(
        "open-elsewhere", f"{opened.piece} lies open at {where}, opened by {who}; take the next one or help there.",
        who=who, where=where, tag=opened.opened,
    )  # fmt: skip
