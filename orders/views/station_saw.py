"""The screen of a saw: the blank to saw, the piece it comes out of, and the one act that is next."""

from __future__ import annotations

from django.utils import timezone

from cutsheets.drawings.plan import block_scene
from cutsheets.drawings.runs import name_marks
from cutsheets.solids import OpenedPiece
from orders import planning
from orders.models import Blank, CuttingRun, Order, RunSource
from orders.next_cuts import cut_words, cuts_for, opened_as_planned
from orders.profiles import newer_sentence
from shop import account
from shop.models import ShopRules, Station

from .station_parts import address, count_act, order_version, waits
from .station_work import SawRow, goes_on_with, next_station, pick, saw_rows, to_go_on


def saw_context(station: Station, order: Order, picked: str, kind: str) -> dict:
    rows = saw_rows(order, station)
    row = pick(rows, picked, lambda one: one.order_of_picking)
    if row is None:
        return {"template": "station/empty.html", "picked": "", "act": waits("Nothing to saw.")}
    act, source = saw_act(station, order, row)
    misfit = plan_misfit(source.run) if source else []
    others = [
        {"blank": one.blank, "done": one.done, "due": one.due, "again": one.again,
         "url": address(station, order=order.number, pick=one.blank.pk)}
        for one in sorted(rows, key=lambda one: one.blank.line.grade != row.blank.line.grade) if one is not row
    ]  # fmt: skip
    return {
        "template": "station/saw.html", "picked": row.blank.pk, "row": row, "what": blank_words(row.blank),
        "others": others, "act": act, "source": source and source_shown(source, row.blank), "misfit": misfit,
        "version": f"{saw_version(order, row)}-{len(misfit)}", "newer": newer_sentence(row.blank.line),
    }  # fmt: skip


def saw_act(station: Station, order: Order, row: SawRow) -> tuple[dict, object]:
    """Return the one act that is next for a size, and the planned piece it is about."""
    if row.left and (planned := row.open_blank):
        return count_act(station, row.blank, "Blank sawn", now=row.left), planned.source
    if source := row.unsettled:
        return settle_act(station, order, source, row.blank.pk), source
    if source := row.still_open:
        return go_on_act(station, order, source, row), source
    if row.left and (planned := row.waiting_blank):
        return open_act(station, planned.source), planned.source
    if row.left:
        return waits(f"No plan yet for {row.left}. Ask the manager."), None
    return sawn_act(station, row.blank)


def open_act(station: Station, source: RunSource) -> dict:
    """Return the act that opens a piece; foam that has not rested is looked at first."""
    trouble = {"trouble": {"ask": "measure", "source": source.pk}}
    if account.too_fresh(source.piece, timezone.localdate()):
        url = address(station, ask="tag", tag=source.piece.tag)
        return {"template": "station/act/go.html", "words": f"{source.piece.tag} is fresh foam", "url": url} | trouble
    return {"template": "station/act/open.html", "source": source} | trouble


def sawn_act(station: Station, sawn: Blank) -> tuple[dict, RunSource | None]:
    """Return what is next where nothing is left of a size: the next piece of its plan, or the wire cutter."""
    further = goes_on_with(sawn)
    if further is None:
        return waits(f"All sawn. Blanks to {next_station(Station.Kind.CUTTER)}."), None
    source, blank = further
    number = blank.line.order.number
    words = f"All sawn. Plan {source.run.number}: {source.piece.tag} is next, for {number}"
    url = address(station, order=number, pick=blank.pk)
    return {"template": "station/act/go.html", "words": words, "url": url}, source


def go_on_act(station: Station, order: Order, source, row: SawRow) -> dict:
    """Return what is next for an open piece that has given all blanks of this size: other blanks, or its end."""
    block = {"ask": "block", "source": source.pk}
    if blank := to_go_on(source):
        done = "" if row.left else "All sawn. "
        words = f"{done}{source.piece.tag}: go on with {blank.line.order.number}"
        url = address(station, order=blank.line.order.number, pick=blank.pk)
    else:
        words = f"{source.piece.tag}: no more to saw"
        url = address(station, order=order.number, pick=row.blank.pk, **block)
    return {"template": "station/act/go.html", "words": words, "url": url, "trouble": block}


def settle_act(station: Station, order: Order | None, source, picked="") -> dict:
    """Return what is next for an open piece that has given all its blanks: a remnant to put back, or its end."""
    remnant = source.remnants.filter(settled=False).first()
    at = {"order": order and order.number, "pick": picked}
    rest = {"rest": address(station, **at, ask="rest", source=source.pk)}
    if remnant is None:
        return {"template": "station/act/finish.html", "source": source} | rest
    url = address(station, **at, ask="back", remnant=remnant.pk)
    return {"template": "station/act/go.html", "words": f"Put back {remnant.tag}", "url": url} | rest


def source_shown(source: RunSource, blank: Blank) -> dict:
    """Return a planned piece as the pane at the right shows it, with the cuts for the next blank."""
    opened = opened_as_planned(source)
    is_open = source.state == source.State.ON_SAW
    remnants = source.remnants.all()
    left = [remnant.tag for remnant in remnants if not remnant.settled]
    none = "Its remnants are back or given up." if remnants else "Leaves no remnant."
    rest = f"Leaves {', '.join(left)}." if left else none
    words = f"On the saw, {source.run}. {rest}" if is_open else f"Next in {source.run}. {rest}"
    return {
        "tag": source.piece.tag, "run": source.run, "place": source.piece.place, "is_open": is_open, "words": words,
        "kept": kept_of(source), "picture": opened and block_scene(opened),
        "title": f"{source.piece.tag} with its cuts",
        "cuts": _cuts(source, opened, blank) if is_open else (),
    }  # fmt: skip


def _cuts(source: RunSource, opened: OpenedPiece | None, blank: Blank) -> list[dict]:
    """Return the numbers and words of the next cuts, in the unit of the saw's own paper."""
    unit = ShopRules.current().unit
    return [{"number": cut.number, "words": cut_words(cut, unit)} for cut in cuts_for(source, opened, blank)]


def kept_of(source) -> list[str]:
    """Return the tags of what was put back out of a piece, those put back last first: each wants its tag on paper."""
    put_back = source.remnants.exclude(piece=None)
    return list(put_back.order_by("-piece__pk").values_list("tag", flat=True))


def plan_misfit(run: CuttingRun) -> list[str]:
    """Return what changed since the plan of the piece on the screen was accepted, the first thing in full.

    What came later in other orders changes nothing of this plan: the saw goes on, and the manager knows.
    """
    changes = planning.changes_since(run)
    ours = [change.sentence for change in changes if change.code != "later"]
    if not ours:
        return [f"{changes[0].sentence} Saw on as planned."] if changes else []
    more = [f"And {len(ours) - 1} more."] if len(ours) > 1 else []
    return [ours[0], *more, "Tell the manager."]


def saw_version(order: Order, row: SawRow) -> str:
    """Return a text that changes with everything the saw's screen shows."""
    planned = [f"{one.pk}.{one.sawn}.{one.miscut}.{one.source.state}" for one in row.planned]
    return "-".join([order_version(order), *planned])


def blank_words(blank) -> str:
    """Return for which pieces the blanks are: “Pieces A1–A6 of front cornice”."""
    title = f" of {blank.line.title}" if blank.line.title else ""
    many = f"{blank.gives} pieces out of each: " if blank.gives > 1 else ""
    if blank.replaces_id:
        many = "Single blank for a ruined piece: "
    return f"{many}Piece{'s' if len(blank.marks) > 1 else ''} {name_marks(blank.marks)}{title}"
