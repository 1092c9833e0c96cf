"""Drawings from strangers: read in a process of its own, which is ended when it takes too long or too much memory.

`python -m cutsheets.files.limits {dxf,svg} OPTIONS` reads the file from standard input and writes what it found as
JSON. A process and not a thread, because a thread cannot be stopped; a fresh one and not a fork, because a server
with threads must not fork. It sees none of the server's environment but what Python needs to start.
"""

from __future__ import annotations

import gc
import json
import os
import subprocess
import sys
from collections.abc import Mapping
from contextlib import suppress
from importlib import import_module
from pathlib import Path
from typing import Any

from cutsheets.errors import CutsheetError
from cutsheets.solids import Outline, Ring
from cutsheets.tracing.drawn import CHORD, MOST_BYTES, TOLERANCE, Drawn, Trouble, guarded, refusal, too_large
from cutsheets.units import Unit

SECONDS = 10.0
MEMORY = 1_000_000_000  # bytes of address space; the largest drawings that are let in were read in 300 MB
HEAD = 2000  # bytes in which a file says what it is
FINEST, COARSEST = 0.0001, 10.0  # mm, tolerance and chord error
KEPT = ("PATH", "SYSTEMROOT", "TEMP", "TMP", "TMPDIR", "LANG", "LD_LIBRARY_PATH")


def read_drawing(
    name: str, data: bytes, *, unit: Unit | None = None, tolerance: float = TOLERANCE, chord: float = CHORD,
    seconds: float = SECONDS,
) -> Drawn:  # fmt: skip
    """Return the drawing in a file, DXF or SVG by what it holds, traced; mm.

    Raises CutsheetError: `drawing-kind` (neither), `drawing-size`, `drawing-time`, `drawing-range`, `drawing-unit`,
    `drawing-unsafe`, `drawing-broken`.
    """
    if len(data) > MOST_BYTES:
        raise too_large(f"is larger than {MOST_BYTES // 1_000_000} MB")
    for value in (tolerance, chord):
        if not FINEST <= value <= COARSEST:
            raise refusal(
                "drawing-tolerance", f"Tolerance and chord error are {FINEST} to {COARSEST:g} mm; correct them."
            )
    options = json.dumps({"unit": unit, "tolerance": tolerance, "chord": chord})
    command = [sys.executable, "-m", "cutsheets.files.limits", _kind(name, data), options, str(MEMORY)]
    home = str(Path(__file__).parents[2])
    environment = {key: os.environ[key] for key in KEPT if key in os.environ}
    environment |= {"PYTHONPATH": home, "OPENBLAS_NUM_THREADS": "1"}
    try:
        done = subprocess.run(  # noqa: S603 - our own Python with our own module
            command, input=data, capture_output=True, timeout=seconds, env=environment, cwd=home, check=False
        )
    except subprocess.TimeoutExpired:
        raise refusal(
            "drawing-time", f"This drawing takes longer than {seconds:g} s to read; save only what is to be cut."
        ) from None
    return _answer(done.stdout)


def _kind(name: str, data: bytes) -> str:
    """Return the reader for a file: what its beginning says, never only its name."""
    head = data[:HEAD].removeprefix(b"\xef\xbb\xbf").lstrip()
    if head.startswith(b"AutoCAD Binary DXF") or (b"SECTION" in head and head.split(None, 1)[0] in (b"0", b"999")):
        return "dxf"
    if head.startswith((b"<", b"\xff\xfe", b"\xfe\xff")):
        return "svg"
    ending = Path(name).suffix.lower()[:10]
    what = f"a {ending[1:].upper()} file" if ending and ending not in (".dxf", ".svg") else "empty or something else"
    raise refusal("drawing-kind", f"This is no DXF or SVG drawing but {what}; save it as DXF or SVG.")


def _answer(output: bytes) -> Drawn:
    """Return what the other process found, or raise what it refused."""
    try:
        answer = json.loads(output)
    except ValueError:  # it was ended from outside: no memory left, or a fault in a library
        raise refusal("drawing-broken", "Reading this drawing failed; save only what is to be cut.") from None
    if "code" in answer:
        raise CutsheetError(answer["code"], answer["message"], answer["where"])
    return from_plain(answer)


def from_plain(answer: Any) -> Drawn:
    """Return the drawing that `to_plain` wrote."""
    return Drawn(
        **answer
        | {
            "outlines": tuple(Outline(_ring(outer), tuple(map(_ring, holes))) for outer, holes in answer["outlines"]),
            "chains": tuple(map(_ring, answer["chains"])),
            "troubles": tuple(Trouble(code, message, (at[0], at[1])) for code, message, at in answer["troubles"]),
        }
    )


def _ring(points: list[list[float]]) -> Ring:
    return tuple((x, y) for x, y in points)


def to_plain(drawn: Drawn) -> Mapping[str, Any]:
    """Return a drawing as plain values, as JSON keeps them."""
    return {
        "outlines": [(outline.outer, outline.holes) for outline in drawn.outlines],
        "chains": drawn.chains,
        "troubles": [(trouble.code, trouble.message, trouble.at) for trouble in drawn.troubles],
        "unit": drawn.unit,
        "per_unit": drawn.per_unit,
        "chord": drawn.chord,
        "entities": drawn.entities,
        "skipped": drawn.skipped,
        "layers": drawn.layers,
    }


def _main(kind: str, options: str, memory: str) -> None:
    """Read standard input, write JSON: a drawing or a refusal."""
    gc.disable()  # it ends before there is anything to collect
    with suppress(ImportError, ValueError, OSError):  # not on Windows
        import resource

        resource.setrlimit(resource.RLIMIT_AS, (int(memory), int(memory)))
    try:
        with guarded("save only what is to be cut"):
            reader = getattr(import_module(f"cutsheets.files.{kind}"), f"read_{kind}")
            answer = json.dumps(to_plain(reader(sys.stdin.buffer.read(), **json.loads(options))))
    except CutsheetError as error:
        answer = json.dumps(error.as_dict())
    sys.stdout.write(answer)


if __name__ == "__main__":
    _main(*sys.argv[1:])
