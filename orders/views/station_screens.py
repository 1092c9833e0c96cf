"""The screens of a station: what each template is told. Nothing is written here."""

from __future__ import annotations

from functools import partial

from django.db.models import F, Max
from django.urls import reverse
from django.utils import timezone
from django.utils.http import urlencode

from cutsheets.drawings.runs import corner_words, end_words, name_marks
from cutsheets.solids import End
from orders import moves, planning
from orders.models import Blank, CuttingRun, Move, Order, Piece, RunSource, Scan
from orders.profiles import newer_sentence
from orders.scanning import Answer
from orders.standing import standings
from shop.acts import Act
from shop.models import Station

from .station_drawings import block_picture, foam_pictures, hand_picture, wire_figures, worked_line
from .station_work import SawRow, cut_rows, goes_on_with, next_station, opened_at, pick, saw_rows, to_go_on

SAW, CUTTER = Station.Kind.SAW, Station.Kind.CUTTER
NAMES = {SAW: "blank", CUTTER: "piece"}
DONE_WORDS = {SAW: "sawn", CUTTER: "cut"}
UNDONE = {"saw": "sawn", "cut": "cut", "saw-miscut": "spoiled", "cut-miscut": "spoiled"}
LAST_SCANS = 3
BIG_NUMBERS = 12  # buttons for a count, so that a glove need not type


def address(station: Station, **query) -> str:
    """Return the address of a screen of this station."""
    asked = {key: value for key, value in query.items() if value}
    return reverse("station", args=[station.code]) + (f"?{urlencode(asked)}" if asked else "")


def common(request, station: Station, order: Order | None = None, picked="") -> dict:
    """Return what every screen shows: the station, the way back, and what Undo would take back."""
    last = moves.last_count(Act(request.user, station))
    context = {"station": station, "here": address(station, order=order and order.number, pick=picked), "undo": last}
    if last:
        of = "" if order and last.order_id == order.pk else f", {last.order.number}"
        context["undo_words"] = f"{last.qty} {UNDONE[last.action]}{of}"
    return context


def work_context(request, station: Station, order: Order, *, picked: str = "", look: bool = False) -> dict:
    """Return the screen of an order at a saw or a wire cutter; `look` shows it without its acts."""
    at_saw = (station.kind == SAW) != look
    context = saw_context(station, order, picked) if at_saw else cutter_context(station, order, picked)
    context |= common(request, station, order, context["picked"])
    context |= {"order": order, "unit": order.unit, "look": look}
    if look:
        context["act"] = waits("Look only. Nothing is counted here.")
    elif trouble := context["act"].get("trouble"):
        context["trouble"] = address(station, order=order.number, pick=context["picked"], **trouble)
    return context


def leads_to(answer: Answer) -> dict:
    """Return where an accepted scan leads: to its order and what to do first, or to an open piece to be settled."""
    if answer.details.get("settle"):
        return {"ask": "block", "source": answer.details["source"]}
    return {"order": answer.order.number, "pick": answer.details.get("pick") or answer.details.get("blank")}


def waits(words: str) -> dict:
    return {"template": "station/act/wait.html", "words": words}


# The saw --------------------------------------------------------------------------------------------------------------


def saw_context(station: Station, order: Order, picked: str) -> dict:
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
        "others": others, "act": act, "source": source and source_shown(source), "misfit": misfit,
        "version": f"{saw_version(order, row)}-{len(misfit)}", "newer": newer_sentence(row.blank.line),
    }  # fmt: skip


def saw_act(station: Station, order: Order, row: SawRow) -> tuple[dict, object]:
    """Return the one act that is next for a size, and the planned piece it is about."""
    if row.left and (planned := row.open_blank):
        after = f"{row.left - 1} left after"
        act = {"template": "station/act/count.html", "name": "blank", "pk": row.blank.pk, "words": "Blank sawn"}
        more = address(station, order=order.number, pick=row.blank.pk, ask="count") if row.left > 1 else ""
        return act | {"after": after, "more": more, "trouble": {"ask": "why"}}, planned.source
    if source := row.unsettled:
        return settle_act(station, order, source, row.blank.pk), source
    if source := row.still_open:
        return go_on_act(station, order, source, row), source
    if row.left and (planned := row.waiting_blank):
        trouble = {"ask": "measure", "source": planned.source.pk}
        return {"template": "station/act/open.html", "source": planned.source, "trouble": trouble}, planned.source
    if row.left:
        return waits(f"No plan yet for {row.left}. Ask the manager."), None
    return sawn_act(station, row.blank)


def sawn_act(station: Station, sawn: Blank) -> tuple[dict, RunSource | None]:
    """Return what is next where nothing is left of a size: the next piece of its plan, or the wire cutter."""
    further = goes_on_with(sawn)
    if further is None:
        return waits(f"All sawn. Blanks to {next_station(CUTTER)}."), None
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


def source_shown(source) -> dict:
    """Return a planned piece as the pane at the right shows it."""
    is_open = source.state == source.State.ON_SAW
    remnants = source.remnants.all()
    left = [remnant.tag for remnant in remnants if not remnant.settled]
    none = "Its remnants are back or given up." if remnants else "Leaves no remnant."
    rest = f"Leaves {', '.join(left)}." if left else none
    words = f"On the saw, {source.run}. {rest}" if is_open else f"Next in {source.run}. {rest}"
    return {
        "tag": source.piece.tag, "run": source.run, "place": source.piece.place, "is_open": is_open, "words": words,
        "kept": kept_of(source), "picture": block_picture(source), "title": f"{source.piece.tag} with its cuts",
    }  # fmt: skip


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


def order_version(order: Order) -> str:
    last = Move.objects.filter(order=order).aggregate(last=Max("pk"))["last"]
    return f"{order.pk}.{order.version}.{order.revision}.{last}"


def blank_words(blank) -> str:
    """Return for which pieces the blanks are: “Pieces A1–A6 of front cornice”."""
    title = f" of {blank.line.title}" if blank.line.title else ""
    many = f"{blank.gives} pieces out of each: " if blank.gives > 1 else ""
    if blank.replaces_id:
        many = "Single blank for a ruined piece: "
    return f"{many}Piece{'s' if len(blank.marks) > 1 else ''} {name_marks(blank.marks)}{title}"


def line_words(line) -> str:
    return f"{line.mark} {line.title}".strip()


# The wire cutter ------------------------------------------------------------------------------------------------------


def cutter_context(station: Station, order: Order, picked: str) -> dict:
    pieces = cut_rows(order)
    piece = pick(pieces, picked, cut_rank)
    if piece is None:
        nothing = "Nothing to cut at the wire: its blanks are its pieces."
        return {"template": "station/empty.html", "picked": "", "act": waits(nothing)}
    left = piece.qty - piece.cut
    others = [
        {"piece": one, "url": address(station, order=order.number, pick=one.pk)} for one in pieces if one is not piece
    ]
    profile = piece.line.profile
    what = f"Profile {profile}" if profile else line_words(piece.line)
    worked = worked_line(piece.line)
    of_part = worked is not None and bool(worked.part)
    return {
        "template": "station/cutter.html", "picked": piece.pk, "piece": piece, "left": left, "what": what,
        "ready": piece.blank.ready, "others": others, "act": cut_act(station, order, piece),
        "newer": newer_sentence(piece.line),
        "profile": foam_pictures(worked, order.unit, piece.run, piece.blank.gives) if worked else [],
        "version": order_version(order),
        "hand": part_hand(piece) if of_part else hand(piece, corners=bool(worked and worked.sprung)),
        "figures": wire_figures(worked, order.unit) if worked else (),
    }  # fmt: skip


def cut_rank(piece: Piece) -> int:
    """Return which piece comes first: one whose blank is there, then one that waits for its blank, then a done one."""
    if piece.cut == piece.qty:
        return 2
    return 0 if piece.blank.ready else 1


def cut_act(station: Station, order: Order, piece: Piece) -> dict:
    left = piece.qty - piece.cut
    if not left:
        return waits(f"All {piece.qty} of {piece.label} are cut." if order.done_at is None else "All pieces are cut.")
    if not piece.blank.ready:
        return waits(f"No blank here yet. {next_station(SAW)} saws it.")
    more = address(station, order=order.number, pick=piece.pk, ask="count") if min(left, piece.blank.ready) > 1 else ""
    return {
        "template": "station/act/count.html", "name": "piece", "pk": piece.pk, "words": "Piece cut",
        "after": f"{left - 1} left after", "more": more, "trouble": {"ask": "why"},
    }  # fmt: skip


def hand(piece: Piece, *, corners: bool = False) -> dict:
    """Return the ends of a piece in words and as a picture: from above, wall at the top, face towards the reader.

    The mitres of a frame's side lie in its face: there the long point is at the outer edge, the short at the opening.
    `corners`: the ends are named by their corners, because the piece is cut lying flat, to a mitre and a bevel.
    """
    words = corner_words if corners else partial(end_words, flat=piece.flat)
    left, right = (End(side.get("kind", "square"), side.get("angle")) for side in (piece.left, piece.right))
    mitred = [name for name, end in (("left", left), ("right", right)) if end.kind in ("outside", "inside")]
    word = {0: "Square ends", 2: "Both ends mitred"}.get(len(mitred)) or f"{mitred[0].upper()}"
    ends = f"Left {words(left)}, right {words(right)}."
    sentence = f"Mitred end on your {mitred[0]}, face towards you. {ends}" if len(mitred) == 1 else ends
    if piece.flat:
        sentence = f"Side of a frame, mitred across its face. {ends}"
    front, wall = ("outside", "opening") if piece.flat else ("front", "wall")
    long, short = ("Long", "Short") if piece.front >= piece.wall else ("Short", "Long")
    names = (f"{long} point, {front}", f"{short} point, {wall}")
    return {
        "word": word, "sentence": sentence, "mitred": bool(mitred), "picture": hand_picture(piece, left, right),
        "front_name": names[0] if mitred else "Long", "wall_name": names[1],
    }  # fmt: skip


def part_hand(piece: Piece) -> dict:
    """Return which part of its piece this is; left and right are mirrored, and are counted in pairs."""
    paired = [word for word in ("left", "right") if word in piece.run.split()]
    word = piece.run.upper() if paired else piece.run.capitalize() or "Piece"
    sentence = f"The {paired[0]} one of a pair: its picture is mirrored for the other." if paired else ""
    return {"word": word, "sentence": sentence, "mitred": False, "picture": None, "front_name": "Long"}


# Nothing scanned ------------------------------------------------------------------------------------------------------


def idle_context(request, station: Station) -> dict:
    """Return the empty screen: what was scanned last here, and what lies open on the saw."""
    seen: dict[int, Scan] = {}
    today = timezone.localdate()
    scans = Scan.objects.filter(station=station, order__isnull=False).select_related("order").order_by("-pk")[:40]
    for scan in scans:
        if timezone.localdate(scan.happened_at) == today and len(seen) < LAST_SCANS:
            seen.setdefault(scan.order_id, scan)
    rows = order_rows([scan.order for scan in seen.values()], station)
    for row, scan in zip(rows, seen.values(), strict=True):
        row["at"] = f"{timezone.localtime(scan.happened_at):%H:%M}"
    return common(request, station) | {"scans": rows, "lying": lying_open(station)}


def lying_open(station: Station) -> list[dict]:
    """Return the blocks and remnants that were opened at this station and are not finished."""
    return [
        {"source": source, "url": address(station, ask="block", source=source.pk)}
        for source in opened_at(station).select_related("piece", "run").order_by("run__number", "position")
    ]


def next_rows(station: Station) -> list[dict]:
    """Return the released orders that have work for this station, soonest needed first."""
    waiting = Order.objects.filter(state=Order.State.RELEASED, held=False, done_at=None)
    waiting = waiting.order_by(F("due").asc(nulls_last=True), "number")
    rows = order_rows(list(waiting.select_related("customer")[:100]), station)
    return [row for row in rows if row["done"] < row["due"]][:8]


def order_rows(orders: list[Order], station: Station) -> list[dict]:
    """Return each order with how far this station's own operation is."""
    where = standings(orders)
    rows = []
    for order in orders:
        counts = where[order.pk].counts
        count = counts.saw if station.kind == SAW else counts.cut
        rows.append({"order": order, "done": count.done, "due": count.due, "verb": DONE_WORDS[station.kind]})
    return rows
