"""Open the made-up shop on this machine: one command from an empty folder to a page to sign in on."""

import os
import socket
import subprocess
import sys
import time
from contextlib import suppress
from threading import Thread

import waitress
from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError

from shop.wsgi import application

HOST = "127.0.0.1"
PORTS_TRIED = 20
START_AGAIN_AFTER = 2  # seconds, so that a worker that cannot start does not take the whole machine


def listen(port: int) -> socket.socket:
    """Return a socket listening on this port of this machine, or on the next free one after it."""
    for candidate in range(port, min(port + PORTS_TRIED, 65536)):
        with suppress(OSError):
            return socket.create_server((HOST, candidate))
    raise CommandError(f"None of the {PORTS_TRIED} ports from {port} on is free. Name another: demo --port 9000")


def keep_worker() -> None:
    """Run a worker beside the server and start it again whenever it dies; it ends with the server, however that ends.

    It waits for the end of its standard input: a pipe that closes with this process. Ctrl+C does not reach it itself.
    """
    command = [sys.executable, str(settings.BASE_DIR / "manage.py"), "worker", "--with-parent"]
    environment = {**os.environ, "BLOCKYARD_NO_BOOTSTRAP": "1"}
    while True:
        subprocess.Popen(command, stdin=subprocess.PIPE, env=environment, start_new_session=True).wait()  # noqa: S603
        time.sleep(START_AGAIN_AFTER)


class Command(BaseCommand):
    help = "Bring the database up to date, fill it if it is empty, and serve Blockyard on this machine, with a worker."

    def add_arguments(self, parser):
        parser.add_argument("--port", type=int, default=8000, help="the first port to try (8000)")

    def handle(self, *, port, **options):
        if settings.PRODUCTION:
            raise CommandError("The demo never touches a production set-up. Unset BLOCKYARD_MODE to run it.")
        with listen(port) as listener:
            call_command("migrate", verbosity=0)
            call_command("load_demo", stdout=self.stdout)  # does nothing twice, says the sign-in names each time
            taken = listener.getsockname()[1]
            if taken != port:
                self.stdout.write(f"Port {port} is in use; this is port {taken}.")
            self.stdout.write(f"Blockyard is at http://{HOST}:{taken}/ (Ctrl+C stops it)")
            self.stdout.flush()
            Thread(target=keep_worker, daemon=True).start()
            waitress.serve(application, sockets=[listener], threads=8)
