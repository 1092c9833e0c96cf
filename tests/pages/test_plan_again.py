"""A plan again, with what the manager asks of it: blocks kept or left shut, remnants first, orders left out."""

import pytest
from floor_shop import BLOCK

from orders import entry, moves, planning, sawing
from orders.models import CuttingRun, Order
from shop import account
from shop.acts import Act
from shop.models import StockPiece


@pytest.fixture
def second_order(released, shop, mina):
    """The same cornice once more, for another order."""
    order = entry.create_order({"customer": shop.customer, "job": "Bramhall Street Theatre, rear"}, mina)
    line = released.lines.get()
    entry.save_line(
        order,
        {"title": line.title, "grade": line.grade, "profile": line.profile, "coat": "1/8", "spec": line.spec},
        mina, version=order.version,
    )  # fmt: skip
    moves.release(Order.objects.get(pk=order.pk), mina)
    return Order.objects.get(pk=order.pk)


@pytest.fixture
def draft_plan(released, blocks, firm, raf):
    return planning.make_plan(firm, raf, iterations=3)


@pytest.fixture
def ask(manager, draft_plan, released):
    """Return the answer to the form of the draft, with some of its fields filled otherwise."""
    usual = {"order": [released.number], "seconds": "1"}
    return lambda **fields: manager.post(f"/plans/{draft_plan.number}/again/", usual | fields)


def newest() -> CuttingRun:
    return CuttingRun.objects.first()


def test_the_next_plan_is_asked_what_was_ticked_and_the_draft_stays(ask, draft_plan, manager, words):
    answer = ask(keep=["K-0001"], out=["K-0002"])
    run = newest()
    assert answer.url == f"/plans/{run.number}/"
    assert (run.follows, run.state) == (draft_plan, "planning")
    assert planning.Asked.of(run) == planning.Asked(seconds=1, out=("K-0002",), keep=("K-0001",))
    draft_plan.refresh_from_db()
    assert draft_plan.state == "draft"


def test_a_piece_of_the_rack_is_used_first(ask, firm, raf):
    account.receive("K-0003", firm, BLOCK, raf)
    ask(first=["K-0003"])
    assert planning.Asked.of(newest()).first == ("K-0003",)


def test_an_order_that_is_unticked_is_left_out(second_order, ask, released):
    ask()
    assert planning.Asked.of(newest()).orders == (released.number,)


def test_every_order_that_waits_means_those_that_come_later_too(second_order, ask, released):
    ask(order=[released.number, second_order.number])
    assert planning.Asked.of(newest()).orders is None


def test_the_following_plan_says_what_was_asked_and_offers_to_compare(ask, draft_plan, manager, words):
    CuttingRun.objects.create(
        number=7, grade=draft_plan.grade, follows=draft_plan, instance=draft_plan.instance, plan=draft_plan.plan,
        figures=draft_plan.figures, asked=planning.Asked(10, None, ("K-0002",), ("K-0009",), ("K-0001",)).as_json(),
    )  # fmt: skip
    answer = manager.get("/plans/7/")
    said = words(answer)
    assert f"Follows plan {draft_plan.number}. Asked: K-0001 stays as planned; K-0002 stays shut" in said
    assert "K-0009 was to be used first, and is not used" in said
    assert f"/plans/compare/?plan={draft_plan.number}&amp;plan=7" in answer.content.decode()


def test_what_was_asked_stays_ticked_until_it_is_taken_back(draft_plan, manager):
    draft_plan.asked = planning.Asked(25, None, ("K-0002",), (), ("K-0001",)).as_json()
    draft_plan.save()
    page = manager.get(f"/plans/{draft_plan.number}/").content.decode()
    assert 'name="keep" value="K-0001" checked' in page
    assert 'name="out" value="K-0002" aria-label="do not open K-0002" checked' in page
    assert 'name="out" value="K-0001" checked' not in page
    assert 'name="seconds" form="again" value="25"' in page


@pytest.mark.parametrize(
    ("fields", "code", "sentence"),
    [
        ({"keep": ["K-0002"]}, "not-planned", "“K-0002” is no block of plan 1; keep only what it opens."),
        ({"keep": ["K-0001"], "out": ["K-0001"]}, "both", "K-0001 cannot stay shut and be opened"),
        ({"first": ["K-0002"], "out": ["K-0002"]}, "both", "K-0002 cannot stay shut and be opened"),
        ({"out": ["X-9"]}, "no-piece", "There is no block or remnant “X-9”; choose from the rack."),
        ({"first": ["K-0900"]}, "other-grade", "K-0900 is Light 1.0, this plan is of Firm 1.5"),
        ({"order": []}, "nothing-chosen", "Every order is left out"),
        ({"order": ["4999"]}, "not-waiting", "Order 4999 does not wait for blanks of Firm 1.5; leave it out."),
        ({"order": ["soon"]}, "no-order", "“soon” is no number of an order"),
        ({"seconds": "0"}, "seconds", "“0” seconds cannot be planned"),
        ({"seconds": ""}, "seconds", "Type for how many seconds the plan is looked for"),
    ],
)
def test_what_cannot_be_asked_is_refused_by_name_and_nothing_is_planned(ask, shop, raf, words, fields, code, sentence):
    account.receive("K-0900", shop.grades["Light 1.0"], BLOCK, raf)
    answer = ask(**fields)
    assert (answer.status_code, answer.context["refused"]) == (409, code)
    assert sentence in words(answer)
    assert CuttingRun.objects.count() == 1


def test_a_refused_form_keeps_what_was_ticked(ask):
    page = ask(keep=["K-0001"], first=["K-0002"], seconds="soon").content.decode()
    assert 'name="keep" value="K-0001" checked' in page
    assert 'name="first" value="K-0002" aria-label="use K-0002 first" checked' in page
    assert 'value="soon"' in page


def test_a_block_that_went_meanwhile_cannot_be_kept_and_says_where_it_is(ask, blocks, raf, words):
    account.reserve(blocks[0], raf, held_for="plan 9")
    answer = ask(keep=["K-0001"])
    assert answer.context["refused"] == "stock-gone"
    assert "K-0001 is reserved for plan 9, not free on the rack; plan again without it." in words(answer)
    assert 'name="keep" value="K-0001"' not in answer.content.decode()


def test_a_block_is_not_kept_whose_order_is_left_out(second_order, blocks, firm, raf, manager, released, words):
    run = planning.make_plan(firm, raf, iterations=3)
    tag = next(piece.source for piece in planning.opened_pieces(run)
               if any(leaf.name.startswith(str(second_order)) for leaf in piece.placed))  # fmt: skip
    answer = manager.post(f"/plans/{run.number}/again/", {"order": [released.number], "seconds": "1", "keep": [tag]})
    assert answer.context["refused"] == "kept-order"
    assert f"{tag} stays as planned, but gives blanks of order {second_order}, which is left out." in words(answer)


def test_an_accepted_plan_is_not_planned_again_like_a_draft(ask, draft_plan, raf, words):
    planning.accept(draft_plan, raf)
    answer = ask()
    assert answer.status_code == 409
    assert "is accepted" in words(answer)


def test_the_rest_of_an_accepted_plan_is_planned_with_what_is_asked(manager, draft_plan, released, raf):
    planning.accept(draft_plan, raf)
    page = manager.get(f"/plans/{draft_plan.number}/").content.decode()
    assert 'name="keep" value="K-0001"' in page
    assert f'action="/plans/{draft_plan.number}/rest/"' in page
    manager.post(
        f"/plans/{draft_plan.number}/rest/",
        {"order": [released.number], "seconds": "1", "keep": ["K-0001"], "out": ["K-0002"]},
    )
    asked = planning.Asked.of(newest())
    assert (asked.keep, asked.out, asked.instead_of) == (("K-0001",), ("K-0002",), draft_plan.number)


def test_what_lies_on_a_saw_is_not_asked_for(manager, draft_plan, released, raf, shop, words):
    planning.accept(draft_plan, raf)
    sawing.open_source(draft_plan.sources.get(), Act(shop.people["bo"], shop.stations["saw-1"]))
    assert 'name="keep"' not in manager.get(f"/plans/{draft_plan.number}/").content.decode()
    fields = {"order": [released.number], "seconds": "1", "keep": ["K-0001"]}
    answer = manager.post(f"/plans/{draft_plan.number}/rest/", fields)
    assert answer.context["refused"] == "stock-gone"
    assert "K-0001 is on the saw" in words(answer)


def test_the_reason_of_a_failed_plan_stands_there_with_the_form_to_plan_again(manager, draft_plan, firm, words):
    CuttingRun.objects.create(
        number=7, grade=firm, follows=draft_plan, state="failed", refusal="The rack does not hold 3 of 4101 A6.",
        asked=planning.Asked(keep=("K-0001",), out=("K-0002",)).as_json(),
    )  # fmt: skip
    page = manager.get("/plans/7/")
    assert "The rack does not hold 3 of 4101 A6." in words(page)
    assert 'name="keep" value="K-0001" checked' in page.content.decode()
    order = planning.demand(firm)[0][0].line.order
    manager.post("/plans/7/again/", {"order": [order.number], "seconds": "1", "keep": ["K-0001"]})
    assert newest().follows == draft_plan
    assert planning.Asked.of(newest()).keep == ("K-0001",)


def test_the_office_sees_no_form_and_may_not_ask(office, draft_plan):
    assert 'id="again"' not in office.get(f"/plans/{draft_plan.number}/").content.decode()
    assert office.post(f"/plans/{draft_plan.number}/again/").status_code == 403


def test_the_page_costs_the_same_queries_for_one_block_and_for_many(
    manager, draft_plan, raf, firm, django_assert_max_num_queries
):
    for number in range(10, 40):
        account.receive(f"K-00{number}", firm, BLOCK, raf)
    with django_assert_max_num_queries(13):
        manager.get(f"/plans/{draft_plan.number}/")
    assert StockPiece.objects.count() > 30


def test_a_plan_that_is_over_says_no_more_that_it_stays_in_force(manager, draft_plan, raf, words):
    planning.accept(draft_plan, raf)
    address = f"/plans/{draft_plan.number}/"
    assert "This plan stays in force until the new one is accepted." in words(manager.get(address))
    for source in draft_plan.sources.all():
        sawing.open_source(source, raf)
        for remnant in source.remnants.all():
            sawing.give_up(remnant, "crumbled", raf)
        sawing.finish_source(source, raf, reason="crumbled")
    over = words(manager.get(address))
    assert "What is sawn stays." in over
    assert "in force" not in over
