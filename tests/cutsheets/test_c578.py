"""ASTM C578, Standard Specification for Rigid, Cellular Polystyrene Thermal Insulation, Table 1."""

from decimal import Decimal

import pytest

from cutsheets.grades import C578
from cutsheets.units import KG_M3_PER_PCF

KPA_PER_PSI = 6.894757  # NIST SP 811, Appendix B.8 (memory)

# type: least pcf, psi at 10 % or yield; printed kg/m3, kPa; exact conversions of pcf and psi
TABLE_1 = {
    "XI": ("0.70", 5, 12, 35, 11.212924, 34.473786),
    "I": ("0.90", 10, 15, 69, 14.416617, 68.947573),
    "VIII": ("1.15", 13, 18, 90, 18.421233, 89.631845),
    "II": ("1.35", 15, 22, 104, 21.624926, 103.421359),
    "IX": ("1.80", 25, 29, 173, 28.833234, 172.368932),
    "XIV": ("2.40", 40, 38, 276, 38.444312, 275.790292),  # psi from memory
    "XV": ("2.85", 60, 46, 414, 45.652621, 413.685438),  # pcf and psi from memory
}


def test_every_type_of_the_table_is_there_lightest_first():
    assert [row.name for row in C578] == list(TABLE_1)
    assert [row.pcf for row in C578] == sorted(row.pcf for row in C578)


@pytest.mark.parametrize("row", C578, ids=lambda row: row.name)
def test_both_columns_are_stored_as_printed(row):
    pcf, psi, kg_m3, kpa, exact_kg_m3, exact_kpa = TABLE_1[row.name]
    assert (row.pcf, row.psi, row.kg_m3, row.kpa) == (Decimal(pcf), psi, kg_m3, kpa)
    assert float(row.pcf * KG_M3_PER_PCF) == pytest.approx(exact_kg_m3, abs=1e-6)
    assert row.psi * KPA_PER_PSI == pytest.approx(exact_kpa, abs=1e-4)


def test_the_printed_metric_is_no_rounded_conversion():
    two = next(row for row in C578 if row.name == "II")
    assert two.kpa == 104
    assert round(two.psi * KPA_PER_PSI) == 103


def test_figures_recalled_from_memory_are_marked():
    assert {row.name: row.from_memory for row in C578 if row.from_memory} == {"XIV": ("psi",), "XV": ("pcf", "psi")}


def test_a_block_at_the_minimum_of_type_i_weighs_as_the_table_says():
    one = next(row for row in C578 if row.name == "I")
    cubic_feet = Decimal(48 * 48 * 96) / 1728  # E-W1: 128 ft3 at 0.90 pcf
    assert one.pcf * cubic_feet == Decimal("115.2")
