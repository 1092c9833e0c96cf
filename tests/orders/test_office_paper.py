"""Quote, confirmation and the day's foam out of the rows: prices as far as the shop has them, each print kept."""

import re
from datetime import timedelta
from decimal import ROUND_HALF_UP, Decimal

import pypdfium2
import pytest

from cutsheets.solids import Quantities
from orders import entry, moves, office_paper, usage
from orders.models import Order, Print
from orders.pricing import prices
from shop import account
from shop.models import Grade, ShopRules

# NIST SP 811 (2008), Appendix B.8 (memory): one cubic foot is 2.831 684 659 2 E-02 m³, exactly.
M3_PER_FT3 = Decimal("0.028316846592")


def words(pdf):
    return " ".join(" ".join(page.get_textpage().get_text_range() for page in pypdfium2.PdfDocument(pdf)).split())


def quote(order, act):
    return words(office_paper.print_quote(order, act.day + timedelta(days=30), act))


def quantities(*, cubic_feet, hours, coat=0.0):
    volume = float(Decimal(cubic_feet) * M3_PER_FT3 * 10**9)
    return Quantities(
        core_volume=0.0, blank_volume=volume, core_mass=0.0, coat_area=coat, wire_length=0.0, wire_minutes=60 * hours,
    )  # fmt: skip


def test_an_amount_is_the_printed_quantity_times_the_rate():
    foam, work = prices(quantities(cubic_feet="12.3456", hours=0.5749), "in", foam=Decimal("2.60"), hour=Decimal(36))
    assert (foam.words, foam.amount) == ("foam in blanks, 12.346 ft³ at 2.60 a cubic foot", Decimal("32.10"))
    assert (work.words, work.amount) == ("work at the wire, 0.57 h at 36.00 an hour", Decimal("20.52"))


def test_halves_of_a_cent_go_up():
    foam, _ = prices(quantities(cubic_feet="0.05", hours=1), "in", foam=Decimal("0.50"), hour=Decimal(1))
    assert foam.amount == Decimal("0.03")  # 0.025; bankers' rounding gives 0.02


def test_a_rate_of_nothing_is_no_price():
    foam, work, coat = prices(
        quantities(cubic_feet="1", hours=1, coat=9e6), "mm", foam=Decimal(0), hour=Decimal(0)
    )  # fmt: skip
    assert {foam.amount, work.amount, coat.amount} == {None}
    assert "9.000 m²" in coat.words
    assert "0.0283 m³" in foam.words


def foam_of(order, rate):
    """Return what the foam of an order's blanks costs at so much a cubic foot, as its quote says it."""
    blanks = [blank for line in order.lines.all() for blank in line.blanks.all()]
    volume = sum(blank.volume * blank.qty for blank in blanks)
    feet = (Decimal(volume) / 10**18 / M3_PER_FT3).quantize(Decimal("0.001"), ROUND_HALF_UP)
    return f"${(feet * Decimal(rate)).quantize(Decimal('0.01'), ROUND_HALF_UP):,}"


@pytest.mark.parametrize(("of_grade", "rate"), [(None, "2.60"), ("4.10", "4.10")])
def test_a_quote_charges_the_foam_of_the_blanks_at_the_price_of_the_grade_or_the_shop(draft, mina, of_grade, rate):
    rules = ShopRules.current()
    rules.price_hour = 0
    rules.save()
    Grade.objects.update(price=of_grade)
    said = quote(draft, mina)
    moves.release(draft, mina)
    assert f"Line A, as far as it is priced {foam_of(Order.objects.get(), rate)}" in said


def test_sums_are_in_the_currency_of_the_shop(draft, mina):
    rules = ShopRules.current()
    rules.currency = "CAD"
    rules.save()
    assert re.search(r"Sum CAD \d", quote(draft, mina))


def test_a_quote_gives_finished_sizes_and_says_what_has_no_price(draft, line_data, mina):
    data = line_data | {"coat": "1/8"}
    entry.save_line(draft, data, mina, version=draft.version, line=draft.lines.get())
    said = quote(Order.objects.get(), mina)
    assert "finished 5 × 7 in, deep × high" in said
    assert "Not in the price: coat, " in said
    assert "Sum of what is priced" in said


def test_a_quote_of_letters_says_how_high_and_how_thick_they_are(draft, mina):
    line = draft.lines.get()
    line.kind, line.profile = "cutout", None
    line.spec = {"text": "LIBRARY", "font": "SignSerif-Bold.ttf", "cap_height": 24, "thick": "3-1/2"}
    line.save()
    assert "finished capitals 24 in high, 3 1 2 in thick" in quote(draft, mina)


def test_a_changed_order_is_another_quote(draft, line_data, mina):
    quote(draft, mina)
    quote(draft, mina)
    entry.save_line(draft, line_data | {"qty": 2}, mina, version=draft.version, line=draft.lines.get())
    changed = Order.objects.get()
    assert f"{changed}-{changed.version}" in quote(changed, mina)
    rows = Print.objects.values_list("sheet", "revision", "number")
    assert list(rows) == [
        ("quote", draft.version, 1), ("quote", draft.version, 2), ("quote", changed.version, 1),
    ]  # fmt: skip


def test_what_cannot_be_quoted_is_refused_and_leaves_no_print(draft, mina, refused):
    refused("quote-over", office_paper.print_quote, draft, mina.day - timedelta(days=1), mina)
    moves.release(draft, mina)
    refused("not-draft", office_paper.print_quote, Order.objects.get(), mina.day, mina)
    empty = entry.create_order({"customer": draft.customer, "job": "Nothing yet"}, mina)
    refused("sheet-empty", office_paper.print_quote, empty, mina.day, mina)
    assert not Print.objects.exists()


def test_a_confirmation_names_the_sheet_in_force_and_the_one_before(order, line_data, mina):
    assert f"{order} A" in words(office_paper.print_confirmation(order, mina))
    entry.save_line(order, line_data | {"qty": 2}, mina, version=order.version, line=order.lines.get())
    said = words(office_paper.print_confirmation(Order.objects.get(), mina))
    assert f"{order} B" in said
    assert f"replaces our confirmation {order} A" in said


def test_a_draft_is_not_confirmed(draft, mina, refused):
    refused("not-released", office_paper.print_confirmation, draft, mina)


@pytest.fixture
def miscut_day(opened, blank, bo):
    """A day on which six blanks were sawn and one was ruined; the block still lies on the saw."""
    moves.count_sawn(blank, 6, bo)
    moves.miscut_at_saw(blank, 1, "fence slipped", bo)
    return usage.day(bo.day)


def test_the_report_says_the_figures_of_the_day_page(miscut_day, bo):
    said = words(office_paper.print_day_report(miscut_day, bo))
    [row] = miscut_day.grades
    figures = ("on_saw_start", "received", "issued", "good", "miscut", "back", "waste", "on_saw_end", "unaccounted")
    columns = [f"{usage.board_feet(getattr(row.day, name)):,.1f}" for name in figures]
    assert " ".join(columns) in said
    assert "nothing is missing" in said
    assert "fence slipped" in said


def test_a_closed_day_says_when_and_by_whom(miscut_day, bo, mina):
    account.close_day(miscut_day.day, mina)
    said = words(office_paper.print_day_report(usage.day(bo.day), bo))
    assert "closed" in said
    assert "by Mina O." in said
    assert Print.objects.get().of == bo.day.isoformat()


def test_paper_is_as_large_as_the_shop_says(draft, mina):
    rules = ShopRules.current()
    rules.paper = "a4"
    rules.save()
    [page] = pypdfium2.PdfDocument(office_paper.print_quote(draft, mina.day, mina))
    assert page.get_size() == pytest.approx((595.28, 841.89), abs=0.1)  # ISO 216: 210 × 297 mm


def test_a_coat_typed_in_the_other_unit_is_said_in_that_of_the_order(draft, mina):
    draft.lines.update(coat="3 mm")
    assert "mm in" not in quote(draft, mina)
