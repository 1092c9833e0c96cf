"""`manage.py demo`: from an empty database to a page to sign in on, again and again, on whatever port is free."""

import os
import re
import socket
import subprocess
import sys
from urllib.request import urlopen

import pytest
from django.core.management import CommandError, call_command
from source_tree import ROOT

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
