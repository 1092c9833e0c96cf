"""Job files into orders and back: everything checked before anything is written, and nothing lost on the way."""

import json

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from cutsheets.files.job import read_job
from orders.demo import JOBS
from orders.demo.library import fill_library
from orders.entry import work_out
from orders.exchange.jobs import export_job, import_job
from orders.models import Customer, Line, Order

STEPPED = [[0, 0], [5, 0], [5, 2], [3, 2], [3, 7], [0, 7]]


def job(*lines, **head):
    base = {"format": "blockyard-job-1", "unit": "in", "customer": "Wickett Library Trustees", "job": "Porch"}
    return json.dumps(base | head | {"lines": list(lines)})


def line(mark="A", **keys):
    base = {"mark": mark, "kind": "moulding", "grade": "Firm 1.5", "section": STEPPED, "pieces": [{"length": 40}]}
    return base | keys


def faults(refusal):
    return [(fault["code"], fault["where"]) for fault in refusal.details["faults"]]


def test_a_job_file_becomes_a_draft_with_every_line_as_typed(shop, mina):
    text = job(line(coat="1/8", note="street side", qty=2), line("B", pieces=[{"length": "14'-2\""}]), due="2027-03-12")
    order = import_job(text, mina)
    first, second = order.lines.all()
    assert (order.state, order.job, order.customer.name, str(order.due)) == (
        "draft", "Porch", "Wickett Library Trustees", "2027-03-12",
    )  # fmt: skip
    assert (first.mark, first.coat, first.note, first.qty, first.position) == ("A", "1/8", "street side", 2, 1)
    assert second.spec == {"section": STEPPED, "pieces": [{"length": "14'-2\""}]}


def test_line_40_of_60_and_every_other_bad_one_is_named_and_nothing_is_written(shop, mina, refused):
    lines = [line(f"L{number}") for number in range(60)]
    lines[39]["pieces"] = [{"length": "5..2"}]
    lines[51]["grade"] = "Firm 15"
    lines[55]["coat"] = "3"
    refusal = refused("job-file", import_job, job(*lines), mina)
    assert faults(refusal) == [
        ("length", "lines[39].pieces[0].length"), ("grade", "lines[51].grade"), ("range", "lines[55].coat"),
    ]  # fmt: skip
    assert not Order.objects.exists()
    assert not Customer.objects.filter(name="Wickett Library Trustees").exists()


def test_an_unknown_grade_is_told_what_the_shop_has(shop, mina, refused):
    refusal = refused("job-file", import_job, job(line(grade="EPS 1.0")), mina)
    assert "Dense 2.0, Firm 1.5, Light 1.0" in refusal.details["faults"][0]["message"]


def test_a_grade_that_only_the_file_has_is_refused_too(shop, mina, refused):
    text = job(line(grade="EPS 1.0"), grades={"EPS 1.0": {"density": 1.0}})
    refusal = refused("job-file", import_job, text, mina)
    assert faults(refusal) == [("grade", "lines[0].grade")]
    assert "Firm 1.5" in refusal.details["faults"][0]["message"]


def test_a_density_that_is_not_the_shops_is_refused(shop, mina, refused):
    text = job(line(), grades={"Firm 1.5": {"density": 2.0}})
    assert faults(refused("job-file", import_job, text, mina)) == [("grade-density", "grades[Firm 1.5]")]


def test_an_unknown_profile_is_told_what_the_shop_has(shop, mina, refused):
    unknown = {"mark": "A", "kind": "moulding", "grade": "Firm 1.5", "profile": "TP-99", "pieces": [{"length": 40}]}
    refusal = refused("job-file", import_job, job(unknown), mina)
    assert faults(refusal) == [("profile", "lines[0].profile")]
    assert "TP-14" in refusal.details["faults"][0]["message"]


def test_a_file_without_customer_or_job_is_refused_at_both_places(shop, mina, refused):
    text = job(line(), customer="", job="")
    assert faults(refused("job-file", import_job, text, mina)) == [("field", "customer"), ("field", "job")]


def test_the_office_may_name_the_customer_itself(shop, mina):
    assert import_job(job(line(), customer=""), mina, customer=shop.customer).customer == shop.customer


def test_texts_longer_than_their_columns_are_refused_on_every_database(shop, mina, refused):
    text = job(line("ABCDEFGHI"), line("B", note="x" * 201))
    assert faults(refused("job-file", import_job, text, mina)) == [
        ("field", "lines[0].mark"), ("field", "lines[1].note"),
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("text", "code"),
    [("{", "json"), ("[]", "not-an-object"), ('{"format": "x", "unit": "in", "lines": [1]}', "format")],
)
def test_what_is_no_job_file_is_refused(shop, mina, refused, text, code):
    assert faults(refused("job-file", import_job, text, mina))[0][0] == code


def test_the_rules_of_a_file_are_kept_on_its_lines(shop, mina):
    rules = {"end_trim": "1", "skim": "1/4", "block": [97, 48, 36]}
    text = job(line(), line("B", allow={"end_trim": "3/4"}), shop=rules)
    first, second = import_job(text, mina).lines.all()
    assert first.spec["allow"] == {"end_trim": 1.0}
    assert second.spec["allow"] == {"end_trim": "3/4"}
    assert work_out(first).blanks[0].size.l == pytest.approx(42 * 25.4)


def test_a_panel_takes_no_allowances_from_the_rules_of_its_file(shop, mina):
    panel = {"mark": "A", "kind": "panel", "grade": "Mould 1.25", "size": [36, 18, 12]}
    order = import_job(job(panel, shop={"end_trim": 1, "skim": 1}), mina)
    assert order.lines.get().spec == {"size": [36, 18, 12]}


@pytest.mark.parametrize("file", sorted(JOBS.glob("*.json")), ids=lambda file: file.stem)
@pytest.mark.parametrize("sections", [False, True])
def test_an_order_exported_and_imported_again_is_the_same_order(shop, mina, file, sections):
    fill_library(shop, mina)
    first = import_job(file.read_text("utf-8"), mina)
    second = import_job(export_job(first, sections=sections), mina)
    assert [work_out(row) for row in second.lines.all()] == [work_out(row) for row in first.lines.all()]
    assert json.loads(export_job(second, sections=True)) == json.loads(export_job(first, sections=True))


def test_an_exported_order_is_complete_without_the_shop(shop, mina):
    order = import_job((JOBS / "7-bramhall-street-theatre.json").read_text("utf-8"), mina)
    alone = read_job(export_job(order, sections=True))
    assert {round(row.density, 4) for row in alone.lines} == {24.0277}
    assert {row.rules.end_trim for row in alone.lines} == {12.7}


typed = st.sampled_from([40, 40.5, "40 1/2", "40-1/2", "3'-4 1/2\"", "1020 mm", "1.02 m", 5.12])


@given(lengths=st.lists(typed, min_size=1, max_size=5), coat=st.sampled_from([0, "1/8", 0.125, "3 mm"]))
@settings(max_examples=15, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_whatever_was_typed_is_read_back(shop, mina, lengths, coat):
    pieces = [{"length": length, "qty": 2} for length in lengths]
    order = import_job(job(line(pieces=pieces, coat=coat)), mina)
    row = Line.objects.get(order=order)
    assert row.spec["pieces"] == pieces
    assert json.loads(export_job(order))["lines"][0]["pieces"] == pieces
