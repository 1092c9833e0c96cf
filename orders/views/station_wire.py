"""The screen of a wire cutter or a turning station: the piece to cut, its hand, its ends and its foam."""

from __future__ import annotations

import math
from collections.abc import Iterator
from functools import partial

from cutsheets.drawings.lettering import Parts
from cutsheets.drawings.part import stations
from cutsheets.drawings.runs import corner_words, end_words
from cutsheets.figures import say_figure
from cutsheets.machines import lacks
from cutsheets.sheets.firstpiece import first_checks
from cutsheets.solids import End, Worked
from cutsheets.units import read_length, say
from orders.models import Order, Piece
from orders.profiles import newer_sentence
from orders.wire_uses import checked, last_used, use_words
from shop.models import ShopRules, Station

from .station_drawings import foam_pictures, hand_picture, wire_figures, worked_line
from .station_parts import address, count_act, order_version, waits
from .station_work import next_station, pick, piece_rows

SIDES = ("left", "right")


def cutter_context(station: Station, order: Order, picked: str, kind: str) -> dict:
    pieces = piece_rows(order, kind)
    piece = pick(pieces, picked, cut_rank)
    if piece is None:
        nothing = "Nothing of this order is cut here."
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
        "figures": (*_spun(piece, worked), *wire_figures(worked, order.unit)) if worked else (),
        "wire": _wire(piece, worked), "pairs": pairs(piece, pieces), **_first_piece(station, piece, kind),
        "limits": _beyond(piece, worked, station) if worked and station.kind == kind else (),
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
        return waits(f"No blank here yet. {next_station(Station.Kind.SAW)} saws it.")
    return count_act(station, piece, "Piece cut", now=min(left, piece.blank.ready))


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


def _spun(piece: Piece, worked: Worked) -> Iterator[str]:
    """Yield the sizes at the letters of its picture, then what a part that spins asks of its machine, stubs with it."""
    unit = piece.line.order.unit
    for view in worked.views:
        if across := [f"{letter} {say(math.dist(one.a, one.b), unit)}" for letter, one in stations(view)]:
            yield f"across, {unit}: {', '.join(across)}"
    for asks in worked.asks[:1]:
        if asks.swing:
            yield f"between centres {say(asks.centres, unit, 'up')} {unit}"
            yield f"swing of its blank {say(asks.swing, unit, 'up')} {unit}"
    for end, typed in piece.line.spec.get("stub", {}).items():
        yield f"stub, {end} {say(read_length(typed, unit), unit)} {unit}"


def _first_piece(station: Station, piece: Piece, kind: str) -> dict:
    """Return who found the first piece right, or where to say so once there is a blank for it."""
    use = checked(piece)
    asks = use is None and piece.blank.ready > 0 and station.kind == kind
    url = address(station, order=piece.line.order.number, pick=piece.pk, ask="first") if asks else ""
    return {"checked": use, "first_url": url}


def first_sizes(piece: Piece) -> list[tuple[str, Parts, Parts, Parts]]:
    """Return what is measured of a first piece: a name, the foam's size, the least and the most it may be."""
    if (worked := worked_line(piece.line)) is None:
        return []
    rules, unit = ShopRules.current(), piece.line.order.unit
    stick = next((one for one in worked.sticks if one.mark in piece.marks), None)
    tolerances = {"length": float(rules.length_tolerance), "section": float(rules.section_tolerance)}
    return [(check.name, *check.shown(unit)) for check in first_checks(worked, stick, **tolerances)]


def _wire(piece: Piece, worked: Worked | None) -> list[str]:
    """Return the kerf, and what was last used for this section in this grade."""
    unit, use = piece.line.order.unit, last_used(piece.line)
    kerf = [f"kerf {say_figure(figure, unit)}" for figure in worked.wire if figure.key == "kerf"] if worked else []
    return kerf + ([f"last used: {use_words(use, unit)}"] if use else [])


def pairs(piece: Piece, pieces: list[Piece]) -> str:
    """Return how far left and right ones are, where this piece has a mirrored one: “left 3 of 4, right 2 of 4”."""
    side = _side(piece)
    if not side:
        return ""
    counts = {name: [one for one in pieces if one.line_id == piece.line_id and _side(one) == name] for name in SIDES}
    if not all(counts.values()):
        return ""
    said = (f"{name} {sum(one.cut for one in rows)} of {sum(one.qty for one in rows)}" for name, rows in counts.items())
    return ", ".join(said)


def _side(piece: Piece) -> str:
    """Return whether a piece is a left or a right one: a part of a pair, or a stick mitred at one end."""
    named = [word for word in SIDES if word in piece.run.split()]
    mitred = [name for name in SIDES if getattr(piece, name).get("kind") in ("outside", "inside")]
    return (named or (mitred if len(mitred) == 1 else [""]))[0]


def _beyond(piece: Piece, worked: Worked, station: Station) -> list[str]:
    """Return in words each limit of this machine that a piece goes beyond."""
    unit, machine = piece.line.order.unit, station.machine
    return [words for asks in worked.asks if asks.what in piece.marks for words in lacks(asks, machine, unit)]


TWISTS = {
    "left": "Left-hand twist, against a common screw thread.", "right": "Right-hand twist, as a common screw thread.",
}  # fmt: skip


def part_hand(piece: Piece) -> dict:
    """Return which part of its piece this is; left and right are mirrored, and are counted in pairs."""
    paired = [word for word in ("left", "right") if word in piece.run.split()]
    word = piece.run.upper() if paired else piece.run.capitalize() or "Piece"
    sentence = f"The {paired[0]} one of a pair: its picture is mirrored for the other." if paired else ""
    if piece.line.kind == "twisted":
        sentence = TWISTS.get(piece.run, "")
    return {"word": word, "sentence": sentence, "mitred": False, "picture": None, "front_name": "Long"}


def line_words(line) -> str:
    return f"{line.mark} {line.title}".strip()
