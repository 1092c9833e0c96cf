"""What becomes of a draft: accepted, its foam reserved; thrown away; stopped when part of it is sawn."""

from __future__ import annotations

from collections import Counter
from typing import Any

from django.db import transaction
from django.db.models import F

from cutsheets.planning.check import check
from cutsheets.solids import OpenedPiece
from cutsheets.steps import opened_piece
from cutsheets.units import um_up
from orders.models import CuttingRun, RunBlank, RunRemnant, RunSource
from orders.sawing import next_remnant_tags
from shop import account
from shop.acts import Act
from shop.models import ShopRules, StockPiece
from shop.refusals import Refused

from .asked import Asked
from .pieces import leaves_named, renamed, tags_of
from .rack import kerf_um
from .wanted import demand

State = CuttingRun.State


@transaction.atomic
def accept(run: CuttingRun, act: Act) -> CuttingRun:
    """Reserve the foam of a draft, after checking it against the rack and the orders as they are now.

    A draft that takes over the rest of another plan ends that one in the same transaction.
    Refused with `stock-gone` and the tag, or with `plan-old` and what changed; then nothing is reserved.
    """
    if CuttingRun.objects.filter(pk=run.pk, state=State.DRAFT).update(state=State.ACCEPTED, accepted_at=act.at) != 1:
        raise Refused("not-draft", f"Plan {run.number} is no draft any more; look at it again.")
    run.refresh_from_db()
    _take_over(run, act)
    _need_still_wanted(run)
    pieces = _pieces_on_rack(run)
    run.plan = _with_tags(run.plan)
    if not check(run.instance, run.plan).ok:
        raise Refused("plan-old", f"Plan {run.number} does not hold any more; make a new one.")
    run.save(update_fields=["plan"])
    for position, (piece, planned) in enumerate(zip(pieces, run.plan["pieces"], strict=True), 1):
        account.reserve(piece, act, held_for=str(run))
        source = RunSource.objects.create(run=run, position=position, piece=piece)
        _write_leaves(source, opened_piece(run.instance, planned))
    return run


@transaction.atomic
def throw_away(run: CuttingRun, act: Act) -> CuttingRun:
    """Void a plan of which nothing was opened; reserved foam is free again."""
    _lock(run, State.DRAFT, State.ACCEPTED)
    if _was_opened(run):
        raise Refused("opened", f"Foam of plan {run.number} was opened already; stop the plan instead.")
    return _end(run, act)


@transaction.atomic
def stop(run: CuttingRun, act: Act) -> CuttingRun:
    """Open no more of an accepted plan: what waits is free again, what lies on a saw is finished there."""
    _lock(run, State.ACCEPTED)
    return _end(run, act)


def _take_over(run: CuttingRun, act: Act) -> None:
    """End the plan whose rest a draft takes over; one that is over by now has no foam to give."""
    old = CuttingRun.objects.filter(number=Asked.of(run).instead_of).first()
    if old is not None:
        _take_row(old)
        if old.state == State.ACCEPTED:
            _end(old, act)


def _end(run: CuttingRun, act: Act) -> CuttingRun:
    """Free what waits of a plan and end it: sawn as far as it was opened, else void."""
    for source in run.sources.filter(state=RunSource.State.WAITING).select_related("piece"):
        account.free(source.piece, act)
    CuttingRun.objects.filter(pk=run.pk).update(state=State.DONE if _was_opened(run) else State.VOID)
    run.refresh_from_db()
    return run


def _was_opened(run: CuttingRun) -> bool:
    return run.sources.filter(state__in=(RunSource.State.ON_SAW, RunSource.State.DONE)).exists()


def _take_row(run: CuttingRun) -> None:
    """Let one act at a time change a plan; the update changes no value, it takes the row."""
    CuttingRun.objects.filter(pk=run.pk).update(state=F("state"))
    run.refresh_from_db()


def _lock(run: CuttingRun, *states: str) -> None:
    _take_row(run)
    if run.state not in states:
        raise Refused("plan-over", f"Plan {run.number} is {run.get_state_display()}; nothing is left to change.")


def _need_still_wanted(run: CuttingRun) -> None:
    """Refuse a draft that gives more than is wanted by now, or that was made for another kerf."""
    now = {blank.pk: qty for blank, qty in demand(run.grade)}
    changes = [
        f"{blank['id']}: {blank['qty']} planned, {now.get(run.figures['blanks'][blank['id']], 0)} wanted now"
        for blank in run.instance["blanks"]
        if blank["qty"] > now.get(run.figures["blanks"][blank["id"]], 0)
    ]
    rules = ShopRules.current()
    skins = {um_up(rules.block_skin)} | {side for stock in run.instance["stock"] for side in stock["skin"][0]}
    if kerf_um(run.saw, rules) != run.instance["kerf"] or len(skins) > 1:
        changes.append("the kerf or the crust was changed in the shop's settings")
    if changes:
        sentence = f"Plan {run.number} is out of date: {'; '.join(changes)}. Make a new one."
        raise Refused("plan-old", sentence, changes=changes)


def _pieces_on_rack(run: CuttingRun) -> list[StockPiece]:
    """Return the pieces that a plan opens, all still free on the rack and as large as the plan took them."""
    sizes = {remnant["id"]: tuple(remnant["size"]) for remnant in run.instance["remnants"]}
    for stock in run.instance["stock"]:
        sizes |= dict.fromkeys(run.figures["tags"][stock["id"]], tuple(stock["size"]))
    tags = tags_of(run)
    free = StockPiece.objects.filter(tag__in=tags, grade=run.grade, state=StockPiece.State.ON_RACK)
    pieces = {piece.tag: piece for piece in free.select_related("grade") if piece.size_um == sizes[piece.tag]}
    for tag in tags:
        if tag not in pieces:
            sentence = f"{tag} is not free on the rack as plan {run.number} took it; make a new plan."
            raise Refused("stock-gone", sentence, tag=tag)
    return [pieces[tag] for tag in tags]


def _with_tags(plan: dict[str, Any]) -> dict[str, Any]:
    """Return the plan with the next free tags as the names of the remnants that it leaves."""
    names = [name for piece in plan["pieces"] for name in leaves_named(piece["tree"], "remnant")]
    tags = dict(zip(names, next_remnant_tags(len(names)), strict=True))
    return plan | {"pieces": [piece | {"tree": renamed(piece["tree"], "remnant", tags)} for piece in plan["pieces"]]}


def _write_leaves(source: RunSource, opened: OpenedPiece) -> None:
    """Write how many of each blank come out of a piece, those that its cuts free first first, and its remnants."""
    blanks = source.run.figures["blanks"]
    wanted = Counter(leaf.name for leaf in opened.placed if leaf.kind == "blank")
    freed = [name for step in opened.steps for name in (step.off, step.rest) if name in wanted]
    for name in dict.fromkeys([*freed, *wanted]):  # a piece that is one blank has no cut
        RunBlank.objects.create(source=source, blank_id=blanks[name], qty=wanted[name])
    for leaf in opened.placed:
        if leaf.kind == "remnant":
            l_um, w_um, h_um = leaf.size
            RunRemnant.objects.create(source=source, tag=leaf.name, l_um=l_um, w_um=w_um, h_um=h_um)
