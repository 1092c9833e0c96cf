"""The screen of a packing station: the bundle to fill, and the counts of every line against the order."""

from __future__ import annotations

from itertools import groupby

from django.utils import timezone

from cutsheets.days import say_day
from cutsheets.errors import CutsheetError
from cutsheets.sheets.bundlelabels import bundle_grids
from orders.curing import Cure, curing
from orders.lines import what
from orders.models import Order, Piece
from orders.operations import count_of
from orders.packing import Tied, tied_bundles
from shop.models import Station

from .station_finish import all_done, free, rank
from .station_parts import address, count_act, order_version, waits
from .station_wire import line_words
from .station_work import pick, piece_rows

OPERATION = "pack"


def pack_context(station: Station, order: Order, picked: str, kind: str) -> dict:
    """Return the screen of an order where its pieces are packed; `picked` may be a scanned bundle, such as “b3”."""
    pieces = piece_rows(order, kind)
    if not pieces:
        return {"template": "station/empty.html", "picked": "", "act": waits("No piece of this order is packed here.")}
    cures = curing(pieces, timezone.now())
    bundles = _bundles(order, pieces)
    scanned = next((tied for tied in bundles if f"b{tied.bundle.number}" == picked), None)
    inside = [piece for piece in pieces if scanned and piece.pk in scanned.holds] or pieces
    piece = pick(inside, picked, lambda one: _first(one, cures[one.pk], scanned))
    tied = scanned or _next_with(bundles, piece)
    by_line = groupby(_standing(pieces, cures), lambda row: row["piece"].line)
    rows = [_line(station, order, line, list(of)) for line, of in by_line]
    return {
        "template": "station/pack.html", "picked": piece.pk, "piece": piece, "what": line_words(piece.line),
        "now": free(piece, OPERATION, cures[piece.pk]), "left": piece.qty - piece.packed,
        "tied": tied, "done": tied.packed if tied else piece.packed, "due": tied.due if tied else piece.qty,
        "lines": rows, "short": _short(rows), "in_all": count_of(pieces, OPERATION),
        "act": _act(station, order, piece, cures[piece.pk], tied), "grid": bundle_grids()[0].name,
        "version": f"{order_version(order)}.{sum(cure.waiting for cure in cures.values())}",
    }  # fmt: skip


def _bundles(order: Order, pieces: list[Piece]) -> list[Tied]:
    try:
        return tied_bundles(order, pieces)
    except CutsheetError:
        return []  # the shop's rules changed since the release: the counts of the rows still hold


def _first(piece: Piece, cure: Cure, scanned: Tied | None) -> tuple[bool, int]:
    """Return which piece comes first: one with room in the scanned bundle, then as at every station."""
    return bool(scanned and not scanned.room(piece)), rank(piece, OPERATION, cure)


def _next_with(bundles: list[Tied], piece: Piece) -> Tied | None:
    """Return the first bundle with room for a piece, else the last one that holds it."""
    holding = [tied for tied in bundles if piece.pk in tied.holds]
    return next((tied for tied in holding if tied.room(piece)), holding[-1] if holding else None)


def _act(station: Station, order: Order, piece: Piece, cure: Cure, tied: Tied | None) -> dict:
    now = free(piece, OPERATION, cure)
    if piece.packed == piece.qty:
        return all_done(piece, OPERATION)
    if tied and not tied.room(piece):
        return waits(f"Bundle {tied.bundle.number} is full.")
    if cure.waiting and not now:
        ready = timezone.localtime(cure.next_at)
        cures = f"{piece.label} still cures, ready {ready:%H:%M} on {say_day(ready)}."
        return waits(cures) | {"trouble": {"ask": "why"}}  # it may be dropped before it is cured
    if not now:
        return waits(f"None of {piece.label} is here yet.")
    step = min(now, tied.room(piece)) if tied else 1
    into = f" into bundle {tied.bundle.number}" if tied else " packed"
    return count_act(station, piece, f"{piece.label}{into}", now=now, step=step)


def _standing(pieces: list[Piece], cures: dict[int, Cure]) -> list[dict]:
    """Return how each row of pieces stands against the order."""
    return [
        {
            "piece": piece, "due": piece.qty, "packed": piece.packed, "curing": cures[piece.pk].waiting,
            "here": free(piece, OPERATION, cures[piece.pk]), "bare": piece.to_coat,
            "missing": piece.qty - piece.made,
            "ready_at": cures[piece.pk].ready_at,
        }
        for piece in pieces
    ]  # fmt: skip


def _line(station: Station, order: Order, line, rows: list[dict]) -> dict:
    """Return how a line stands against the order: packed, here, curing and not made."""
    first = min(rows, key=lambda row: (not row["here"], row["packed"] == row["due"]))
    sums = {name: sum(row[name] for row in rows) for name in ("due", "packed", "curing", "here", "bare", "missing")}
    ready = max((row["ready_at"] for row in rows if row["ready_at"]), default=None)
    return sums | {
        "mark": line.mark, "what": what(line), "ready_at": ready,
        "url": address(station, order=order.number, pick=first["piece"].pk),
    }  # fmt: skip


def _short(rows: list[dict]) -> str:
    """Return what keeps the order from the truck: “3 not made, 2 not coated”; "" where all the rest is here."""
    words = (("missing", "not made"), ("bare", "not coated"), ("curing", "curing"))
    counts = [(sum(row[name] for row in rows), said) for name, said in words]
    return ", ".join(f"{count} {said}" for count, said in counts if count)
