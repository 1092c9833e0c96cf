"""Parts that are no sticks on the traveller: blanks above the fold, foam, hands and figures below it."""

from dataclasses import replace

import pytest

from cutsheets.sheets.traveller import traveller_pdf
from tests.cutsheets.kind_jobs import work
from tests.cutsheets.paper_reader import document, ink_box, letters, words
from tests.cutsheets.paper_samples import CORNICE_LINE, SHEET

CLEAR = 4.5 * 72 / 25.4
COLUMN = {"kind": "column", "regular": {"sides": 6, "across_flats": 12}, "height": 84, "staves": {"thick": 1.25}}
TWISTED = {"kind": "twisted", "square": 6, "length": 60, "turns": 0.5, "hand": "pair", "qty": 3}
WING = {
    "kind": "wing", "root": {"naca": "0012", "chord": 220}, "tip": {"naca": "0012", "chord": 150}, "span": 700,
    "sweep": 40, "towers": {"gap": 1300, "root_offset": 150}, "stations": [0.3, 0.5, 0.7],
    "margin": {"ahead": 8, "behind": 8, "above": 5, "below": 5},
}  # fmt: skip
MOULD = {"kind": "mould", "cavity": [24, 14, 12], "draft": 3, "piece": [28, 18, 15], "wall": 4, "floor": 4}
ARCH = {"kind": "arch", "inside_radius": 24, "sweep": 180, "width": 4, "thick": 2, "longest_part": 36, "qty": 40}
TURNED = {"kind": "turned", "half_profile": [[0, 3], [1, 3], [4, 1.5], [9, 0.5]], "stub": {"base": 1.5}}
LETTERS = {"kind": "cutout", "text": "LIBRARY", "font": "SignSerif-Bold.ttf", "cap_height": 12, "thick": 3, "gap": 0.5}
LINES = {"column": COLUMN, "twisted": TWISTED, "mould": MOULD, "arch": ARCH, "turned": TURNED, "cutout": LETTERS}


def sheet(unit="in", **line):
    """The traveller of one line, as bytes."""
    one = replace(CORNICE_LINE, worked=work(unit, **line), profile="", note="")
    return traveller_pdf(replace(SHEET, unit=unit, lines=(one,)))


def halves(data):
    return "".join(words(data, "upper")), "".join(words(data, "lower"))


@pytest.mark.parametrize("line", [*LINES.values(), WING], ids=[*LINES, "wing"])
def test_every_kind_stays_on_the_paper_in_letters_that_can_be_read(line):
    data = sheet("mm" if line is WING else "in", **line)
    assert all(min(ink_box(page, 50)) >= CLEAR - 1.5 for page in document(data))
    assert all(size >= 8.98 for size, _ in letters(data))


def test_a_blank_stands_above_the_fold_and_a_finished_size_nowhere_but_in_its_sentence():
    upper, lower = halves(sheet(**COLUMN, coat="1/8"))
    assert "85" in upper
    assert "bevel" in lower
    assert lower.count("6 15 16") == 0  # the finished side of a stave, 6.928 in


def test_left_and_right_parts_are_rows_of_their_own():
    lower = halves(sheet(**TWISTED))[1]
    assert "RIGHT" in lower
    assert "LEFT" in lower


def test_the_wire_positions_of_every_station_are_printed():
    lower = halves(sheet("mm", **WING))[1]
    assert all(f"chord 0.{share}00" in lower for share in (3, 5, 7))
    assert lower.count("right tower") >= 3


def test_lift_and_pressure_of_a_mould_are_printed_with_who_must_check_them():
    lower = halves(sheet(**MOULD))[1]
    assert "lbf" in lower
    assert "psi" in lower
    assert "have it checked" in lower.replace("\r\n", " ").replace("\n", " ")
