"""manage.py makes its own environment from nothing, once, and says so where it cannot."""

import ast
import os
import shutil
import subprocess
import sys
from pathlib import Path

import debian_browser
import pytest

MANAGE = Path(__file__).parent.parent / "manage.py"


@pytest.fixture
def folder(tmp_path):
    """A project that needs nothing installed, so that these tests ask no network."""
    (tmp_path / "requirements.txt").write_text("# nothing\n")
    shutil.copy(MANAGE, tmp_path)
    return tmp_path


def pretend_python(folder, version):
    """Return a command that is this Python but gives itself out as another version."""
    pretend = folder / "python-of-another-version"
    code = f"import sys; sys.version_info = {version}; probe = sys.argv[2]; sys.argv = sys.argv[2:]; exec(probe)"
    pretend.write_text(f'#!/bin/sh\nexec "{sys.executable}" -c "{code}" "$@"\n')
    pretend.chmod(0o755)
    return pretend


def start(folder, *arguments, python=sys.executable, **environment):
    bare = {key: os.environ[key] for key in ("HOME", "PATH") if key in os.environ}
    command = [python, *arguments]
    return subprocess.run(command, cwd=folder, env={**bare, **environment}, capture_output=True, text=True, check=False)


def start_knowing(folder, candidates, call):
    """Run one function of the copied manage.py where only these candidates exist."""
    code = f"import manage; manage.candidates = lambda: {[[str(item)] for item in candidates]}; {call}"
    return start(folder, "-c", code)


def test_a_python_of_3_11_is_passed_over_for_one_of_3_12(folder):
    old, new = pretend_python(folder, (3, 11, 2)), sys.executable
    said = start_knowing(folder, [folder / "missing", old, new], "print(manage.find_python())")
    assert said.stdout.strip() == str([new])


def test_a_command_that_exists_and_fails_is_passed_over(folder):
    shim = folder / "python3.14"
    shim.write_text("#!/bin/sh\necho 'pyenv: python3.14: command not found' >&2\nexit 127\n")
    shim.chmod(0o755)
    said = start_knowing(folder, [shim, sys.executable], "print(manage.find_python())")
    assert (said.stdout.strip(), said.stderr) == (str([sys.executable]), "")


def test_where_no_python_fits_three_lines_say_what_to_do(folder):
    said = start_knowing(folder, [pretend_python(folder, (3, 11, 2))], "manage.bootstrap()")
    assert (said.returncode, said.stdout) == (1, "")
    first, _, last = said.stderr.splitlines()
    assert first.startswith("Blockyard needs Python 3.12 or newer")
    assert "PYTHON=/path/to" in last
    assert not (folder / ".venv").exists()


def test_the_named_python_is_the_first_candidate(folder):
    said = start(folder, "-c", "import manage; print(manage.candidates()[0])", PYTHON="/opt/mine/python")
    assert said.stdout.strip() == "['/opt/mine/python']"


def test_the_second_start_installs_nothing_and_an_interrupted_one_is_repaired(folder):
    first = start(folder, "manage.py", "prepare")
    assert "Making .venv" in first.stderr, first.stderr
    second = start(folder, "manage.py", "prepare")
    assert (second.returncode, second.stderr) == (0, "")

    (folder / ".venv" / "installed.txt").write_text("unfinished")
    (folder / ".venv" / "half-written").touch()
    third = start(folder, "manage.py", "prepare")
    assert "Making .venv" in third.stderr
    assert not (folder / ".venv" / "half-written").exists()

    (folder / "requirements.txt").write_text("# nothing, said anew\n")
    fourth = start(folder, "manage.py", "prepare")
    assert "Making .venv" not in fourth.stderr
    assert "Installing" in fourth.stderr


def test_a_requirement_without_a_hash_is_not_installed_and_leaves_no_stamp(folder):
    (folder / "requirements.txt").write_text("some-package==1.0\n")
    said = start(folder, "manage.py", "prepare", PIP_NO_INDEX="1")
    assert said.returncode == 1
    assert "run the same command again" in said.stderr
    assert (folder / ".venv" / "installed.txt").read_text() == "unfinished"


def test_the_bootstrap_can_be_left_out(folder):
    said = start(folder, "manage.py", "version", BLOCKYARD_NO_BOOTSTRAP="1")
    assert said.returncode == 0
    assert not (folder / ".venv").exists()


@pytest.mark.parametrize(("command", "code"), [("version", 0), ("no-such-command", 1)])
def test_windows_waits_for_the_child_and_passes_its_answer_on(folder, command, code):
    pretend = "manage.WINDOWS, manage.VENV_PYTHON = True, sys.executable"
    said = start(folder, "-c", f"import manage, sys; {pretend}; manage.start_again_inside()", command)
    assert said.returncode == code


def test_manage_py_can_be_read_by_python_3_8():
    ast.parse(MANAGE.read_text(encoding="utf-8"), feature_version=(3, 8))
    with pytest.raises(SyntaxError):
        ast.parse("match 1:\n    case 1: pass\n", feature_version=(3, 8))


def test_without_browser_and_packages_the_remedy_is_named(folder):
    said = start(folder, debian_browser.__file__, PATH=str(folder))
    assert said.returncode == 1
    assert "apt-get install chromium chromium-driver" in said.stderr


def test_a_named_browser_is_used(monkeypatch):
    monkeypatch.setenv("CHROMIUM", "/opt/mine/chromium")
    monkeypatch.setenv("CHROMEDRIVER", "/opt/mine/chromedriver")
    assert debian_browser.find() == ("/opt/mine/chromium", "/opt/mine/chromedriver")
