"""`manage.py demo`: from an empty database to a page to sign in on, again and again, on whatever port is free."""

import os
import re
import socket
import subprocess
import sys
from http.cookiejar import CookieJar
from urllib.parse import urlencode
from urllib.request import HTTPCookieProcessor, build_opener, urlopen

import pytest
from django.core.management import CommandError, call_command
from planning_queue import wait_for
from source_tree import ROOT

from shop.management.commands import demo
from shop.management.commands.demo import HOST, listen


@pytest.fixture
def start(tmp_path):
    """Return a function that starts the demo on a database of its own and gives its address and what it said."""
    started = []

    def run(port):
        database = f"sqlite:///{tmp_path}/demo.sqlite3"
        ours = {**os.environ, "DATABASE_URL": database, "BLOCKYARD_NO_BOOTSTRAP": "1", "PYTHONUNBUFFERED": "1"}
        command = [sys.executable, "manage.py", "demo", "--port", str(port)]
        started.append(subprocess.Popen(command, cwd=ROOT, env=ours, stdout=subprocess.PIPE, text=True))
        said = ""
        for line in started[-1].stdout:
            said += line
            if address := re.search(r"http://\S+/", line):
                return address[0], said
        pytest.fail(f"the demo gave no address: {said}")

    yield run
    for process in started:
        process.terminate()
        process.wait(timeout=10)
        process.stdout.close()


def test_the_demo_opens_and_a_second_start_says_the_same_names_on_the_next_port(start):
    with listen(20_000) as free:
        port = free.getsockname()[1]
    first, said = start(port)
    assert first == f"http://{HOST}:{port}/"
    with urlopen(first) as page:  # noqa: S310  the address is our own
        assert page.status == 200
        assert "Sign in" in page.read().decode()
    second, said_again = start(port)
    assert second != first
    assert f"Port {port} is in use" in said_again
    assert said.splitlines()[-4:-1] == said_again.splitlines()[-5:-2]


def test_a_plan_asked_for_in_the_demo_is_made_by_its_worker(start):
    address, _ = start(20_100)
    browser = build_opener(HTTPCookieProcessor(CookieJar()))

    def page(path, **fields):
        if fields:
            token = re.search(r'name="csrfmiddlewaretoken" value="(\w+)"', page(path))[1]
            fields = urlencode(fields | {"csrfmiddlewaretoken": token}, doseq=True).encode()
        return browser.open(address + path, fields or None).read().decode()

    page("sign-in/", username="raf", password="blockyard-raf")
    orders = re.findall(r'name="order" value="(\d+)"', page("plans/new/"))
    grade = re.search(r'name="grade" value="(\d+)"', page("plans/new/"))[1]
    asked = page("plans/new/", grade=grade, order=orders, seconds="1")
    assert "being planned" in asked
    number = re.search(r"Plan (\d+)", asked)[1]
    wait_for(lambda: "being planned" not in page(f"plans/{number}/"), "the plan")
    assert "no overlap, every cut edge to edge" in page(f"plans/{number}/")


def test_a_worker_that_dies_is_started_again_and_ends_with_the_demo(monkeypatch):
    started = []

    class Dead:
        def __init__(self, command, *, stdin, **_):
            started.append((command[-2:], stdin))
            if len(started) == 3:
                raise SystemExit

        def wait(self):
            pass

    monkeypatch.setattr(subprocess, "Popen", Dead)
    monkeypatch.setattr(demo, "START_AGAIN_AFTER", 0)
    with pytest.raises(SystemExit):
        demo.keep_worker()
    assert started == [(["worker", "--with-parent"], subprocess.PIPE)] * 3


def test_a_worker_ends_when_the_process_that_started_it_is_gone(tmp_path):
    ours = {**os.environ, "DATABASE_URL": f"sqlite:///{tmp_path}/empty.sqlite3", "BLOCKYARD_NO_BOOTSTRAP": "1"}
    subprocess.run([sys.executable, "manage.py", "migrate", "--verbosity", "0"], cwd=ROOT, env=ours, check=True)
    command = [sys.executable, "manage.py", "worker", "--with-parent"]
    worker = subprocess.Popen(command, cwd=ROOT, env=ours, stdin=subprocess.PIPE)
    with pytest.raises(subprocess.TimeoutExpired):
        worker.wait(timeout=5)
    worker.stdin.close()
    assert worker.wait(timeout=30) == 0


def test_a_taken_port_is_passed_over():
    with listen(20_000) as first, listen(first.getsockname()[1]) as second:
        assert second.getsockname()[1] > first.getsockname()[1]


def test_no_free_port_is_said_with_the_remedy(monkeypatch):
    def taken(address):
        raise OSError("in use")

    monkeypatch.setattr(socket, "create_server", taken)
    with pytest.raises(CommandError, match="--port"):
        listen(8000)


def test_the_demo_keeps_off_a_production_set_up(settings):
    settings.PRODUCTION = True
    with pytest.raises(CommandError, match="production"):
        call_command("demo")
