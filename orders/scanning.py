"""What a scan of paper answers at a station. Every scan leaves a row, also a refused one; it counts nothing.

An unknown or damaged code is never taken for the nearest one. The first that holds: cancelled, on hold, an old sheet,
nothing to do here; else the order's work. The same scan sent twice (`act.scan_id`) leaves one row.
"""

from __future__ import annotations

import secrets
from collections.abc import Iterable
from dataclasses import replace
from typing import Any

from django.db import IntegrityError, transaction
from django.db.models import QuerySet

from cutsheets.codes import (
    BadgeCode,
    BundleCode,
    OrderCode,
    PlanCode,
    ProfileCode,
    StockCode,
    read_code,
    revision_letter,
    shown,
)
from cutsheets.errors import CutsheetError
from orders.answers import Answer, stopped, work_at
from orders.models import CuttingRun, Line, Order, Profile, Revision, RunSource, Scan
from orders.operations import done_of, own_pieces
from orders.sawing import next_source, replaced_by
from orders.tag_scans import out_of, tag_answer
from shop.acts import Act
from shop.models import Station

RAW = 200  # characters kept of what was scanned
MOST_TAGS = 4  # that a sentence names


def scan(raw: str, act: Act, *, wanted: RunSource | None = None) -> Answer:
    """Return the answer to a scan at a station, and keep the scan. Nothing else is written.

    `wanted` is the block or remnant that the screen in front waits for.
    """
    answer = replace(_answer(raw, act.station, wanted), raw=shown(raw)[:RAW])
    _keep(answer, act)
    return answer


def _answer(raw: str, station: Station, wanted: RunSource | None) -> Answer:
    try:
        code = read_code(raw)
    except CutsheetError as error:
        return Answer("unknown" if error.code == "code-unknown-form" else error.code, error.message)
    match code:
        case OrderCode() | BundleCode():
            return _order_answer(code, station)
        case PlanCode():
            return _plan_answer(code, station)
        case StockCode():
            return tag_answer(code, station, wanted)
        case ProfileCode():
            return _profile_answer(code)
        case BadgeCode():
            return Answer("badge", "A badge names its person at a paired device; here somebody is signed in already.")


def _profile_answer(code: ProfileCode) -> Answer:
    """Answer a repeat sheet: it orders nothing and cuts nothing, so no station takes it."""
    profile = Profile.objects.filter(pk=code.number).first()
    if profile is None:
        return Answer("unknown", f"There is no profile {code.number} in the library; ask the office.")
    sentence = f"This is the repeat sheet of profile {profile}; it is for the office. Scan a traveller here."
    return Answer("repeat-sheet", sentence)


# Travellers -----------------------------------------------------------------------------------------------------------


def _order_answer(code: OrderCode | BundleCode, station: Station) -> Answer:
    order = Order.objects.select_related("customer", "held_by").filter(number=code.number).first()
    if order is None:
        return Answer("unknown", f"There is no order {code.number} on the books; ask the office.")
    if stop := stopped(order):
        return replace(stop, details=stop.details | {"letter": code.revision})
    if code.revision != revision_letter(order.revision):
        return other_sheet(order, code.revision)
    answer = work_at(order, station)
    match code:
        case BundleCode():
            return replace(answer, details=answer.details | {"bundle": code.bundle})
        case OrderCode(line=int(line)):
            return _line_answer(answer, line, station)
    return answer


def _line_answer(answer: Answer, number: int, station: Station) -> Answer:
    """Return the answer of an order with what is first to do of the line that its sheet is for."""
    line = Line.objects.filter(order=answer.order, position=number).first()
    if line is None:
        return Answer("unknown", f"Order {answer.order} has no line {number}; ask the office.", answer.order)
    if station.kind == Station.Kind.SAW:
        first = min(line.blanks.filter(live=True), key=lambda row: not row.to_saw, default=None)
    else:
        pieces = own_pieces(answer.order, station.kind).filter(line=line)
        first = min(pieces, key=lambda row: row.qty == done_of(row, station.operation), default=None)
    return replace(answer, details=answer.details | {"pick": first and first.pk})


def other_sheet(order: Order, letter: str) -> Answer:
    """Answer a letter that is not in force: with what changed since, if it ever was."""
    now = revision_letter(order.revision)
    details: dict[str, Any] = {"letter": letter, "letter_now": now}
    earlier = {revision_letter(number): number for number in range(1, order.revision)}
    if letter not in earlier:
        return Answer(
            "unknown", f"Order {order} has no sheet {letter}; sheet {now} is in force.", order, details=details
        )
    since = Revision.objects.filter(order=order, number__gt=earlier[letter]).values_list("changes", flat=True)
    details["changes"] = _changes(change for changes in since for change in changes)
    sentence = f"Sheet {letter} of order {order} is old. Tear it up: sheet {now} is in force."
    return Answer("old-sheet", sentence, order, details=details)


def _changes(changes: Iterable[dict[str, str]]) -> list[dict[str, str]]:
    """Return several revisions as one: what the old paper says, and what holds now where that is something else."""
    merged: dict[str, dict[str, str]] = {}
    for change in changes:
        first = merged.setdefault(change["what"], dict(change))
        first["new"] = change["new"]
    return [change for change in merged.values() if change["old"] != change["new"]]


# Saw sheets -----------------------------------------------------------------------------------------------------------


def _plan_answer(code: PlanCode, station: Station) -> Answer:
    run = CuttingRun.objects.select_related("grade").filter(number=code.number).first()
    unaccepted = (CuttingRun.State.PLANNING, CuttingRun.State.FAILED, CuttingRun.State.DRAFT)
    if run is None or run.state in unaccepted:
        return Answer("unknown", f"There is no accepted plan {code.number}; ask the manager.", run=run)
    if run.state == CuttingRun.State.VOID:
        return plan_over(run)
    if station.kind != Station.Kind.SAW:
        return Answer("saw-sheet", f"This is the saw sheet of plan {run.number}; scan a traveller here.", run=run)
    source = next_source(run)
    if source is None:
        return plan_over(run)
    return out_of(source)


def plan_over(run: CuttingRun) -> Answer:
    """Answer the sheet of a plan of which nothing is left to saw."""
    if new := replaced_by(run):
        opened = (RunSource.State.ON_SAW, RunSource.State.DONE)
        before, now = _to_open(run.sources.exclude(state__in=opened)), _to_open(new.sources.all())
        now = now if now != before else "the same pieces, cut otherwise"
        changes = [{"what": "to open", "old": before, "new": now}] if before else []
        sentence = (
            f"Plan {new.number} has replaced plan {run.number}. Tear this sheet up, take the sheet of the new plan."
        )
        return Answer("plan-replaced", sentence, run=run, details={"new": new.number, "changes": changes})
    if run.state == CuttingRun.State.VOID:
        return Answer("plan-void", f"Plan {run.number} was thrown away. Tear the sheet up.", run=run)
    return Answer("plan-done", f"Nothing of plan {run.number} is left to saw.", run=run)


def _to_open(sources: QuerySet[RunSource]) -> str:
    """Return which pieces of the rack these are, in the order they are opened: “K-0008, R-0003 and 2 more”."""
    tags = list(sources.values_list("piece__tag", flat=True))
    more = f" and {len(tags) - MOST_TAGS} more" if len(tags) > MOST_TAGS else ""
    return f"{', '.join(tags[:MOST_TAGS])}{more}"


# The row of a scan ----------------------------------------------------------------------------------------------------


def _keep(answer: Answer, act: Act) -> None:
    """Write the scan, once: a page that sends it again finds it written."""
    scan_id = act.scan_id or secrets.token_hex(16)
    try:
        with transaction.atomic():
            Scan.objects.create(
                scan_id=scan_id, raw=answer.raw, station=act.station, by=act.by, order=answer.order,
                answer=answer.code, happened_at=act.at,
            )  # fmt: skip
    except IntegrityError:
        if not Scan.objects.filter(scan_id=scan_id).exists():
            raise
