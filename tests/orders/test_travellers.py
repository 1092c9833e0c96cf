import pypdfium2
import pytest
import zxingcpp

from cutsheets.codes import make_plan_code, make_sheet_code
from orders import entry, moves, planning, sawing, travellers
from orders.models import Order, Print
from shop import account
from shop.models import CoatSystem, ShopRules
from shop.refusals import Refused

BLOCK = (2_463_800, 1_244_600, 939_800)  # 97 × 49 × 37 in


def pages(pdf):
    return list(pypdfium2.PdfDocument(pdf))


def words(pdf):
    """Return everything that a sheet says, its line breaks as spaces."""
    return " ".join(" ".join(page.get_textpage().get_text_range() for page in pages(pdf)).split())


def codes(pdf):
    """Return the set of bar codes on each page, decoded from its picture."""
    return [
        {
            code.text
            for code in zxingcpp.read_barcodes(page.render(scale=300 / 72).to_pil(), zxingcpp.BarcodeFormat.Code128)
        }
        for page in pages(pdf)
    ]


@pytest.fixture
def run(shop, order, mina):
    """An accepted plan for the order out of one block."""
    account.receive("K-0001", shop.grades["Firm 1.5"], BLOCK, mina, lot="2610-B")
    return planning.accept(planning.make_plan(shop.grades["Firm 1.5"], mina, iterations=3), mina)


def test_the_printed_code_is_the_order_and_its_sheet(order, mina):
    [decoded] = codes(travellers.print_traveller(order, mina))
    assert decoded == {make_sheet_code(order.number, "A")}


def test_the_traveller_names_customer_job_and_grade(order, mina):
    said = words(travellers.print_traveller(order, mina))
    for text in (order.customer.name, order.job, "Firm 1.5", "Tern Point Foam Works", "Mina O."):
        assert text in said


def test_every_print_is_kept_with_its_number(order, mina):
    travellers.print_traveller(order, mina)
    travellers.print_traveller(order, mina)
    rows = Print.objects.values_list("sheet", "revision", "number", "by__username")
    assert list(rows) == [("traveller", 1, 1, "mina"), ("traveller", 1, 2, "mina")]


def test_a_new_sheet_says_which_one_it_replaces(order, line_data, mina):
    travellers.print_traveller(order, mina)
    entry.save_line(order, line_data | {"qty": 2}, mina, version=order.version, line=order.lines.get())
    order.refresh_from_db()
    assert "sheet A" in words(travellers.print_traveller(order, mina))


def test_a_draft_and_a_held_order_have_no_sheet_to_print(draft, mina, refused):
    refused("not-released", travellers.print_traveller, draft, mina)
    moves.release(draft, mina)
    moves.hold(draft, "deposit not in.", mina)
    refused("held", travellers.print_traveller, Order.objects.get(), mina)
    assert not Print.objects.exists()


def test_paper_that_would_differ_from_what_the_saw_counts_is_not_printed(order, mina, refused):
    rules = ShopRules.current()
    rules.skim_other += 25
    rules.save()
    refused("rules-changed", travellers.print_traveller, order, mina)
    assert not Print.objects.exists()


def test_a_line_that_can_no_longer_be_worked_out_is_named(order, mina):
    order.lines.update(spec={"runs": [{"name": "front", "wall": "five", "left": "square", "right": "square"}]})
    with pytest.raises(Refused, match=rf"^Line {order.lines.get().mark}: ."):
        travellers.print_traveller(order, mina)


def test_a_saw_sheet_shows_its_block_blanks_and_code(run, order, mina):
    pdf = travellers.print_saw_sheets(run, mina)
    assert make_plan_code(run.number, 1) in codes(pdf)[0]
    said = words(pdf)
    for text in ("K-0001", "2610-B", f"{order} A", "Firm 1.5"):
        assert text in said
    assert Print.objects.get().run == run


def test_a_saw_sheet_names_the_remnants_by_their_future_tags(run, mina):
    said = words(travellers.print_saw_sheets(run, mina))
    tags = [remnant.tag for source in run.sources.all() for remnant in source.remnants.all()]
    assert tags
    assert all(tag in said for tag in tags)


def test_the_traveller_says_where_its_blanks_are_planned(run, order, mina):
    assert f"K-0001 of plan {run.number}" in words(travellers.print_traveller(order, mina))


def test_a_draft_plan_has_no_saw_sheet(shop, order, mina, refused):
    account.receive("K-0001", shop.grades["Firm 1.5"], BLOCK, mina)
    draft = planning.make_plan(shop.grades["Firm 1.5"], mina, iterations=1)
    refused("not-accepted", travellers.print_saw_sheets, draft, mina)
    planning.throw_away(draft, mina)
    refused("not-accepted", travellers.print_saw_sheets, draft, mina)


def test_a_plan_whose_blocks_are_sawn_can_be_printed_again(run, mina, bo):
    source = sawing.open_source(sawing.next_source(run), bo)
    for remnant in source.remnants.all():
        sawing.give_up(remnant, "not needed", bo)
    sawing.finish_source(source, bo, reason="only a trial")
    run.refresh_from_db()
    assert run.state == "done"
    assert travellers.print_saw_sheets(run, mina).startswith(b"%PDF")


@pytest.mark.parametrize(
    ("kind", "spec", "said"),
    [
        ("turned", {"half_profile": [[0, 3], [9, 2]], "stub": {"base": 1}}, "Side and top coated; base bare"),
        ("arch", {"span": 54, "rise": 9, "width": 4, "thick": 2}, "back, joints and ends bare"),
        ("moulding", {"sprung": {"face": 4, "thick": 1, "spring": 45}, "pieces": [{"length": 60}]}, "back bare"),
    ],
)
def test_the_traveller_says_which_faces_of_a_kind_get_coat(draft, mina, kind, spec, said):
    line = draft.lines.get()
    system = CoatSystem.objects.first()
    data = {"kind": kind, "spec": spec, "coat_system": system, "coat": "1/8", "profile": None}
    entry.save_line(draft, data, mina, version=draft.version, line=line)
    moves.release(Order.objects.get(), mina)
    paper = words(travellers.print_traveller(Order.objects.get(), mina))
    assert said in paper
    assert "Wall face bare" not in paper
