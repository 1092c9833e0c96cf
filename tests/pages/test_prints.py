"""Paper: what is printed, that it can be scanned again, and that every print is kept."""

import pypdfium2
import pytest
import zxingcpp
from floor_shop import BLOCK

from cutsheets.codes import make_plan_code, make_sheet_code
from orders import planning
from orders.models import CuttingRun, Print
from shop import account
from shop.acts import Act


def scanned(pdf: bytes) -> set[str]:
    """Return the codes that a reader finds on the first page, from its picture at 200 dpi."""
    page = pypdfium2.PdfDocument(pdf)[0].render(scale=200 / 72).to_pil()
    return {code.text for code in zxingcpp.read_barcodes(page)}


def test_the_traveller_carries_the_sheet_that_the_saw_scans(office, released):
    answer = office.post(f"/orders/{released.number}/traveller/")
    assert answer["Content-Type"] == "application/pdf"
    assert answer["Content-Disposition"].startswith("inline")
    assert make_sheet_code(released.number, "A") in scanned(answer.content)


def test_every_print_is_kept_with_its_number_and_who_made_it(office, released, words):
    for _ in range(2):
        office.post(f"/orders/{released.number}/traveller/")
    assert [print.number for print in Print.objects.all()] == [1, 2]
    said = words(office.get("/prints/"))
    assert f"traveller {released.number} A" in said
    assert "2 Mina O. in force" in said
    assert "1 Mina O. replaced" in said


def test_a_draft_has_no_traveller_to_print(office, draft, words):
    answer = office.post(f"/orders/{draft.number}/traveller/", follow=True)
    assert Print.objects.count() == 0
    assert f"Order {draft.number}" in words(answer)


@pytest.fixture
def run(shop, released):
    raf = Act(shop.people["raf"])
    account.receive("K-0001", shop.grades["Firm 1.5"], BLOCK, raf)
    return planning.make_plan(shop.grades["Firm 1.5"], raf, iterations=3)


def test_the_saw_sheet_of_an_accepted_plan_carries_its_code(office, shop, run):
    planning.accept(run, Act(shop.people["raf"]))
    answer = office.post(f"/plans/{run.number}/saw-sheets/")
    assert make_plan_code(run.number, 1) in scanned(answer.content)
    assert Print.objects.get().sheet == "saw-sheet"


def test_a_saw_sheet_scanned_in_the_office_opens_its_plan(office, shop, run, words):
    planning.accept(run, Act(shop.people["raf"]))
    code = make_plan_code(run.number, 1)
    assert office.get("/orders/", {"q": code}).url == f"/plans/{run.number}/"
    assert "Tear" not in words(office.get("/orders/", {"q": code.lower()}, follow=True))
    assert office.get("/orders/", {"q": make_plan_code(run.number + 1)}, follow=True).status_code == 404


def test_a_saw_sheet_of_a_plan_thrown_away_opens_the_plan_and_says_so(office, run, words):
    CuttingRun.objects.update(state="void")
    answer = office.get("/orders/", {"q": make_plan_code(run.number, 2)}, follow=True)
    assert answer.redirect_chain[0][0] == f"/plans/{run.number}/"
    assert f"Plan {run.number} was thrown away. Tear the sheet up." in words(answer)


def test_a_saw_sheet_of_a_replaced_plan_opens_it_and_names_the_new_one(office, raf, run, words):
    CuttingRun.objects.update(state="done")
    CuttingRun.objects.create(
        number=run.number + 1, grade=run.grade, state="accepted", asked={"instead_of": run.number},
        accepted_at=raf.at, follows=run,
    )  # fmt: skip
    said = words(office.get("/orders/", {"q": make_plan_code(run.number)}, follow=True))
    assert f"Plan {run.number + 1} has replaced plan {run.number}. Tear this sheet up" in said


def test_a_draft_plan_has_no_saw_sheet(office, run, words):
    answer = office.post(f"/plans/{run.number}/saw-sheets/", follow=True)
    assert "accept it, then print" in words(answer)
    assert Print.objects.count() == 0


def test_all_sheets_of_a_plan_are_one_button(office, shop, run, released, words):
    planning.accept(run, Act(shop.people["raf"]))
    assert "Print all sheets" in words(office.get(f"/plans/{run.number}/"))
    answer = office.post(f"/plans/{run.number}/papers/")
    assert make_plan_code(run.number, 1) in scanned(answer.content)
    printed = Print.objects.values_list("sheet", flat=True)
    assert [*printed] == ["saw-sheet", "traveller", "cut-sheet", "coat-sheet", "pack-list"]
