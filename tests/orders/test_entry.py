"""Orders and lines as the office enters them: worked out before they are saved, and never over somebody else's work."""

from datetime import date
from decimal import Decimal

import pytest

from cutsheets.errors import CutsheetError
from orders import entry, moves
from orders.models import Customer, Line, Order
from shop.acts import Act


def save(order, data, act, **more):
    order.refresh_from_db()
    return entry.save_line(order, data, act, version=order.version, **more)


def test_numbers_begin_at_4101_and_go_on_from_the_highest(shop, mina):
    head = {"customer": shop.customer, "job": "Wickett Library, porch"}
    assert entry.create_order(head, mina).number == 4101
    Order.objects.update(number=4180)
    assert entry.create_order(head, mina).number == 4181


def test_a_new_customer_is_saved_with_the_order(shop, mina):
    order = entry.create_order({"customer": Customer(name="Fenn's Corner Inn"), "job": "Windows"}, mina)
    again = entry.create_order({"customer": Customer(name="Fenn's Corner Inn"), "job": "Doors"}, mina)
    assert order.customer == again.customer


def test_an_order_without_a_customer_is_refused(shop, mina, refused):
    assert refused("field", entry.create_order, {"job": "Windows"}, mina).details["field"] == "customer"
    assert not Order.objects.exists()


def test_what_is_longer_than_its_column_is_refused(draft, mina, refused):
    refused("field", entry.save_order, draft, {"job": "x" * 121}, mina, version=draft.version)


def test_a_saved_line_shows_what_was_typed(draft, shop, mina):
    spec = {"section": [[0, 0], ["5 1/2", 0], [5.12, 7], [0, 7]], "pieces": [{"length": "14'-2\"", "qty": 2}]}
    line = save(draft, {"grade": shop.grades["Light 1.0"], "spec": spec, "coat": "1/8"}, mina)
    line.refresh_from_db()
    assert (line.mark, line.spec, line.coat) == ("B", spec, "1/8")


def test_a_line_that_cannot_be_worked_out_is_not_saved_and_the_place_is_named(draft, line_data, mina):
    spec = line_data["spec"] | {"pieces": [{"length": 40}, {"length": "5..2"}]}
    with pytest.raises(CutsheetError) as caught:
        save(draft, line_data | {"spec": spec}, mina)
    assert caught.value.where == "pieces[1].length"
    assert [line.mark for line in draft.lines.all()] == ["A"]


def test_the_second_of_two_who_saved_is_told_who_was_first(draft, shop, mina, refused):
    seen = draft.version
    entry.save_order(draft, {"note": "Call Dale first."}, Act(by=shop.people["raf"]), version=seen)
    refusal = refused("changed-meanwhile", entry.save_order, draft, {"note": "mine"}, mina, version=seen)
    assert refusal.details["who"] == "Raf A."
    draft.refresh_from_db()
    assert draft.note == "Call Dale first."


def test_a_line_saved_from_an_old_page_is_refused_too(draft, line_data, mina, refused):
    seen = draft.version
    save(draft, line_data, mina)
    refused("changed-meanwhile", entry.save_line, draft, line_data, mina, version=seen)
    assert draft.lines.count() == 2


def test_two_lines_never_share_a_mark(draft, line_data, mina, refused):
    refused("mark-taken", save, draft, line_data | {"mark": "A"}, mina)


def test_a_copied_line_takes_the_next_free_mark(draft, mina):
    line = draft.lines.get()
    copy = entry.copy_line(draft, line, mina, version=draft.version)
    assert (copy.mark, copy.spec, copy.grade, copy.position) == ("B", line.spec, line.grade, 2)


def test_marks_leave_out_the_letters_that_read_like_figures(draft):
    grade = draft.lines.get().grade
    for position, mark in enumerate("BCDEFGH", 2):
        Line.objects.create(order=draft, position=position, mark=mark, grade=grade)
    assert entry.next_mark(draft) == "J"


def test_a_line_of_a_draft_can_be_deleted(draft, mina):
    entry.delete_line(draft, draft.lines.get(), mina, version=draft.version)
    assert not draft.lines.exists()


def test_the_unit_of_typed_lines_does_not_change_under_them(draft, mina, refused):
    refused("unit-in-use", entry.save_order, draft, {"unit": "mm"}, mina, version=draft.version)


def test_a_cancelled_order_is_not_edited(order, line_data, mina, refused):
    moves.cancel(order, "customer gave up", mina)
    refused("cancelled", save, order, line_data, mina)


def test_a_released_order_does_not_go_indoors_in_foam_that_burns(order, shop, mina, refused):
    order.lines.update(kind="panel", spec={"size": [36, 18, 12]}, grade=shop.grades["Mould 1.25"])
    refused("not-for-buildings", entry.save_order, order, {"indoors": True}, mina, version=order.version)


def test_a_profile_stands_in_for_the_section_in_its_own_unit(draft, shop, mina):
    drawn = {"profile": shop.profiles["TP-14"], "grade": shop.grades["Firm 1.5"], "spec": {"pieces": [{"length": 40}]}}
    metric = entry.create_order({"customer": shop.customer, "job": "Metric", "unit": "mm"}, mina)
    spec = {"pieces": [{"length": 1016}]}
    sizes = [
        entry.work_out(save(draft, drawn, mina)).finished,
        entry.work_out(save(metric, drawn | {"spec": spec}, mina)).finished,
    ]
    assert sizes[0] == sizes[1]
    assert (sizes[0].width, sizes[0].height) == (pytest.approx(9 * 25.4), pytest.approx(11 * 25.4))


def test_the_rules_of_the_shop_serve_a_line(draft, shop):
    shop.rules.end_trim, shop.rules.blank_step = Decimal("25.4"), Decimal(0)
    shop.rules.save()
    blank = entry.work_out(draft.lines.get()).blanks[0].size
    assert blank.l == pytest.approx(42 * 25.4)


def test_the_weight_follows_the_density_of_the_shop(draft, shop):
    line = draft.lines.get()
    light = entry.work_out(line).quantities.core_mass
    line.grade.density *= 2
    assert entry.work_out(line).quantities.core_mass == pytest.approx(2 * light)


def test_a_line_as_the_job_file_writes_it(draft, shop, mina):
    line = draft.lines.get()
    line.profile, line.coat, line.note = shop.profiles["TP-14"], "1/8", "street side"
    line.spec = {"pieces": [{"length": 40, "qty": 8}]}
    assert entry.line_dict(line) == {
        "mark": "A", "kind": "moulding", "grade": "Firm 1.5", "qty": 1, "coat": "1/8", "note": "street side",
        "profile": "TP-14", "pieces": [{"length": 40, "qty": 8}],
    }  # fmt: skip


def test_the_head_of_an_order_is_saved_with_who_saved_it(draft, shop, mina):
    raf = Act(by=shop.people["raf"])
    saved = entry.save_order(draft, {"due": date(2026, 12, 3)}, raf, version=draft.version)
    assert (saved.due, saved.saved_by, saved.made_by) == (date(2026, 12, 3), raf.by, mina.by)
