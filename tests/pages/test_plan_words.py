"""What the pages of plans say: what is wrong is named, what changed is told, and nothing is dropped unsaid."""

from datetime import timedelta

import pytest
from django.utils import timezone
from floor_shop import BLOCK, plan_for, theatre

from orders import moves, planning, sawing
from orders.models import CuttingRun
from shop import account
from shop.acts import Act
from shop.models import ShopRules, StockPiece


@pytest.fixture
def form(released, firm):
    return {"grade": firm.pk, "order": [released.number], "seconds": "1"}


@pytest.fixture
def draft_plan(released, blocks, firm, raf):
    return planning.make_plan(firm, raf, iterations=3)


def test_letters_for_the_number_of_a_plan_are_named(manager, draft_plan, words):
    answer = manager.get("/plans/compare/", {"plan": [draft_plan.number, "abc"]})
    assert "“abc” is no number of a plan; type one such as 118." in words(answer)
    answer = manager.get("/plans/compare/", {"plan": [draft_plan.number, draft_plan.number]})
    assert "1 plan chosen; choose two to compare." in words(answer)


@pytest.mark.parametrize(
    ("order", "said"),
    [("9999", "Order 9999 does not wait for blanks of Firm 1.5"), ("A1", "“A1” is no number of an order")],
)
def test_an_order_that_does_not_wait_is_refused_beside_a_good_one(
    manager, form, draft_plan, released, words, order, said
):
    both = form | {"order": [released.number, order]}
    for address in ("/plans/new/", f"/plans/{draft_plan.number}/again/"):
        answer = manager.post(address, both)
        assert answer.status_code == 409
        assert said in words(answer)
    assert CuttingRun.objects.count() == 1


def test_no_seconds_are_refused_alike_and_the_shops_own_stand_there_again(manager, form, draft_plan, words):
    ShopRules.current()
    ShopRules.objects.update(plan_seconds=25)
    for address, field in (("/plans/new/", ""), (f"/plans/{draft_plan.number}/again/", ' form="again"')):
        answer = manager.post(address, form | {"seconds": ""})
        assert "Type for how many seconds the plan is looked for, 1 to 600." in words(answer)
        assert f'name="seconds"{field} value="25"' in answer.content.decode()


def test_a_silent_worker_is_told_before_it_is_given_up(manager, form, blocks, words):
    address = manager.post("/plans/new/", form).url
    CuttingRun.objects.update(alive_at=timezone.now() - timedelta(seconds=12))
    said = words(manager.get(address))
    assert "The worker has been silent for 12 s." in said
    assert "After 30 s without a word the plan is taken up again by itself" in said
    CuttingRun.objects.update(alive_at=timezone.now())
    assert "silent" not in words(manager.get(address))


@pytest.fixture
def opened(shop):
    """An accepted plan with its block on the saw, and a new order of the same foam that came later."""
    first = theatre(shop)
    run = plan_for(shop, first)
    CuttingRun.objects.update(accepted_at=timezone.now() - timedelta(minutes=1))
    sawing.open_source(run.sources.get(), Act(shop.people["bo"], shop.stations["saw-1"]))
    return first, run, theatre(shop, job="Second house")


def test_a_new_order_does_not_make_the_saw_doubt_its_plan(shop, opened, floor, words):
    first, run, later = opened
    said = words(floor.get("/station/saw-1/", {"order": first.number}))
    assert f"Since plan {run.number} was accepted:" in said
    assert f"of order {later.number} in no plan yet. Saw on as planned." in said
    assert "does not fit" not in said
    assert "Tell the manager." not in said


def test_blanks_that_nobody_wants_any_more_are_told_to_the_manager(shop, opened, floor, mina, words):
    first, run, later = opened
    moves.hold(later, "colour", mina)
    blank = first.lines.first().blanks.first()
    blank.qty -= 1
    blank.save()
    said = words(floor.get("/station/saw-1/", {"order": first.number}))
    assert f"Since plan {run.number} was accepted: Order {first.number} waits for" in said
    assert "Tell the manager." in said


def test_a_draft_whose_foam_is_gone_is_planned_again_and_not_accepted(manager, draft_plan, raf, words):
    [tag] = {piece["source"] for piece in draft_plan.plan["pieces"]} and [draft_plan.figures["tags"]["block 1"][0]]
    account.scrap(StockPiece.objects.get(tag=tag), raf, reason="wet")
    for answer in (manager.get(f"/plans/{draft_plan.number}/"), manager.post(f"/plans/{draft_plan.number}/accept/")):
        page = answer.content.decode()
        assert '<button class="act" form="again" data-again>' in page
        assert 'disabled aria-describedby="blocked">Accept' in page
        assert f"It cannot be accepted: {tag} is not free" in words(answer)
        assert f"/plans/{draft_plan.number}/accept/" not in page


def test_plans_made_with_other_prices_say_so_and_neither_costs_less(manager, draft_plan, firm, raf, words):
    again = planning.make_plan(firm, raf, iterations=3)
    page = manager.get("/plans/compare/", {"plan": [draft_plan.number, again.number]})
    assert "other prices" not in words(page)
    ShopRules.objects.update(price_foam="5.00")
    dearer = planning.make_plan(firm, raf, iterations=3)
    page = manager.get("/plans/compare/", {"plan": [draft_plan.number, dearer.number]})
    assert "They were made with other prices" in words(page)
    cost = page.content.decode().partition("Cost in shop prices")[2].partition("</tr>")[0]
    assert "better" not in cost


def test_prices_of_the_work_count_as_prices(manager, draft_plan, firm, raf, words):
    ShopRules.objects.update(price_cut="0.99")
    other = planning.make_plan(firm, raf, iterations=3)
    assert "other prices" in words(manager.get("/plans/compare/", {"plan": [draft_plan.number, other.number]}))


def test_a_block_of_another_size_is_no_other_price(manager, draft_plan, firm, raf, words):
    account.receive("K-0009", firm, (BLOCK[0] // 2, BLOCK[1], BLOCK[2]), raf)
    other = planning.make_plan(firm, raf, iterations=3)
    assert "other prices" not in words(manager.get("/plans/compare/", {"plan": [draft_plan.number, other.number]}))
