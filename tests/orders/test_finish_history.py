"""Whatever is sawn, cut, coated, packed, spoiled and taken back: counts stay possible and the foam adds up."""

from collections import Counter
from contextlib import suppress

import pytest
from django.db import transaction
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from orders import moves
from orders.curing import curing
from orders.models import Blank, Move, Order, Piece
from orders.standing import standing
from shop import account
from shop.models import StockMove, StockPiece
from shop.refusals import Refused
from tests.orders.finishing import add_stations, bench, coated_order
from tests.orders.gang_faces import choose_gang

ACTS = st.sampled_from(
    ["saw", "cut", "coat", "pack", "cut-miscut", "coat-miscut", "pack-miscut", "undo", "undo", "hours", "block"]
)
STEPS = st.lists(st.tuples(ACTS, st.integers(0, 3), st.integers(1, 5)), max_size=24)


@pytest.fixture
def at(shop):
    add_stations(shop)
    return bench(shop)


def coated(draft, line_data, mina):
    return coated_order(draft, line_data, mina)


def faces(draft, line_data, mina):
    order = coated_order(draft, line_data, mina)
    choose_gang(order, mina)
    return Order.objects.get()


def panels(draft, line_data, mina):
    draft.lines.update(kind="panel", spec={"size": [36, 18, 12]}, qty=6)
    moves.release(draft, mina)
    return Order.objects.get()


class Shift:
    """A shift over one order; `do` tries an act on the n-th blank or piece, and lets it be refused."""

    def __init__(self, order, at, open_block):
        self.order, self.at, self.open_block, self.blocks = order, at, open_block, 0

    def do(self, act, place, qty):
        pieces, blanks = (list(model.objects.filter(live=True).order_by("pk")) for model in (Piece, Blank))
        piece, blank, at = pieces[place % len(pieces)], blanks[place % len(blanks)], self.at
        tries = {
            "saw": lambda: moves.count_sawn(blank, qty, at.saw),
            "cut": lambda: moves.count_cut(piece, qty, at.wire),
            "coat": lambda: moves.count_coated(piece, qty, at.coat),
            "pack": lambda: moves.count_packed(piece, qty, at.pack),
            "cut-miscut": lambda: piece.wired and moves.miscut_at_wire(piece, qty, "sagged", at.wire),
            "coat-miscut": lambda: moves.ruin_before_coat(piece, qty, "fell", at.coat),
            "pack-miscut": lambda: moves.ruin_before_packing(piece, qty, "fell", at.pack),
            "undo": self.take_back, "hours": self.wait, "block": self.block,
        }  # fmt: skip
        with suppress(Refused):
            tries[act]()

    def take_back(self):
        if last := Move.objects.filter(undone_by=None, undoes=None).exclude(action="release").last():
            moves.undo(last, self.at.saw)

    def wait(self):
        Move.objects.filter(action="coat").update(happened_at=self.at.after(hours=-49).coat.at)

    def block(self):
        self.blocks += 1
        self.open_block(self.order, self.at.saw, f"K-9{self.blocks:03d}")


def look(shift):
    """Check what must always hold."""
    for piece in Piece.objects.select_related("blank", "line__coat_system"):
        assert 0 <= piece.packed <= piece.qty
        assert piece.packed <= piece.through, "more packed than there are"
        assert not piece.wired or piece.coated <= piece.cut <= piece.qty
        cure = curing([piece], shift.at.pack.at)[piece.pk]
        assert cure.waiting <= max(0, piece.coated - piece.packed)
    assert sum(piece.qty for piece in Piece.objects.filter(live=True)) == shift.ordered
    booked = Counter()
    for kind, volume in StockMove.objects.values_list("kind", "volume"):
        booked[kind] += volume
    good = sum(blank.volume * blank.sawn - blank.foam_of(blank.wire_miscut) for blank in Blank.objects.all())
    assert booked["good"] == good
    assert booked["miscut"] == sum(blank.foam_of(blank.wire_miscut) for blank in Blank.objects.all())
    assert all(row.unaccounted == 0 for row in account.day_figures(shift.at.saw.day))
    on_saw = sum(account.left_on_saw(piece) for piece in StockPiece.objects.filter(state="saw"))
    assert on_saw == booked["issue"] - booked["good"] - booked["miscut"]
    counted = standing(shift.order).counts
    assert (shift.fresh.done_at is not None) == counted.finished
    assert Blank.objects.filter(live=True).exists()


@pytest.mark.parametrize("make", [coated, faces, panels])
def test_any_history_keeps_counts_possible_and_the_foam_balanced(make, draft, line_data, mina, at, open_block):
    order = make(draft, line_data, mina)

    @given(STEPS)
    @settings(max_examples=20, deadline=None, suppress_health_check=list(HealthCheck))
    def any_history(steps):
        with transaction.atomic():
            shift = Shift(order, at, open_block)
            shift.ordered = sum(piece.qty for piece in Piece.objects.filter(live=True))
            shift.do("block", 0, 1)
            for step in [("saw", place, qty) for place in (0, 1) for qty in (2, 1)] + steps:
                shift.do(*step)
            shift.fresh = Order.objects.get(pk=order.pk)
            look(shift)
            transaction.set_rollback(True)

    any_history()
