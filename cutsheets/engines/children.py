"""Packing libraries in processes of their own: they print, do not keep their time, and cannot be stopped from inside.

A child reads one job from its standard input, a line of JSON, and writes an answer a line, each better than the last.
It ends with its parent, and is ended when its time is up or nobody waits for it any more.
"""

from __future__ import annotations

import json
import os
import queue
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator, Mapping
from contextlib import suppress
from pathlib import Path
from typing import IO, Any

Stop = Callable[[], bool]
Say = Callable[[Any], None]
MEMORY = 1_000_000_000  # bytes of address space; the largest nests that were tried took 250 MB
LONGEST = 3600.0  # seconds that any child may run
ASK = 0.1  # seconds between two looks at `stop`
KEPT = ("PATH", "SYSTEMROOT", "TEMP", "TMP", "TMPDIR", "LANG", "LD_LIBRARY_PATH")


def answers(engine: str, job: Mapping[str, Any], *, seconds: float, stop: Stop) -> Iterator[Any]:
    """Yield the answers of `cutsheets.engines.<engine>` to a job until it ends, time is up or `stop` says so.

    The job tells the child its `seconds`; whoever leaves this iterator ends the child.
    """
    deadline = time.monotonic() + min(seconds, LONGEST)
    lines: queue.SimpleQueue[bytes] = queue.SimpleQueue()
    with _started(engine) as child:
        try:
            if child.stdin is None or child.stdout is None:
                raise AssertionError("a child without pipes")
            threading.Thread(target=_listen, args=(child.stdout, lines), daemon=True).start()
            with suppress(OSError):
                child.stdin.write(json.dumps({**job, "seconds": seconds}).encode() + b"\n")
                child.stdin.flush()
            while (left := deadline - time.monotonic()) > 0 and not stop():
                with suppress(queue.Empty):
                    line = lines.get(timeout=min(left, ASK))
                    if not line.endswith(b"\n"):  # it has ended
                        return
                    yield json.loads(line)
        finally:
            child.kill()


def _started(engine: str) -> subprocess.Popen[bytes]:
    home = str(Path(__file__).parents[2])
    environment = {key: os.environ[key] for key in KEPT if key in os.environ}
    return subprocess.Popen(  # noqa: S603 - our own Python with our own module
        [sys.executable, "-m", f"cutsheets.engines.{engine}"],
        stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, cwd=home,
        env=environment | {"PYTHONPATH": home, "OPENBLAS_NUM_THREADS": "1"},
    )  # fmt: skip


def _listen(output: IO[bytes], lines: queue.SimpleQueue[bytes]) -> None:
    with suppress(OSError, ValueError):  # closed while it was read
        for line in output:
            lines.put(line)
    lines.put(b"")


def serve(work: Callable[[Mapping[str, Any], Say], None]) -> None:
    """In the child: hand the job on standard input to `work` with a function that sends an answer."""
    sender = os.fdopen(os.dup(sys.stdout.fileno()), "w")
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())  # what a library prints is no answer
    _keep_small()
    job = json.loads(sys.stdin.readline())
    threading.Thread(target=_end_with_parent, daemon=True).start()
    threading.Timer(min(job["seconds"], LONGEST) + 1.0, os._exit, [1]).start()

    def say(answer: Any) -> None:
        sender.write(json.dumps(answer) + "\n")
        sender.flush()

    try:
        work(job, say)
    finally:
        os._exit(0)  # no thread of a library is waited for


def _keep_small() -> None:
    """Keep the child within its memory, where the system can."""
    with suppress(ImportError, ValueError, OSError):  # not on Windows
        import resource

        resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))


def keep_to_one_core() -> None:
    """Keep this process on the core it runs on, where the system can: for libraries that start many threads."""
    with suppress(AttributeError, OSError, ValueError, IndexError):  # Linux only
        running = int(Path("/proc/self/stat").read_text().rpartition(")")[2].split()[36])  # field 39 of proc(5)
        os.sched_setaffinity(0, {running})


def _end_with_parent() -> None:
    sys.stdin.read()
    os._exit(1)
