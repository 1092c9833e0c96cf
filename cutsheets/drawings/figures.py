"""The figures of a part as the floor reads them: lengths with stacked fractions, only what the wire needs."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any

from cutsheets.drawings.lettering import Parts, length_parts, times
from cutsheets.figures import say_figure
from cutsheets.solids import Figure
from cutsheets.units import Unit

# Areas, volumes and weights are the office's; a finished size or a blank never stands where foam is cut.
OFFICE = ("area", "volume", "bulk", "mass", "text")
NOT_FOAM = ("finished", "blank", "slab")
NO_SIZE = ("radius", "centroid_radius")  # of the finished opening; of a formula


def for_the_wire(figures: Iterable[Figure]) -> Iterator[Figure]:
    """Yield the figures that the wire cutter needs: sizes of the foam, angles, counts, positions, forces."""
    for figure in figures:
        other = figure.of in OFFICE or figure.key in NO_SIZE or any(word in figure.key for word in NOT_FOAM)
        if not other and figure.value is not None:
            yield figure


def figure_parts(figure: Figure, unit: Unit) -> Iterator[Parts]:
    """Yield a figure ready to be set, its label first; a row begins with its first figure, the others come below."""
    if figure.of == "rows":
        for first, *others in figure.value:
            yield (f"{figure.label}, ", *_one(first, unit))
            yield from (("   ", *_one(other, unit)) for other in others)
    else:
        yield _one(figure, unit)


def _one(figure: Figure, unit: Unit) -> Parts:
    if figure.of in ("length", "fine"):
        lengths = _lengths(figure.value, unit, 64 if figure.of == "fine" else 16)
        return (f"{figure.label} ", *lengths, "" if unit == "in" else " mm")
    return (f"{figure.label} {say_figure(figure, unit)}",)


def _lengths(value: Any, unit: Unit, denominator: int) -> Parts:
    if isinstance(value, tuple):
        return times(*(length_parts(one, unit, denominator=denominator) for one in value))
    return length_parts(value, unit, denominator=denominator)
