"""Codes on paper: what is printed reads back, and no slip of a finger reads as another sheet."""

import re
import string

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cutsheets.codes import (
    ALPHABET,
    LETTERS,
    OrderCode,
    PlanCode,
    ProfileCode,
    StockCode,
    check_character,
    make_badge_code,
    make_bundle_code,
    make_code,
    make_plan_code,
    make_profile_code,
    make_sheet_code,
    make_stock_code,
    read_code,
    revision_letter,
    shown,
)
from cutsheets.errors import CutsheetError

SAMPLES = [
    make_sheet_code(4182, "C"),
    make_sheet_code(7, "A"),
    make_sheet_code(1104182, "BD"),
    make_sheet_code(4182, "C", 2),
    make_sheet_code(4183, "AB", 117),
    make_plan_code(118, 1),
    make_plan_code(55, 12),
    make_stock_code("block", 2207),
    make_stock_code("remnant", 231),
    make_profile_code(14, "B"),
    make_profile_code(3, "AC"),
    make_bundle_code(4182, "C", 3),
    make_bundle_code(104182, "BD", 117),
    make_badge_code("7K2M9XHD"),
    make_badge_code("NBPRKYAB"),
]


def refusal(text):
    with pytest.raises(CutsheetError) as caught:
        read_code(text)
    return caught.value.code


def is_refused(text):
    return refusal(text) in {"code-damaged", "code-unknown-form"}


def test_the_alphabet_leaves_out_what_is_misread():
    assert len(ALPHABET) == 31
    assert not set("IOQSZ") & set(ALPHABET)


def test_three_is_a_primitive_root_of_31():
    """What the swap guarantee rests on: the first thirty powers are all different."""
    assert len({pow(3, k, 31) for k in range(30)}) == 30


@pytest.mark.parametrize("code", SAMPLES)
def test_the_sum_over_the_whole_code_is_one(code):
    """ISO/IEC 7064, pure systems: sum of a(i)·r^(i-1) from the right = 1 modulo M (formula from memory)."""
    values = [5 if c == "S" else ALPHABET.index(c) for c in reversed(code)]
    assert sum(value * 3**i for i, value in enumerate(values)) % 31 == 1


@pytest.mark.parametrize("code", SAMPLES)
def test_every_single_wrong_character_is_refused(code):
    for place, right in enumerate(code):
        for wrong in string.digits + string.ascii_uppercase:
            if wrong != right:
                assert is_refused(code[:place] + wrong + code[place + 1 :])


@pytest.mark.parametrize("code", SAMPLES)
def test_every_swap_of_two_characters_is_refused(code):
    for i in range(len(code)):
        for j in range(i):
            if code[i] != code[j]:
                swapped = list(code)
                swapped[i], swapped[j] = swapped[j], swapped[i]
                assert is_refused("".join(swapped))


def test_every_single_slip_in_a_thousand_orders_is_refused():
    for number in range(4000, 5000):
        code = make_sheet_code(number, "C")
        for place in range(2, len(code)):
            slips = (code[:place] + wrong + code[place + 1 :] for wrong in ALPHABET if wrong != code[place])
            assert all(is_refused(slip) for slip in slips)


@given(st.integers(0, 10**9), st.integers(1, 21 + 21**2))
def test_what_is_printed_reads_back(number, sheet):
    letter = revision_letter(sheet)
    assert read_code(make_sheet_code(number, letter)) == OrderCode(number, letter)


@given(st.integers(0, 10**9), st.integers(1, 21 + 21**2), st.integers(1, 10**6))
def test_sheets_of_a_line_and_of_a_profile_read_back(number, sheet, line):
    letter = revision_letter(sheet)
    assert read_code(make_sheet_code(number, letter, line)) == OrderCode(number, letter, line)
    assert read_code(make_profile_code(number, letter)) == ProfileCode(number, letter)


@pytest.mark.parametrize("line", [0, -1])
def test_a_line_is_counted_from_one(line):
    with pytest.raises(CutsheetError) as caught:
        make_sheet_code(4182, "C", line)
    assert caught.value.code == "code-unknown-form"


def test_a_lost_end_is_caught_in_about_thirty_cases_of_thirty_one():
    """The code of a line shortened may spell another line: a check of one character lets 1 in 31 through."""
    shortened = [make_sheet_code(4182, "C", line)[:-1] for line in range(1, 1000)]
    assert sum(code[-1] == check_character(code[:-1]) for code in shortened) < 2 * 1000 / 31


@given(st.integers(0, 10**9), st.integers(1, 999), st.sampled_from(["block", "remnant"]))
def test_plans_and_tags_read_back(number, page, kind):
    assert read_code(make_plan_code(number, page)) == PlanCode(number, page)
    assert read_code(make_stock_code(kind, number)) == StockCode(kind, number)


@given(st.text(max_size=60))
def test_rubbish_never_reads_as_a_code_that_it_does_not_spell(text):
    try:
        found = read_code(text)
    except CutsheetError:
        return
    assert make_code(found) == re.sub(r"[\s-]", "", text).upper()


@pytest.mark.parametrize(
    "typed", ["by4182cu", " BY 4182 C U ", "BY-4182-C-U", "]C0BY4182CU", "]C1BY4182CU\r\n", "C0by4182cu"]
)
def test_the_ways_a_code_arrives_from_a_scanner_or_a_hand(typed):
    assert read_code(typed) == OrderCode(4182, "C")


@pytest.mark.parametrize("other", ["BY4183CH", "BK2207X", "BR0231G", "BY41", "BN7K2M9XHD1", "BS118P17BP14BK"])
def test_of_two_codes_in_one_text_neither_is_taken(other):
    """In either order, with a prefix between them, and where one of them is only the half."""
    assert read_code("BY4182CU")
    for text in (f"BY4182CU{other}", f"{other}BY4182CU", f"]C0BY4182CU]C0{other}", f"BY4182CU {other}".lower()):
        assert refusal(text) == "code-together"


@pytest.mark.parametrize("code", SAMPLES)
def test_a_code_read_twice_in_one_breath_is_that_code(code):
    assert read_code(code + code) == read_code(code)
    assert read_code(f"]C0{code}]C0{code}") == read_code(code)


def test_a_badge_is_not_shown_where_it_ran_together_with_a_sheet():
    for text in ("BY4182CUBN7K2M9XHD1", "BN7K2M9XHD1BY4182CU", "BY4182CU]C0bn7k2m9x"):
        assert "7k2" not in shown(text).lower()


@pytest.mark.parametrize("text", ["", "4182", "https://example.org", "0 12345 67890 5", "BD0044K", "BY", "X" * 500])
def test_what_is_no_code_of_ours_has_its_own_refusal(text):
    assert refusal(text) == "code-unknown-form"


@pytest.mark.parametrize("text", ["BY4182C", "BY4182", "BY4I82CU", "BY04182CU", "BY4182CU7", "BYC4182U", "BS118P1"])
def test_a_damaged_code_of_ours_is_called_damaged(text):
    assert refusal(text) == "code-damaged"


def test_a_zero_too_many_is_refused_even_with_a_right_check_character():
    endings = ("BY04182C" + check for check in ALPHABET)
    assert all(refusal(code) == "code-damaged" for code in endings)


def test_sheet_letters_go_on_after_the_last_letter():
    assert "".join(revision_letter(n) for n in range(1, 22)) == LETTERS
    assert [revision_letter(n) for n in (22, 42, 43, 21 + 21**2 + 1)] == ["AA", "AY", "BA", "AAA"]


def test_a_sheet_letter_that_is_not_printed_cannot_be_made():
    for letter in ("O", "c", "", "1"):
        with pytest.raises(CutsheetError) as caught:
            make_sheet_code(4182, letter)
        assert caught.value.code == "code-unknown-form"


@pytest.mark.parametrize("slip", ["", "7", "K2M9XHD1", "7K2M9XHD11", "7K2M9XHE1"])
def test_a_badge_is_never_shown_not_even_a_damaged_one(slip):
    text = f"bn-{slip}"
    assert shown(text) == "BN…"
    with pytest.raises(CutsheetError) as caught:
        read_code(text)
    assert "BN…" in caught.value.message
    assert slip not in caught.value.message or not slip


def test_what_is_no_badge_is_shown_as_it_was_read():
    assert shown(" by 4182-cx ") == "by 4182-cx"
