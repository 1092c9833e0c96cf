"""Old paper betrays itself at the next scan: sheets of orders, of one line, saw sheets of plans that are over."""

import pytest

from cutsheets.codes import make_plan_code, make_sheet_code
from orders import entry, planning, sawing
from orders.models import Order, RunSource, Scan
from orders.planning.working import work
from orders.scanning import scan
from shop import account

HALF = (1_300_000, 600_000, 260_000)  # gives a half of the eight blanks


@pytest.fixture
def run(shop, order, mina):
    """An accepted plan: half of the eight blanks out of each of two blocks."""
    for tag in ("K-0001", "K-0002"):
        account.receive(tag, shop.grades["Firm 1.5"], HALF, mina)
    return planning.accept(planning.make_plan(shop.grades["Firm 1.5"], mina, iterations=1), mina)


@pytest.mark.parametrize("line", [None, 1])
@pytest.mark.parametrize("station", ["saw-1", "cutter-1"])
def test_every_sheet_of_an_order_is_refused_with_what_changed(order, line_data, mina, bo, cutter, line, station):
    data = line_data | {"spec": line_data["spec"] | {"pieces": [{"length": 41, "qty": 8}]}}
    entry.save_line(order, data, mina, version=order.version, line=order.lines.get())
    answer = scan(make_sheet_code(order.number, "A", line), bo if station == "saw-1" else cutter)
    assert (answer.code, answer.accepted) == ("old-sheet", False)
    assert any("41" in change["new"] for change in answer.details["changes"])
    assert Scan.objects.get().answer == "old-sheet"


def test_the_sheet_in_force_of_the_changed_order_is_taken(order, line_data, mina, bo):
    entry.save_line(order, line_data | {"qty": 2}, mina, version=order.version, line=order.lines.get())
    assert scan(make_sheet_code(Order.objects.get().number, "B"), bo).accepted


@pytest.fixture
def replaced(shop, run, mina):
    """Return the function that puts another plan in the place of the first one."""

    def replace():
        account.receive("K-0003", shop.grades["Firm 1.5"], HALF, mina)
        new = planning.replan(run, mina)
        work(new.pk, iterations=1)
        new.refresh_from_db()
        return planning.accept(new, mina)

    return replace


@pytest.mark.parametrize("page", [1, 2])
def test_a_saw_sheet_of_a_replaced_plan_says_what_is_opened_instead(run, replaced, bo, page):
    new = replaced()
    answer = scan(make_plan_code(run.number, page), bo)
    assert answer.code == "plan-replaced"
    assert f"Plan {new.number} has replaced plan {run.number}." in answer.sentence
    assert answer.details["changes"] == [
        {"what": "to open", "old": "K-0001, K-0002", "new": "the same pieces, cut otherwise"}
    ]


def test_other_blocks_of_the_new_plan_are_named_a_few_of_them(shop, run, replaced, bo):
    new = replaced()
    for number in range(4, 9):
        block = account.receive(f"K-000{number}", run.grade, HALF, bo)
        RunSource.objects.create(run=new, position=number, piece=block)
    [change] = scan(make_plan_code(run.number, 1), bo).details["changes"]
    assert change["new"] == "K-0001, K-0002, K-0004, K-0005 and 3 more"


def test_the_block_that_lies_open_goes_on_by_its_own_sheet(run, replaced, bo):
    first = sawing.open_source(run.sources.first(), bo)
    replaced()
    answer = scan(make_plan_code(run.number, 1), bo)
    assert (answer.code, answer.details["source"]) == ("ok", first.pk)


def test_a_saw_sheet_of_a_plan_thrown_away_is_refused(run, mina, bo, cutter):
    planning.throw_away(run, mina)
    for act in (bo, cutter):
        answer = scan(make_plan_code(run.number, 1), act)
        assert (answer.code, answer.accepted) == ("plan-void", False)


def test_a_saw_sheet_passes_over_blanks_of_an_older_order_sheet(order, run, line_data, mina, bo):
    data = line_data | {"spec": line_data["spec"] | {"pieces": [{"length": 20, "qty": 8}]}}
    entry.save_line(order, data, mina, version=order.version, line=order.lines.get())
    answer = scan(make_plan_code(run.number, 1), bo)
    assert not answer.details.get("settle")
    assert scan(make_sheet_code(order.number, "A"), bo).code == "old-sheet"
