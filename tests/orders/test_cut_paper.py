"""Cut sheets filled from the rows, and the scan of the line that they are for."""

import pytest

from cutsheets.codes import make_sheet_code
from orders import entry, moves
from orders.batches import draw
from orders.cut_paper import cut_sheets_of
from orders.models import Print
from orders.papers import Paper
from orders.scanning import scan
from shop.models import ShopRules, Station, WireFeed
from shop.refusals import Refused
from tests.cutsheets.paper_reader import codes, document, words


def printed(order, act, mark=""):
    """Return cut sheets as the page of the order prints them."""
    return draw("Cut sheets", [Paper("cut-sheet", order.number, {"mark": mark} if mark else None)], act).pdf


@pytest.fixture
def two_lines(draft, line_data, mina):
    """A released order of two like lines, A and B."""
    entry.save_line(draft, line_data | {"mark": "B", "qty": 3}, mina, version=draft.version)
    draft.refresh_from_db()
    moves.release(draft, mina)
    draft.refresh_from_db()
    return draft


def test_each_line_has_sheets_with_its_own_code(two_lines, mina):
    data = printed(two_lines, mina)
    found = [codes(page, 300)[0].text for page in document(data)]
    assert list(dict.fromkeys(found)) == [make_sheet_code(two_lines.number, "A", n) for n in (1, 2)]


def test_the_prints_of_a_line_are_counted_by_themselves(two_lines, mina):
    printed(two_lines, mina, "B")
    data = printed(two_lines, mina)
    rows = Print.objects.values_list("sheet", "of", "revision", "number")
    assert set(rows) == {("cut-sheet", "line A", 1, 1), ("cut-sheet", "line B", 1, 1), ("cut-sheet", "line B", 1, 2)}
    assert "print 1" in words(data)[0]
    assert "reprint 2" in words(data)[-1]


def test_the_shop_s_feed_and_tolerances_are_on_the_sheet(order, mina):
    line = order.lines.get()
    wire = Station.objects.filter(kind=Station.Kind.CUTTER).first()
    WireFeed.objects.filter(grade=line.grade).delete()
    WireFeed.objects.create(grade=line.grade, station=wire, feed=25.4 * 44)
    ShopRules.current()
    ShopRules.objects.update(length_tolerance=25.4, section_tolerance=0)
    text = " ".join(words(printed(order, mina)))
    assert f"Feed 44 in a minute in Firm 1.5 on {wire}" in text
    stick = float(line.pieces.first().front) / 25.4
    assert f"{stick - 1:.0f}" in text.split("length of A1")[1]


def test_a_line_that_is_not_there_is_refused_and_nothing_kept(order, mina):
    with pytest.raises(Refused) as caught:
        cut_sheets_of(order, mina, "Z")
    assert caught.value.code == "no-line"
    assert not Print.objects.exists()


def test_a_scan_of_a_line_opens_that_line(two_lines, bo, cutter, open_block):
    code = make_sheet_code(two_lines.number, "A", 2)
    saw = scan(code, bo)
    assert (saw.code, saw.details["pick"]) == ("ok", two_lines.lines.get(mark="B").blanks.first().pk)
    open_block(two_lines, bo)
    for line in two_lines.lines.all():
        moves.count_sawn(line.blanks.get(), 1, bo)
    wire = scan(code, cutter)
    assert (wire.code, wire.details["pick"]) == ("ok", two_lines.lines.get(mark="B").pieces.first().pk)


def test_a_line_that_the_order_never_had_is_unknown(order, bo):
    assert scan(make_sheet_code(order.number, "A", 9), bo).code == "unknown"


def test_an_old_sheet_of_a_line_is_refused_with_what_changed(order, line_data, mina, bo):
    order.refresh_from_db()
    entry.save_line(order, line_data | {"qty": 2}, mina, version=order.version, line=order.lines.get())
    answer = scan(make_sheet_code(order.number, "A", 1), bo)
    assert answer.code == "old-sheet"
    assert answer.details["changes"]
