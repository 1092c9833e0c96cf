"""What the other tests stand on: the database and the browser they get, and settings that are safe outside them."""

import os
import subprocess
import sys
import threading

import pytest
from debian_browser import make_fresh
from django.contrib.auth import get_user_model
from django.core.signals import request_finished, request_started
from django.db import ConnectionHandler, connection
from requests_in_hand import RequestsInHand
from source_tree import ROOT

from shop import settings as as_shipped

PRODUCTION = {
    "BLOCKYARD_MODE": "production",
    "DJANGO_ALLOWED_HOSTS": "blockyard.example",
    "DJANGO_SECRET_KEY": "only-for-this-test-0123456789-abcdefghijklmnopqrstuvwxyz",
}


def check_deploy(**environment):
    command = [sys.executable, "manage.py", "check", "--deploy", "--fail-level", "WARNING"]
    ours = {**os.environ, "BLOCKYARD_NO_BOOTSTRAP": "1", **environment}
    return subprocess.run(command, cwd=ROOT, env=ours, capture_output=True, text=True, check=False)


@pytest.fixture
def person(transactional_db):
    return get_user_model().objects.create_user("mina", password="not a real one")


@pytest.mark.django_db
def test_the_database_is_the_one_that_the_environment_names():
    named = os.environ.get("DATABASE_URL", "sqlite:").partition(":")[0]
    assert connection.vendor == {"postgres": "postgresql"}.get(named, named)


@pytest.mark.django_db
def test_sqlite_waits_for_its_turn_and_keeps_foreign_keys(tmp_path):
    shipped = {"ENGINE": "django.db.backends.sqlite3", "OPTIONS": as_shipped.SQLITE_OPTIONS}
    sqlite = ConnectionHandler({"default": {**shipped, "NAME": tmp_path / "try.sqlite3"}})["default"]
    with sqlite.cursor() as cursor:
        found = {name: cursor.execute(f"PRAGMA {name}").fetchone()[0] for name in ("journal_mode", "foreign_keys")}
    assert found == {"journal_mode": "wal", "foreign_keys": 1}
    assert sqlite.transaction_mode == "IMMEDIATE"
    sqlite.close()


def test_passwords_are_argon2_as_shipped_and_cheap_in_tests(person):
    assert "Argon2" in as_shipped.PASSWORD_HASHERS[0]
    assert person.password.startswith("md5$")


def test_production_settings_pass_the_deployment_check():
    said = check_deploy(**PRODUCTION)
    assert said.returncode == 0, said.stderr


@pytest.mark.parametrize("missing", ["DJANGO_SECRET_KEY", "DJANGO_ALLOWED_HOSTS"])
def test_production_guesses_no_secret_and_no_host(missing):
    said = check_deploy(**{**PRODUCTION, missing: ""})
    assert said.returncode != 0
    assert f"Set {missing} in the environment" in said.stderr


def test_each_test_finds_the_browser_fresh(browser, live_server):
    browser.get(f"{live_server.url}/healthz")
    browser.add_cookie({"name": "left", "value": "behind"})
    browser.execute_script("localStorage.setItem('left', 'behind')")
    make_fresh(browser, live_server.url)
    browser.get(f"{live_server.url}/healthz")
    assert browser.get_cookies() == []
    assert browser.execute_script("return localStorage.length") == 0


def test_the_page_is_as_large_as_asked(browser, viewport):
    size = "return [innerWidth, innerHeight]"
    assert browser.execute_script(size) == [1280, 800]
    viewport(390, 844)
    assert browser.execute_script(size) == [390, 844]


def test_a_person_is_signed_in_without_the_form(browser_as, person):
    browser = browser_as(person, "/healthz")
    assert [cookie["name"] for cookie in browser.get_cookies()] == ["sessionid"]


def test_a_picture_of_the_page_is_kept(browser, live_server, screenshot):
    browser.get(f"{live_server.url}/healthz")
    assert screenshot("healthz").read_bytes().startswith(b"\x89PNG")


def test_a_test_ends_when_its_last_request_has_been_answered():
    answered = []

    def answer():
        answered.append("late")
        request_finished.send(sender=None)

    with RequestsInHand().counted() as requests:
        request_started.send(sender=None)
        threading.Timer(0.3, answer).start()
        assert requests.wait_for_none()
        assert answered == ["late"]
