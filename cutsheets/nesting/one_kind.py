"""Nests in which every face holds parts of one kind, interlocked on a lattice: the commonest job, and soon there."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from cutsheets.engines.children import Stop
from cutsheets.nesting.faces import NestInstance, NestStock
from cutsheets.nesting.lattice import pack_face
from cutsheets.nesting.pieces import Laid, Part, Piece


def kind_by_kind(
    instance: NestInstance, pieces: Sequence[Piece], stop: Stop, known: Mapping[str, Sequence[Part]] | None = None
) -> list[Laid]:
    """Return the faces of one kind after the other; what finds no face is not there.

    `known`: where there is one kind only, a face of some stocks, by their names, as full as it is to be.
    """
    on_hand = {stock.id: stock.qty for stock in instance.stock}
    faces: list[Laid] = []
    for number in range(len(pieces)):
        if not stop():
            faces += _of_kind(instance, pieces, number, on_hand, dict(known or {}))
    return faces


def _of_kind(
    instance: NestInstance,
    pieces: Sequence[Piece],
    number: int,
    on_hand: dict[str, int | None],
    full: dict[str, Sequence[Part]],
) -> Iterator[Laid]:
    """Yield faces filled with one kind, and count `on_hand` down; `full`: a full face of some stocks.

    It is the cheapest face that holds all that is left, else the one whose parts come cheapest.
    """
    left = pieces[number].copies
    while left:
        laid = []
        for stock in instance.stock:
            if on_hand[stock.id] == 0:
                continue
            if stock.id not in full:  # it is the same every time
                full[stock.id] = _packed(instance, pieces, number, stock, None)
            if full[stock.id]:
                laid.append(Laid(stock, tuple(full[stock.id][:left])))
        if not laid:
            return
        best = min(laid, key=lambda face: (len(face.parts) < left, face.stock.cost / len(face.parts)))
        stock = best.stock
        if len(best.parts) == left < len(full[stock.id]):  # fewer than a full face: so that a strip of it stays whole
            best = Laid(stock, tuple(_packed(instance, pieces, number, stock, left)))
        held = on_hand[stock.id]
        on_hand[stock.id] = None if held is None else held - 1
        left -= len(best.parts)
        yield best


def _packed(
    instance: NestInstance, pieces: Sequence[Piece], number: int, stock: NestStock, most: int | None
) -> list[Part]:
    piece = pieces[number]
    found = pack_face(
        piece.item.outline, stock.room, instance.kerf, turns=piece.turns, mirror=piece.mirror, most=most
    )  # fmt: skip
    return [(number, each.turn, each.mirrored, float(each.x), float(each.y)) for each in found]
