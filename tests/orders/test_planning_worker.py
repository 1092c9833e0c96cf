"""Plans that a worker makes: one worker a plan, heard and hearing once a second, and nothing lost when one dies."""

import logging
from concurrent.futures import ThreadPoolExecutor
from contextlib import suppress
from datetime import timedelta
from itertools import count

import pytest
from django.db import connection
from django.utils import timezone
from django_tasks_db.models import DBTaskResult
from planning_queue import start_worker, wait_for, work_the_queue

from cutsheets.planning.check import check
from orders import planning
from orders.models import CuttingRun
from orders.planning import making, working
from shop import account
from shop.acts import Act

BLOCK = (2_463_800, 1_244_600, 939_800)  # 97 × 49 × 37 in
live = pytest.mark.django_db(transaction=True)


@pytest.fixture
def firm(shop):
    return shop.grades["Firm 1.5"]


@pytest.fixture
def block(shop, firm):
    return account.receive("K-0001", firm, BLOCK, Act(by=shop.people["raf"]))


@pytest.fixture
def start(shop, firm, order, block):
    """Return a function that asks for a plan as the page does."""
    return lambda seconds=60: planning.start_plan(firm, planning.Asked(seconds), Act(by=shop.people["raf"]))


@pytest.fixture
def meanwhile(monkeypatch):
    """Return a function that does something in the middle of a search, after a plan is told, its worker reporting."""
    search = making.solve

    def plan(do):
        def solve(instance, *, stop, tell, **how):
            asked, told = count(), []
            return search(
                instance, stop=lambda: (told and next(asked) == 3 and do()) or stop(),
                tell=lambda found: told.append(found) or tell(found), **how,
            )  # fmt: skip

        monkeypatch.setattr(making, "solve", solve)
        monkeypatch.setattr(working, "EVERY", 0.0)

    return plan


def now(run):
    return CuttingRun.objects.get(pk=run.pk)


def seems_dead(run):
    """Let the last report of a worker be so old that it is taken for dead."""
    CuttingRun.objects.filter(pk=run.pk).update(alive_at=timezone.now() - working.LOST - timedelta(seconds=1))


# From the page to the draft -------------------------------------------------------------------------------------------


def test_a_plan_that_was_asked_for_is_there_at_once_and_reserves_nothing(start, block):
    run = start()
    assert (run.state, run.plan, planning.standing(run)) == ("planning", {}, "waiting")
    block.refresh_from_db()
    assert block.state == "rack"


def test_there_is_no_plan_to_start_where_nothing_is_wanted(shop, mina, refused):
    refused("nothing-wanted", planning.start_plan, shop.grades["Firm 1.5"], planning.Asked(), mina)
    assert not CuttingRun.objects.exists()


def test_a_worker_turns_what_waits_into_checked_drafts(start):
    runs = [start(1), start(1)]
    work_the_queue()
    for run in map(now, runs):
        assert run.state == "draft"
        assert check(run.instance, run.plan).ok


def test_a_plan_made_here_and_one_of_a_worker_are_the_same(start, firm, shop):
    here = planning.make_plan(firm, Act(by=shop.people["raf"]), seconds=60, iterations=3)
    run = start()
    working.work(run.pk, iterations=3)
    assert now(run).plan == here.plan


def test_blanks_without_foam_leave_a_sentence_with_the_remedy(start, order, block, mina):
    run = start(1)
    account.scrap(block, mina, reason="wet")
    work_the_queue()
    assert now(run).state == "failed"
    assert now(run).refusal.startswith(f"The rack does not hold 8 of {order.number} A1, ")


def test_what_goes_wrong_in_a_worker_is_told_to_the_log_and_not_to_the_manager(start, monkeypatch, caplog):
    monkeypatch.setattr(working, "find_draft", lambda *_: 1 / 0)
    run = start()
    with caplog.at_level(logging.ERROR):
        work_the_queue()
    assert (now(run).state, now(run).refusal) == ("failed", working.WENT_WRONG)
    assert "ZeroDivisionError" in caplog.text


def test_the_best_plan_so_far_can_be_read_while_the_search_goes_on(start, meanwhile):
    run, seen = start(1), []
    meanwhile(lambda: seen.append(now(run)))
    working.work(run.pk)
    [so_far] = seen
    assert (so_far.state, planning.standing(so_far)) == ("planning", "working")
    assert so_far.figures["bound"]["score"] <= so_far.figures["score"]
    assert check(so_far.instance, so_far.plan).ok
    assert now(run).figures["score"] <= so_far.figures["score"]


# Kept, given up, taken over -------------------------------------------------------------------------------------------


def test_stop_and_keep_ends_the_search_with_a_draft(start, meanwhile):
    run = start(60)
    meanwhile(lambda: planning.keep(run))
    working.work(run.pk)
    assert now(run).state == "draft"
    assert now(run).figures["seconds"] < 30
    assert check(now(run).instance, now(run).plan).ok


def test_a_plan_that_is_given_up_meanwhile_stays_given_up(start, meanwhile, refused):
    run = start(60)
    meanwhile(lambda: planning.cancel(run))
    working.work(run.pk)
    assert (now(run).state, now(run).plan, now(run).figures) == ("void", {}, {})
    refused("not-planning", planning.keep, run)


def test_a_plan_given_up_before_its_turn_is_never_looked_for(start, monkeypatch):
    run = start()
    planning.cancel(run)
    monkeypatch.setattr(working, "find_draft", lambda *_: pytest.fail("it was planned"))
    work_the_queue()
    assert now(run).state == "void"


def test_a_worker_that_was_given_up_for_dead_writes_nothing_more(start, meanwhile):
    run = start(60)

    def taken_over():
        seems_dead(run)
        assert working._claim(run.pk), "another worker takes it"

    meanwhile(taken_over)
    working.work(run.pk)
    assert now(run).state == "planning"


def test_a_plan_is_not_made_twice_though_it_stands_twice_in_the_queue(start, monkeypatch):
    run, made = start(1), []
    find = working.find_draft
    monkeypatch.setattr(working, "find_draft", lambda *how: made.append(1) or find(*how))
    for _ in range(2):
        working.plan_in_worker.enqueue(run.pk)
    work_the_queue()
    assert (now(run).state, made) == ("draft", [1])


def test_what_a_dead_worker_had_goes_back_into_the_queue_once(start):
    run = start(1)
    working._claim(run.pk)
    planning.requeue_lost()
    assert not DBTaskResult.objects.ready().exists(), "its worker may still live"
    seems_dead(run)
    for _ in range(3):
        planning.requeue_lost()
    assert DBTaskResult.objects.ready().count() == 1
    work_the_queue()
    assert now(run).state == "draft"


def test_a_plan_at_which_workers_die_again_and_again_is_given_up_with_the_remedy(start):
    run = start()
    for death in range(working.DEATHS):
        assert now(run).state == "planning", f"after {death} deaths"
        planning.requeue_lost()
        DBTaskResult.objects.get(status="READY").claim("a worker that dies")
        working._claim(run.pk)
        seems_dead(run)
    planning.requeue_lost()
    assert (now(run).state, now(run).refusal) == ("failed", working.WORKERS_DIED)


def test_what_was_found_before_the_worker_died_can_be_kept(start, meanwhile, monkeypatch):
    run = start(60)

    def die():
        raise KeyboardInterrupt

    meanwhile(die)
    with suppress(KeyboardInterrupt):
        working.work(run.pk)
    seems_dead(run)
    planning.keep(run)
    monkeypatch.setattr(working, "find_draft", lambda *_: pytest.fail("it was planned again"))
    work_the_queue()
    assert now(run).state == "draft"
    assert check(now(run).instance, now(run).plan).ok


def test_where_nobody_works_it_is_said_after_some_seconds(start):
    run = start()
    planning.requeue_lost()
    assert planning.standing(run) == "waiting"
    DBTaskResult.objects.update(enqueued_at=timezone.now() - timedelta(seconds=11))
    assert planning.standing(run) == "nobody"
    working._claim(start().pk)
    assert planning.standing(run) == "waiting", "a worker lives, it has another plan"


def test_the_queue_forgets_what_is_over_and_nothing_else(start):
    run = start(1)
    work_the_queue()
    working.plan_in_worker.enqueue(run.pk)
    planning.forget_finished_tasks()
    assert DBTaskResult.objects.count() == 2
    DBTaskResult.objects.update(enqueued_at=timezone.now() - timedelta(days=2))
    planning.forget_finished_tasks()
    assert [task.status for task in DBTaskResult.objects.all()] == ["READY"]


@live
def test_of_workers_that_claim_a_plan_at_once_one_has_it(start):
    run = start()

    def claim(_):
        try:
            return working._claim(run.pk) is not None
        finally:
            connection.close()

    with ThreadPoolExecutor(6) as pool:
        assert sorted(pool.map(claim, range(6))) == [False] * 5 + [True]


@live
def test_plans_asked_for_at_once_have_numbers_of_their_own(start):
    def ask(_):
        try:
            return start().number
        finally:
            connection.close()

    with ThreadPoolExecutor(6) as pool:
        assert sorted(pool.map(ask, range(6))) == [1, 2, 3, 4, 5, 6]
    assert DBTaskResult.objects.ready().count() == 6


# Workers in processes of their own ------------------------------------------------------------------------------------


@pytest.fixture
def worker():
    """Return a function that starts a worker process; all are ended with the test."""
    started = []

    def run():
        started.append(start_worker())
        return started[-1]

    yield run
    for process in started:
        process.kill()
        process.wait()


def has_plan(run):
    return lambda: now(run).plan


@live
def test_a_worker_plans_shows_its_best_and_keeps_it_when_it_is_told(start, worker):
    run = start(60)
    worker()
    wait_for(has_plan(run), "a plan so far")
    assert now(run).state == "planning"
    planning.keep(run)
    wait_for(lambda: now(run).state == "draft", "the draft")
    assert now(run).figures["seconds"] < 30


@live
def test_a_search_in_a_worker_keeps_nobody_else_from_writing(start, worker, firm, mina):
    run = start(60)
    worker()
    wait_for(has_plan(run), "a plan so far")
    began = timezone.now()
    for number in range(2, 22):
        account.receive(f"K-{number:04}", firm, BLOCK, mina)
    assert timezone.now() - began < timedelta(seconds=5)
    assert now(run).state == "planning"


@live
def test_the_plan_of_a_killed_worker_is_made_by_the_next(start, worker):
    run = start(60)
    killed = worker()
    wait_for(has_plan(run), "a plan so far")
    killed.kill()
    killed.wait()
    seems_dead(run)
    worker()
    wait_for(lambda: now(run).alive_at > timezone.now() - timedelta(seconds=5), "the next worker")
    planning.keep(run)
    wait_for(lambda: now(run).state == "draft", "the draft")


@live
def test_a_worker_that_is_asked_to_end_hands_its_plan_back(start, worker):
    run = start(60)
    asked = worker()
    wait_for(has_plan(run), "a plan so far")
    asked.terminate()
    assert asked.wait(timeout=20) == 0
    assert (now(run).state, now(run).alive_at) == ("planning", None)
    assert DBTaskResult.objects.ready().count() == 1
    worker()
    wait_for(lambda: now(run).alive_at, "the next worker")


@live
def test_a_plan_that_is_given_up_makes_room_for_the_next(start, worker):
    first, second = start(60), start(60)
    worker()
    wait_for(has_plan(first), "a plan so far")
    assert planning.standing(second) == "waiting"
    planning.cancel(first)
    wait_for(has_plan(second), "the second plan")
    assert (now(first).state, now(first).plan) == ("void", {})


@live
def test_two_workers_make_two_plans_at_once_and_none_twice(start, worker):
    first, second = start(60), start(60)
    worker()
    worker()
    wait_for(lambda: has_plan(first)() and has_plan(second)(), "both plans")
    for run in (first, second):
        planning.keep(run)
    wait_for(lambda: {now(first).state, now(second).state} == {"draft"}, "both drafts")
    assert DBTaskResult.objects.count() == 2
