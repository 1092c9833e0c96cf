"""`python -m cutsheets plan` and `check`: exit codes, refusals as one JSON line, no traceback."""

import json

import pytest

from cutsheets.__main__ import main
from tests.cutsheets.sawn_days import FT, day


@pytest.fixture
def files(tmp_path):
    """Return a function that writes an instance and returns its path."""

    def write(content, name="instance.json"):
        path = tmp_path / name
        path.write_text(content if isinstance(content, str) else json.dumps(content))
        return str(path)

    return write


@pytest.fixture
def refusal(capsys):
    """Return the last line of standard error as an object."""
    return lambda: json.loads(capsys.readouterr().err.splitlines()[-1])


def test_a_plan_is_written_and_passes_its_own_check(files, tmp_path, capsys):
    instance = files(day(("A", (7 * FT, FT, FT), 3)))
    out = str(tmp_path / "plan.json")
    assert main(["plan", instance, "--seconds", "0.2", "--out", out]) == 0
    assert "at least 1" in capsys.readouterr().err
    assert main(["check", instance, out]) == 0
    assert json.loads(capsys.readouterr().out)["valid"]


def test_a_plan_with_a_part_missing_is_found_wrong(files, capsys):
    instance = files(day(("A", (7 * FT, FT, FT), 3)))
    plan = files({"format": "blockyard-plan-1", "instance": "day", "pieces": []}, "plan.json")
    assert main(["check", instance, plan]) == 1
    assert json.loads(capsys.readouterr().out)["faults"][0]["code"] == "count"


def test_a_blank_that_fits_no_block_is_left_out_by_name(files, capsys):
    instance = files(day(("A", (7 * FT, FT, FT), 1), ("LONG", (9 * FT, FT, FT), 2)))
    assert main(["plan", instance, "--seconds", "0.1"]) == 3
    assert json.loads(capsys.readouterr().out)["left_out"] == [{"blank": "LONG", "qty": 2, "why": "fits-nothing"}]


def test_what_is_left_out_is_said_one_line_each_and_the_rest_is_counted(files, capsys):
    long = [(f"LONG {number}", (9 * FT, FT, FT), 2) for number in range(20)]
    few, many = files(day(*long)), files(day(*long, ("L20", (9 * FT, FT, FT), 1), ("L21", (9 * FT, FT, FT), 1)), "more")
    assert main(["plan", few, "--seconds", "0"]) == 3
    said = capsys.readouterr().err.splitlines()[1:]
    assert said == [f"left out: 2 × LONG {number} (fits-nothing)" for number in range(20)]
    assert main(["plan", many, "--seconds", "0"]) == 3
    assert capsys.readouterr().err.splitlines()[1:] == [*said, "and 2 more"]


def test_a_place_that_cannot_be_written_is_refused_before_the_search(files, refusal, tmp_path, monkeypatch):
    monkeypatch.setattr("cutsheets.planning.commands.plan", lambda *_, **__: pytest.fail("the search began"))
    instance = files(day(("A", (7 * FT, FT, FT), 3)))
    assert main(["plan", instance, "--out", str(tmp_path / "nowhere" / "plan.json")]) == 2
    assert refusal()["code"] == "file"


def test_a_search_that_is_broken_off_ends_without_a_traceback_and_writes_nothing(files, capsys, tmp_path, monkeypatch):
    def broken_off(*_, **__):
        raise KeyboardInterrupt

    monkeypatch.setattr("cutsheets.planning.commands.plan", broken_off)
    assert main(["plan", files(day(("A", (7 * FT, FT, FT), 3))), "--out", str(tmp_path / "plan.json")]) == 130
    assert "nothing is written" in capsys.readouterr().err
    assert not (tmp_path / "plan.json").exists()


def test_an_unreadable_instance_is_refused_and_nothing_is_written(files, tmp_path, refusal):
    out = tmp_path / "plan.json"
    assert main(["plan", files("{"), "--out", str(out)]) == 2
    assert refusal()["code"] == "json"
    assert not out.exists()


def test_a_float_is_refused_with_its_place(files, refusal):
    instance = day(("A", (7 * FT, FT, FT), 1))
    instance["blanks"][0]["size"][1] = 0.5
    assert main(["plan", files(instance)]) == 2
    assert refusal()["where"] == "blanks[0].size"


@pytest.mark.parametrize("seconds", ["-1", "nan", "inf", "3601"])
def test_a_search_without_end_is_refused(files, refusal, seconds):
    assert main(["plan", files(day(("A", (FT, FT, FT), 1))), "--seconds", seconds]) == 2
    assert refusal()["code"] == "seconds"
