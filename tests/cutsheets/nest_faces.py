"""Invented sections, letters and faces for the tests of nesting; inches unless a test says otherwise."""

import math

from cutsheets.nesting.faces import Nest, NestInstance, NestItem, NestStock, OpenedFace, Placement
from cutsheets.solids import Outline

ELL = ((0, 0), (6, 0), (6, 1), (1, 1), (1, 6), (0, 6))
CEE = ((0, 0), (5, 0), (5, 1.2), (1.2, 1.2), (1.2, 4.8), (5, 4.8), (5, 6), (0, 6))
RINGED = ((0, 0), (8, 0), (8, 8), (0, 8))
COUNTER = ((2, 2), (2, 6), (6, 6), (6, 2))
RIGHT = (0.0, 90.0, 180.0, 270.0)


def item(name="L", outer=ELL, qty=1, holes=(), **given):
    """A part; it may take right-angled turns unless told otherwise."""
    return NestItem(name, Outline(outer, holes), qty, **{"turns": RIGHT, **given})


def face(name="F", w=24.0, h=24.0, margin=0.25, qty=None, cost=None):
    """Faces of one size; they cost their area unless told otherwise."""
    return NestStock(name, w, h, margin, qty, w * h if cost is None else cost)


FACE = face()


def instance(*items, stock=(FACE,), kerf=0.06, unit="in"):
    return NestInstance("sample", unit, kerf, tuple(stock), tuple(items))


def nest(stock, *placements):
    """One face of a stock with these on it: (item, turn, x, y), mirrored where a fifth says so."""
    lying = tuple(Placement(name, turn, any(more), x, y) for name, turn, x, y, *more in placements)
    return Nest((OpenedFace(stock.id, stock.room),), lying)


def disc(radius, points=90):
    """A many-sided outline, as lettering and airfoils have them."""
    return tuple(
        (radius * math.cos(2 * math.pi * n / points), radius * math.sin(2 * math.pi * n / points))
        for n in range(points)
    )


def as_file(**changed):
    """An instance as its file has it, all keys written."""
    return {
        "format": "blockyard-nest-1", "name": "sample", "unit": "in", "kerf": 0.06,
        "stock": [{"id": "F", "w": 24, "h": 24, "margin": 0.25, "qty": None, "cost": 576}],
        "items": [{"id": "L", "polygon": {"outer": [list(p) for p in ELL], "holes": []}, "qty": 3,
                   "rotations": [0, 180], "mirror": False}],
        **changed,
    }  # fmt: skip
