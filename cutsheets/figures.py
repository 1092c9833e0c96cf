"""The figures of a part: one list of values serves the cut list, the page and the paper.

psi: NIST SP 811, Appendix B.8 (memory). lbf: 0.45359237 kg × 9.80665 m/s², both exact.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from typing import Any

from cutsheets.solids import Figure, Measure
from cutsheets.units import Unit, board_feet, pounds, say, square_feet, to_area, to_mass, to_unit, to_volume

KPA_PER_PSI = 6.894757293168361
N_PER_LBF = 4.4482216152605


def figures_json(figures: Iterable[Figure], unit: Unit) -> dict[str, Any]:
    """Return figures as the cut list writes them: key → number, list or object, in the unit of the file."""
    return {figure.key: _json(figure.value, figure.of, unit) for figure in figures}


def say_figure(figure: Figure, unit: Unit) -> str:
    """Return a figure as a person reads it, with its unit; several of one measure joined, rows left to a table.

    Of figures by name those that are 0 are left out.

    >>> say_figure(Figure("bevel", "bevel", 22.5, "angle"), "in")
    '22.5°'
    >>> say_figure(Figure("slab", "slab", (2438.4, 304.8, 76.2), "length"), "in")
    '96 × 12 × 3 in'
    """
    if figure.of == "rows":
        return ""
    if isinstance(figure.value, Mapping):
        said = (f"{name} {_word(value, figure.of, unit)}" for name, value in figure.value.items() if value)
        return ", ".join(said) or "none"
    many = isinstance(figure.value, tuple)
    words = " × ".join(_word(value, figure.of, unit) for value in (figure.value if many else (figure.value,)))
    return words + SUFFIX[figure.of][unit == "mm"]


def figure_words(figure: Figure, unit: Unit) -> Iterator[str]:
    """Yield a figure with its label, each of its rows in a line of its own.

    >>> list(figure_words(Figure("bevel", "bevel", 22.5, "angle"), "in"))
    ['bevel 22.5°']
    """
    if figure.of == "rows":
        for row in figure.value:
            yield f"{figure.label}: " + ", ".join(words for one in row for words in figure_words(one, unit))
    else:
        yield f"{figure.label} {say_figure(figure, unit)}"


def tidy(value: float) -> float:
    """Return a figure without float noise, never -0; six places are finer than any promise of the format."""
    return round(value, 6) + 0.0


def to_pressure(kpa: float, unit: Unit) -> float:
    """Return a pressure in psi beside inches, in kPa beside millimetres."""
    return kpa / KPA_PER_PSI if unit == "in" else kpa


def to_force(newton: float, unit: Unit) -> float:
    """Return a force in pounds-force beside inches, in newtons beside millimetres."""
    return newton / N_PER_LBF if unit == "in" else newton


SUFFIX: dict[Measure, tuple[str, str]] = {
    "length": (" in", " mm"), "fine": (" in", " mm"), "area": (" ft²", " m²"), "volume": (" bf", " m³"),
    "bulk": (" ft³", " m³"), "mass": (" lb", " kg"), "angle": ("°", "°"), "count": ("", ""), "ratio": ("", ""),
    "pressure": (" psi", " kPa"), "force": (" lbf", " N"), "text": ("", ""), "rows": ("", ""),
}  # fmt: skip
CONVERT: dict[Measure, Callable[[float, Unit], float]] = {
    "length": to_unit, "fine": to_unit, "area": to_area, "volume": to_volume, "bulk": to_volume, "mass": to_mass,
    "pressure": to_pressure, "force": to_force,
}  # fmt: skip


def _json(value: Any, of: Measure, unit: Unit) -> Any:
    if of == "rows":
        return [figures_json(row, unit) for row in value]
    if isinstance(value, tuple | list):
        return [_json(one, of, unit) for one in value]
    if isinstance(value, Mapping):
        return {name: _json(one, of, unit) for name, one in value.items()}
    if value is None or of in ("text", "count"):
        return value
    return tidy(CONVERT[of](value, unit) if of in CONVERT else value)


def _word(value: Any, of: Measure, unit: Unit) -> str:
    if value is None:
        return "–"
    if isinstance(value, tuple):
        return " × ".join(_word(one, of, unit) for one in value)
    return SAY[of](value, unit) if of in SAY else str(value)


SAY: dict[Measure, Callable[[float, Unit], str]] = {
    "length": say,
    "fine": lambda mm, unit: say(mm, unit, denominator=64),
    "bulk": lambda mm3, unit: f"{to_volume(mm3, unit) / 1728:,.2f}" if unit == "in" else f"{mm3 / 1e9:,.4f}",
    "area": lambda mm2, unit: f"{square_feet(mm2):,.2f}" if unit == "in" else f"{mm2 / 1e6:,.3f}",
    "volume": lambda mm3, unit: f"{board_feet(mm3):,.2f}" if unit == "in" else f"{mm3 / 1e9:,.4f}",
    "mass": lambda kg, unit: f"{pounds(kg) if unit == 'in' else kg:,.2f}",
    "pressure": lambda kpa, unit: f"{to_pressure(kpa, unit):,.2f}",
    "force": lambda newton, unit: f"{to_force(newton, unit):,.1f}",
    "angle": lambda degrees, _: f"{degrees:.4g}",
    "ratio": lambda ratio, _: f"{ratio:.3f}",
}
