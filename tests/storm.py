"""Sixteen stations that work at once over HTTP on a server of their own process, which may be killed while they do.

Each station goes through its list of acts: scans, counts, spoiled ones, its own undos, batches kept without network and
sent late, out of order, by a clock that is wrong. A reply may be dropped: the act is then sent again under its id,
until it is answered, as the page does it. What was acknowledged is written down, to be compared with the books.
"""

import json
import os
import random
import signal
import socket
import subprocess
import sys
import time
from dataclasses import dataclass, field
from http.client import HTTPConnection, HTTPException
from urllib.parse import urlencode

from planning_queue import database_url
from source_tree import ROOT

PATIENCE = 60  # seconds that a station goes on sending one act to a server that is away


class Server:
    """A web server on the database of the tests."""

    def __init__(self):
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            self.port = free.getsockname()[1]
        self.start()

    def start(self):
        ours = {**os.environ, "DATABASE_URL": database_url(), "BLOCKYARD_NO_BOOTSTRAP": "1"}
        serve = [sys.executable, "-m", "waitress", f"--listen=127.0.0.1:{self.port}", "--threads=16"]
        quiet = subprocess.DEVNULL
        self.process = subprocess.Popen([*serve, "shop.wsgi:application"], cwd=ROOT, env=ours, stderr=quiet)

    def kill(self):
        """End the process in the middle of whatever it does."""
        self.process.send_signal(signal.SIGKILL)
        self.process.wait()


@dataclass
class Acked:
    """What a station was told: the ids of counts that were taken, of those that were not, and of scans."""

    taken: list = field(default_factory=list)
    refused: list = field(default_factory=list)
    scans: list = field(default_factory=list)


class Client:
    """One station's page, without its screen."""

    def __init__(self, port, station, session, things, codes, seed):
        self.port, self.station, self.session = port, station, session
        self.things, self.codes = things, codes
        self.chance = random.Random(seed)
        self.skew = self.chance.uniform(-3 * 3600, 3 * 3600) * 1000
        self.acked, self.link, self.fault, self.number = Acked(), None, None, 0

    def work(self, acts):
        """Do so many acts, one after another."""
        done = 0
        while done < acts:
            do = self.chance.choices((self.scan, self.count, self.spoil, self.undo, self.late), (30, 45, 5, 5, 15))[0]
            done += do()

    def new_id(self):
        self.number += 1
        return f"{self.station}-{self.number:05d}"

    def scan(self):
        act = self.new_id()
        self.post("scan", {"raw": self.chance.choice(self.codes), "scan_id": act})
        self.acked.scans.append(act)
        return 1

    def count(self):
        self.act("count", self.what() | {"qty": self.chance.choice((1, 1, 1, 2, 5))})
        return 1

    def spoil(self):
        self.act("miscut", self.what() | {"qty": 1, "reason": "broke"})
        return 1

    def undo(self):
        """Take the newest of its own counts back, as a page does that knows it by its id."""
        if self.acked.taken:
            self.kept([("undo", {"undoes": self.acked.taken[-1]})])
        return 1

    def late(self):
        """Send a handful of counts that were kept, in another order than they happened."""
        acts = [("count", self.what() | {"qty": 1}) for _ in range(self.chance.randint(1, 4))]
        self.chance.shuffle(acts)
        self.kept(acts)
        return len(acts)

    def what(self):
        """Return what the next act is about, as a form names it: its order, and blanks or pieces of it."""
        return self.chance.choice(self.things)

    def act(self, what, fields):
        """Send an act, now and then twice; write down whether it was taken."""
        act = self.new_id()
        status, _ = self.post(what, fields | {"scan_id": act})
        (self.acked.taken if status == 302 else self.acked.refused).append(act)
        if status == 302 and self.chance.random() < 0.2:
            assert self.post(what, fields | {"scan_id": act})[0] == 302

    def kept(self, acts):
        """Send acts as they were kept, under the station's own clock; write down what became of each."""
        now = time.time() * 1000 + self.skew
        sent = [
            {"id": self.new_id(), "kind": kind, "at": now - self.chance.randint(0, 600_000),
             "fields": {name: str(value) for name, value in fields.items()}}
            for kind, fields in acts
        ]  # fmt: skip
        status, body = self.post("kept", json.dumps({"now": now, "acts": sent}), kind="application/json")
        assert status == 200, body
        for reply in json.loads(body)["replies"]:
            (self.acked.refused if reply["state"] == "clash" else self.acked.taken).append(reply["id"])

    def post(self, what, fields, kind="application/x-www-form-urlencoded"):
        """Send until it is answered; one reply in ten is dropped. Return the status and the body."""
        body = fields if isinstance(fields, str) else urlencode(fields)
        end = time.monotonic() + PATIENCE
        while time.monotonic() < end:
            try:
                return self.send(f"/station/{self.station}/{what}/", body, kind)
            except (OSError, HTTPException) as fault:
                self.link, self.fault = None, fault
                time.sleep(0.1)
        raise AssertionError(f"{self.station}: no answer to {body[:200]}, {self.fault}")

    def send(self, path, body, kind):
        self.link = self.link or HTTPConnection("127.0.0.1", self.port, timeout=30)
        cookie = f"sessionid={self.session}; csrftoken={'c' * 32}"
        self.link.request("POST", path, body, {"Cookie": cookie, "Content-Type": kind, "X-CSRFToken": "c" * 32})
        if self.chance.random() < 0.1:
            self.link.close()
            raise ConnectionError("the reply is lost")
        reply = self.link.getresponse()
        text = reply.read()
        if reply.status >= 500:
            raise ConnectionError(reply.status)
        return reply.status, text
