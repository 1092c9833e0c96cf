"""Cutting plans on their pages: made from what is wanted, seen with figures, accepted, refused, stopped."""

import re

import pytest
from django.db.models import F
from planning_queue import work_the_queue

from orders import moves, planning, sawing, ways
from orders.models import Blank, CuttingRun
from shop import account
from shop.acts import Act
from shop.models import StockPiece


@pytest.fixture
def form(released, firm):
    return {"grade": firm.pk, "order": [released.number], "seconds": "1"}


@pytest.fixture
def draft_plan(released, blocks, firm, raf):
    return planning.make_plan(firm, raf, iterations=3)


def test_the_wanted_blanks_of_a_grade_stand_there_by_order(manager, released, blocks, words):
    said = words(manager.get("/plans/new/"))
    assert "Firm 1.5 6 blanks" in said
    assert f"{released.number} Bramhall Street Theatre, front" in said


def test_a_plan_is_made_and_shown_with_its_checker_yield_and_bound(manager, form, blocks, words):
    address = manager.post("/plans/new/", form).url
    work_the_queue()
    said = words(manager.get(address))
    assert "all 6 placed, no overlap, every cut edge to edge" in said
    assert "1: this plan, and the fewest possible." in said
    shares = [float(share) for share in re.findall(r"([\d.]+) %", said)]
    assert len(shares) >= 4 and all(0 < share < 100 for share in shares)  # noqa: PT018 - one claim
    assert StockPiece.objects.filter(state="reserved").count() == 0


def test_a_remnant_of_a_draft_has_one_name_in_picture_and_table(manager, draft_plan):
    page = manager.get(f"/plans/{draft_plan.number}/").content.decode()
    pictures, _, table = page.partition("Remnants this makes")
    named = re.findall(r'<th scope="row">(\w+)</th>', table)
    assert named == ["N1", "N2"]
    assert all(re.search(rf"\b{name}\b", pictures) for name in named)


def test_an_order_that_was_unticked_is_left_out(manager, form, blocks, words):
    answer = manager.post("/plans/new/", form | {"order": []})
    assert answer.status_code == 409
    assert "Every order is left out; choose at least one to plan." in words(answer)
    assert not CuttingRun.objects.exists()


@pytest.mark.parametrize("seconds", ["0", "601", "soon", "²"])
def test_seconds_that_no_worker_is_given_are_refused(manager, form, blocks, words, seconds):
    answer = manager.post("/plans/new/", form | {"seconds": seconds})
    assert "type 1 to 600" in words(answer)
    assert f'value="{seconds}"' in answer.content.decode()


def test_an_empty_rack_is_said_with_the_blanks_that_have_no_foam(manager, form, words):
    address = manager.post("/plans/new/", form).url
    work_the_queue()
    assert "Receive blocks of Firm 1.5" in words(manager.get(address))


def test_accepting_reserves_the_foam_and_offers_the_saw_sheets(manager, draft_plan, words):
    answer = manager.post(f"/plans/{draft_plan.number}/accept/", follow=True)
    assert "Print saw sheets" in words(answer)
    assert StockPiece.objects.get(state="reserved").held_for == f"plan {draft_plan.number}"


def test_foam_that_has_gone_meanwhile_is_named_and_nothing_is_reserved(manager, draft_plan, blocks, raf, words):
    account.scrap(blocks[0], raf, reason="wet")
    answer = manager.post(f"/plans/{draft_plan.number}/accept/")
    assert answer.status_code == 409
    assert "K-0001 is not free on the rack" in words(answer)
    assert "Plan again with what is there now" in words(answer)
    assert "not free any more: scrapped" in words(answer)
    assert not StockPiece.objects.filter(state="reserved").exists()


def test_an_order_cancelled_meanwhile_makes_the_plan_old(manager, draft_plan, released, mina, words):
    moves.cancel(released, "customer changed her mind", mina)
    answer = manager.post(f"/plans/{draft_plan.number}/accept/")
    assert "is out of date" in words(answer)


def test_a_plan_thrown_away_gives_its_foam_back(manager, draft_plan, raf, words):
    planning.accept(draft_plan, raf)
    answer = manager.post(f"/plans/{draft_plan.number}/throw-away/", follow=True)
    assert "thrown away" in words(answer)
    assert StockPiece.objects.filter(state="rack").count() == 2


def test_a_plan_with_an_open_block_can_only_be_stopped(manager, draft_plan, raf, shop, words):
    planning.accept(draft_plan, raf)
    sawing.open_source(draft_plan.sources.first(), Act(shop.people["bo"], shop.stations["saw-1"]))
    said = words(manager.get(f"/plans/{draft_plan.number}/"))
    assert "Stop: open no more of it" in said
    assert "Throw away" not in said
    assert manager.post(f"/plans/{draft_plan.number}/throw-away/").status_code == 409
    assert manager.post(f"/plans/{draft_plan.number}/stop/").status_code == 302


def test_the_office_looks_at_plans_but_has_no_button_to_accept(office, draft_plan, words):
    said = words(office.get(f"/plans/{draft_plan.number}/"))
    assert "The manager accepts it." in said
    assert "reserve the foam" not in said


def test_the_list_tells_the_states_apart_and_says_what_waits(manager, draft_plan, words):
    assert "draft" in words(manager.get("/plans/"))
    assert "No plan in this state." in words(manager.get("/plans/?state=done"))
    assert "6 blanks of Firm 1.5 wait for a plan." in words(manager.get("/plans/"))


def test_the_list_costs_the_same_queries_for_one_plan_and_for_ten(manager, draft_plan, django_assert_max_num_queries):
    for number in range(100, 109):
        CuttingRun.objects.create(
            number=number, grade=draft_plan.grade, instance=draft_plan.instance, plan=draft_plan.plan,
            figures=draft_plan.figures,
        )  # fmt: skip
    with django_assert_max_num_queries(12):
        manager.get("/plans/")


def test_why_the_plan_is_not_better_stands_there_with_its_bound_and_what_holds_it(manager, draft_plan, words):
    said = words(manager.get(f"/plans/{draft_plan.number}/")).split("Why not better?")[1]
    score, least = draft_plan.figures["score"], draft_plan.figures["bound"]["score"]
    assert f"at most {100 * (score / least - 1):.1f} % above what any plan can reach" in said
    assert f"It costs {score / 100:,.2f} in shop prices; none costs less than {least / 100:,.2f}." in said
    assert "The blanks, kerf included, fill" in said
    assert "Blocks come in one size only, 97 × 49 × 37 in." in said


def test_a_bound_of_no_new_block_goes_unsaid(manager, draft_plan, words):
    address = f"/plans/{draft_plan.number}/"
    assert "opens fewer than 1 new block." in words(manager.get(address))
    draft_plan.figures["bound"]["blocks"] = 0
    draft_plan.save()
    assert "opens fewer than 0" not in words(manager.get(address))


def test_a_plan_at_its_bound_says_that_nobody_can_do_better(manager, draft_plan, words):
    draft_plan.figures["bound"]["score"] = draft_plan.figures["score"]
    draft_plan.save()
    assert "Nobody can do better: this plan lies at the bound." in words(manager.get(f"/plans/{draft_plan.number}/"))


def test_no_money_is_printed_or_shown_on_the_floor(manager, draft_plan, raf, floor, shop, words):
    page = manager.get(f"/plans/{draft_plan.number}/").content.decode()
    assert '<span class="no-print"> It costs' in page
    planning.accept(draft_plan, raf)
    sawing.open_source(draft_plan.sources.first(), Act(shop.people["bo"], shop.stations["saw-1"]))
    assert f"{draft_plan.figures['score'] / 100:,.2f}" not in words(floor.get("/station/saw-1/"))


def test_a_sawn_plan_has_nothing_left_to_do_but_to_print(manager, draft_plan, raf, words):
    planning.accept(draft_plan, raf)
    Blank.objects.update(sawn=F("qty"))
    draft_plan.state = "done"
    draft_plan.save()
    said = words(manager.get(f"/plans/{draft_plan.number}/"))
    assert "Nothing is left to do." in said
    assert "Throw away" not in said


def test_the_faces_of_big_blanks_are_shown_with_their_line(manager, draft, mina, raf, firm, blocks, words):
    line = draft.lines.get()
    ways.compare_in_worker.func(line.pk)
    line.refresh_from_db()
    ways.choose(draft, line, "gang", mina, version=draft.version)
    draft.refresh_from_db()
    moves.release(draft, mina)
    run = planning.make_plan(firm, raf, iterations=3)
    gives = max(blank.gives for blank in line.blanks.all())
    said = words(manager.get(f"/plans/{run.number}/"))
    assert f"Faces to wire {draft.number} A. Face " in said
    assert f"in, {gives} sections, kerf 1/16 in, numbered as they come free" in said
