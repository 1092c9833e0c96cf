"""A shop that coats and packs, for the tests of what comes after the wire."""

from dataclasses import dataclass, replace
from datetime import timedelta

from orders import entry, moves
from orders.models import Order, Piece
from shop.acts import Act
from shop.models import CoatSystem, Station

HOURS = 48  # of cure of the base coat


@dataclass(frozen=True, slots=True)
class Bench:
    """Who counts where, and when: `after` is the same bench so many hours later."""

    saw: Act
    wire: Act
    coat: Act
    pack: Act

    def after(self, **time) -> "Bench":
        later = {name: getattr(self, name).at + timedelta(**time) for name in ("saw", "wire", "coat", "pack")}
        return Bench(**{name: replace(getattr(self, name), at=at) for name, at in later.items()})


def add_stations(shop, *kinds):
    """Put stations for coating and packing, or those of `kinds`, up in the shop."""
    for kind in kinds or ("coat", "pack"):
        shop.stations[f"{kind}-1"] = Station.objects.create(code=f"{kind}-1", name=Station.Kind(kind).label, kind=kind)


def bench(shop) -> Bench:
    """Return a bench of a shop that coats and packs."""
    bo = shop.people["bo"]
    return Bench(*(Act(bo, shop.stations[f"{name}-1"]) for name in ("saw", "cutter", "coat", "pack")))


def enter(order, line_data, mina, **changes) -> Order:
    """Save the one line of an order, and return the order as it stands."""
    order.refresh_from_db()
    entry.save_line(order, line_data | changes, mina, version=order.version, line=order.lines.get())
    return Order.objects.get(pk=order.pk)


def coated_order(draft, line_data, mina) -> Order:
    """Return the order released, its eight pieces under base coat and mesh, which cures 48 hours."""
    mesh = CoatSystem.objects.get(name__startswith="Base")
    moves.release(enter(draft, line_data, mina, coat="1/8", coat_system=mesh), mina)
    return Order.objects.get(pk=draft.pk)


def counts(piece) -> tuple[int, int, int]:
    """Return how many of a piece are cut, coated, packed."""
    return Piece.objects.values_list("cut", "coated", "packed").get(pk=piece.pk)


def sawn_and_cut(order, at: Bench, open_block, cut=8):
    """Saw every blank of an order, cut so many of its first piece, and return that piece."""
    open_block(order, at.saw)
    for blank in order.lines.get().blanks.filter(live=True):
        moves.count_sawn(blank, blank.qty, at.saw)
    piece = order.lines.get().pieces.filter(live=True).first()
    if cut and piece.wired:
        moves.count_cut(piece, cut, at.wire)
    return piece
