"""PURE: what a line costs as far as the shop has prices: its foam by the cubic foot, the wire's work by the hour.

An amount is the quantity as it is printed × the rate, to the cent, halves up: whoever multiplies gets the same. A rate
of 0 or none is no price. The shop's rates are typed by the shop; nothing here is a trade figure.
"""

from __future__ import annotations

from decimal import ROUND_HALF_UP, Decimal

from cutsheets.sheets.offer import Price, say_money
from cutsheets.solids import Quantities
from cutsheets.units import Unit, square_feet

CENT = Decimal("0.01")
MM3_PER_FT3 = Decimal("304.8") ** 3
MINUTES = 60


def prices(of: Quantities, unit: Unit, *, foam: Decimal, hour: Decimal) -> tuple[Price, ...]:
    """Return what a line costs, part by part: foam of its blanks at so much a cubic foot, the wire's work, coat."""
    found = [_foam(of, unit, foam), _work(of, hour)]
    if of.coat_area:
        found.append(Price(f"coat, {_area(of.coat_area, unit)}", None))
    return tuple(found)


def _foam(of: Quantities, unit: Unit, rate: Decimal) -> Price:
    feet = _rounded(Decimal(of.blank_volume) / MM3_PER_FT3, Decimal("0.001"))
    metric = f"{of.blank_volume / 1e9:.4f} m³ or " if unit == "mm" else ""
    return _price(f"foam in blanks, {metric}{feet:,} ft³", feet, rate, "a cubic foot")


def _work(of: Quantities, rate: Decimal) -> Price:
    hours = _rounded(Decimal(of.wire_minutes) / MINUTES, CENT)
    return _price(f"work at the wire, {hours:,} h", hours, rate, "an hour")


def _price(what: str, quantity: Decimal, rate: Decimal, a_unit: str) -> Price:
    if not rate:
        return Price(what, None)
    return Price(f"{what} at {say_money(rate)} {a_unit}", _rounded(quantity * rate, CENT))


def _rounded(value: Decimal, step: Decimal) -> Decimal:
    return value.quantize(step, ROUND_HALF_UP)


def _area(mm2: float, unit: Unit) -> str:
    return f"{square_feet(mm2):,.2f} ft²" if unit == "in" else f"{mm2 / 1e6:,.3f} m²"
