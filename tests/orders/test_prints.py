"""Every print is kept with its number, and stands until something takes its place."""

from concurrent.futures import ThreadPoolExecutor

import pytest
from django.db import connection, connections

from orders import entry, moves, planning, travellers
from orders.demo import small_shop
from orders.models import CuttingRun, Order, Print
from orders.prints import in_force, keep, printed_revisions
from shop import account
from shop.acts import Act

BLOCK = (2_463_800, 1_244_600, 939_800)  # 97 × 49 × 37 in
Sheet = Print.Sheet


def stands():
    """Return the word of every print, oldest first."""
    rows = Print.objects.select_related("order", "run").order_by("pk")
    words = in_force(rows)
    return [words[row.pk] for row in rows]


def test_each_sheet_of_each_thing_has_numbers_of_its_own(order, mina):
    for sheet, of in (("traveller", ""), ("traveller", ""), ("cut-sheet", "A"), ("cut-sheet", "B"), ("cut-sheet", "A")):
        keep(Sheet(sheet), mina, order=order, of=of, revision=1)
    keep(Sheet.TAG, mina, of="R-0001")
    keep(Sheet.TAG, mina, of="R-0001")
    keep(Sheet.TAG, mina, of="R-0002")
    assert [row.number for row in Print.objects.all()] == [1, 2, 1, 1, 2, 1, 2, 1]


@pytest.mark.django_db(transaction=True)
def test_prints_at_once_get_numbers_one_after_the_other():
    act = Act(small_shop().people["mina"])

    def print_once(_):
        try:
            return keep(Sheet.TAG, act, of="R-0001").number
        finally:
            connections.close_all()

    with ThreadPoolExecutor(4) as crowd:
        numbers = list(crowd.map(print_once, range(12)))
    assert sorted(numbers) == list(range(1, 13))
    assert connection.vendor in ("sqlite", "postgresql")


def test_the_newest_print_of_a_sheet_is_in_force(order, mina):
    travellers.print_traveller(order, mina)
    travellers.print_traveller(order, mina)
    keep(Sheet.COAT_SHEET, mina, order=order, revision=1)
    assert stands() == ["replaced", "in force", "in force"]


def test_a_later_sheet_letter_replaces_what_was_printed_even_unprinted(order, line_data, mina):
    travellers.print_traveller(order, mina)
    entry.save_line(order, line_data | {"qty": 2}, mina, version=order.version, line=order.lines.get())
    assert stands() == ["replaced"]
    travellers.print_traveller(Order.objects.get(), mina)
    assert stands() == ["replaced", "in force"]


def test_paper_of_a_cancelled_order_is_void(order, mina):
    travellers.print_traveller(order, mina)
    moves.cancel(order, "the theatre burned down", mina)
    assert stands() == ["void"]


@pytest.fixture
def run(shop, order, mina):
    account.receive("K-0001", shop.grades["Firm 1.5"], BLOCK, mina)
    return planning.accept(planning.make_plan(shop.grades["Firm 1.5"], mina, iterations=1), mina)


def test_saw_sheets_of_a_plan_thrown_away_are_void(run, mina):
    travellers.print_saw_sheets(run, mina)
    assert stands() == ["in force"]
    planning.throw_away(run, mina)
    assert stands() == ["void"]


def test_saw_sheets_of_a_plan_whose_rest_another_took_are_replaced(run, mina):
    travellers.print_saw_sheets(run, mina)
    CuttingRun.objects.filter(pk=run.pk).update(state="done")
    CuttingRun.objects.create(
        number=run.number + 1, grade=run.grade, state="accepted", asked={"instead_of": run.number}, accepted_at=mina.at,
    )  # fmt: skip
    assert stands() == ["replaced"]


def test_a_later_quote_replaces_the_one_before_and_nothing_else(draft, mina):
    keep(Sheet.QUOTE, mina, order=draft, revision=1)
    keep(Sheet.QUOTE, mina, order=draft, revision=2)
    keep(Sheet.TAG, mina, of="R-0001")
    assert stands() == ["replaced", "in force", "in force"]


def test_it_is_known_which_orders_have_their_sheet_on_paper(order, mina):
    assert not printed_revisions([order], Sheet.TRAVELLER)[order.pk]
    travellers.print_traveller(order, mina)
    assert printed_revisions([order], Sheet.TRAVELLER)[order.pk] == {1}
