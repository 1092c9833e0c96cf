"""The EPS types of ASTM C578, Table 1: what a type must weigh and bear at least.

Source: ASTM C578, Standard Specification for Rigid, Cellular Polystyrene Thermal Insulation, Table 1. Both columns of
the table are stored as printed: the printed metric figures are not the rounded conversions (15 psi is 103.4 kPa, the
table prints 104), so neither may be derived from the other. These are minima of a standard; what a block of the shop
weighs is the shop's own figure and lies above them.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal


@dataclass(frozen=True, slots=True)
class Type:
    """One type: least density (lb/ft³, kg/m³) and compressive resistance at 10 % or yield (psi, kPa), as printed.

    `from_memory` names the figures that were recalled and not seen in a copy of the standard.
    """

    name: str
    pcf: Decimal
    psi: int
    kg_m3: int
    kpa: int
    from_memory: tuple[str, ...] = ()


C578 = (
    Type("XI", Decimal("0.70"), 5, 12, 35),
    Type("I", Decimal("0.90"), 10, 15, 69),
    Type("VIII", Decimal("1.15"), 13, 18, 90),
    Type("II", Decimal("1.35"), 15, 22, 104),
    Type("IX", Decimal("1.80"), 25, 29, 173),
    Type("XIV", Decimal("2.40"), 40, 38, 276, from_memory=("psi",)),
    Type("XV", Decimal("2.85"), 60, 46, 414, from_memory=("pcf", "psi")),
)
