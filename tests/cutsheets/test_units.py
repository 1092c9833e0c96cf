from contextlib import suppress
from decimal import ROUND_HALF_EVEN, Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cutsheets import units
from cutsheets.errors import CutsheetError
from cutsheets.units import read_angle, read_count, read_density, read_length, say, say_exact, say_feet, to_unit

kept = st.integers(0, 10**12).map(lambda n: Decimal(n) * units.PLACES)  # every length that can be stored, to 1 km
unit = st.sampled_from(["in", "mm"])


def refusal(call, *args):
    with pytest.raises(CutsheetError) as caught:
        call(*args)
    return caught.value


@pytest.mark.parametrize(
    ("text", "inches"),
    [  # U9 and the forms of the job file; arithmetic
        ('5 1/2"', 5.5), ("5-1/2", 5.5), ("14'-2\"", 170.0), ("14'2 3/8\"", 170.375), ("187'-6\"", 2250.0),
        ('7/16"', 0.4375), ("6'-0 1/2\"", 72.5), ("3'", 36.0), ("1220 mm", 48.031496), ("14' 2 3/8\"", 170.375),
        ("122 cm", 48.031496), ("2.4 m", 94.488189), ("14.2 ft", 170.4), ("5.12", 5.12), ("3 1/2 ft", 42.0),
        ("5½", 5.5), ("6′-3½″", 75.5), ("14’–2”", 170.0), ("5''", 5.0), (" 5 in. ", 5.0), (".5", 0.5), (5.12, 5.12),
        (3, 3.0), (Decimal("0.1"), 0.1), ("14 ft 2 in", 170.0), ("1/2 INCH", 0.5), ("14'2", 170.0),
    ],
)  # fmt: skip
def test_lengths_are_read_as_people_write_them(text, inches):
    assert to_unit(read_length(text, "in"), "in") == pytest.approx(inches, abs=5e-7)


@pytest.mark.parametrize(
    "text",
    ["5-3", "5 3", "14.2'", "3-1/2'", "5.1/2", "5,5", "1,220", "5 - 1/2", "1 220", "5 1/2 3/4"],
)
def test_a_text_that_means_two_lengths_is_refused(text):
    error = refusal(read_length, text, "in", "lines[2].coat")
    assert (error.code, error.where) == ("length-ambiguous", "lines[2].coat")
    assert "write" in error.message


@pytest.mark.parametrize(
    "text",
    ["", "five", "5 furlongs", "5..2", "5.", "1/0", "5 9/8", "14'-2 9/8\"", "1e3", "NaN", "inf", "5 m 3", "'", "٣",
     "14' 13\"", "9" * 50, True, None, [5], float("nan"), float("inf"), Decimal("1e-9999")],
)  # fmt: skip
def test_what_is_no_length_is_refused(text):
    assert refusal(read_length, text, "in").code == "length"


@pytest.mark.parametrize(("value", "code"), [
    ("-5", "length-negative"), ("−5", "length-negative"), (-0.5, "length-negative"), ("11 000 m", "length"),
    ("11000 m", "length-range"), (1e12, "length-range"),
])  # fmt: skip
def test_a_length_below_nothing_or_beyond_reason_is_refused(value, code):
    assert refusal(read_length, value, "mm").code == code


def test_nothing_is_refused_only_where_a_size_is_needed():
    assert read_length("0", "in") == 0
    with pytest.raises(CutsheetError) as caught:
        read_length(0, "in", zero_ok=False)
    assert caught.value.code == "length-zero"


def test_a_bare_fraction_in_a_mm_file_is_asked_about():
    assert refusal(read_length, "5 1/2", "mm").code == "length-ambiguous"
    assert read_length('5 1/2"', "mm") == Decimal("139.7")
    assert read_length("14'-2", "mm") == Decimal("4318")


def test_inch_and_millimetre_are_exact():
    # U1-U4: International Yard and Pound Agreement 1959; NIST Handbook 44 App. C; NIST SP 811 App. B
    assert read_length(1, "in") == Decimal("25.4")
    assert read_length("5.5", "in") == Decimal("139.7")
    assert to_unit(2400, "in") == pytest.approx(94.488189, abs=5e-7)
    assert float(units.MM_PER_FOOT) ** 3 == pytest.approx(28316846.592)
    assert read_length("1/64", "in") == Decimal("0.396875")
    assert read_length("0.001", "mm") == Decimal("0.001")


def test_pound_and_board_foot():
    # U5: lb = 0.45359237 kg, 1959 agreement (memory); U7: board foot of PS 20 (memory); U8: arithmetic
    assert float(read_density(1, "in")) == pytest.approx(16.018463, abs=1e-6)
    assert units.board_feet(304.8**3) == pytest.approx(12)
    assert float(units.MM3_PER_BOARD_FOOT) / 1e9 == pytest.approx(0.00235974, abs=1e-8)
    assert units.board_feet(48 * 48 * 96 * 25.4**3) == pytest.approx(1536)
    assert units.pounds(0.45359237) == pytest.approx(1)
    assert units.square_feet(304.8**2) == pytest.approx(1)


def test_rounding_to_a_sixteenth_takes_a_tie_up_and_a_blank_always_up():
    # U10: shops round half up; ASTM E29 (half to even) differs on the tie, and is not what is wanted here
    values = [2.71875, 2.84375, 5.695436, 1.605078]
    assert [say(v * 25.4, "in") for v in values] == ["2-3/4", "2-7/8", "5-11/16", "1-5/8"]
    assert [say(v * 25.4, "in", "up") for v in values[2:]] == ["5-3/4", "1-5/8"]
    assert say(2.78125 * 25.4, "in") == "2-13/16"
    assert Decimal("44.5").to_integral_value(ROUND_HALF_EVEN) == 44  # 2.78125 in sixteenths, by E29: 2-3/4


def test_pieces_are_added_exactly_and_rounded_once():
    # U11: arithmetic; rounding each piece first is the trap
    total = 2 * read_length("2-13/16", "in") + read_length("3/8", "in")
    assert say_exact(total, "in") == "6"


def test_lengths_are_written_as_the_shop_writes_them():
    assert (say(285.75, "in"), say(285.75, "mm"), say(285.04, "mm"), say(0, "in")) == ("11-1/4", "285.8", "285", "0")
    assert (say_feet(42 * 304.8), say_feet(Decimal("13252.45"))) == ("42' 0\"", "43' 5-3/4\"")
    assert say_feet(11.99 * 25.4) == "1' 0\""
    assert (say(-3.175, "in"), say(-0.01, "in"), say(-3.14, "mm", "up")) == ("-1/8", "0", "-3.1")


def test_whole_micrometres_go_up_for_blanks_and_down_for_blocks():
    assert (units.um_up(0.1 + 0.2), units.um_down(0.7 + 0.1)) == (300, 800)  # float noise, both ways
    assert units.um_up(241.30000000000001) == 241300
    assert (units.um_up(Decimal("0.396875")), units.um_down(Decimal("0.396875"))) == (397, 396)


@given(st.integers(1, 9999))
def test_a_sixteenth_kept_in_whole_micrometres_is_still_called_by_its_name(sixteenths):
    mm = sixteenths * 25.4 / 16
    assert say(units.um_up(mm) / 1000, "in", "up") == say(units.um_down(mm) / 1000, "in", "down") == say(mm, "in")


@given(kept, unit)
def test_what_was_stored_is_read_back_the_same_in_either_unit(mm, there):
    assert read_length(say_exact(mm, there), there) == mm
    assert read_length(to_unit(mm, there), there) == mm


@given(st.integers(0, 9999), st.integers(0, 63), st.sampled_from([2, 4, 8, 16, 32, 64]))
def test_every_tape_fraction_survives_typing_and_reading_back(whole, top, bottom):
    text = say_exact(float(Fraction(whole) + Fraction(top % bottom, bottom)) * 25.4, "in")
    assert "." not in text
    assert read_length(text, "in") * bottom / units.MM_PER_INCH == whole * bottom + top % bottom


@given(kept, st.sampled_from([8, 16, 32, 64]))
def test_rounding_up_and_down_enclose_the_length(mm, denominator):
    up, nearest, down = (units.fraction(mm, denominator, way) for way in ("up", "nearest", "down"))
    low, middle, high = (Fraction(w) + Fraction(n, d) for w, n, d in (down, nearest, up))
    no_tape = Fraction(units.NO_TAPE)
    assert low * Fraction(units.MM_PER_INCH) - no_tape <= Fraction(mm) <= high * Fraction(units.MM_PER_INCH) + no_tape
    assert middle in (low, high)
    assert high - low <= Fraction(1, denominator)


@given(st.text(max_size=30) | st.text("0123456789 /-.'\"ftinm½,′", max_size=12), unit)
def test_any_text_is_read_or_refused_but_never_breaks_the_reader(text, there):
    with suppress(CutsheetError):
        assert 0 <= read_length(text, there) <= units.LONGEST


def test_angles_densities_and_counts_are_read_strictly():
    assert (read_angle("22 1/2°"), read_angle(90), read_angle("-3 deg")) == (22.5, 90.0, -3.0)
    assert [refusal(read_angle, bad).code for bad in ("90,5", 361, "right", True, "1/0")] == ["angle"] * 5
    assert (read_density("1.0 pcf", "mm"), read_density(16, "mm")) == (units.KG_M3_PER_PCF, 16)
    assert [refusal(read_density, bad, "in").code for bad in (0, "-1", "heavy", None, 1e9)] == ["density"] * 5
    assert (read_count(3), read_count("40"), read_count(2.0)) == (3, 40, 2)
    assert [refusal(read_count, bad).code for bad in (0, -1, 2.5, "many", True, 10**9)] == ["count"] * 6
