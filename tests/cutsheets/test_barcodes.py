"""Bars on paper: right by the symbol's own rule, and read back from a picture of the page."""

import random
from io import BytesIO

import pypdfium2
import pytest
import zxingcpp
from barcode.charsets.code128 import CODES
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import ImageDraw, ImageFilter
from reportlab.pdfgen.canvas import Canvas

from cutsheets.codes import make_plan_code, make_sheet_code, make_stock_code, revision_letter
from cutsheets.errors import CutsheetError
from cutsheets.sheets.barcodes import (
    MODULE,
    MODULES,
    Barcode,
    bars_width,
    draw_barcode,
    least_height,
    module_for,
    modules,
    symbol_width,
)
from tests.cutsheets.bar_grade import grade
from tests.cutsheets.worn_paper import WORN, bars_alone, clean, worn

START = {"A": 103, "B": 104, "C": 105}
# A few symbols of ISO/IEC 15417, Table 1 (from memory); the rest is covered by the decoder below.
START_MODULES = {"A": "11010000100", "B": "11010010000", "C": "11010011100"}
STOP = "1100011101011"


def check_value(start, values):
    """ISO/IEC 15417: start value, then each value times its position from 1, modulo 103."""
    return (START[start] + sum(place * value for place, value in enumerate(values, 1))) % 103


def in_a(text):
    return [ord(c) - 32 for c in text]


def pairs(text):
    return [int(text[i : i + 2]) for i in range(0, len(text), 2)]


@pytest.mark.parametrize(
    ("start", "values", "check"),
    [
        ("A", in_a("PJJ123C"), 54),
        ("A", [*in_a("HI"), 99, *pairs("345678")], 67),
        ("A", in_a("ABCDEF"), 42),
        ("B", [ord(c) - 32 for c in "abcdef"], 97),
        ("C", pairs("345678"), 73),
    ],
)
def test_the_check_rule_gives_the_published_values(start, values, check):
    assert check_value(start, values) == check


def symbol_values(text):
    """Return start value, data values and check value of the symbol that is printed."""
    dark = modules(text)
    assert dark.endswith(STOP)
    body = dark[: -len(STOP)]
    return [CODES.index(body[i : i + 11]) for i in range(0, len(body), 11)]


@pytest.mark.parametrize(("text", "start", "check"), [("abcdef", "B", 97), ("345678", "C", 73)])
def test_printed_symbols_carry_the_published_check_values(text, start, check):
    values = symbol_values(text)
    assert (values[0], values[-1]) == (START[start], check)


@given(st.integers(0, 99_999_999), st.integers(1, 462))
def test_every_printed_symbol_keeps_the_check_rule(number, sheet):
    start, *values, check = symbol_values(make_sheet_code(number, revision_letter(sheet)))
    assert check == (start + sum(place * value for place, value in enumerate(values, 1))) % 103


def test_the_symbol_of_an_order_begins_and_ends_as_the_standard_says():
    dark = modules("BY4182CU")
    assert dark.startswith(START_MODULES["B"])
    assert dark.endswith(STOP)


def page_with(code, resolution):
    held = BytesIO()
    canvas = Canvas(held, pagesize=(400, 120), invariant=1)
    draw_barcode(canvas, code)
    canvas.save()
    return pypdfium2.PdfDocument(held.getvalue())[0].render(scale=resolution / 72, grayscale=True).to_pil()


PRINTED = [
    make_sheet_code(n, revision_letter(r)) for n, r in ((4182, 3), (1, 1), (99, 9), (104182, 22), (9_999_999, 99))
]
PRINTED += [make_plan_code(118, 1), make_plan_code(9912, 14), make_stock_code("block", 2207)]


@pytest.mark.parametrize("resolution", [203, 300, 600])
@pytest.mark.parametrize("text", PRINTED)
def test_a_printed_code_is_read_back(text, resolution):
    picture = page_with(Barcode(text, 60, 40, 45), resolution).point(lambda grey: 255 * (grey > 127))
    found = zxingcpp.read_barcodes(picture)
    assert [(one.text, one.format) for one in found] == [(text, zxingcpp.BarcodeFormat.Code128)]


@settings(max_examples=30, deadline=None)
@given(st.integers(0, 99_999_999), st.integers(1, 462))
def test_any_order_and_letter_is_read_back(number, sheet):
    text = make_sheet_code(number, revision_letter(sheet))
    assert [one.text for one in zxingcpp.read_barcodes(page_with(Barcode(text, 60, 40, 45), 203))] == [text]


MIL = 0.072  # pt
EVERY = [module for each in MODULES.values() for module in each]
SMALL = MODULES[300][-1]


def test_a_module_is_a_whole_number_of_its_printers_dots_and_no_less_than_its_paper_needs():
    assert pytest.approx(20 * MIL) == MODULE
    assert abs(MODULE / 72 * 203 / 4 - 1) < 0.016  # a page on a printer of 203 dpi
    for dpi, each in MODULES.items():
        for module in each:
            assert module >= 10 * MIL - 1e-9
            assert module / 72 * dpi == pytest.approx(round(module / 72 * dpi))
    assert all(module / 72 * 600 == pytest.approx(round(module / 72 * 600)) for module in MODULES[300])


def test_at_203_dots_an_inch_a_module_is_three_dots_at_least():
    """3 / 203 in are 14.8 mil and 0.375 mm; 2 would be 9.85 mil, less than the 10 that a tag asks for."""
    assert min(MODULES[203]) == pytest.approx(0.375 / 25.4 * 72, rel=0.002)
    assert min(MODULES[203]) == pytest.approx(14.8 * MIL, rel=0.002)


@pytest.mark.parametrize("module", EVERY)
@pytest.mark.parametrize(("text", "count", "quiet"), [("W000123", 90, 110), ("abcdefg", 112, 132)])
def test_a_symbol_is_as_wide_as_its_characters_say(text, count, quiet, module):
    """ISO/IEC 15417: 11 modules a symbol character, 13 the stop, 10 of white on either side (memory)."""
    assert bars_width(text, module) == pytest.approx(count * module)
    assert symbol_width(text, module) == pytest.approx(quiet * module)


def test_a_tag_takes_the_largest_module_that_it_has_room_for():
    wide = symbol_width("BR0231G")
    assert module_for("BR0231G", wide) == MODULE
    assert module_for("BR0231G", wide - 1) == MODULES[300][1]
    assert module_for("BR0231G", wide / 2) == SMALL
    with pytest.raises(CutsheetError) as refused:
        module_for("BR0231G", wide / 2 - 1)
    assert refused.value.code == "barcode-too-wide"
    assert module_for("BR0231G", wide * 0.8, 203) == 3 * 72 / 203
    with pytest.raises(CutsheetError):
        module_for("BR0231G", wide * 0.7, 203)


@pytest.mark.parametrize("module", EVERY)
def test_bars_lie_inside_and_ten_modules_stay_white_on_both_sides(module):
    code = Barcode("BY4182CU", 60, 40, 45, module)
    bars = list(code.bars())
    left, _, right, _ = code.quiet_box
    assert bars[0][0] - left == pytest.approx(10 * module)
    assert right - sum(bars[-1]) == pytest.approx(10 * module)
    assert sum(bars[-1]) - bars[0][0] == pytest.approx(bars_width(code.text, module))


@pytest.mark.parametrize("resolution", [203, 300, 600])
@pytest.mark.parametrize("way", [clean, *WORN], ids=lambda way: way.__name__)
def test_worn_bars_are_read(way, resolution):
    """A fixed part of tests/bench/bench_barcodes.py."""
    chance = random.Random(4182)
    for text, module in (("BY4182CU", MODULE), ("BY104182BDE", MODULE), ("BR0231G", SMALL)):
        picture = worn(way, text, module, resolution, chance)
        assert [one.text for one in zxingcpp.read_barcodes(picture)] == [text]


def test_a_long_code_asks_for_taller_bars():
    assert least_height("BY1") == pytest.approx(10 / 25.4 * 72)
    assert least_height("BY" + "A" * 20) > least_height("BY1")


def test_the_same_bars_twice_are_the_same_bytes():
    assert (
        page_with(Barcode("BY1A0", 60, 40, 45), 100).tobytes() == page_with(Barcode("BY1A0", 60, 40, 45), 100).tobytes()
    )


@pytest.mark.parametrize("resolution", [300, 600])
@pytest.mark.parametrize("module", [MODULE, SMALL])
def test_the_symbol_is_of_the_best_grade(module, resolution):
    """ISO/IEC 15416 (from memory): 3.5 and more is grade A."""
    for text in ("BY4182CU", "BR0231G", "BY104182BDE"):
        assert grade(*bars_alone(text, module, resolution))[0] >= 3.5


def test_a_printer_of_203_dots_an_inch_needs_bars_of_its_own_dots():
    """10 mil are 2.03 of its dots, so that a bar of one module comes out as two or three: read, but of a poor grade."""
    for text in ("BR0231G", "BY104182BDE"):
        assert grade(*bars_alone(text, MODULE, 203))[0] >= 3.0  # a page: 4.06 dots
        assert grade(*bars_alone(text, SMALL, 203))[0] < 2.5
        assert all(grade(*bars_alone(text, module, 203))[0] >= 3.5 for module in MODULES[203])


def test_pale_blurred_and_speckled_bars_get_a_lower_grade():
    """The estimate sees what is wrong: contrast, modulation, defects."""
    bars, module = bars_alone("BY4182CU", MODULE, 600)
    pale = bars.point(lambda value: 105 + value * 45 // 255)
    blurred = bars.filter(ImageFilter.GaussianBlur(0.5 * module))
    specked = bars.copy()
    first = min(left for left in range(bars.width) if bars.getpixel((left, 5)) == 0)
    ImageDraw.Draw(specked).rectangle((first + 0.7 * module, 0, first + 1.1 * module, bars.height), fill=255)
    grades = {name: grade(each, module) for name, each in (("pale", pale), ("blurred", blurred), ("specked", specked))}
    assert all(found < 3 for found, _ in grades.values())
    assert grades["pale"][1][0]["grades"]["contrast"] <= 1
    assert grades["blurred"][1][0]["grades"]["modulation"] <= 2
