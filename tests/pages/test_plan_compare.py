"""Two plans beside each other: what is better in each is said in words, and never where they give other blanks."""

import re

import pytest
from floor_shop import BLOCK

from orders import planning
from shop import account


@pytest.fixture
def two_plans(released, firm, raf):
    """Two drafts of the same six blanks: the second one finds halves of blocks only and has to open two."""
    long, wide, high = BLOCK
    whole = account.receive("K-0001", firm, BLOCK, raf)
    first = planning.make_plan(firm, raf, iterations=3)
    account.scrap(whole, raf, reason="wet")
    for number in (2, 3):
        account.receive(f"K-000{number}", firm, (long, wide, high // 2), raf)
    return first, planning.make_plan(firm, raf, iterations=3)


@pytest.fixture
def compare(manager):
    """Return the answer to the two numbers of plans."""
    return lambda *numbers: manager.get("/plans/compare/", {"plan": numbers})


@pytest.fixture
def rows(compare, two_plans):
    """Return the two figures of each row as they are said, by the name of the row."""
    page = compare(*(plan.number for plan in two_plans)).content.decode()
    found = re.findall(r'<tr[^>]*><th scope="row">([^<]+)</th>((?:<td class="n".*?</td>)+)</tr>', page)
    return {name: [" ".join(re.sub(r"<[^>]+>", " ", cell).split()) for cell in cells.split("</td>")[:-1]]
            for name, cells in found}  # fmt: skip


def test_the_better_figure_of_each_row_bears_the_word(rows, two_plans):
    assert rows["New blocks"] == ["better 1", "2"]
    first, second = (plan.figures for plan in two_plans)
    more = "better " if second["yield_gross"] > first["yield_gross"] else ""
    assert rows["Blanks out of what is opened, %"][1] == f"{more}{100 * second['yield_gross']:.1f}"


def test_the_cost_is_the_score_in_the_shops_money(rows, two_plans):
    said = [figure.removeprefix("better ") for figure in rows["Cost in shop prices"]]
    assert said == [f"{plan.figures['score'] / 100:,.2f}" for plan in two_plans]


def test_what_is_opened_and_where_each_blank_comes_from_stands_there(compare, two_plans, words):
    said = words(compare(*(plan.number for plan in two_plans)))
    assert "Both give the same blanks" in said
    assert re.search(r"K-0001 6 blanks.*stays on the rack", said)
    assert re.search(r"A1–A5 5 of K-0001 .*K-0002", said)


def test_the_order_of_the_numbers_is_all_the_same(compare, two_plans, words):
    first, second = two_plans
    assert (
        words(compare(second.number, first.number)).split("Both give")[1:]
        == words(compare(first.number, second.number)).split("Both give")[1:]
    )


def test_plans_of_other_blanks_are_told_apart_and_only_their_yields_compared(compare, two_plans, words):
    first, second = two_plans
    planned = second.instance["blanks"][0]
    planned["qty"] += 1
    second.save()
    said = words(compare(first.number, second.number))
    assert "They do not give the same blanks" in said
    assert f"Plan {second.number} gives 1 of {planned['id']} more." in said
    assert "better 1" not in said


@pytest.mark.parametrize(
    ("asked", "sentence"),
    [
        (["1", "1"], "1 plan chosen; choose two to compare."),
        (["1", "2", "3"], "3 plans chosen"),
        (["1", "99"], "There is no plan “99”"),
        (["1", "one"], "“one” is no number of a plan"),
        (["1", "³"], "“³” is no number of a plan"),
    ],
)
def test_anything_but_two_plans_is_refused_with_what_to_do(compare, two_plans, words, asked, sentence):
    answer = compare(*asked)
    assert answer.status_code == 409
    assert sentence in words(answer)


def test_plans_of_two_grades_are_not_compared(compare, two_plans, shop, words):
    first, second = two_plans
    second.grade = shop.grades["Light 1.0"]
    second.save()
    answer = compare(first.number, second.number)
    assert answer.status_code == 409
    assert f"Plan {first.number} is Firm 1.5, plan {second.number} is Light 1.0" in words(answer)


def test_a_plan_that_is_still_being_made_is_not_compared(compare, two_plans, words):
    first, second = two_plans
    second.state, second.plan = "planning", {}
    second.save()
    answer = compare(first.number, second.number)
    assert answer.status_code == 409
    assert f"Plan {second.number} is being planned" in words(answer)


def test_the_page_asks_for_two_numbers_when_none_is_given(compare, words):
    answer = compare()
    assert answer.status_code == 200
    assert "Type the numbers of two plans" in words(answer)


def test_beside_one_plan_the_others_of_its_grade_are_offered(compare, two_plans, words):
    first, second = two_plans
    answer = compare(first.number)
    assert f"Compare plan {first.number} with {second.number}, draft" in words(answer)
    assert f"?plan={first.number}&amp;plan={second.number}" in answer.content.decode()


def test_the_floor_reads_no_cost(floor, two_plans):
    assert floor.get("/plans/compare/", {"plan": [plan.number for plan in two_plans]}).status_code == 403


def test_comparing_costs_the_same_queries_however_many_blocks_there_are(
    compare, two_plans, django_assert_max_num_queries
):
    with django_assert_max_num_queries(6):
        compare(*(plan.number for plan in two_plans))
