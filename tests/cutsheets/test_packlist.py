"""Pack list and packing slip: read back from the file and from pictures of the page."""

import re
from dataclasses import replace

import pytest

from cutsheets.errors import CutsheetError
from cutsheets.sheets.packing import Coat, PackedLine, make_bundles
from cutsheets.sheets.packingslip import PackingSlip, packing_slip_pdf
from cutsheets.sheets.packlist import PackList, pack_list_pdf, say_weight
from tests.cutsheets.kind_jobs import work
from tests.cutsheets.packed_orders import COLUMNS, CORNICE, HEAD, LINES, MANY, PANELS, moulding
from tests.cutsheets.paper_reader import words


def packed(*lines, most=6, **head):
    return " ".join(words(pack_list_pdf(PackList(replace(HEAD, **head), lines, most))))


def slip(*lines, **head):
    return " ".join(words(packing_slip_pdf(PackingSlip(replace(HEAD, **head), lines, 6, "Dale Osgood, 555-0142"))))


def test_every_kind_of_piece_has_a_row_with_count_and_ends():
    text = packed(*MANY)
    for line in MANY:
        for like in line.pieces:
            assert re.search(rf"(?<!\w){like.names} {like.qty} .{{0,20}}{like.ends}", text)
        assert f"{line.qty} pieces, {say_weight(line.kg, 'in')} in all" in text


def test_bundles_add_up_to_the_order():
    text = packed(*LINES)
    bundles = make_bundles(LINES, 6)
    rows = re.findall(rf"(\d+) of {len(bundles)} ([ABC]) (\d+) .{{2,30}}? ([\d.]+) lb", text)
    assert [int(number) for number, *_ in rows] == list(range(1, len(bundles) + 1))
    assert sum(int(pieces) for _, _, pieces, _ in rows) == sum(line.worked.parts for line in LINES)
    total = re.search(r"Bundles: (\d+) bundles, (\d+) pieces, ([\d.]+) lb in all", text)
    assert (int(total[1]), int(total[2])) == (len(bundles), sum(line.worked.parts for line in LINES))
    assert sum(float(weight) for *_, weight in rows) == pytest.approx(float(total[3]), abs=0.05 * len(rows))


def test_the_rule_of_the_bundles_stands_above_them():
    text = packed(*LINES, most=7)
    assert "pieces of one line, at most 7 of them and 50.7 lb, none more than twice as long as another" in text
    assert "not weighed" in text


def test_a_coat_of_unknown_weight_is_not_counted_and_that_is_said():
    text = packed(replace(CORNICE, coat=Coat("", "", 3.175)), PANELS)
    assert "of line A without the coat" in text


def test_a_left_and_a_right_hand_are_told_apart():
    left_and_right = moulding(
        runs=[{"wall": 40, "left": {"outside": 90}, "right": "square"}, {"wall": 40, "left": "square",
               "right": {"outside": 90}}],
    )  # fmt: skip
    text = packed(replace(CORNICE, worked=left_and_right))
    assert "A1 1 44 7 8 mitre 45° outside left, square right" in text
    assert "A2 1 44 7 8 square left, mitre 45° outside right" in text


def test_the_slip_says_what_is_delivered_in_finished_sizes_and_asks_for_a_signature():
    text = slip(*LINES)
    assert "Finished, inches: 5 deep × 7 high" in text
    assert "For the wall front, 42′ 0″." in text
    assert "For the wall porch, 3′ 6″, 2 times." in text
    assert "Ask for Dale Osgood, 555-0142." in text
    for line in LINES:
        assert re.search(rf"\b{line.qty} pieces (Finished[^D]*)?delivered now", text)
    for place in ("received by, name", "signature", "date and time", "missing or damaged", "their order PO 7731"):
        assert place in text


@pytest.mark.parametrize("page", ["letter", "a4"])
def test_four_lines_and_the_signatures_are_one_page(page):
    lines = (CORNICE, COLUMNS, PANELS, PANELS)
    assert len(words(packing_slip_pdf(PackingSlip(HEAD, lines, 6, "Dale Osgood, 555-0142"), page))) == 1


def test_the_slip_knows_no_price_no_foam_size_and_no_blank():
    text = slip(*LINES)
    assert not re.search(r"[$€£]|price|margin|(?<!bare )\bfoam \d|blank", text, re.IGNORECASE)
    foam = CORNICE.worked.foam
    assert (round(foam.width / 25.4, 3), round(foam.height / 25.4, 3)) == (4.875, 6.75)
    assert not re.search(r"4 7 8|6 3 4", text)


def test_the_slip_and_the_pack_list_count_the_same():
    total = r"(\d+) bundles, (\d+) pieces, (?:about )?([\d.]+ lb)"
    assert re.search(total, slip(*LINES)).groups() == re.search(total, packed(*LINES)).groups()


def test_a_metric_order_is_weighed_in_kilograms():
    for text in (packed(COLUMNS, unit="mm"), slip(COLUMNS, unit="mm")):
        assert say_weight(COLUMNS.kg, "mm") in text
        assert " lb" not in text


def test_an_order_without_lines_is_refused():
    for make in (packed, slip):
        with pytest.raises(CutsheetError) as caught:
            make()
        assert caught.value.code == "sheet-empty"


def test_what_is_no_stick_has_its_part_and_not_its_ends_named():
    arch = PackedLine(work(kind="arch", inside_radius=24, sweep=180, width=4, thick=2, longest_part=36), "Arch")
    assert re.search("long point part each packed .* segment", packed(arch))
    assert "long point ends each packed" in packed(CORNICE)
