"""The page of a plan that is being made: its best so far, its bound, keep and cancel, and what it becomes."""

import time
from datetime import timedelta

import pytest
from django.utils import timezone
from django_tasks_db.models import DBTaskResult
from planning_queue import start_worker, wait_for, work_the_queue
from selenium.webdriver.common.by import By

from orders import planning
from orders.demo import small_shop
from orders.models import CuttingRun
from orders.planning import working
from shop.acts import Act
from shop.models import Station
from tests.pages.day_browser import Hands


@pytest.fixture
def form(released, firm, blocks):
    """What the page of a new plan posts, with two blocks on the rack."""
    return {"grade": firm.pk, "order": [released.number], "seconds": "1"}


@pytest.fixture
def run(form, firm, raf):
    """A plan that waits for a worker."""
    return planning.start_plan(firm, planning.Asked(60), raf)


@pytest.fixture
def half_made(run):
    """The same plan when its worker has found something: the draft of another search, and a fresh report."""
    found = working.find_draft(run, planning.making.Effort(iterations=1))
    CuttingRun.objects.filter(pk=run.pk).update(alive_at=timezone.now(), **found.columns())
    run.refresh_from_db()
    return run


def polled(client, run):
    return client.get(f"/plans/{run.number}/progress/", headers={"HX-Request": "true"})


def test_asking_for_a_plan_answers_at_once_however_long_it_takes(manager, form):
    began = time.process_time()
    answer = manager.post("/plans/new/", form | {"seconds": "600"}, follow=True)
    assert time.process_time() - began < 2
    assert CuttingRun.objects.get().state == "planning"
    assert f"/plans/{CuttingRun.objects.get().number}/" in answer.redirect_chain[0][0]


def test_a_plan_without_a_worker_yet_says_so_and_can_be_given_up(manager, run, words):
    said = words(manager.get(f"/plans/{run.number}/"))
    assert "being planned" in said
    assert "Waiting for a worker" in said
    assert "No plan yet" in said
    assert "Cancel" in said


def test_keeping_before_there_is_a_plan_keeps_the_first(manager, run, words):
    said = words(manager.post(f"/plans/{run.number}/keep/", follow=True))
    assert "The first plan that is found is kept." in said
    assert "best plan so far is kept" not in said
    assert "Stop and keep this" not in said


def test_foam_that_waits_for_no_plan_is_refused_and_not_guessed(manager, form, words):
    answer = manager.post("/plans/new/", form | {"grade": "999"})
    assert answer.status_code == 409
    assert "No blanks of that foam wait for a plan now" in words(answer)
    assert not CuttingRun.objects.exists()


def test_the_best_so_far_stands_beside_its_bound(manager, half_made, words):
    said = words(polled(manager, half_made))
    stats = half_made.figures["stats"]
    assert f"New blocks {stats['new_blocks']} No plan needs fewer than {half_made.figures['bound']['blocks']}" in said
    assert f"{half_made.figures['seconds']:.0f} s of 60" in said
    assert f"Yield {100 * half_made.figures['yield_net']:.1f} %" in said


def test_a_page_without_scripts_asks_again_by_itself(manager, run):
    assert '<noscript><meta http-equiv="refresh"' in manager.get(f"/plans/{run.number}/").content.decode()


def test_a_page_that_asks_how_it_goes_becomes_the_plan_when_it_is_made(manager, run):
    assert "HX-Redirect" not in polled(manager, run).headers
    planning.keep(run)
    work_the_queue()
    assert polled(manager, run).headers["HX-Redirect"] == f"/plans/{run.number}/"
    assert manager.get(f"/plans/{run.number}/progress/").url == f"/plans/{run.number}/"


def test_where_no_worker_runs_the_page_says_how_to_start_one(manager, run, words):
    planning.requeue_lost()
    DBTaskResult.objects.update(enqueued_at=timezone.now() - timedelta(minutes=1))
    said = words(polled(manager, run))
    assert "No worker is running" in said
    assert "python3 manage.py worker" in said


def test_the_page_itself_has_a_plan_of_a_dead_worker_made_again(manager, half_made):
    CuttingRun.objects.update(alive_at=timezone.now() - timedelta(minutes=1))
    polled(manager, half_made)
    assert DBTaskResult.objects.ready().count() == 1


def test_stop_and_keep_is_told_and_heard(manager, half_made, words):
    said = words(manager.post(f"/plans/{half_made.number}/keep/", follow=True))
    assert "the best plan so far is kept" in said
    half_made.refresh_from_db()
    assert half_made.wish == "keep"


def test_a_plan_that_is_given_up_is_thrown_away_at_once(manager, half_made, words):
    said = words(manager.post(f"/plans/{half_made.number}/cancel/", follow=True))
    assert f"Plan {half_made.number} is given up" in said
    assert "Thrown away before there was a plan" in said


def test_a_plan_that_is_made_by_now_is_shown_instead_of_stopped(manager, run, words):
    planning.keep(run)
    work_the_queue()
    said = words(manager.post(f"/plans/{run.number}/cancel/", follow=True))
    assert "is not being planned any more" in said
    assert "Accept, reserve the foam" in said


def test_the_office_watches_and_only_the_manager_stops(office, half_made, words):
    assert "Stop and keep this" not in words(office.get(f"/plans/{half_made.number}/"))


def test_the_list_of_plans_shows_what_is_being_planned_and_what_failed(manager, run, firm, words):
    assert "being planned" in words(manager.get("/plans/?state=planning"))
    planning.cancel(run)
    failed = planning.start_plan(firm, planning.Asked(1, out=("K-0001", "K-0002")), run_act(run))
    work_the_queue()
    said = words(manager.get("/plans/?state=failed"))
    assert f"{failed.number} Firm 1.5 no plan" in said
    assert "The rack does not hold" in said


def run_act(run):
    return Act(run.made_by)


def test_a_saw_with_a_reach_of_its_own_can_be_chosen(manager, form, words):
    Station.objects.filter(code="saw-1").update(kerf=3, height=1200)
    assert "Saw 1" in words(manager.get("/plans/new/"))
    manager.post("/plans/new/", form | {"saw": "saw-1"})
    assert CuttingRun.objects.get().saw.code == "saw-1"
    answer = manager.post("/plans/new/", form | {"saw": "cutter-1"})
    assert "There is no saw" in words(answer)


# In a browser, with a worker ------------------------------------------------------------------------------------------


@pytest.fixture
def hands(browser, live_server, screenshot):
    return Hands(browser, live_server.url, screenshot)


@pytest.mark.django_db(transaction=True)
class TestInABrowser:
    @pytest.fixture
    def shop(self, transactional_db):
        return small_shop(passwords=True)

    @pytest.fixture
    def worker(self):
        process = start_worker()
        yield process
        process.kill()
        process.wait()

    def test_a_plan_is_watched_and_kept(self, hands, form, worker):
        self.ask(hands, "60")
        hands.sees("Working,", "No plan needs fewer than", "Cost above the bound")
        hands.look("plan-so-far")
        hands.press("Stop and keep this")
        hands.sees("no overlap, every cut edge to edge", "Accept, reserve the foam")
        hands.look("plan-kept")

    def test_a_plan_becomes_its_page_by_itself_and_the_focus_stays_meanwhile(self, hands, form, worker):
        self.ask(hands, "8")
        button = hands.browser.find_element(By.XPATH, "//button[starts-with(., 'Cancel')]")
        hands.browser.execute_script("arguments[0].focus()", button)
        hands.sees("No plan needs fewer than", where=".so-far")
        assert hands.browser.switch_to.active_element == button
        hands.sees("no overlap, every cut edge to edge")
        assert CuttingRun.objects.get().state == "draft"

    def test_a_plan_is_given_up(self, hands, form, worker):
        self.ask(hands, "60")
        hands.sees("No plan needs fewer than")
        hands.press("Cancel")
        hands.sees("nothing was reserved for it", "Thrown away before there was a plan")
        wait_for(lambda: CuttingRun.objects.get().state == "void", "the end")

    @staticmethod
    def ask(hands, seconds):
        hands.sign_in("raf")
        hands.open("/plans/new/")
        hands.fill(seconds=seconds)
        hands.press("Make the plan")
        hands.sees("being planned", "Stop and keep this")
        wait_for(lambda: CuttingRun.objects.get().plan, "a plan so far")
