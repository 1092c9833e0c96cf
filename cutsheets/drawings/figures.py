"""The figures of a part as the floor reads them: lengths with stacked fractions, only what the wire needs."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any

from cutsheets.drawings.lettering import Parts, length_parts, times
from cutsheets.figures import figure_words
from cutsheets.solids import Figure
from cutsheets.units import Unit

# Areas, volumes and weights are the office's; a finished size or a blank never stands where foam is cut.
OFFICE = ("area", "volume", "mass", "text")
NOT_FOAM = ("finished", "blank", "slab")


def for_the_wire(figures: Iterable[Figure]) -> Iterator[Figure]:
    """Yield the figures that the wire cutter needs: sizes of the foam, angles, counts, positions, forces."""
    for figure in figures:
        if figure.of not in OFFICE and not any(word in figure.key for word in NOT_FOAM) and figure.value is not None:
            yield figure


def figure_parts(figure: Figure, unit: Unit) -> Iterator[Parts]:
    """Yield a figure ready to be set, its label first; each of its rows is a line of its own."""
    if figure.of == "rows":
        for row in figure.value:
            yield (f"{figure.label}: ", *_joined(row, unit))
    elif figure.of == "length":
        yield (f"{figure.label} ", *_lengths(figure.value, unit), "" if unit == "in" else " mm")
    else:
        yield from ((words,) for words in figure_words(figure, unit))


def _joined(row: Iterable[Figure], unit: Unit) -> Parts:
    """Return the figures of a row in one line."""
    parts: Parts = ()
    for figure in row:
        [own] = figure_parts(figure, unit)
        parts = (*parts, ", ", *own) if parts else own
    return parts


def _lengths(value: Any, unit: Unit) -> Parts:
    if isinstance(value, tuple):
        return times(*(length_parts(one, unit) for one in value))
    return length_parts(value, unit)
