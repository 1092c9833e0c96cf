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


def test_a_search_without_end_is_refused(files, refusal):
    assert main(["plan", files(day(("A", (FT, FT, FT), 1))), "--seconds", "inf"]) == 2
    assert refusal()["code"] == "seconds"
