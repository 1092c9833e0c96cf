"""Lengths as people write them, read once into exact millimetres, and written back as people read them.

The core has one unit: the millimetre, as a Decimal with six places, so that 1/64 in (0.396875 mm) and 0.001 mm are
both exact. 1 in = 25.4 mm exactly: International Yard and Pound Agreement, 1959; NIST Handbook 44, Appendix C.

The reader never guesses. A text that could mean two sizes is refused, with the two ways to write it.
"""

from __future__ import annotations

import math
import re
import unicodedata
from decimal import ROUND_CEILING, ROUND_FLOOR, ROUND_HALF_UP, Decimal
from fractions import Fraction
from typing import Literal

from cutsheets.errors import CutsheetError

Unit = Literal["in", "mm"]
Rounding = Literal["nearest", "up", "down"]

MM_PER_INCH = Decimal("25.4")  # 1959 agreement, exact
MM_PER_FOOT = Decimal("304.8")
MM3_PER_CUBIC_INCH = MM_PER_INCH**3  # 16387.064
MM2_PER_SQUARE_FOOT = MM_PER_FOOT**2  # 92903.04
MM3_PER_BOARD_FOOT = 144 * MM3_PER_CUBIC_INCH  # 144 in3: board foot of PS 20, taken over by the foam trade (memory)
KG_PER_POUND = Decimal("0.45359237")  # 1959 agreement, exact
KG_M3_PER_PCF = Decimal("16.01846337396")  # 0.45359237 / 0.3048^3

PLACES = Decimal("0.000001")  # of a millimetre: the finest length that is kept
LONGEST = Decimal(10_000_000)  # 10 km: no shop's part; keeps nonsense out of every later sum
LONGEST_TEXT = 40
# Stock and blanks are kept in whole micrometres, so they lie a little off their sixteenth; rounding up or down forgives
# what no tape shows, lest a blank of 2 15/16 is called 3 and a block of 48 15/16 is called 48 7/8.
NO_TAPE = Decimal("0.016")  # mm
MOST = 1_000_000  # a count above this is a slip of the finger

_NUMBER = r"(?:\d+(?:-| +))?\d+/\d+|\d+\.\d+|\.\d+|\d+"
_FOOT = r"'|ft\.?|feet|foot"
_INCH = r"\"|in\.?|inches|inch"
_UNIT_MM = {
    **dict.fromkeys(("'", "ft", "ft.", "feet", "foot"), MM_PER_FOOT),
    **dict.fromkeys(('"', "in", "in.", "inches", "inch"), MM_PER_INCH),
    "mm": Decimal(1),
    "cm": Decimal(10),
    "m": Decimal(1000),
}
_ONE = re.compile(rf"({_NUMBER}) *({_FOOT}|{_INCH}|mm|cm|m)?", re.ASCII)
_FEET_INCHES = re.compile(rf"(\d+) *(?:{_FOOT}) *-? *({_NUMBER}) *(?:{_INCH})?", re.ASCII)
_TYPOGRAPHIC = str.maketrans("′’‘″”“–‑−⁄\u00a0\u202f\u2009", "'''\"\"\"---/   ")
_HOW = {"in": "5 1/2, 5.5, 14'-2\" or 1220 mm", "mm": "140, 139.7, 14 cm or 5 1/2 in"}


def read_length(value: str | int | float | Decimal, unit: Unit, where: str = "", *, zero_ok: bool = True) -> Decimal:
    r"""Return a length in exact millimetres; `unit` governs numbers that carry none of their own.

    Raises CutsheetError: `length` (no length), `length-ambiguous` (means two sizes), `length-negative`,
    `length-zero`, `length-range`.

    >>> [str(read_length(text, "in")) for text in ("5-1/2", "14'-2 3/8\"", "1220 mm", 5.12, "14.2 ft")]
    ['139.700000', '4327.525000', '1220.000000', '130.048000', '4328.160000']
    """
    exact = _text_mm(value, unit, where) if isinstance(value, str) else _number(value, where) * _unit_mm(unit)
    if exact < 0:
        raise CutsheetError("length-negative", f"{value} is less than nothing; a length is 0 or more.", where)
    if exact > LONGEST:
        raise CutsheetError("length-range", f"{_quote(value)} is longer than 10 km; check the number.", where)
    # through Fraction, so that 1/3 in and 5.12 in are both rounded once only, at the sixth place of a millimetre
    mm = round(exact / Fraction(PLACES)) * PLACES
    if not mm and not zero_ok:
        raise CutsheetError("length-zero", "This length must be more than 0.", where)
    return mm


def read_coordinate(value: str | int | float | Decimal, unit: Unit, where: str = "") -> Decimal:
    """Return a place on a drawing in exact millimetres: read as a length is, but it may lie below the origin.

    >>> read_coordinate("-1/2", "in"), read_coordinate(-2, "mm")
    (Decimal('-12.700000'), Decimal('-2.000000'))
    """
    if isinstance(value, str):
        text = value.strip().replace("−", "-")
        below, size = text.startswith("-"), text.removeprefix("-")
        return -read_length(size, unit, where) if below else read_length(value, unit, where)
    number = _decimal(value, where, "length")
    return read_length(number.copy_abs(), unit, where).copy_sign(number)


def read_angle(value: str | int | float | Decimal, where: str = "") -> float:
    """Return an angle in degrees, -360 to 360; raises CutsheetError `angle`.

    >>> read_angle("22 1/2"), read_angle("45°"), read_angle(-3)
    (22.5, 45.0, -3.0)
    """
    if isinstance(value, str):
        text = re.sub(r" *(°|deg|degrees)$", "", value.strip().lower())
        sign, text = (-1, text[1:]) if text.startswith("-") else (1, text)
        found = re.fullmatch(_NUMBER, text, re.ASCII) if len(text) <= LONGEST_TEXT else None
        degrees = sign * _plain(text) if found and not text.endswith("/0") else Fraction(1000)
    else:
        degrees = _number(value, where, "angle")
    if abs(degrees) > 360:
        raise CutsheetError("angle", f"{_quote(value)} is not an angle in degrees; write 45 or 22.5.", where)
    return float(degrees)


def read_number(value: str | int | float | Decimal, where: str = "") -> float:
    """Return a plain number from 0 up, a fraction too; raises CutsheetError `number`.

    >>> read_number("1/2"), read_number("1 1/4"), read_number(0.75)
    (0.5, 1.25, 0.75)
    """
    number = Fraction(-1)
    if not isinstance(value, str):
        number = _number(value, where, "number")
    elif len(value) <= LONGEST_TEXT and "/0" not in value and re.fullmatch(_NUMBER, value.strip(), re.ASCII):
        number = _plain(value.strip())
    if number < 0:
        raise CutsheetError("number", f"{_quote(value)} is not a number for this; write 0.5, 1/2 or 1 1/2.", where)
    return float(number)


def read_density(value: str | int | float | Decimal, unit: Unit, where: str = "") -> Decimal:
    """Return a density in kg/m³; a bare number is lb/ft³ where `unit` is inches. Raises CutsheetError `density`.

    >>> read_density(1, "in"), read_density("16 kg/m3", "in")
    (Decimal('16.01846337396'), Decimal('16'))
    """
    factor = KG_M3_PER_PCF if unit == "in" else Decimal(1)
    if isinstance(value, str):
        found = re.fullmatch(r"(\d+\.\d+|\.\d+|\d+) *(pcf|lb/ft[3³]|kg/m[3³])?", value.strip().lower()[:LONGEST_TEXT])
        number = Decimal(found[1]) if found else Decimal(0)
        if found and found[2]:
            factor = Decimal(1) if found[2].startswith("kg") else KG_M3_PER_PCF
    else:
        number = _decimal(value, where, "density")
    density = number * factor
    if not 0 < density <= 10_000:
        raise CutsheetError("density", f"{_quote(value)} is not a density; write 1.0 pcf or 16 kg/m3.", where)
    return density


def read_count(value: str | int | float | Decimal, where: str = "") -> int:
    """Return a whole number, at least 1; raises CutsheetError `count`."""
    text = str(value).strip()
    if not isinstance(value, bool) and re.fullmatch(r"\d{1,7}(\.0)?", text, re.ASCII) and 1 <= float(text) <= MOST:
        return int(float(text))
    raise CutsheetError("count", f"{_quote(value)} is not a count; write a whole number from 1.", where)


def to_unit(mm: float | Decimal, unit: Unit) -> float:
    """Return a plain number in `unit`, clean of float noise and fine enough to be read back to the same length.

    >>> to_unit(Decimal("139.7"), "in"), to_unit(241.30000000000001, "mm")
    (5.5, 241.3)
    """
    return round(float(mm) / 25.4, 9) if unit == "in" else round(float(mm), 6)


def to_area(mm2: float, unit: Unit) -> float:
    """Return an area in `unit` squared."""
    return mm2 / 25.4**2 if unit == "in" else mm2


def to_volume(mm3: float, unit: Unit) -> float:
    """Return a volume in `unit` cubed."""
    return mm3 / 25.4**3 if unit == "in" else mm3


def to_mass(kg: float, unit: Unit) -> float:
    """Return a mass in pounds beside inches, in kilograms beside millimetres."""
    return pounds(kg) if unit == "in" else kg


def names_unit(value: object) -> bool:
    """Return whether a length carries its own unit or mark, so that nobody can have mistaken the unit of the field."""
    return isinstance(value, str) and any(sign.isalpha() or sign in "'\"′″’”" for sign in value)


def um_up(mm: float | Decimal) -> int:
    """Return whole micrometres, rounded up (blanks); a nanometre of float noise does not count.

    >>> um_up(241.30000000000001), um_up(241.3002)
    (241300, 241301)
    """
    return math.ceil(float(mm) * 1000 - 0.001)


def um_down(mm: float | Decimal) -> int:
    """Return whole micrometres, rounded down (blocks); a nanometre of float noise does not count."""
    return math.floor(float(mm) * 1000 + 0.001)


def fraction(mm: float | Decimal, denominator: int = 16, rounding: Rounding = "nearest") -> tuple[int, int, int]:
    """Return inches as whole, numerator, denominator, reduced; `nearest` takes a tie up, as shops do.

    >>> fraction(285.75), fraction(25.4), fraction(Decimal("69.05625"))
    ((11, 1, 4), (1, 0, 1), (2, 3, 4))
    """
    parts = _steps(_tidy(mm), MM_PER_INCH / denominator, rounding)
    whole, rest = divmod(parts, denominator)
    reduced = Fraction(rest, denominator)
    return whole, reduced.numerator, reduced.denominator


def say(mm: float | Decimal, unit: Unit, rounding: Rounding = "nearest", denominator: int = 16) -> str:
    """Return a length as the shop writes it, without the unit: inches and a fraction, or millimetres to 0.1.

    >>> say(285.75, "in"), say(285.75, "mm"), say(3.175, "in"), say(-3.175, "in"), say(120, "mm")
    ('11-1/4', '285.8', '1/8', '-1/8', '120')
    """
    if mm < 0:
        other: dict[Rounding, Rounding] = {"up": "down", "down": "up", "nearest": "nearest"}
        positive = say(-mm, unit, other[rounding], denominator)
        return positive if positive == "0" else f"-{positive}"
    if unit == "mm":
        return _strip(Decimal(_steps(_tidy(mm), Decimal("0.1"), rounding)) / 10)
    return _mixed(*fraction(mm, denominator, rounding))


def say_feet(mm: float | Decimal, rounding: Rounding = "nearest", denominator: int = 16) -> str:
    r"""Return a length in feet and inches.

    >>> say_feet(12801.6), say_feet(Decimal("13252.45")), say_feet(100)
    ('42\' 0"', '43\' 5-3/4"', '0\' 3-15/16"')
    """
    whole, top, bottom = fraction(mm, denominator, rounding)
    feet, inches = divmod(whole, 12)
    return f"{feet}' {_mixed(inches, top, bottom)}\""


def say_exact(mm: float | Decimal, unit: Unit) -> str:
    """Return a text that reads back to the same length: a fraction to 1/64 where that is exact, else decimals.

    >>> say_exact(Decimal("0.396875"), "in"), say_exact(Decimal("130.048"), "in"), say_exact(139.7, "mm")
    ('1/64', '5.12', '139.7')
    """
    kept = _tidy(mm)
    if unit == "mm":
        return _strip(kept)
    inches = kept / MM_PER_INCH
    if inches * 64 == int(inches * 64):
        return _mixed(*fraction(kept, 64))
    for places in range(1, 9):
        text = _strip(round(inches, places))
        if read_length(text, "in") == kept:
            return text
    return _strip(round(inches, 9))


def board_feet(mm3: float) -> float:
    """Return board feet (144 in³).

    >>> round(board_feet(48 * 48 * 96 * 25.4**3), 6)
    1536.0
    """
    return mm3 / float(MM3_PER_BOARD_FOOT)


def pounds(kg: float) -> float:
    """Return pounds (0.45359237 kg)."""
    return kg / float(KG_PER_POUND)


def square_feet(mm2: float) -> float:
    """Return square feet."""
    return mm2 / float(MM2_PER_SQUARE_FOOT)


def _text_mm(value: str, unit: Unit, where: str) -> Fraction:
    """Return what a text means, in millimetres."""
    text = _normal(value)
    refused = CutsheetError("length", f"{_quote(value)} is not a length; write {_HOW[unit]}.", where)
    improper = re.search(r"\d[- ]+(\d+)/(\d+)", text)
    if len(text) > LONGEST_TEXT or "/0" in text or (improper and int(improper[1]) >= int(improper[2])):
        raise refused
    if found := _FEET_INCHES.fullmatch(text):
        inches = _plain(found[2])
        if inches >= 12:
            raise CutsheetError(
                "length", f"{_quote(value)} has 12 inches or more after the feet; write feet and 0 to 11 inches.", where
            )
        return int(found[1]) * Fraction(MM_PER_FOOT) + inches * Fraction(MM_PER_INCH)
    found = _ONE.fullmatch(text)
    if not found:
        raise _two_meanings(value, text, where) or refused
    number, own = found[1], found[2]
    if own == "'" and not number.isdigit():
        raise CutsheetError(
            "length-ambiguous",
            f"{_quote(value)} means two lengths; write {number} ft, or feet and inches as in 14'-2\".",
            where,
        )
    if unit == "mm" and not own and "/" in number:
        raise CutsheetError(
            "length-ambiguous", f"{_quote(value)} looks like inches in a mm field; write {number} in, or 139.7.", where
        )
    return _plain(number) * (Fraction(_UNIT_MM[own]) if own else _unit_mm(unit))


def _two_meanings(value: str, text: str, where: str) -> CutsheetError | None:
    """Return the refusal of a text that people use for two different lengths, or None."""
    if text.startswith("-"):
        return CutsheetError("length-negative", f"{_quote(value)} is less than nothing; a length is 0 or more.", where)
    if "," in text:
        return CutsheetError(
            "length-ambiguous",
            f"{_quote(value)} has a comma, which means two things; write 1220 or 1.22, with a point for decimals.",
            where,
        )
    if re.search(r"\.\d+/", text):
        return CutsheetError(
            "length-ambiguous", f"{_quote(value)} mixes a decimal and a fraction; write 5 1/2 or 5.5.", where
        )
    if re.fullmatch(r"\d+ *[- ] *\d[\d ./'\"-]*", text):
        return CutsheetError(
            "length-ambiguous", f"{_quote(value)} means two lengths; write 5'-3\" (feet and inches) or 5 1/2.", where
        )
    return None


def _normal(value: str) -> str:
    """Return the text in plain ASCII marks: ′ ″ ½ and long dashes as typists' keyboards have them."""
    plain = "".join(_vulgar(sign) for sign in value.translate(_TYPOGRAPHIC))
    return re.sub(r" +", " ", plain.replace("''", '"')).strip().lower()


def _vulgar(sign: str) -> str:
    """Return ½ as " 1/2", any other sign unchanged."""
    if unicodedata.decomposition(sign).startswith("<fraction>"):
        return " " + unicodedata.normalize("NFKC", sign).replace("⁄", "/")
    return sign


def _plain(number: str) -> Fraction:
    """Return the value of a number that matched `_NUMBER`: 5, 5.5, 11/2, 5 1/2 or 5-1/2."""
    return sum((Fraction(part) for part in re.split(r"[- ]+", number)), Fraction(0))


def _number(value: object, where: str, code: str = "length") -> Fraction:
    return Fraction(_decimal(value, where, code))


def _decimal(value: object, where: str, code: str) -> Decimal:
    """Return a number of a file exactly as it was written there; anything else is refused with `code`."""
    if isinstance(value, int | float | Decimal) and not isinstance(value, bool):
        number = Decimal(repr(value)) if isinstance(value, float) else Decimal(value)
        if number.is_finite() and -400 < number.adjusted() < 30:  # beyond: slow to compute with, and nobody's length
            return number
    raise CutsheetError(code, f"{_quote(value)} is not a number that can be used here.", where)


def _unit_mm(unit: Unit) -> Fraction:
    return Fraction(MM_PER_INCH) if unit == "in" else Fraction(1)


def _tidy(mm: float | Decimal) -> Decimal:
    """Return millimetres to six places: float noise gone, every kept length unchanged."""
    return (mm if isinstance(mm, Decimal) else Decimal(repr(float(mm)))).quantize(PLACES)


def _steps(mm: Decimal, step: Decimal, rounding: Rounding) -> int:
    """Return how many steps a length is."""
    if rounding == "nearest":
        return int((mm / step).to_integral_value(rounding=ROUND_HALF_UP))
    if rounding == "up":
        return max(0, int(((mm - NO_TAPE) / step).to_integral_value(rounding=ROUND_CEILING)))
    return int(((mm + NO_TAPE) / step).to_integral_value(rounding=ROUND_FLOOR))


def _mixed(whole: int, top: int, bottom: int) -> str:
    if not top:
        return str(whole)
    return f"{whole}-{top}/{bottom}" if whole else f"{top}/{bottom}"


def _strip(number: Decimal) -> str:
    """Return a decimal without trailing zeros and without an exponent."""
    text = f"{number:f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def _quote(value: object) -> str:
    """Return what was typed, in quotation marks, shortened where it is very long."""
    text = str(value)
    return f"“{text[:LONGEST_TEXT]}{'…' if len(text) > LONGEST_TEXT else ''}”"
