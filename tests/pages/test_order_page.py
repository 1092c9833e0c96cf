"""One order: its head, its lines, the figures while a line is typed, and its words."""

import pytest

from orders import entry
from orders.models import Customer, Line, Order
from orders.views.showing import place_words

HEAD = {"customer": "Osgood & Lyle Builders", "job": "Mill Row, six doors", "unit": "in"}


@pytest.fixture
def line(draft):
    return draft.lines.get()


def at(order, path=""):
    return f"/orders/{order.number}/{path}"


# The head


def test_a_new_order_is_a_draft_that_asks_for_its_first_line(office, shop):
    answer = office.post("/orders/new/", HEAD)
    order = Order.objects.get()
    assert answer.headers["Location"] == at(order, "lines/new/")
    assert (order.customer.name, order.state) == (HEAD["customer"], "draft")


def test_a_mistyped_customer_is_not_entered_by_accident(office, shop, words):
    typed = HEAD | {"customer": "Osgod & Lyle"}
    assert "No customer is called “Osgod & Lyle”" in words(office.post("/orders/new/", typed))
    assert not Order.objects.exists()
    office.post("/orders/new/", typed | {"new_customer": "on"})
    assert Customer.objects.filter(name="Osgod & Lyle").exists()


def test_the_head_is_changed_in_its_place(office, draft):
    office.post(at(draft), HEAD | {"version": draft.version, "due": "2027-03-12"})
    draft.refresh_from_db()
    assert (draft.job, str(draft.due)) == ("Mill Row, six doors", "2027-03-12")


def test_the_unit_stays_once_lengths_are_typed(office, draft):
    office.post(at(draft), HEAD | {"version": draft.version, "unit": "mm"})
    draft.refresh_from_db()
    assert draft.unit == "in"


def test_a_head_saved_by_somebody_else_meanwhile_is_not_overwritten(office, draft, words):
    answer = office.post(at(draft), HEAD | {"version": draft.version - 1})
    draft.refresh_from_db()
    assert answer.status_code == 409
    assert "Nothing was saved" in words(answer)
    assert "Mill Row, six doors" in answer.content.decode()
    assert draft.job == "Bramhall Street Theatre, front"


# Lines


def test_a_line_is_saved_as_it_was_typed(office, draft, line, typed):
    office.post(at(draft, f"lines/{line.pk}/"), typed | {"version": draft.version})
    line.refresh_from_db()
    assert line.spec["runs"][0]["wall"] == "42' 0"
    assert (line.coat, line.profile.profile.code) == ("1/8", "TP-14")


def test_an_open_line_shows_what_was_typed(office, draft, line):
    page = office.get(at(draft, f"lines/{line.pk}/")).content.decode()
    assert "42&#x27;-0&quot;" in page
    assert 'value="1/8"' in page


def test_a_new_line_gets_the_next_mark_and_the_page_comes_back_for_more(office, draft, typed):
    assert office.get(at(draft, "lines/new/")).context["form"]["mark"].value() == "B"
    answer = office.post(at(draft, "lines/new/"), typed | {"version": draft.version, "mark": "b", "next": "1"})
    assert answer.headers["Location"] == at(draft, "lines/new/")
    assert list(draft.lines.values_list("mark", flat=True)) == ["A", "B"]


def test_window_surrounds_pieces_and_an_own_section_are_one_line(office, draft, typed, shop):
    data = typed | {
        "version": draft.version, "mark": "C", "way": "own", "section": "0, 0\n1 1/2, 0\n2, 0.5\n2, 4\n0, 5",
        "bare": "4", "runs-0-wall": "", "runs-0-name": "", "frames-0-width": "30", "frames-0-height": "44",
        "frames-0-qty": "6", "pieces-0-length": "60", "pieces-0-qty": "8",
    }  # fmt: skip
    assert office.post(at(draft, "lines/new/"), data).status_code == 302
    spec = draft.lines.get(mark="C").spec
    assert spec["section"][1] == ["1 1/2", "0"]
    assert spec["bare"] == [4]
    assert spec["frames"] == [{"width": "30", "height": "44", "qty": 6}]
    assert spec["pieces"] == [{"length": "60", "qty": 8}]


def test_a_panel_asks_for_three_sides_and_nothing_else(office, draft, typed, words):
    data = typed | {"version": draft.version, "mark": "P", "kind": "panel", "coat": "0", "l": "48", "w": "24", "h": ""}
    assert "Type this side of the panel" in words(office.post(at(draft, "lines/new/"), data))
    assert office.post(at(draft, "lines/new/"), data | {"h": "6"}).status_code == 302
    assert draft.lines.get(mark="P").spec == {"size": ["48", "24", "6"]}


def test_one_more_run_needs_no_script(office, draft, typed):
    answer = office.post(at(draft, "lines/new/"), typed | {"mark": "B", "more": "runs"})
    page = answer.content.decode()
    assert answer.status_code == 200
    assert 'name="runs-1-wall"' in page
    assert "42&#x27; 0" in page
    assert draft.lines.count() == 1


def test_an_emptied_run_is_dropped(office, draft, line, typed):
    emptied = {name.replace("-0-", "-1-"): typed[name] for name in typed if name.startswith("runs-0-")}
    emptied |= {"runs-1-name": "", "runs-1-wall": ""}
    data = typed | emptied | {"version": draft.version, "runs-TOTAL_FORMS": "2"}
    office.post(at(draft, f"lines/{line.pk}/"), data)
    line.refresh_from_db()
    assert len(line.spec["runs"]) == 1


@pytest.mark.parametrize(
    ("name", "text", "said"),
    [
        ("runs-0-wall", "14.2'", "means two lengths"),
        ("runs-0-wall", "5", "shorter than the section stands out"),
        ("runs-0-left_angle", "200", "angle"),
        ("coat", "3", "coat"),
        ("grade", "", "required"),
        ("longest_stick", "many", "is not a length"),
    ],
)
def test_a_line_that_cannot_be_cut_is_refused_beside_its_field(office, draft, line, typed, words, name, text, said):
    answer = office.post(at(draft, f"lines/{line.pk}/"), typed | {"version": draft.version, name: text})
    assert answer.status_code == 422
    assert said in words(answer)
    line.refresh_from_db()
    assert line.spec["runs"][0]["wall"] == "42'-0\""


def test_bare_faces_of_an_own_section_are_words_or_numbers(office, draft, typed, words):
    own = typed | {"way": "own", "section": "0, 0\n2, 0\n2, 4\n0, 5", "bare": "wal"}
    assert "numbers of edges" in words(office.post(at(draft, "lines/new/"), own))


def test_two_people_in_one_line_are_told_and_lose_nothing_typed(office, draft, line, typed, words):
    stale = typed | {"version": draft.version - 1, "runs-0-wall": "40' 6"}
    answer = office.post(at(draft, f"lines/{line.pk}/"), stale)
    assert answer.status_code == 409
    assert "Mina O. changed order 4101" in words(answer)
    assert "40&#x27; 6" in answer.content.decode()
    again = stale | {"version": answer.context["form"]["version"].value()}
    assert office.post(at(draft, f"lines/{line.pk}/"), again).status_code == 302


def test_figures_of_its_own_that_a_job_file_gave_a_line_outlive_an_edit(office, draft, line, typed):
    line.spec["allow"] = {"kerf": "1/8"}
    line.save()
    office.post(at(draft, f"lines/{line.pk}/"), typed | {"version": draft.version, "longest_stick": "60"})
    line.refresh_from_db()
    assert line.spec["allow"] == {"kerf": "1/8", "longest_stick": "60"}


def test_a_line_is_copied_under_the_next_mark_and_deleted(office, draft, line):
    office.post(at(draft, f"lines/{line.pk}/copy/"), {"version": draft.version})
    copy = draft.lines.get(mark="B")
    assert copy.spec == line.spec
    draft.refresh_from_db()
    office.post(at(draft, f"lines/{copy.pk}/delete/"), {"version": draft.version})
    assert not Line.objects.filter(mark="B").exists()


# Figures while somebody types


def test_figures_say_the_three_sizes_the_sticks_and_the_check_line(office, draft, typed, words):
    page = words(office.post(at(draft, "figures/"), typed))
    assert "9 × 11" in page
    assert "8 7/8 × 10 3/4" in page
    # wall 504 in + 2 × 8 7/8 in of foam beyond it at two outside corners of 90° (mitre extension = foam projection)
    assert "521 3/4 = 42′ 0″ wall + 2 × 8 7/8" in page
    assert "board" not in page
    assert " bf" in page


def test_figures_save_nothing(office, draft, line, typed):
    office.post(at(draft, "figures/"), typed | {"line": line.pk, "runs-0-wall": "30'"})
    line.refresh_from_db()
    draft.refresh_from_db()
    assert line.spec["runs"][0]["wall"] == "42'-0\""
    assert draft.version == 2


def test_a_length_typed_in_feet_is_echoed_in_the_unit_of_the_order(office, draft, typed, words):
    answer = office.post(at(draft, "figures/"), typed)
    assert "= 504 in" in words(answer)
    assert 'id="id_runs-0-wall_echo" hx-swap-oob="true"' in answer.content.decode()


def test_a_length_typed_as_the_shop_writes_it_is_not_echoed(office, draft, typed):
    page = office.post(at(draft, "figures/"), typed | {"runs-0-wall": "60 1/2"}).content.decode()
    assert 'id="id_runs-0-wall_echo" hx-swap-oob="true"></p>' in page


def test_what_cannot_be_worked_out_is_said_with_its_place(office, draft, typed, words):
    assert "Run 1, wall length: “14.2'” means two lengths" in words(
        office.post(at(draft, "figures/"), typed | {"runs-0-wall": "14.2'"})
    )
    assert "Run 1, wall length: " in words(office.post(at(draft, "figures/"), typed | {"runs-0-wall": "5"}))


def test_places_in_a_job_file_are_said_in_words():
    assert place_words("runs[1].left") == "Run 2, left: "
    assert place_words("lines[3].section[4]") == "Section, corner 5: "
    assert place_words("allow.longest_stick") == "Longest stick: "
    assert place_words("outlines[1].outer[3]") == "Shape 2, outline, corner 4: "
    assert place_words("cavity[1]") == "Cavity, wide: "
    assert place_words("void.square") == "Void, square: "
    assert place_words("") == ""


# Words


def test_a_draft_is_released_as_sheet_a(office, draft, words):
    office.post(at(draft, "release/"), {"version": draft.version})
    draft.refresh_from_db()
    assert (draft.state, draft.revision) == ("released", 1)
    page = words(office.get(at(draft)))
    assert "0 of 6" in page
    assert "released as sheet A" in page


def test_an_order_without_lines_waits_and_says_for_what(office, shop, mina, words):
    order = entry.create_order({"customer": shop.customer, "job": "Gable"}, mina)
    assert "Release waits for the first line" in words(office.get(at(order)))
    assert "has no lines yet" in words(office.post(at(order, "release/"), {"version": order.version}))


def test_foam_that_may_not_go_on_a_building_is_said_before_the_release(office, draft, line, shop, words):
    line.grade = shop.grades["Mould 1.25"]
    line.save()
    page = words(office.get(at(draft)))
    assert "is not flame retardant; choose a grade that is" in page
    assert "Release as sheet A" not in page


def test_a_hold_needs_a_reason_and_shows_it_until_the_order_goes_on(office, released, words):
    assert office.post(at(released, "hold/"), {"reason": " "}).status_code == 409
    office.post(at(released, "hold/"), {"reason": "deposit not in"})
    assert "On hold: deposit not in" in words(office.get(at(released)))
    office.post(at(released, "resume/"))
    released.refresh_from_db()
    assert not released.held


def test_a_cancelled_order_can_no_longer_be_changed(office, released, typed, words):
    office.post(at(released, "cancel/"), {"reason": "theatre closed"})
    page = words(office.get(at(released)))
    assert "cancelled: theatre closed" in page
    assert "Add a line" not in page
    answer = office.post(at(released, f"lines/{released.lines.get().pk}/"), typed)
    assert "is cancelled" in words(answer)


def test_a_change_of_a_released_line_makes_sheet_b_and_says_what_changed(office, released, typed, words):
    line = released.lines.get()
    office.post(at(released, f"lines/{line.pk}/"), typed | {"version": released.version, "coat": "1/4"})
    released.refresh_from_db()
    assert released.revision == 2
    page = words(office.get(at(released)))
    assert "Sheet B" in page
    assert "A foam size: 8 7/8 × 10 3/4 8 3/4 × 10 1/2" in page


def test_the_floor_sees_the_figures_of_a_line_but_no_form(floor, released, words):
    page = words(floor.get(at(released, f"lines/{released.lines.get().pk}/")))
    assert "8 7/8 × 10 3/4" in page
    assert "Save line" not in page


def test_the_page_costs_the_same_queries_for_one_line_and_for_six(
    office, draft, django_assert_num_queries, django_assert_max_num_queries
):
    first = draft.lines.get()
    with django_assert_max_num_queries(21) as few:
        office.get(at(draft))
    one_line = len(few)
    for _ in range(5):
        draft.refresh_from_db()
        office.post(at(draft, f"lines/{first.pk}/copy/"), {"version": draft.version})
    assert draft.lines.count() == 6
    with django_assert_num_queries(one_line):
        office.get(at(draft))


def test_a_profile_is_offered_with_its_name(office, draft, words):
    assert "TP-22 rev A, Window surround" in words(office.get(f"/orders/{draft.number}/lines/new/"))
