"""The screen of a coating station: the faces, girth, area, mesh and hours of a coat, and when what has it is ready."""

from __future__ import annotations

from collections.abc import Iterator

from django.utils import timezone

from cutsheets.sheets.coatsheet import say_area
from cutsheets.sheets.packing import LAPS, Coat, PackedLine, Pieces
from cutsheets.units import say
from orders.answers import DONE_WORDS
from orders.curing import Cure, curing
from orders.models import Order, Piece
from orders.operations import done_of
from shop.models import Station

from .station_drawings import foam_pictures
from .station_finish import all_done, as_packed, free, like, others, rank
from .station_parts import count_act, order_version, waits
from .station_wire import line_words
from .station_work import pick, piece_rows

OPERATION = "coat"


def coat_context(station: Station, order: Order, picked: str, kind: str) -> dict:
    """Return the screen of an order where its pieces are coated."""
    pieces = piece_rows(order, kind)
    piece = pick(pieces, picked, lambda one: rank(one, OPERATION))
    if piece is None:
        return {"template": "station/empty.html", "picked": "", "act": waits("No piece of this order gets a coat.")}
    cures = curing(pieces, timezone.now())
    packed = as_packed(piece.line)
    return {
        "template": "station/coat.html", "picked": piece.pk, "piece": piece, "what": line_words(piece.line),
        "done": piece.coated, "left": piece.qty - piece.coated, "waiting": piece.to_coat,
        "pictures": foam_pictures(packed.worked, order.unit, piece.run) if packed else [],
        "facts": list(_facts(packed, piece)) if packed and packed.coat else [], "faces": _faces(packed, piece),
        "batches": batches(pieces, cures), "ready": piece.coated - piece.packed - cures[piece.pk].waiting,
        "others": others(station, order, pieces, piece, OPERATION), "act": _act(station, order, piece),
        "version": f"{order_version(order)}.{sum(cure.waiting for cure in cures.values())}",
    }  # fmt: skip


def batches(pieces: list[Piece], cures: dict[int, Cure]) -> list[dict]:
    """Return what cures, the pieces that are ready first at the top: piece, how many, and the moment."""
    found = [
        {"piece": piece, "qty": batch.qty, "at": timezone.localtime(batch.ready_at)}
        for piece in pieces for batch in cures[piece.pk].batches
    ]  # fmt: skip
    return sorted(found, key=lambda row: row["at"])


def _act(station: Station, order: Order, piece: Piece) -> dict:
    now = free(piece, OPERATION)
    if done_of(piece, OPERATION) == piece.qty:
        return all_done(piece, OPERATION)
    if not now:
        return waits("No more of it is cut yet." if piece.coated else "None of it is cut yet.")
    return count_act(station, piece, f"Piece {DONE_WORDS[OPERATION]}", now=now)


def _faces(packed: PackedLine | None, piece: Piece) -> str:
    """Return which faces get coat, and which ends: “Wall face bare. Coat the left end”."""
    if packed is None or packed.coat is None:
        return ""
    return packed.coat.faces if packed.worked.part else f"{packed.coat.faces} {_ends(piece)}"


def _ends(piece: Piece) -> str:
    capped = [name for name in ("left", "right") if getattr(piece, name).get("kind") == "cap"]
    return {0: "Both ends bare.", 2: "Coat both ends."}.get(len(capped)) or f"Coat the {capped[0]} end."


def _facts(packed: PackedLine, piece: Piece) -> Iterator[tuple[str, str]]:
    """Yield what the finisher asks, each with its answer, as the coat sheet has it."""
    coat, unit, row = packed.coat, piece.line.order.unit, like(packed, piece)
    yield "Coat", f"{_length(coat.thick, unit)}, {coat.name}" if coat.name else _length(coat.thick, unit)
    if packed.girth:
        yield "Girth", _length(packed.girth, unit)
    yield "Area", f"{say_area(row.coat, unit)} each, {say_area(row.coat * (piece.qty - piece.coated), unit)} to coat"
    yield "Mesh", _mesh(coat, row, unit)
    yield "Cures", f"{coat.hours} h" if coat.hours else "as the maker's data sheet says"


def _mesh(coat: Coat, row: Pieces, unit: str) -> str:
    if not coat.lap:
        return "none"
    laps = f"{LAPS} laps of {_length(coat.lap, unit)}" if row.long else "laps not counted"
    return f"{say_area(row.mesh(coat.lap), unit)} each, {laps}"


def _length(mm: float, unit: str) -> str:
    return f"{say(mm, unit)} {unit}"
