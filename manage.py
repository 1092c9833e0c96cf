#!/usr/bin/env python3
"""Django's manage.py, which first makes the project's own Python environment: one command works from nothing.

Any python3 from 3.8 on may start it. It finds a Python the project can run on, makes `.venv`, installs
requirements.txt by hash and starts again inside. The last step writes a stamp, so the second start does none of this
and an interrupted one is repaired. `manage.py prepare` stops there. BLOCKYARD_NO_BOOTSTRAP=1 leaves it all out.

Only the standard library here, and only what Python 3.8 can read.
"""

from __future__ import annotations

import glob
import hashlib
import os
import shutil
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent
REQUIREMENTS = ROOT / "requirements.txt"
VENV = ROOT / ".venv"
WINDOWS = os.name == "nt"
VENV_PYTHON = VENV / ("Scripts/python.exe" if WINDOWS else "bin/python")
STAMP = VENV / "installed.txt"
UNFINISHED = "unfinished"

NAMES = ("python3.14", "python3.13", "python3.12", "python3", "python")
# Where a Python may lie that PATH does not name: pyenv, Homebrew on both kinds of Mac, python.org's installer.
PLACES = (
    "~/.pyenv/versions/3.1[2-9]*/bin/python3",
    "/opt/homebrew/bin/python3.1[2-9]",
    "/usr/local/bin/python3.1[2-9]",
    "/Library/Frameworks/Python.framework/Versions/3.1[2-9]/bin/python3",
    "~/.pyenv/pyenv-win/versions/3.1[2-9]*/python.exe",
)
# A candidate is run, not only looked up: pyenv's shims exist and fail, Debian's python3 may lack ensurepip.
# The environment's own Python cannot rebuild the environment.
PROBE = (
    "import sys, os, venv, ensurepip; "
    "sys.exit(sys.version_info < (3, 12) or os.path.realpath(sys.prefix) == os.path.realpath(sys.argv[1]))"
)
NOT_FOUND = """\
Blockyard needs Python 3.12 or newer with venv and ensurepip, and found none on this machine.
Looked at: $PYTHON, {names}, pyenv's and Homebrew's folders; this is Python {version}.
Install Python 3.13 (Debian or Ubuntu: also python3-venv), or name one: PYTHON=/path/to/python3.13"""


class SetUpError(Exception):
    """What went wrong on the way to a working environment, in words for the person at the keyboard."""


def candidates() -> list[list[str]]:
    """Return the commands that may be a fitting Python, the likeliest first."""
    named = [os.environ.get("PYTHON"), sys.executable, *(shutil.which(name) for name in NAMES)]
    commands = [[name] for name in named if name]
    if WINDOWS and shutil.which("py"):
        commands.append(["py", "-3"])
    return commands + [
        [path] for place in PLACES for path in sorted(glob.glob(os.path.expanduser(place)), reverse=True)
    ]


def runs(command: list[str]) -> bool:
    """Return whether the command runs and ends well within half a minute; what it says is not shown."""
    try:
        return subprocess.run(command, capture_output=True, timeout=30, check=False).returncode == 0
    except (OSError, subprocess.TimeoutExpired):
        return False


def find_python() -> list[str]:
    """Return the command of the first Python that can make the environment."""
    for command in candidates():
        if runs([*command, "-c", PROBE, str(VENV)]):
            return command
    raise SetUpError(NOT_FOUND.format(names=", ".join(NAMES), version=sys.version.split()[0]))


def fingerprint() -> str:
    """Return what the stamp must say: it changes with the requirements and with the Python of the environment."""
    return hashlib.sha256(REQUIREMENTS.read_bytes() + (VENV / "pyvenv.cfg").read_bytes()).hexdigest()


def stamp() -> str:
    return STAMP.read_text(encoding="utf-8") if STAMP.exists() else ""


def ready() -> bool:
    """Return whether the environment is complete; `exists` is false too where its Python has been uninstalled."""
    return VENV_PYTHON.exists() and (VENV / "pyvenv.cfg").exists() and stamp() == fingerprint()


def run(command: list[str], *, failing: str) -> None:
    if subprocess.call(command) != 0:
        raise SetUpError(failing)


def make_environment() -> None:
    python = find_python()
    if VENV.exists():
        shutil.rmtree(VENV)
    VENV.mkdir()
    STAMP.write_text(UNFINISHED, encoding="utf-8")
    print(f"Making .venv with {' '.join(python)}", file=sys.stderr, flush=True)
    run([*python, "-m", "venv", str(VENV)], failing=f"{python[0]} could not make .venv. Name another: PYTHON=/path")


def install() -> None:
    STAMP.write_text(UNFINISHED, encoding="utf-8")
    print("Installing the pinned requirements: a minute or two, only this once", file=sys.stderr, flush=True)
    pip = [str(VENV_PYTHON), "-m", "pip", "install", "-qq", "--no-input", "--disable-pip-version-check"]
    run(
        [*pip, "--require-hashes", "--requirement", str(REQUIREMENTS)],
        failing="The requirements could not be installed. See to what pip said above and run the same command again.",
    )
    STAMP.write_text(fingerprint(), encoding="utf-8")


def prepare() -> None:
    """Leave a complete `.venv` behind, whatever was there before."""
    if ready():
        return
    healthy = "import sys, pip; sys.exit(sys.version_info < (3, 12))"
    if stamp() == UNFINISHED or not runs([str(VENV_PYTHON), "-c", healthy]):
        make_environment()
    install()


def start_again_inside() -> None:
    command = [str(VENV_PYTHON), str(ROOT / "manage.py"), *sys.argv[1:]]
    environment = {**os.environ, "BLOCKYARD_NO_BOOTSTRAP": "1"}  # once is enough, whatever the child finds
    if not WINDOWS:
        os.execve(command[0], command, environment)
    try:  # exec on Windows gives the prompt back while the server still runs
        sys.exit(subprocess.call(command, env=environment))
    except KeyboardInterrupt:
        sys.exit(130)


def bootstrap() -> None:
    try:
        prepare()
    except SetUpError as error:
        sys.exit(str(error))
    except OSError as error:
        sys.exit(f"Could not set up .venv: {error}. Delete the folder .venv and run the same command again.")
    if sys.argv[1:] != ["prepare"] and os.path.realpath(sys.prefix) != os.path.realpath(VENV):
        start_again_inside()


def main() -> None:
    if os.environ.get("BLOCKYARD_NO_BOOTSTRAP") != "1":
        bootstrap()
    if sys.argv[1:] == ["prepare"]:
        return
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "shop.settings")
    from django.core.management import execute_from_command_line

    execute_from_command_line(sys.argv)


if __name__ == "__main__":
    main()
